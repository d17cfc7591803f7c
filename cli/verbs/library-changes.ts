/** `pulltest library changes`: what differs between two libraries, type by type. */
import { type LibraryChange, libraryChanges } from "../../sim/library/changes.ts";
import { readLibraryFile } from "../libraries.ts";
import { issuesText } from "../print/issues.ts";
import { libraryChangesText } from "../print/library.ts";
import { jsonText } from "../print/plain.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import type { Io } from "../terminal.ts";

/** What `library changes --json` prints. */
export interface LibraryChangesReport {
  readonly schemaVersion: 1;
  readonly changes: readonly LibraryChange[];
}

export interface LibraryChangesRequest {
  readonly before: string;
  readonly after: string;
  readonly json: boolean;
}

export async function changesOfLibraries({ before, after, json }: LibraryChangesRequest, io: Io): Promise<number> {
  if (before === "-" && after === "-") {
    io.err("pulltest library changes: only one of the two can come from standard input\n");
    return BAD_INPUT;
  }
  const [old, now] = [await readLibraryFile(before, io), await readLibraryFile(after, io)];
  if (old.library === null || now.library === null) {
    io.err(issuesText([...old.issues, ...now.issues], "nothing was compared"));
    return BAD_INPUT;
  }
  const changes = libraryChanges(old.library.types, now.library.types);
  const report: LibraryChangesReport = { schemaVersion: 1, changes };
  io.out(json ? `${jsonText(report)}\n` : libraryChangesText(changes, io.columns));
  return changes.length === 0 ? MET : NOT_MET;
}
