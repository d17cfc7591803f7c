/** `pulltest library merge`: two libraries as one, nothing that either measured lost. */
import { mergeLibraries, type Question, textWith } from "../../sim/library/merge.ts";
import { readLibraryFile } from "../libraries.ts";
import { issuesText } from "../print/issues.ts";
import { questionLines } from "../print/library.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { writeLibrary } from "../written-library.ts";

/** What `library merge --json` prints, beside the file that `--out` names. */
export interface LibraryMergeReport {
  readonly schemaVersion: 1;
  readonly types: readonly string[];
  readonly questions: readonly Question[];
}

export interface LibraryMergeRequest {
  readonly one: string;
  readonly other: string;
  readonly out: string | null;
  readonly force: boolean;
  readonly json: boolean;
}

export async function mergeLibraryFiles(
  { one, other, out, force, json }: LibraryMergeRequest,
  io: Io,
): Promise<number> {
  const refused = (problem: string) => {
    io.err(`pulltest library merge: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  if (one === "-" && other === "-") return refused("only one of the two can come from standard input");
  if (json && out === null) return refused("--json prints what was merged: name the file for the library with --out");
  const [a, b] = [await readLibraryFile(one, io), await readLibraryFile(other, io)];
  if (a.library === null || b.library === null) {
    io.err(issuesText([...a.issues, ...b.issues], "nothing was merged"));
    return BAD_INPUT;
  }
  const { types, questions } = mergeLibraries(a.library, b.library);
  const problem = await writeLibrary(textWith(a.library.text, a.library.types, types), { out, force }, io);
  if (problem !== null) return refused(problem);
  const report: LibraryMergeReport = { schemaVersion: 1, types: Object.keys(types), questions };
  if (json) io.out(`${jsonText(report)}\n`);
  for (const line of questionLines(questions)) io.err(`${oneLine(line)}\n`);
  io.err(`The text is that of ${oneLine(one)}; comments and the title of ${oneLine(other)} stay there.\n`);
  return MET;
}
