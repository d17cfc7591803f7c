/** What trials of every fault come to, in sentences and as rows of a table: for command and page alike. */
import type { Plan } from "../../shared/plan.ts";
import { formatShowTime } from "../../shared/units.ts";
import { feedById } from "../by-id.ts";
import { guarded } from "../tables/values.ts";
import { feedsInOrder } from "../tell/pieces.ts";
import { agree, capital, counted, duration, grouped, type Listener, listed, listener } from "../tell/words.ts";
import { type Figures, figuresOf, needsOf } from "./figures.ts";
import { AUDIENCES_ASKED, type Audience, type CaseToll, isHeard, nameOf } from "./rank.ts";
import type { Sweep, TrialResult } from "./trial.ts";
import { caseMid, caseWords, normalAfter, tollWords } from "./words.ts";

export interface FaultsTried {
  readonly sweep: Sweep;
  /** Events of the file that are faults, and were not played. */
  readonly leftOut: number;
  readonly results: readonly TrialResult[];
  /** Of single faults, worst first. */
  readonly tolls: readonly CaseToll[];
  /** Trials without a result. */
  readonly missing: number;
}

/** Null: nothing is missing. */
export function partialWords({ missing, sweep, results }: Omit<FaultsTried, "tolls">): string | null {
  if (missing === 0) return null;
  const faults = new Set(results.map(({ index }) => index % sweep.cases.length)).size;
  return `PARTIAL: ${grouped(results.length)} of ${grouped(missing + results.length)} trials were played, on ${counted(faults, "fault", "faults")}. What is missing may be worse.`;
}

export function triedWords({ sweep, leftOut, tolls }: FaultsTried): string {
  const { standings, seeds } = sweep;
  const [first] = standings;
  const when =
    standings.length === 1 && first !== undefined
      ? `at ${formatShowTime(first.atNs)}`
      : `at ${counted(standings.length, "moment", "moments")} of the show (${listed(standings.slice(0, 6).map(({ atNs }) => formatShowTime(atNs)))}${standings.length > 6 ? ", …" : ""})`;
  const draws = seeds.length === 1 ? "one draw" : `${counted(seeds.length, "draw", "draws")} of what is left to chance`;
  const out =
    leftOut === 0
      ? ""
      : ` ${capital(counted(leftOut, "event", "events"))} of the file ${leftOut === 1 ? "is a fault itself and was" : "are faults themselves and were"} left out.`;
  return `${capital(counted(tolls.length, "fault", "faults"))}, each alone and with its repair, ${when}, in ${draws}.${out}`;
}

const AUDIENCE_WORDS: Readonly<Record<Audience, string>> = {
  ears: "Whoever has it on the ears",
  pa: "The PA",
  wedges: "The wedges",
  broadcast: "The broadcast",
  record: "The recording",
};

/** The worst first, then a sentence for each audience, then what the rig has for it. */
export function summarySentences({ sweep, tolls }: FaultsTried): string[] {
  const { plan } = sweep;
  const [worst] = tolls;
  const figures = figuresOf(plan, tolls, AUDIENCES_ASKED);
  const needs = needsOf(plan);
  return [
    plan.feeds.length === 0
      ? "The plan has no feeds: it does not say who hears what, so no fault is heard by anybody."
      : worst === undefined
        ? "This rig has nothing that could fail."
        : !isHeard(worst)
          ? "No single fault among these is heard by anybody."
          : `Worst for those who hear it: ${caseMid(plan, worst.faults)}. ${tollSentence(plan, worst)}`,
    ...figures.audiences.map((each) => audienceSentence(plan, figures, each)),
    `For this the rig has ${counted(needs.devices, "device", "devices")}, ${counted(needs.cables, "cable", "cables")} of ${grouped(Math.round(needs.metres))} m in all, and ${counted(needs.ports, "socket", "sockets")} in use.`,
  ];
}

function audienceSentence(plan: Plan, { cases }: Figures, each: Figures["audiences"][number]): string {
  const { audience, hears, longestSilence, mostClicks, atFullLevel } = each;
  const who = AUDIENCE_WORDS[audience];
  if (hears === 0) return `${who} hears none of the ${cases}.`;
  const hearsWords = `${who} ${who === "The wedges" ? "hear" : "hears"} ${hears} of the ${cases}`;
  const silence =
    longestSilence === null
      ? "never silent"
      : `longest silence ${duration(longestSilence.seconds)} (${caseMid(plan, longestSilence.toll.faults)})`;
  const clicks = mostClicks === 0 ? "" : `, at most ${counted(mostClicks, "click", "clicks")}`;
  const level = atFullLevel === 0 ? "" : `, back at full level after ${atFullLevel}`;
  return `${hearsWords}: ${silence}${clicks}${level}.`;
}

/** "In-ears: silent for 2 min, then back at full level. PA: 12 clicks." */
export function tollSentence(plan: Plan, toll: CaseToll): string {
  const said = feedsInOrder({ plan }).flatMap(({ id }) => {
    const feed = toll.feeds.find((each) => each.feed === id);
    const words = feed === undefined ? null : tollWords(feed);
    return words === null ? [] : [`${whoHears(plan, id).head}: ${words}.`];
  });
  return said.join(" ");
}

export function whoHears(plan: Plan, id: string): Listener {
  const feed = feedById(plan, id);
  return feed === undefined ? { head: id, mid: id, plural: false } : listener(feed, plan.feeds);
}

/** Above faults that are alike: how many, and what the worst of them is. */
export function classWords(plan: Plan, tolls: readonly CaseToll[]): string {
  const sentence = tolls[0] === undefined ? "" : tollSentence(plan, tolls[0]);
  return tolls.length === 1
    ? sentence
    : `${capital(counted(tolls.length, "fault", "faults"))} alike, the worst of them: ${sentence}`;
}

/** One fault among those: when it is over, and where luck is in it. */
export function rowWords(plan: Plan, toll: CaseToll): string {
  const after = normalAfter(toll);
  return `${caseWords(plan, toll.faults)}${after === null ? "" : `: over after ${duration(after)}`}${luckWords(plan, toll)}`;
}

/** Where chance decides whether a listener hears anything at all. */
function luckWords(plan: Plan, { feeds }: CaseToll): string {
  const lucky = feeds.filter(({ heard, trials }) => heard > 0 && heard < trials);
  const [first] = lucky.toSorted((one, other) => one.heard / one.trials - other.heard / other.trials);
  return first === undefined ? "" : `; ${whoHears(plan, first.feed).mid} in ${first.heard} of ${first.trials}`;
}

export function unheardWords(count: number): string {
  return `${capital(counted(count, "fault", "faults"))} ${agree(count > 1, "is", "are")} not heard by anybody. Such a fault is found by looking, or by the next one:`;
}

/** What is always said last of trials. */
export function rehearsalWords(assumed: number, hasAssumedRepairs: boolean): string {
  const all = [
    ...(assumed === 0 ? [] : [counted(assumed, "assumed number", "assumed numbers")]),
    ...(hasAssumedRepairs ? ["assumed repairs"] : []),
  ];
  return `A rehearsal${all.length === 0 ? "" : ` with ${listed(all)}`}, not a test. Pull the cables before doors.`;
}

const FAULT_COLUMNS = [
  "place",
  "fault",
  "kind",
  "on",
  "listener",
  "feed",
  "trials",
  "heard",
  "silent_s",
  "longest_silence_s",
  "clicks",
  "dropouts",
  "dropouts_on_return",
  "back_at_full_level",
  "normal_after_s",
  "may_be_silent",
] as const;

/** To the microsecond: what lies behind that are the last bits of sums, and makes a spreadsheet unreadable. */
export function seconds(value: number): string {
  return String(Math.round(value * 1e6) / 1e6);
}

/** For CSV: a row for each fault and listener, as ranked; times in seconds, the worst of all trials; empty: no end was seen. */
export function faultRows(plan: Plan, tolls: readonly CaseToll[]): (readonly string[])[] {
  const rows = tolls.flatMap((toll, place) =>
    toll.feeds.map((feed) => [
      String(place + 1),
      guarded(nameOf(toll)),
      guarded([...new Set(toll.faults.map(({ kind }) => kind))].join(" + ")),
      guarded(toll.faults.map(({ on }) => on).join(" + ")),
      guarded(whoHears(plan, feed.feed).head),
      guarded(feed.feed),
      String(feed.trials),
      String(feed.heard),
      seconds(feed.silentSeconds),
      seconds(feed.longestSilenceSeconds),
      String(feed.clicks),
      String(feed.dropouts),
      String(feed.dropoutsOnReturn),
      String(feed.atFullLevel),
      feed.normalAfterSeconds === null ? "" : seconds(feed.normalAfterSeconds),
      feed.mayBeSilent ? "yes" : "no",
    ]),
  );
  return [FAULT_COLUMNS, ...rows];
}
