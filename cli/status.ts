/** How the command ends. */
export const MET = 0;
/** `check` found an error, or `rehearse` missed an expectation. */
export const NOT_MET = 1;
export const BAD_INPUT = 2;
export const OUR_FAULT = 3;
/** 128 + SIGINT, as a shell says it. */
export const INTERRUPTED = 130;
