/** `pulltest changes`: what differs between two plans, thing by thing. */
import type { Plan } from "../../shared/plan.ts";
import { type Change, changesBetween } from "../../sim/changes.ts";
import { spelledStamp, stampOf } from "../../sim/stamp.ts";
import { capital, counted } from "../../sim/tell/words.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import type { Io } from "../terminal.ts";

/** What `changes --json` prints. */
export interface ChangesReport {
  readonly schemaVersion: 1;
  readonly before: { readonly title: string; readonly stamp: string };
  readonly after: { readonly title: string; readonly stamp: string };
  readonly changes: readonly Change[];
}

export interface ChangesRequest {
  readonly before: string;
  readonly after: string;
  readonly json: boolean;
}

export async function changesOfFiles({ before, after, json }: ChangesRequest, io: Io): Promise<number> {
  if (before === "-" && after === "-") {
    io.err("pulltest changes: only one of the two can come from standard input\n");
    return BAD_INPUT;
  }
  const plans: Plan[] = [];
  for (const file of [before, after]) {
    const { plan, issues } = await readScenarioFile(file, io, { events: [], options: [], seed: null });
    if (plan === null) io.err(issuesText(issues, "the plan was not read"));
    else plans.push(plan);
  }
  const [old, now] = plans;
  if (old === undefined || now === undefined) return BAD_INPUT;
  const changes = changesBetween(old, now);
  const [was, is] = [stampOf(old), stampOf(now)];
  if (json) {
    const report: ChangesReport = {
      schemaVersion: 1,
      before: { title: old.title, stamp: was },
      after: { title: now.title, stamp: is },
      changes,
    };
    io.out(`${jsonText(report)}\n`);
  } else {
    io.out(
      changes.length === 0
        ? `Plan ${is} (${spelledStamp(is)}) in both files: the rig is the same.\n`
        : `Plan ${was} (${spelledStamp(was)}) was changed to plan ${is} (${spelledStamp(is)}).\n\n` +
            `${changes.map(({ words }) => `${oneLine(words)}\n`).join("")}\n` +
            `${capital(counted(changes.length, "thing", "things"))} changed. Whatever was tested there is to be tested again. ` +
            "Old sheets go in the bin.\n",
    );
  }
  return changes.length === 0 ? MET : NOT_MET;
}
