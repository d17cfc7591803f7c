/** What the page is given: one run, as data in its own HTML. */
import { unpackRecord } from "../shared/packed-record.ts";
import type { Plan } from "../shared/plan.ts";
import type { RunRecord } from "../shared/record.ts";
import type { Summary } from "../shared/summary.ts";
import type { Telling } from "../shared/telling.ts";
import type { PolicyComparison } from "../sim/policies.ts";
import type { RunData, ScenarioTexts } from "../sim/run-data.ts";
import { keepStamp } from "../sim/stamp.ts";
import { isolated } from "./dom.ts";

export interface Run {
  readonly format: 1;
  readonly plan: Plan;
  readonly record: RunRecord;
  readonly summary: Summary;
  readonly telling: Telling;
  /** Each return of a leader under five policies; left out where that was not played. */
  readonly policies?: readonly PolicyComparison[];
  /** They are being played and come later. */
  readonly policiesAreComing?: boolean;
  /** What it was played from; left out where that is not known. */
  readonly files?: ScenarioTexts;
}

export type RunRead = { readonly run: Run } | { readonly problem: string };

/** Reads the run out of `<script type="application/json" id="run">`; null: the page holds none. */
export function readRun(page: Document): RunRead | null {
  const text = page.querySelector("#run")?.textContent;
  if (text === null || text === undefined) return null;
  let read: unknown;
  try {
    read = JSON.parse(text);
  } catch (error) {
    return { problem: `The run in this page cannot be read: ${(error as Error).message}. Make the page again.` };
  }
  const format = typeof read === "object" && read !== null ? (read as Partial<Run>).format : undefined;
  if (format !== 1) {
    return {
      problem: `This page draws runs of format 1 and was given format ${String(format)}. Make the page again with the Pulltest that made the run.`,
    };
  }
  return { run: runOf(read as RunData) };
}

export function runOf(data: RunData): Run {
  const { format, plan, stamp, record, shapes, wanders, summary, telling, policies, files } = data;
  keepStamp(plan, stamp);
  const run: Run = {
    format,
    plan,
    record: unpackRecord({ record, shapes, wanders }),
    summary,
    telling,
    ...(policies && { policies }),
    ...(files && { files }),
  };
  return { ...run, telling: withNamesApart(run) };
}

/** Letters, and the signs that turn what follows: one that is left open in a name would turn the rest of the sentence. */
const RIGHT_TO_LEFT = /[\u0590-\u08ff\u202a-\u202e\u2066-\u2069\ufb1d-\ufdff\ufe70-\ufefc]/;

/** Sets each name that runs from right to left apart in a text, so that it does not turn the words around it. */
export function namesApart({ plan }: Pick<Run, "plan">): (text: string) => string {
  const names = [...plan.devices, ...plan.feeds].map(({ name }) => name).filter((name) => RIGHT_TO_LEFT.test(name));
  return (text) => [...new Set(names)].reduce((told, name) => told.replaceAll(name, () => isolated(name)), text);
}

function withNamesApart(run: Run): Telling {
  const { telling } = run;
  const apart = namesApart(run);
  return {
    ...telling,
    sentences: telling.sentences.map(apart),
    timeline: telling.timeline.map((line) => ({ ...line, text: apart(line.text) })),
    heard: telling.heard.map(({ who, text }) => ({ who: apart(who), text: apart(text) })),
    beforeReturn: telling.beforeReturn.map(apart),
    ridesOut: telling.ridesOut.map(apart),
    converters: telling.converters.map(apart),
    chain: telling.chain === null ? null : apart(telling.chain),
    verdict: telling.verdict.map(apart),
    fixFirst: telling.fixFirst === null ? null : apart(telling.fixFirst),
  };
}
