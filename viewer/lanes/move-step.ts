/** How far one press moves an event: a few pixels of the window, in steps that a file can write. */

/** A file writes show times in milliseconds. */
export const GRAIN_SECONDS = 0.001;
const STEPS_SECONDS = [GRAIN_SECONDS, 0.01, 0.1, 1, 10, 60, 600, 3600];
/** Some three pixels of a wide window. */
const SHARE = 1 / 400;

/** @returns seconds, the largest of the steps that is no more than a four-hundredth of the window */
export function moveStep(windowSeconds: number): number {
  return STEPS_SECONDS.findLast((step) => step <= windowSeconds * SHARE) ?? GRAIN_SECONDS;
}

/** "10 s", "1 min", "1 ms". */
export function stepWords(seconds: number): string {
  if (seconds < 1) return `${seconds * 1000} ms`;
  if (seconds < 60) return `${seconds} s`;
  return seconds < 3600 ? `${seconds / 60} min` : `${seconds / 3600} h`;
}
