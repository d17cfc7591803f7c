/** How far, and how long still: on a terminal in one line that is written over, elsewhere not at all. */
import { progressWords } from "../../sim/trials/words.ts";
import type { Io } from "../terminal.ts";

export interface Progress {
  at(done: number, of: number): void;
  /** Takes the line away again. */
  end(): void;
}

/** Sooner than this nobody wonders, ms. */
const QUIET_MS = 2000;
/** More often nobody reads it, ms. */
const BETWEEN_MS = 200;
const LINE_WIDTH = 78;

/** @param what is counted: "trials" */
export function progressOf(io: Io, what: string, hint = ""): Progress {
  const began = performance.now();
  let shownAt: number | null = null;
  return {
    at(done, of) {
      const now = performance.now();
      if (!io.isWatched || now - began < QUIET_MS || done <= 0 || done >= of) return;
      if (shownAt !== null && now - shownAt < BETWEEN_MS) return;
      shownAt = now;
      io.err(`\r${`${progressWords(done, of, (now - began) / 1000, what)}${hint}`.padEnd(LINE_WIDTH)}`);
    },
    end() {
      if (shownAt !== null) io.err(`\r${" ".repeat(LINE_WIDTH)}\r`);
    },
  };
}
