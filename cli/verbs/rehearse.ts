/** `pulltest rehearse`: plays a scenario and prints what happened; writes the page and other files if asked for. */

import { NO_CLOCK } from "../../shared/as-said.ts";
import { type Issue, quote, withoutLine } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import { firstFix } from "../../sim/first-fix.ts";
import type { PolicyComparison } from "../../sim/policies.ts";
import { type Run, rehearse } from "../../sim/rehearse.ts";
import { ROWS_COMPARED_UNASKED } from "../../sim/run-data.ts";
import { stampOf } from "../../sim/stamp.ts";
import { tell } from "../../sim/tell.ts";
import { type FaultOption, readFaults } from "../faults.ts";
import { outputObstacle, writeNewFile } from "../files.ts";
import { issuesText } from "../print/issues.ts";
import { phaseRows } from "../print/phase-csv.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { rehearsalText } from "../print/rehearsal.ts";
import { type RunFilesWanted, runFiles } from "../run-files.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { readQuestions } from "../why.ts";

export interface RehearseRequest {
  readonly file: string;
  readonly faults: readonly FaultOption[];
  readonly seed: string | null;
  /** Where to write what. */
  readonly outputs: RunFilesWanted;
  /** The spacing of the phases as typed; null: the wander grid. */
  readonly phaseStep: string | null;
  /** Overwrite whatever is there. */
  readonly force: boolean;
  readonly json: boolean;
  /** List each assumed number with whom it is about. */
  readonly assumed: boolean;
  /** What is asked instead of the whole outcome, as typed: "stage@00:20:05". */
  readonly why: readonly string[];
  /** Asked instead of the whole outcome: each return of a leader under five policies. */
  readonly returnPolicies: boolean;
  /** Of the command, for what it prints. */
  readonly version: string;
}

export async function rehearseFile(request: RehearseRequest, io: Io): Promise<number> {
  const { file, faults, seed, force, json, assumed, why, version } = request;
  const outputs = runFiles(request.outputs);
  const { html } = request.outputs;
  const refused = (problem: string): number => {
    io.err(`pulltest rehearse: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  if (request.returnPolicies && (why.length > 0 || outputs.some(({ kind }) => kind !== "page")))
    return refused(
      "--return-policies takes only --html beside it; ask for --why and for other files in a run of their own",
    );
  if (seed === "") return refused('--seed: expected a text, received ""; leave it out, or write one such as quay-2');
  let typed = readFaults(faults, NO_CLOCK);
  const read = await readScenarioFile(file, io, (clock) => {
    typed = readFaults(faults, clock);
    return { events: typed.events, options: typed.options, seed };
  });
  const { stepSeconds, issues: stepIssues } = readPhaseStep(request, read.plan);
  const { questions, understood, issues: whyIssues } = readQuestions(why, read.plan);
  const issues = [...typed.issues, ...stepIssues, ...whyIssues, ...read.issues];
  if (issues.length > 0 || read.plan === null) {
    io.err(issuesText(issues, "nothing was played"));
    return BAD_INPUT;
  }
  for (const words of [...typed.understood, ...understood]) io.err(`${oneLine(words)}\n`);
  const { inputs } = read;
  const obstacle = await outputObstacle(io.workingFolder, outputs, { inputs, force });
  if (obstacle !== null) return refused(obstacle);
  const run = rehearse(read.plan, { sha256: read.sha256 });
  const policies = request.returnPolicies || html !== null ? await policiesOf(run, request) : null;
  if (request.returnPolicies && policies?.length === 0) {
    const issue = {
      ...withoutLine("--return-policies"),
      expected: "a device that leads, goes away and comes back within the run",
      received: "a run without one",
      remedy: "add one, like --reboot foh@00:20:00, or a longer run",
    };
    io.err(issuesText([issue], "nothing was compared"));
    return BAD_INPUT;
  }
  const isOutcome = !json && why.length === 0 && !request.returnPolicies;
  const telling = isOutcome || html !== null ? tell(run, { fix: firstFix(run) }) : null;
  for (const { name, write } of outputs) {
    const { text, about } = await write({ ...run, telling, policies, files: read.texts, stepSeconds, version });
    const problem = await writeNewFile(io.workingFolder, name, text, { overwrite: true });
    if (problem !== null) return refused(problem);
    io.err(`Wrote ${oneLine(name)}: ${about}.\n`);
  }
  if (request.returnPolicies && policies !== null) {
    const { policiesJson, policiesText } = await import("../print/policies.ts");
    const print = { file, version, ...run, comparisons: policies };
    io.out(json ? `${jsonText(policiesJson(print))}\n` : policiesText(print, { ink: io.ink.out, columns: io.columns }));
  } else if (why.length > 0) {
    const { whyJson, whyText } = await import("../print/why.ts");
    const print = { file, version, ...run, questions };
    io.out(json ? `${jsonText(whyJson(print))}\n` : whyText(print, { ink: io.ink.out, columns: io.columns }));
  } else if (json || telling === null) io.out(`${jsonText(run.summary)}\n`);
  else
    io.out(
      rehearsalText(
        {
          ...{ file, version, stamp: stampOf(read.plan), telling, summary: run.summary, listsAssumed: assumed },
          startsAt: read.plan.startsAt ?? null,
        },
        { ink: io.ink.out, columns: io.columns },
      ),
    );
  return run.summary.verdict === "failed" ? NOT_MET : MET;
}

/** Null where it would take long and was not asked for. */
async function policiesOf(run: Run, { returnPolicies }: RehearseRequest): Promise<readonly PolicyComparison[] | null> {
  const { comparePolicies, rowsToCompare } = await import("../../sim/policies.ts");
  return returnPolicies || rowsToCompare(run) <= ROWS_COMPARED_UNASKED ? comparePolicies(run) : null;
}

/** Some 200 MB of text, which `stability` still reads. */
const PHASE_CELLS_MAX = 10_000_000;

function readPhaseStep(
  { outputs: { phaseCsv }, phaseStep }: RehearseRequest,
  plan: Plan | null,
): { readonly stepSeconds: number; readonly issues: readonly Issue[] } {
  const typed = phaseStep === null || phaseStep.trim() === "" ? Number.NaN : Number(phaseStep);
  const stepSeconds = phaseStep === null ? (plan?.wanderGridSeconds ?? 1) : typed;
  const refused = (expected: string, received: string, remedy: string) => {
    const issue = { ...withoutLine("--phase-step"), expected, received, remedy };
    return { stepSeconds, issues: [issue] };
  };
  if (phaseStep !== null && phaseCsv === null)
    return refused("--phase-csv beside it", quote(phaseStep), "name the file for the phases, or leave this out");
  if (!(stepSeconds >= 1e-9 && Number.isFinite(stepSeconds)))
    return refused("a number of seconds, at least 1e-9", quote(phaseStep), "write it like --phase-step 1");
  const cells = plan === null || phaseCsv === null ? 0 : plan.devices.length * phaseRows(plan, stepSeconds);
  if (cells > PHASE_CELLS_MAX)
    return refused(
      `at most ${PHASE_CELLS_MAX} values`,
      `${stepSeconds} s, which makes ${Math.round(cells)}`,
      `give a step of ${Number(((stepSeconds * cells) / PHASE_CELLS_MAX).toPrecision(2))} s or more`,
    );
  return { stepSeconds, issues: [] };
}
