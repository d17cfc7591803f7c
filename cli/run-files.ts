/** Files that a run is written into beside what is printed of it: which were asked for, and what each of them holds. */
import type { Telling } from "../shared/telling.ts";
import type { PolicyComparison } from "../sim/policies.ts";
import type { Run } from "../sim/rehearse.ts";
import type { ScenarioTexts } from "../sim/run-data.ts";
import { counted } from "../sim/tell/words.ts";
import type { Output } from "./files.ts";
import { phaseTable } from "./print/phase-csv.ts";

/** Names as typed; null: not asked for. */
export interface RunFilesWanted {
  /** The page. */
  readonly html: string | null;
  /** The phases of all devices. */
  readonly phaseCsv: string | null;
  /** The record as one table. */
  readonly recordCsv: string | null;
  readonly vcd: string | null;
  /** Trace events. */
  readonly trace: string | null;
  /** Expectations as test cases. */
  readonly junit: string | null;
}

export interface Rehearsed extends Run {
  /** Null where nothing was asked for that tells. */
  readonly telling: Telling | null;
  readonly policies: readonly PolicyComparison[] | null;
  readonly files: ScenarioTexts;
  /** Between two rows of the phases. */
  readonly stepSeconds: number;
  readonly version: string;
}

/** A text, and what is said of it behind its name. */
interface Written {
  readonly text: string;
  readonly about: string;
}

export interface RunFile extends Output {
  readonly write: (of: Rehearsed) => Promise<Written>;
}

export function runFiles({ html, phaseCsv, recordCsv, vcd, trace, junit }: RunFilesWanted): readonly RunFile[] {
  const asked: readonly (Omit<RunFile, "name"> & { readonly name: string | null })[] = [
    { name: html, kind: "page", write: page },
    { name: phaseCsv, kind: "table", what: "phases", write: phases },
    { name: recordCsv, kind: "table", what: "record", write: recordTable },
    { name: vcd, kind: "value change dump", write: valueChanges },
    { name: trace, kind: "trace", write: traceEvents },
    { name: junit, kind: "test report", write: testReport },
  ];
  return asked.flatMap(({ name, ...file }) => (name === null ? [] : [{ name, ...file }]));
}

async function page({ telling, policies, files, version: _, stepSeconds: __, ...run }: Rehearsed): Promise<Written> {
  const { pageText } = await import("./print/page.ts");
  const text = await pageText({ ...run, telling: telling as Telling, ...(policies && { policies }), files });
  return { text, about: "open it in a browser, no network needed" };
}

async function phases({ plan, record, stepSeconds }: Rehearsed): Promise<Written> {
  const { text, devices, rows } = phaseTable(plan, record, stepSeconds);
  const what = `${counted(devices, "device", "devices")}, ${counted(rows, "row", "rows")}`;
  return { text, about: `phase against true time, ${what}, ${stepSeconds} s apart` };
}

async function recordTable(run: Rehearsed): Promise<Written> {
  const { lanesOf } = await import("../sim/lanes/lane.ts");
  const { recordRows } = await import("../sim/export/record-rows.ts");
  const { csvFromRows } = await import("./tables-csv.ts");
  const rows = recordRows(run, lanesOf(run).all);
  return { text: csvFromRows(rows), about: `the record, ${counted(rows.length - 1, "row", "rows")}` };
}

async function valueChanges(run: Rehearsed): Promise<Written> {
  const { vcdText } = await import("../sim/export/vcd.ts");
  return { text: vcdText(run, run.version), about: "value change dump, for wave viewers" };
}

async function traceEvents(run: Rehearsed): Promise<Written> {
  const { traceText } = await import("../sim/export/trace.ts");
  return { text: traceText(run, run.version), about: "trace events, for trace viewers" };
}

async function testReport(run: Rehearsed): Promise<Written> {
  const { junitText } = await import("./print/junit.ts");
  const { expect } = run.summary;
  const missed = expect.filter(({ met }) => !met).length;
  const text = junitText(run, run.version);
  if (expect.length === 0) return { text, about: "no test cases, since the scenario expects nothing" };
  const cases = counted(expect.length, "test case", "test cases");
  return { text, about: `${cases}, ${missed === 0 ? "all met" : `${missed} not met`}` };
}
