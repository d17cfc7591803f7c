/** Under which name the engine is found where it runs on the page itself. */
import type { Answer, Request } from "./protocol.ts";

export const ON_PAGE = "pulltestEngine";

export type OnPage = (request: Request, answer: (answer: Answer) => void) => void;
