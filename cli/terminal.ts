/** The outside world as the verbs see it, so that a test could hand them another. */
import type { Ink } from "./print/ink.ts";
import { inkFor, plainInk } from "./print/ink.ts";

export interface Io {
  /** Results, to standard output; whole lines. */
  out(text: string): void;
  /** Progress, notes and errors, to standard error; whole lines. */
  err(text: string): void;
  readonly ink: { readonly out: Ink; readonly err: Ink };
  /** Of standard output; null where it is no terminal and text is not to be wrapped. */
  readonly columns: number | null;
  /** Somebody sees standard error as it is written. */
  readonly isWatched: boolean;
  readonly workingFolder: string;
  /** Standard input, chunk by chunk. */
  readonly input: AsyncIterable<unknown>;
}

export function terminal(host: NodeJS.Process): Io {
  return {
    out: (text) => void host.stdout.write(text),
    err: (text) => void host.stderr.write(text),
    ink: { out: inkFor(host.stdout, host.env), err: inkFor(host.stderr, host.env) },
    columns: host.stdout.isTTY ? host.stdout.columns || 80 : null,
    isWatched: host.stderr.isTTY === true,
    workingFolder: host.cwd(),
    get input() {
      return host.stdin;
    },
  };
}

export function withoutColour(io: Io): Io {
  // Not a copy: that would open standard input.
  return Object.create(io, { ink: { value: { out: plainInk, err: plainInk } } }) as Io;
}
