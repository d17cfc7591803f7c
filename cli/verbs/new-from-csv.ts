/** `pulltest new --from-csv`: tables of a spreadsheet, made into a scenario file. */
import { resolve } from "node:path";
import { type Issue, sortIssues, withoutLine } from "../../shared/issues.ts";
import { QUESTION } from "../../sim/tables/devices.ts";
import { scenarioFromTables } from "../../sim/tables/read.ts";
import type { Sheet } from "../../sim/tables/sheet.ts";
import { counted } from "../../sim/tell/words.ts";
import { readBounded, readStream, realPathOf, receivedInstead, writeNewFile } from "../files.ts";
import { issuesText } from "../print/issues.ts";
import { oneLine } from "../print/plain.ts";
import { readAsLines } from "../print/read-as.ts";
import { BAD_INPUT, MET } from "../status.ts";
import { sheetFromCsv } from "../tables-csv.ts";
import type { Io } from "../terminal.ts";

export interface FromCsvRequest {
  readonly files: readonly string[];
  readonly out: string | null;
  readonly force: boolean;
}

export async function newFromCsv({ files, out, force }: FromCsvRequest, io: Io): Promise<number> {
  const sheets: Sheet[] = [];
  const issues: Issue[] = [];
  for (const file of new Set(files)) {
    const isInput = file === "-";
    const name = isInput ? "(standard input)" : file;
    const read = await (isInput ? readStream(io.input) : readBounded(resolve(io.workingFolder, file)));
    if ("problem" in read) {
      const remedy = read.problem.includes("MB") ? "name a table" : "check the name and the folder";
      const received = receivedInstead(read.problem);
      issues.push({
        ...withoutLine(name),
        expected: "a CSV file that can be read",
        received,
        remedy,
      });
      continue;
    }
    const table = sheetFromCsv(name, read.bytes);
    issues.push(...table.issues);
    if (table.sheet !== null) sheets.push(table.sheet);
  }
  const made = scenarioFromTables(sheets);
  const all = sortIssues([...issues, ...made.issues], files);
  if (made.text === null || all.length > 0) {
    io.err(issuesText(all, "nothing was written"));
    return BAD_INPUT;
  }
  if (out === null || out === "-") io.out(made.text);
  else {
    const inputs = await Promise.all(files.map((file) => realPathOf(resolve(io.workingFolder, file))));
    const target = await realPathOf(resolve(io.workingFolder, out));
    const problem =
      target !== null && inputs.includes(target)
        ? `${out} is what is being read, and would be lost; give the scenario another name`
        : await writeNewFile(io.workingFolder, out, made.text, { overwrite: force });
    if (problem !== null) {
      io.err(`pulltest new: ${oneLine(problem)}\n`);
      return BAD_INPUT;
    }
    io.err(`Wrote ${oneLine(out)}. Play it: pulltest rehearse ${oneLine(out)}\n`);
  }
  for (const line of remarks(made)) io.err(`${oneLine(line)}\n`);
  return MET;
}

function remarks({ provisional, readAs, keptAsComments }: ReturnType<typeof scenarioFromTables>): string[] {
  const lines = readAsLines(readAs);
  if (provisional.length > 0) {
    const devices = counted(provisional.length, "device", "devices");
    lines.push(`Of ${devices} no table says enough: ${provisional.join(", ")}. ${QUESTION}`);
    lines.push("What was taken until somebody says is marked Provisional in the file.");
  }
  for (const file of new Set(keptAsComments.map((each) => each.file))) {
    const headings = keptAsComments.filter((each) => each.file === file).map(({ heading }) => heading);
    lines.push(`Kept as comments, since no field is called so: ${headings.join(", ")} (${file}).`);
  }
  return lines;
}
