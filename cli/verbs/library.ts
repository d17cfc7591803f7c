/** `pulltest library`: what a library has of each device type, where it is from, and what is still assumed. */
import { numbersOfTypes, type TypeNumbers } from "../../sim/library/numbers.ts";
import { readLibraryFile } from "../libraries.ts";
import { issuesText } from "../print/issues.ts";
import { libraryText } from "../print/library.ts";
import { jsonText } from "../print/plain.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";

/** What `library --json` prints. */
export interface LibraryReport {
  readonly schemaVersion: 1;
  readonly title: string | null;
  readonly types: readonly TypeNumbers[];
}

export interface LibraryRequest {
  readonly file: string;
  readonly json: boolean;
}

export async function showLibrary({ file, json }: LibraryRequest, io: Io): Promise<number> {
  const { library, issues } = await readLibraryFile(file, io);
  if (library === null) {
    io.err(issuesText(issues, "the library was not read"));
    return BAD_INPUT;
  }
  const report: LibraryReport = { schemaVersion: 1, title: library.title, types: numbersOfTypes(library) };
  io.out(json ? `${jsonText(report)}\n` : libraryText(report, { ink: io.ink.out, columns: io.columns }));
  return MET;
}
