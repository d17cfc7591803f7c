/** The record as CSV: rows end and cells are quoted as RFC 4180 says. */
import { csvFormatRow } from "d3";
import { recordRows } from "../../sim/export/record-rows.ts";
import type { Lane } from "../../sim/lanes/lane.ts";
import type { Run } from "../run.ts";

/** With a byte order mark: without one, common spreadsheets take UTF-8 for something else. */
export function recordCsv(run: Run, lanes: readonly Lane[]): string {
  return csvText(recordRows(run, lanes));
}

/** Each cell as it is to stand there: what a spreadsheet would take for a formula is not made harmless here. */
export function csvText(rows: readonly (readonly string[])[]): string {
  return `\ufeff${rows.map((row) => `${csvFormatRow([...row])}\r\n`).join("")}`;
}
