/** `pulltest assumptions`: which number to measure first, because the verdict hangs on it. */
import type { Plan } from "../../shared/plan.ts";
import { deviceById } from "../../sim/by-id.ts";
import { stampOf } from "../../sim/stamp.ts";
import { cableIn, capital, counted, duration, grouped, inSentence } from "../../sim/tell/words.ts";
import { type Assumption, assumptionsIn } from "../../sim/trials/assumptions.ts";
import { AUDIENCES, type Audience, audiencesIn } from "../../sim/trials/rank.ts";
import { type Effect, effectsOf, isChange, jointly, type Verdict } from "../../sim/trials/sensitivity.ts";
import { singleFaults } from "../../sim/trials/setup.ts";
import { WHO } from "../../sim/trials/words-layouts.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { grouped as joined, notATest, sheetOf } from "../print/report.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { clockOf, readAudience, readCount, readWanted, type TypedWanted, timeIssues } from "../trials/options.ts";
import { progressOf } from "../trials/progress.ts";

export interface AssumptionsRequest extends Pick<TypedWanted, "at" | "only" | "repair"> {
  readonly file: string;
  readonly seed: string | null;
  /** Whose trouble counts, as typed; null: the PA's, or who there is. */
  readonly heardBy: string | null;
  /** Also the few that matter most, all free at once, with so many samples, as typed. */
  readonly jointly: string | null;
  readonly json: boolean;
}

/** Joint shares are asked of so many numbers. */
const JOINT_MOST = 6;
const SAMPLES_MAX = 100_000;
const SHOWN = 15;

export async function assumptionsOfFile(request: AssumptionsRequest, io: Io): Promise<number> {
  const {
    plan,
    sha256,
    issues: found,
  } = await readScenarioFile(request.file, io, { events: [], options: [], seed: request.seed });
  const { wanted, issues: typed, notes } = readWanted({ ...request, draws: "1" }, clockOf(plan));
  const present = plan === null ? AUDIENCES : audiencesIn(plan);
  const { audience, issues: who } = readAudience(request.heardBy, present);
  const { count: samples, issues: counts } = readCount(
    "--jointly",
    request.jointly,
    SAMPLES_MAX,
    "write it like --jointly 64",
  );
  const issues = [...typed, ...who, ...counts, ...timeIssues(wanted.atNs, plan), ...found];
  if (plan === null || issues.length > 0) {
    io.err(issuesText(issues, "nothing was tried"));
    return BAD_INPUT;
  }
  for (const note of notes) io.err(`${oneLine(note)}\n`);
  const { sweep } = singleFaults(plan, wanted);
  const assumptions = assumptionsIn(sweep.plan);
  const progress = progressOf(io, "assumed numbers");
  const { now, effects } = effectsOf(sweep, assumptions, audience, (done) => progress.at(done, assumptions.length));
  progress.end();
  const matter = effects.filter(({ change }) => isChange(change));
  const free = matter.slice(0, JOINT_MOST).map(({ assumption }) => assumption);
  const sampling = progressOf(io, "samples");
  const joint =
    samples === null || free.length === 0
      ? null
      : jointly(sweep, free, audience, samples, (done) => sampling.at(done, samples * (free.length + 2)));
  sampling.end();
  const title = { schemaVersion: 1, scenario: { title: plan.title, sha256, stamp: stampOf(plan) } };
  if (request.json) {
    io.out(
      `${jsonText({ ...title, heardBy: audience, now, effects, jointly: joint === null ? null : { of: free, ...joint } })}\n`,
    );
    return MET;
  }
  const { paragraph } = sheetOf(io.columns);
  const shown = matter.slice(0, SHOWN);
  const [first] = matter;
  io.out(
    joined([
      [
        io.ink.out("bold", paragraph(`What the verdict hangs on: ${plan.title}`)),
        paragraph(`Plan ${stampOf(plan)}. ${intro(sweep.cases.length, audience, now)}`),
      ],
      [
        first === undefined
          ? paragraph(
              `${capital(counted(assumptions.length, "assumed number", "assumed numbers"))}, each tried at what else it may be: none changes what the ${WHO[audience]} hears of single faults.`,
            )
          : io.ink.out("bold", paragraph(`Measure first: ${nameOf(plan, first.assumption)}.`)),
        ...shown.map((effect) => paragraph(`- ${effectWords(plan, effect)}`, 2)),
        ...(matter.length > shown.length
          ? [
              paragraph(
                `and ${counted(matter.length - shown.length, "other", "others")} that change less: --json has them all.`,
                2,
              ),
            ]
          : []),
      ],
      first === undefined || matter.length === assumptions.length
        ? []
        : [
            paragraph(
              `${capital(counted(assumptions.length - matter.length, "other assumed number", "other assumed numbers"))} ${assumptions.length - matter.length === 1 ? "makes" : "make"} no difference to the ${WHO[audience]}; each counts once for every device or cable that has it.`,
            ),
          ],
      joint === null
        ? []
        : [
            paragraph(
              `All of these free at once (${grouped((samples as number) * (free.length + 2))} rehearsals of every fault): how much of what the silence varies by comes from each alone, and with all that it does together with others.`,
            ),
            ...free.map((assumption, place) =>
              paragraph(
                `- ${nameOf(plan, assumption)}: ${percent(joint.first[place])} alone, ${percent(joint.total[place])} with others`,
                2,
              ),
            ),
          ],
      notATest(plan.assumed.length, wanted.repairsGiven).map((text) => paragraph(text)),
    ]),
  );
  return MET;
}

function intro(faults: number, audience: Audience, { silentSeconds, disturbances, atFullLevel }: Verdict): string {
  const silence = silentSeconds < 0.05 ? "no silence" : `${duration(silentSeconds)} of silence`;
  return `All ${counted(faults, "single fault", "single faults")} once each come to ${silence} for the ${WHO[audience]}, ${counted(Math.round(disturbances), "click or dropout", "clicks and dropouts")}, and ${counted(Math.round(atFullLevel), "return", "returns")} at full level. Each assumed number is tried at what else it may well be, the others as they are.`;
}

function effectWords(plan: Plan, { assumption, at, change }: Effect): string {
  const parts = [
    Math.abs(change.silentSeconds) >= 0.1 ? `${signed(change.silentSeconds, duration)} of silence` : null,
    Math.abs(change.atFullLevel) >= 0.5 ? `${signed(change.atFullLevel, whole)} back at full level` : null,
    Math.abs(change.disturbances) >= 0.5 ? `${signed(change.disturbances, whole)} clicks or dropouts` : null,
  ].filter((text) => text !== null);
  return `${nameOf(plan, assumption)}, ${valueWords(at)} instead of ${valueWords(assumption.value)}: ${parts.join(", ")}`;
}

function signed(value: number, words: (size: number) => string): string {
  return `${value < 0 ? "−" : "+"}${words(Math.abs(value))}`;
}

function whole(value: number): string {
  return grouped(Math.round(value));
}

function valueWords(value: Assumption["value"]): string {
  return typeof value === "number" ? String(Number(value.toPrecision(4))) : String(value);
}

/** "bootSeconds of the FOH desk". */
function nameOf(plan: Plan, { on, name, ids }: Assumption): string {
  const [id = ""] = ids;
  const device = on === "device" ? deviceById(plan, id) : undefined;
  const whose =
    device !== undefined ? inSentence(device.name) : on === "link" ? cableIn(plan, id) : `spare group ${id}`;
  return `${name} of ${whose}`;
}

/** Estimates near 0 or 1 may come out beyond. */
function percent(share: number | undefined): string {
  return `${Math.round(100 * Math.min(1, Math.max(0, share ?? 0)))} %`;
}
