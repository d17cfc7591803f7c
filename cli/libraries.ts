/** Libraries from this machine. */
import { resolve } from "node:path";
import { type Issue, withoutLine } from "../shared/issues.ts";
import { type LibraryRead, readLibrary } from "../shared/scenario-library.ts";
import { readBounded, readStream, receivedInstead } from "./files.ts";
import type { Io } from "./terminal.ts";

/** "-" is standard input. */
export async function readLibraryFile(file: string, io: Io): Promise<LibraryRead> {
  const isInput = file === "-";
  const name = isInput ? "(standard input)" : file;
  const read = await (isInput ? readStream(io.input) : readBounded(resolve(io.workingFolder, file)));
  if ("problem" in read)
    return { library: null, issues: [unreadable(name, "a library that can be read", read.problem)] };
  return readLibrary(name, read.bytes);
}

export function unreadable(file: string, expected: string, problem: string): Issue {
  const remedy = problem.includes("MB") ? "name a smaller file" : "check the name and the folder";
  return { ...withoutLine(file), expected, received: receivedInstead(problem), remedy };
}
