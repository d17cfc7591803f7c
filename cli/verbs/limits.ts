/** `pulltest limits`: for each weakness of a rig the longest that nobody hears. */
import { formatShowTime } from "../../shared/units.ts";
import { stampOf } from "../../sim/stamp.ts";
import { limitWords } from "../../sim/trials/limit-words.ts";
import { type Limit, limitsOf } from "../../sim/trials/limits.ts";
import { singleFaults } from "../../sim/trials/setup.ts";
import { rehearsalWords } from "../../sim/trials/words-faults.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { grouped, sheetOf } from "../print/report.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { clockOf, feedIssues, readWanted, timeIssues } from "../trials/options.ts";
import { progressOf } from "../trials/progress.ts";

export interface LimitsRequest {
  readonly file: string;
  readonly at: string | null;
  readonly seed: string | null;
  readonly json: boolean;
}

export async function limitsOfFile({ file, at, seed, json }: LimitsRequest, io: Io): Promise<number> {
  const { plan, sha256, issues: found } = await readScenarioFile(file, io, { events: [], options: [], seed });
  const { wanted, issues: typed, notes } = readWanted({ at }, clockOf(plan));
  const issues = [...typed, ...timeIssues(wanted.atNs, plan), ...feedIssues(file, plan), ...found];
  if (plan === null || issues.length > 0) {
    io.err(issuesText(issues, "nothing was tried"));
    return BAD_INPUT;
  }
  for (const note of notes) io.err(`${oneLine(note)}\n`);
  const { sweep } = singleFaults(plan, wanted);
  const [standing] = sweep.standings;
  if (standing === undefined) throw new Error("a show without an instant");
  const progress = progressOf(io, "limits");
  const limits = limitsOf(sweep.plan, standing, progress.at);
  progress.end();
  if (json)
    io.out(
      `${jsonText({
        ...{ schemaVersion: 1, scenario: { title: plan.title, sha256, stamp: stampOf(plan) } },
        ...{ atSeconds: standing.atNs / 1e9, limits },
      })}\n`,
    );
  else {
    const { paragraph } = sheetOf(io.columns);
    const lines = (kind: Limit["kind"]) =>
      limits.filter((limit) => limit.kind === kind).map((limit) => paragraph(limitWords(sweep.plan, limit), 2));
    io.out(
      grouped([
        [
          io.ink.out("bold", paragraph(`What nobody hears: ${plan.title}`)),
          paragraph(
            `Plan ${stampOf(plan)}, at ${formatShowTime(standing.atNs)}. Each limit was found by halving: just below it nobody heard the fault, just above it somebody did. What is much shorter was not tried one by one.`,
          ),
        ],
        lines("break"),
        lines("contact"),
        lines("reboot"),
        [paragraph(rehearsalWords(plan.assumed.length, false))],
      ]),
    );
  }
  return MET;
}
