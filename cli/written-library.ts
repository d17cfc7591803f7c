/** A library that was made: to standard output, or whole into a file. */
import { writeNewFile } from "./files.ts";
import { oneLine } from "./print/plain.ts";
import type { Io } from "./terminal.ts";

/** Null when written; else what is in the way. Only `force` replaces a file, be it one of those that were read. */
export async function writeLibrary(
  text: string,
  { out, force }: { readonly out: string | null; readonly force: boolean },
  io: Io,
): Promise<string | null> {
  if (out === null || out === "-") {
    io.out(text);
    return null;
  }
  const problem = await writeNewFile(io.workingFolder, out, text, { overwrite: force });
  if (problem === null) io.err(`Wrote ${oneLine(out)}.\n`);
  return problem;
}
