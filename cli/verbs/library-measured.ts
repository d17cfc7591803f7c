/** `pulltest library measured`: a library grown by a table of what was measured. */
import { resolve } from "node:path";
import type { Issue } from "../../shared/issues.ts";
import { type Grown, grownLibrary, type Measurement } from "../../sim/library/grow.ts";
import { type DeviceOfType, measurementsFrom } from "../../sim/library/measurements.ts";
import type { ReadAs } from "../../sim/tables/entry.ts";
import { wholeScenario } from "../../sim/tables/whole.ts";
import { readBounded, readStream } from "../files.ts";
import { readLibraryFile, unreadable } from "../libraries.ts";
import { issuesText } from "../print/issues.ts";
import { grownLines } from "../print/library.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { readAsLines } from "../print/read-as.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET } from "../status.ts";
import { sheetFromCsv } from "../tables-csv.ts";
import type { Io } from "../terminal.ts";
import { writeLibrary } from "../written-library.ts";

/** What `library measured --json` prints, beside the file that `--out` names. */
export interface LibraryMeasuredReport {
  readonly schemaVersion: 1;
  readonly grown: readonly Grown[];
}

export interface LibraryMeasuredRequest {
  readonly file: string;
  readonly from: readonly string[];
  /** A scenario whose devices the tables may name in place of their types. */
  readonly rig: string | null;
  /** What was measured takes the place of a number that stood. */
  readonly plays: boolean;
  readonly out: string | null;
  readonly force: boolean;
  readonly json: boolean;
}

export async function growLibrary(request: LibraryMeasuredRequest, io: Io): Promise<number> {
  const { file, from, rig, plays, out, force, json } = request;
  const refused = (problem: string) => {
    io.err(`pulltest library measured: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  if ([file, ...from, rig].filter((name) => name === "-").length > 1)
    return refused("only one of the files can come from standard input");
  if (json && out === null) return refused("--json prints what was added: name the file for the library with --out");
  const { library, issues: libraryIssues } = await readLibraryFile(file, io);
  const issues: Issue[] = [...libraryIssues];
  const measurements: Measurement[] = [];
  const readAs: ReadAs[] = [];
  const devices = rig === null ? [] : await devicesOf(rig, io, issues);
  for (const name of new Set(from)) {
    const isInput = name === "-";
    const called = isInput ? "(standard input)" : name;
    const read = await (isInput ? readStream(io.input) : readBounded(resolve(io.workingFolder, name)));
    if ("problem" in read) {
      issues.push(unreadable(called, "a CSV file that can be read", read.problem));
      continue;
    }
    const table = sheetFromCsv(called, read.bytes);
    issues.push(...table.issues);
    if (table.sheet === null || library === null) continue;
    const found = measurementsFrom(table.sheet, library, devices);
    issues.push(...found.issues);
    readAs.push(...found.readAs);
    measurements.push(...found.measurements);
  }
  if (library === null || issues.length > 0) {
    io.err(issuesText(issues, "nothing was written"));
    return BAD_INPUT;
  }
  const { text, grown } = grownLibrary(library, measurements, { plays });
  const problem = await writeLibrary(text, { out, force }, io);
  if (problem !== null) return refused(problem);
  const report: LibraryMeasuredReport = { schemaVersion: 1, grown };
  if (json) io.out(`${jsonText(report)}\n`);
  for (const line of [...readAsLines(readAs), ...grownLines(grown)]) io.err(`${oneLine(line)}\n`);
  return MET;
}

async function devicesOf(rig: string, io: Io, issues: Issue[]): Promise<readonly DeviceOfType[]> {
  const read = await readScenarioFile(rig, io, { events: [], options: [], seed: null });
  issues.push(...read.issues);
  if (read.plan === null) return [];
  const { scenario } = wholeScenario(read.texts);
  const { devices } = scenario.rig as { readonly devices: readonly Partial<DeviceOfType>[] };
  return devices.map(({ id = "", name = null, like = null }) => ({ id, name, like }));
}
