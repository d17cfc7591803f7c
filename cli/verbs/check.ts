/** `pulltest check`: reads a plan without playing it and prints what the rules find. */
import { check } from "../../sim/check/index.ts";
import { findingsText, type PlacedFinding } from "../print/findings.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import type { Io } from "../terminal.ts";

/** What `check --json` prints. */
export interface CheckReport {
  readonly schemaVersion: 1;
  readonly scenario: { readonly title: string; readonly sha256: string };
  readonly findings: readonly PlacedFinding[];
  readonly errors: number;
  readonly warnings: number;
  readonly advice: number;
}

export async function checkFile(
  { file, json }: { readonly file: string; readonly json: boolean },
  io: Io,
): Promise<number> {
  const { plan, issues, sha256, placeOf } = await readScenarioFile(file, io, { events: [], options: [], seed: null });
  if (plan === null) {
    io.err(issuesText(issues, "the plan was not read"));
    return BAD_INPUT;
  }
  const findings = check(plan).map((finding) => ({ ...finding, place: placeOf(finding.path) }));
  const count = (severity: string) => findings.filter((finding) => finding.severity === severity).length;
  const errors = count("error");
  if (json) {
    const report: CheckReport = {
      schemaVersion: 1,
      scenario: { title: plan.title, sha256 },
      findings,
      errors,
      warnings: count("warning"),
      advice: count("advice"),
    };
    io.out(`${jsonText(report)}\n`);
  } else io.out(findingsText(findings, { ink: io.ink.out, columns: io.columns }));
  return errors > 0 ? NOT_MET : MET;
}
