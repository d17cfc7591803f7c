/** Tables of tests: from files, from texts, and there and back. */
import { readFileSync } from "node:fs";
import { csvFromRows, sheetFromCsv } from "../../cli/tables-csv.ts";
import { type Issue, sortIssues } from "../../shared/issues.ts";
import { readScenario, type ScenarioRead } from "../../shared/scenario.ts";
import { scenarioFromTables, type TablesRead } from "../../sim/tables/read.ts";
import { tablesFromScenario } from "../../sim/tables/write.ts";

export const QUAY = ["devices.csv", "cables.csv", "feeds.csv", "events.csv", "patch.csv"];

export function quayFile(name: string): string {
  return readFileSync(`tests/tables/lantern-quay/${name}`, "utf8");
}

/** As the command reads them, issues of CSV and of tables together. */
export function fromTexts(texts: Readonly<Record<string, string>>): TablesRead {
  const files = Object.keys(texts);
  const csv = files.map((file) => sheetFromCsv(file, new TextEncoder().encode(texts[file])));
  const made = scenarioFromTables(csv.flatMap(({ sheet }) => sheet ?? []));
  const issues: Issue[] = sortIssues([...csv.flatMap((each) => each.issues), ...made.issues], files);
  return { ...made, text: issues.length === 0 ? made.text : null, issues };
}

export function readText(text: string): ScenarioRead {
  return readScenario({ file: "made.json", bytes: new TextEncoder().encode(text) }, () => ({ problem: "none" }));
}

export function thereAndBack(scenario: Readonly<Record<string, unknown>>, types = {}): TablesRead {
  const tables = tablesFromScenario(scenario, types);
  return fromTexts(Object.fromEntries(tables.map(({ name, rows }) => [`${name}.csv`, csvFromRows(rows)])));
}
