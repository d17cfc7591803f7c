/** What a page is given of a run, as plain data: the command writes it into a file, the page's own engine hands it over. */
import { type PackedRecord, packRecord } from "../shared/packed-record.ts";
import type { Plan } from "../shared/plan.ts";
import type { Summary } from "../shared/summary.ts";
import type { Telling } from "../shared/telling.ts";
import type { PolicyComparison } from "./policies.ts";
import type { Run } from "./rehearse.ts";
import { stampOf } from "./stamp.ts";

/** The files that a run came from. */
export interface ScenarioTexts {
  /** Name of the scenario among them. */
  readonly main: string;
  /** By name, as the scenario names them from its own folder: "quay.rig.json". */
  readonly texts: Readonly<Record<string, string>>;
  /** Of a run from the command line: what was added there, which is in no text. */
  readonly added?: { readonly events: readonly unknown[]; readonly seed: string | null };
}

/** "./rigs/../quay.rig.json" → "quay.rig.json": under which name {@link ScenarioTexts} has what a scenario names. */
export function plainName(name: string): string {
  const steps: string[] = [];
  for (const step of name.split(/[/\\]/u)) {
    if (step === "..") steps.pop();
    else if (step !== "" && step !== ".") steps.push(step);
  }
  return steps.join("/");
}

export interface RunData extends PackedRecord {
  readonly format: 1;
  readonly plan: Plan;
  /** Of the plan, so that a page need not work it out before it can draw its head. */
  readonly stamp: string;
  readonly summary: Summary;
  readonly telling: Telling;
  /** Each return of a leader under five policies; left out where that was not played. */
  readonly policies?: readonly PolicyComparison[];
  /** Left out where they are not known: then the page shows the run, and nobody can go on from it. */
  readonly files?: ScenarioTexts;
}

export interface PageRun extends Run {
  readonly telling: Telling;
  readonly policies?: readonly PolicyComparison[];
  readonly files?: ScenarioTexts;
}

export function runData({ plan, record, summary, telling, policies, files }: PageRun): RunData {
  return {
    format: 1,
    plan,
    stamp: stampOf(plan),
    ...packRecord(record),
    summary,
    telling,
    ...(policies && { policies }),
    ...(files && { files }),
  };
}

/**
 * What a page has without being asked: a comparison costs forty runs for each absence of a leader, and so many rows of
 * record are played within a second (measured: 4 to 8 µs a row).
 */
export const ROWS_COMPARED_UNASKED = 100_000;
