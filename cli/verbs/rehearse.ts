/** `pulltest rehearse`: plays a scenario and prints what happened; writes the page if it is asked for. */
import { firstFix } from "../../sim/first-fix.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { type FaultOption, readFaults } from "../faults.ts";
import { pageObstacle, writeNewFile } from "../files.ts";
import { issuesText } from "../print/issues.ts";
import { pageText } from "../print/page.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { rehearsalText } from "../print/rehearsal.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import type { Io } from "../terminal.ts";

export interface RehearseRequest {
  readonly file: string;
  readonly faults: readonly FaultOption[];
  readonly seed: string | null;
  /** Where to write the page. */
  readonly html: string | null;
  /** Overwrite whatever is there. */
  readonly force: boolean;
  readonly json: boolean;
  /** List each assumed number with whom it is about. */
  readonly assumed: boolean;
  /** Of the command, for what it prints. */
  readonly version: string;
}

export async function rehearseFile(
  { file, faults, seed, html, force, json, assumed, version }: RehearseRequest,
  io: Io,
): Promise<number> {
  if (seed === "") {
    io.err('pulltest rehearse: --seed: expected a text, received ""; leave it out, or write one such as quay-2\n');
    return BAD_INPUT;
  }
  const { events, options, issues: faultIssues } = readFaults(faults);
  const read = await readScenarioFile(file, io, { events, options, seed });
  const issues = [...faultIssues, ...read.issues];
  if (issues.length > 0 || read.plan === null) {
    io.err(issuesText(issues, "nothing was played"));
    return BAD_INPUT;
  }
  const obstacle = html === null ? null : await pageObstacle(io.workingFolder, html, { inputs: read.inputs, force });
  if (obstacle !== null) {
    io.err(`pulltest rehearse: ${oneLine(obstacle)}\n`);
    return BAD_INPUT;
  }
  const run = rehearse(read.plan, { sha256: read.sha256 });
  // Trying changes costs a run each, and the summary has no room for it.
  const telling = json && html === null ? null : tell(run, { fix: firstFix(run) });
  if (html !== null && telling !== null) {
    const page = await pageText({ ...run, telling });
    const problem = await writeNewFile(io.workingFolder, html, page, { overwrite: true });
    if (problem !== null) {
      io.err(`pulltest rehearse: ${oneLine(problem)}\n`);
      return BAD_INPUT;
    }
    io.err(`Wrote ${oneLine(html)}: open it in a browser, no network needed.\n`);
  }
  if (json || telling === null) io.out(`${jsonText(run.summary)}\n`);
  else
    io.out(
      rehearsalText(
        { file, version, telling, summary: run.summary, listsAssumed: assumed },
        { ink: io.ink.out, columns: io.columns },
      ),
    );
  return run.summary.verdict === "failed" ? NOT_MET : MET;
}
