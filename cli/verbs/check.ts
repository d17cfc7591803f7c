/** `pulltest check`: reads a plan without playing it and prints what the rules find. */

import type { Finding } from "../../shared/finding.ts";
import { checkAll } from "../../sim/check/index.ts";
import { type FeedCuts, feedCuts } from "../../sim/check/risks.ts";
import { stampOf } from "../../sim/stamp.ts";
import { fullLinksSentence } from "../../sim/tell/channels.ts";
import { outputObstacle, writeNewFile } from "../files.ts";
import { type AcceptedHere, findingsText, type PlacedFinding } from "../print/findings.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import type { Io } from "../terminal.ts";

/** What `check --json` prints. */
export interface CheckReport {
  readonly schemaVersion: 1;
  readonly scenario: { readonly title: string; readonly sha256: string; readonly stamp: string };
  readonly findings: readonly PlacedFinding[];
  /** Counted nowhere. */
  readonly accepted: readonly AcceptedHere[];
  /** What has to go before a feed is gone. */
  readonly feeds: readonly FeedCuts[];
  readonly errors: number;
  readonly warnings: number;
  readonly advice: number;
}

export interface CheckRequest {
  readonly file: string;
  readonly json: boolean;
  /** Write the findings there as SARIF as well. */
  readonly sarif: string | null;
  readonly force: boolean;
  /** Of the command, for what it writes. */
  readonly version: string;
}

export async function checkFile({ file, json, sarif, force, version }: CheckRequest, io: Io): Promise<number> {
  const read = await readScenarioFile(file, io, { events: [], options: [], seed: null });
  const { plan, issues, sha256, placeOf, inputs } = read;
  if (plan === null) {
    io.err(issuesText(issues, "the plan was not read"));
    return BAD_INPUT;
  }
  const refused = (problem: string): number => {
    io.err(`pulltest check: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  const outputs = sarif === null ? [] : [{ name: sarif, kind: "report" as const }];
  const obstacle = await outputObstacle(io.workingFolder, outputs, { inputs, force });
  if (obstacle !== null) return refused(obstacle);

  const checked = checkAll(plan);
  const placed = <One extends Finding>(finding: One): One & PlacedFinding => ({
    ...finding,
    place: placeOf(finding.path),
  });
  const findings = checked.findings.map((finding) => placed(finding));
  const accepted: readonly AcceptedHere[] = checked.accepted.map((finding) => placed(finding));
  const count = (severity: string) => findings.filter((finding) => finding.severity === severity).length;
  const errors = count("error");
  if (sarif !== null) {
    const { sarifLog } = await import("../print/sarif.ts");
    const text = `${jsonText(sarifLog({ findings, accepted, version, workingFolder: io.workingFolder }))}\n`;
    const problem = await writeNewFile(io.workingFolder, sarif, text, { overwrite: true });
    if (problem !== null) return refused(problem);
    io.err(`Wrote ${oneLine(sarif)}: ${findings.length + accepted.length} results, SARIF 2.1.0.\n`);
  }
  if (json) {
    const report: CheckReport = {
      schemaVersion: 1,
      scenario: { title: plan.title, sha256, stamp: stampOf(plan) },
      findings,
      accepted,
      feeds: feedCuts(plan),
      errors,
      warnings: count("warning"),
      advice: count("advice"),
    };
    io.out(`${jsonText(report)}\n`);
  } else
    io.out(
      findingsText(
        { stamp: stampOf(plan), findings, accepted, full: fullLinksSentence(plan) },
        { ink: io.ink.out, columns: io.columns },
      ),
    );
  return errors > 0 ? NOT_MET : MET;
}
