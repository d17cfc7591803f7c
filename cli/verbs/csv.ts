/** `pulltest csv`: a scenario as tables for a spreadsheet, which `new --from-csv` reads back. */
import { basename, join } from "node:path";
import { wholeScenario } from "../../sim/tables/whole.ts";
import { tablesFromScenario } from "../../sim/tables/write.ts";
import { counted } from "../../sim/tell/words.ts";
import { makeFolder, outputObstacle, writeNewFile } from "../files.ts";
import { issuesText } from "../print/issues.ts";
import { oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET } from "../status.ts";
import { csvFromRows } from "../tables-csv.ts";
import type { Io } from "../terminal.ts";

export interface CsvRequest {
  readonly file: string;
  /** A folder, made if it is not there. */
  readonly out: string;
  readonly force: boolean;
}

export async function writeCsv({ file, out, force }: CsvRequest, io: Io): Promise<number> {
  const read = await readScenarioFile(file, io, { events: [], options: [], seed: null });
  if (read.plan === null) {
    io.err(issuesText(read.issues, "nothing was written"));
    return BAD_INPUT;
  }
  const { scenario, types, isInSeveralFiles, hasComments } = wholeScenario(read.texts);
  const tables = tablesFromScenario(scenario, types).map(({ name, rows }) => ({
    name: join(out, `${name}.csv`),
    text: csvFromRows(rows),
  }));
  const refuse = (problem: string) => {
    io.err(`pulltest csv: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  const unmade = await makeFolder(io.workingFolder, out);
  if (unmade !== null) return refuse(unmade);
  // All are looked at before the first is written: half of a rig in new tables and half in old ones is neither.
  const outputs = tables.map(({ name }) => ({ name, kind: "table" as const }));
  const obstacle = await outputObstacle(io.workingFolder, outputs, { inputs: read.inputs, force });
  if (obstacle !== null) return refuse(obstacle);
  for (const { name, text } of tables) {
    const problem = await writeNewFile(io.workingFolder, name, text, { overwrite: force });
    if (problem !== null) return refuse(problem);
  }
  io.err(
    `Wrote ${counted(tables.length, "table", "tables")} to ${oneLine(out)}: ${tables.map(({ name }) => basename(name)).join(", ")}.\n`,
  );
  if (hasComments) io.err("Comments of the file stand in no table.\n");
  if (isInSeveralFiles)
    io.err("Rig and device types from other files stand in these tables as well; read back, they are one file.\n");
  return MET;
}
