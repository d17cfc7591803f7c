/** `pulltest odds`: shows as chance has them, by failure rates that somebody gives. */
import { resolve } from "node:path";
import { type Issue, withoutLine } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import { stampOf } from "../../sim/stamp.ts";
import { feedsInOrder } from "../../sim/tell/pieces.ts";
import { capital, counted, duration, grouped, listed } from "../../sim/tell/words.ts";
import { silenceByFormula } from "../../sim/trials/formula.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { type AudienceOdds, type Odds, oddsOf, type ShowPlayed, Shows } from "../../sim/trials/odds.ts";
import { AUDIENCES, type Audience, audiencesIn } from "../../sim/trials/rank.ts";
import { whoHears } from "../../sim/trials/words-faults.ts";
import { WHO } from "../../sim/trials/words-layouts.ts";
import { readBounded, receivedInstead } from "../files.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText } from "../print/plain.ts";
import { grouped as joined, sheetOf } from "../print/report.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, INTERRUPTED, MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { readAudience, readCount } from "../trials/options.ts";
import { progressOf } from "../trials/progress.ts";
import { readRates } from "../trials/rates.ts";

export interface OddsRequest {
  readonly file: string;
  /** A table. */
  readonly rates: string;
  readonly heardBy: string | null;
  /** At most, as typed. */
  readonly shows: string | null;
  readonly seed: string | null;
  readonly json: boolean;
}

const SHOWS_MOST = 20_000;
const SHOWS_MAX = 10_000_000;
/** Asked after so many whether the answer is clear: an answer that is looked at more often ends too soon by luck. */
const BATCH = 500;

export async function oddsOfFile(request: OddsRequest, io: Io): Promise<number> {
  const { file, rates: ratesFile, seed } = request;
  const read = await readScenarioFile(file, io, { events: [], options: [], seed });
  const { plan } = read;
  const present = plan === null ? AUDIENCES : audiencesIn(plan);
  const { audience, issues: who } = readAudience(request.heardBy, present);
  const { count, issues: counts } = readCount("--shows", request.shows, SHOWS_MAX, "write it like --shows 10000");
  const table = await readBounded(resolve(io.workingFolder, ratesFile));
  const unreadable = (received: string): Issue => ({
    ...withoutLine(ratesFile),
    expected: "a table of rates",
    received,
    remedy: "make one with the columns what, mtbf_h, time_s; pulltest help odds shows one",
  });
  const rated =
    "problem" in table || plan === null
      ? null
      : readRates(ratesFile, new TextDecoder().decode(table.bytes), asPlanned(plan).plan);
  const issues = [
    ...who,
    ...counts,
    ...("problem" in table ? [unreadable(receivedInstead(table.problem))] : []),
    ...(rated?.issues ?? []),
    ...read.issues,
  ];
  if (plan === null || rated === null || issues.length > 0) {
    io.err(issuesText(issues, "nothing was played"));
    return BAD_INPUT;
  }
  const shows = new Shows(asPlanned(plan).plan, rated.rates);
  const played: ShowPlayed[] = [];
  const most = count ?? SHOWS_MOST;
  const progress = progressOf(io, "shows", " at most");
  let isInterrupted = false;
  const stop = () => {
    isInterrupted = true;
  };
  process.once("SIGINT", stop);
  let odds: Odds | null = null;
  while (played.length < most && !isInterrupted && odds?.isClear !== true) {
    const until = Math.min(most, played.length + BATCH);
    while (played.length < until && !isInterrupted) {
      played.push(shows.play(played.length));
      if (played.length % 20 === 0) await new Promise((done) => setImmediate(done));
    }
    odds = oddsOf(played, audience);
    progress.at(played.length, most);
  }
  process.removeListener("SIGINT", stop);
  progress.end();
  if (odds === null) return INTERRUPTED;
  const byFormula = silenceByFormula(asPlanned(plan).plan, rated.rates);
  if (request.json)
    io.out(
      `${jsonText({
        ...{ schemaVersion: 1, scenario: { title: plan.title, sha256: read.sha256, stamp: stampOf(plan) } },
        silentSecondsByFormula: Object.fromEntries(byFormula),
        ...{ heardBy: audience, ratedFaults: shows.rated, expectedFaultsPerShow: shows.expectedFaults, ...odds },
      })}\n`,
    );
  else io.out(oddsText(plan, shows, odds, { audience, isInterrupted, byFormula, io }));
  return isInterrupted ? INTERRUPTED : MET;
}

function oddsText(
  plan: Plan,
  shows: Shows,
  odds: Odds,
  {
    audience,
    isInterrupted,
    byFormula,
    io,
  }: {
    readonly audience: Audience;
    readonly isInterrupted: boolean;
    readonly byFormula: ReadonlyMap<string, number>;
    readonly io: Io;
  },
): string {
  const { paragraph } = sheetOf(io.columns);
  const ended = odds.isClear
    ? `The chance of silence for the ${WHO[audience]} is known to a tenth of itself or better; more shows would say the same.`
    : `${isInterrupted ? "PARTIAL: interrupted" : "Not clear yet"}: --shows asks for more.`;
  return joined([
    [io.ink.out("bold", paragraph(`What chance brings: ${plan.title}`))],
    [
      paragraph(
        `Plan ${stampOf(plan)}. ${capital(counted(odds.shows, "show", "shows"))} played, ${grouped(odds.withFaults)} of them with at least one fault; ${counted(shows.rated, "fault has a rate", "faults have a rate")}, ${figure(shows.expectedFaults)} come in a show on average.`,
      ),
      paragraph(ended),
    ],
    odds.audiences.map((each) => paragraph(audienceWords(each), 2)),
    [
      paragraph(
        `By the formulas of availability alone, which know of parts that are there or not and of no clock, expected silence a show: ${listed(feedsInOrder({ plan }).map(({ id }) => `${whoHears(plan, id).mid} ${seconds(byFormula.get(id) ?? 0)}`))}.`,
      ),
    ],
    [
      paragraph(
        "Rates are those that were given, not ours; an interval says how far chance may have misled these shows, not whether the rates are right.",
      ),
      paragraph("A rehearsal, not a test. Pull the cables before doors."),
    ],
  ]);
}

function audienceWords({ audience, silentSeconds, anySilence, anything }: AudienceOdds): string {
  return `${capital(WHO[audience])}: silent in ${percent(anySilence)} of shows (${percent({ share: anySilence.low })} to ${percent({ share: anySilence.high })}), anything at all in ${percent(anything)}; ${seconds(silentSeconds.mean)} of silence a show on average (${seconds(Math.max(0, silentSeconds.low))} to ${seconds(silentSeconds.high)}).`;
}

function seconds(value: number): string {
  return value <= 0 ? "0 s" : duration(value);
}

function percent({ share }: { readonly share: number }): string {
  return `${Number((100 * share).toPrecision(2))} %`;
}

function figure(value: number): string {
  return String(Number(value.toPrecision(2)));
}
