/**
 * Which fault is worst, for the people who hear it. The order of what is worse than what is an opinion, so it is data,
 * and whoever has another gives another.
 */
import type { Plan } from "../../shared/plan.ts";
import type { FeedHarm } from "./harm.ts";
import type { Fault } from "./list.ts";
import type { Sweep, TrialResult } from "./trial.ts";
import { trialAt } from "./trial.ts";

/** Who wears it on the ears is harmed by a sudden level first; who is far away only misses something. */
export const AUDIENCES = ["ears", "pa", "wedges", "broadcast", "record"] as const;
export type Audience = (typeof AUDIENCES)[number];

/** As a crew asks for them: the PA before all others. */
export const AUDIENCES_ASKED: readonly Audience[] = ["pa", ...AUDIENCES.filter((audience) => audience !== "pa")];

const AUDIENCE_OF: Readonly<Record<string, Audience>> = {
  "in-ears": "ears",
  comms: "ears",
  "assisted-hearing": "ears",
  pa: "pa",
  wedges: "wedges",
  broadcast: "broadcast",
  stream: "broadcast",
  record: "record",
};

export const HARMS = ["level", "silence", "clicks"] as const;
export type Harm = (typeof HARMS)[number];
export type Concern = `${Audience} ${Harm}`;

/**
 * Common practice, no source: what can hurt ears comes before what stops the show, the audience before the recording,
 * and silence before clicks.
 */
export const CONCERNS: readonly Concern[] = [
  "ears level",
  "wedges level",
  "pa level",
  "pa silence",
  "ears silence",
  "wedges silence",
  "pa clicks",
  "ears clicks",
  "wedges clicks",
  "broadcast silence",
  "broadcast clicks",
  "record silence",
  "record clicks",
  "broadcast level",
  "record level",
];

/** What one feed suffers from one case, over all its trials: the worst, and how often anything at all. */
export interface FeedToll {
  readonly feed: string;
  readonly trials: number;
  /** Trials in which anything is heard. */
  readonly heard: number;
  readonly silentSeconds: number;
  readonly longestSilenceSeconds: number;
  readonly clicks: number;
  readonly dropouts: number;
  readonly dropoutsOnReturn: number;
  /** Trials in which it comes back with no fade. */
  readonly atFullLevel: number;
  readonly mayBeSilent: boolean;
  /** Null: goes on for as long as was watched, in at least one. */
  readonly normalAfterSeconds: number | null;
}

export interface CaseToll {
  /** Place among the cases of the sweep. */
  readonly case: number;
  readonly faults: readonly Fault[];
  readonly feeds: readonly FeedToll[];
}

/** Every case that has a result, in the order of the sweep. */
export function tollsOf(sweep: Sweep, results: readonly TrialResult[]): CaseToll[] {
  const byCase = new Map<number, TrialResult[]>();
  for (const result of results) {
    const { case: place } = trialAt(sweep, result.index);
    const known = byCase.get(place);
    if (known === undefined) byCase.set(place, [result]);
    else known.push(result);
  }
  return [...byCase]
    .sort(([one], [other]) => one - other)
    .map(([place, found]) => ({
      case: place,
      faults: sweep.cases[place] as readonly Fault[],
      feeds: sweep.plan.feeds.map(({ id }, index) =>
        tollOf(
          id,
          found.map(({ harms }) => harms[index] as FeedHarm),
        ),
      ),
    }));
}

function tollOf(feed: string, harms: readonly FeedHarm[]): FeedToll {
  const most = (of: (harm: FeedHarm) => number) => harms.reduce((worst, harm) => Math.max(worst, of(harm)), 0);
  const isOpen = harms.some(({ normalAfterSeconds }) => normalAfterSeconds === null);
  return {
    feed,
    trials: harms.length,
    heard: harms.filter(({ normalAfterSeconds }) => normalAfterSeconds !== 0).length,
    silentSeconds: most(({ silentSeconds }) => silentSeconds),
    longestSilenceSeconds: most(({ longestSilenceSeconds }) => longestSilenceSeconds),
    clicks: most(({ clicks }) => clicks),
    dropouts: most(({ dropouts }) => dropouts),
    dropoutsOnReturn: most(({ dropoutsOnReturn }) => dropoutsOnReturn),
    atFullLevel: harms.filter(({ isAtFullLevel }) => isAtFullLevel).length,
    mayBeSilent: harms.some(({ mayBeSilent }) => mayBeSilent),
    normalAfterSeconds: isOpen ? null : most(({ normalAfterSeconds }) => normalAfterSeconds ?? 0),
  };
}

/** Worst first; where nobody could tell two apart, by name, so that no order of anything shows. */
export function ranked(plan: Plan, tolls: readonly CaseToll[], concerns: readonly Concern[] = CONCERNS): CaseToll[] {
  const heardBy = new Map(plan.feeds.map(({ id, heardBy }) => [id, audiencesOf(heardBy)]));
  const weighed = tolls.map((toll) => ({
    toll,
    weights: [...concerns.map((concern) => weight(toll, concern, heardBy)), ...unheardWeights(toll, heardBy)],
  }));
  return weighed
    .sort((one, other) => {
      for (const [place, mine] of one.weights.entries()) {
        const theirs = other.weights[place] as number;
        if (mine !== theirs) return theirs - mine;
      }
      const [mine, theirs] = [nameOf(one.toll), nameOf(other.toll)];
      return mine < theirs ? -1 : mine > theirs ? 1 : 0;
    })
    .map(({ toll }) => toll);
}

/** Feeds of which the file does not say who hears them come behind all others: silence, then clicks. */
function unheardWeights(
  { feeds }: CaseToll,
  heardBy: ReadonlyMap<string, ReadonlySet<Audience>>,
): readonly [number, number] {
  const unheard = feeds.filter(({ feed }) => heardBy.get(feed)?.size === 0);
  return [worstIn(unheard, "silence"), worstIn(unheard, "clicks")];
}

export function audiencesOf(heardBy: readonly string[]): ReadonlySet<Audience> {
  return new Set(heardBy.flatMap((each) => AUDIENCE_OF[each] ?? []));
}

/** Who there is, as a crew asks for them. */
export function audiencesIn({ feeds }: Plan): Audience[] {
  const found = new Set(feeds.flatMap(({ heardBy }) => [...audiencesOf(heardBy)]));
  return AUDIENCES_ASKED.filter((audience) => found.has(audience));
}

export function nameOf({ faults }: Pick<CaseToll, "faults">): string {
  return faults.map(({ id }) => id).join(" + ");
}

function weight({ feeds }: CaseToll, concern: Concern, heardBy: ReadonlyMap<string, ReadonlySet<Audience>>): number {
  const [audience, harm] = concern.split(" ") as [Audience, Harm];
  return worstIn(
    feeds.filter(({ feed }) => heardBy.get(feed)?.has(audience)),
    harm,
  );
}

/** Of the worst of them: levels by how many trials have them, silence in seconds, clicks by their number, dropouts among them. */
function worstIn(feeds: readonly FeedToll[], harm: Harm): number {
  const of = (feed: FeedToll) => {
    if (harm === "level") return feed.atFullLevel;
    // A tenth of a second apart nobody tells two silences from each other.
    return harm === "silence" ? Math.round(feed.silentSeconds * 10) / 10 : feed.clicks + feed.dropouts;
  };
  return feeds.reduce((worst, feed) => Math.max(worst, of(feed)), 0);
}

export function isHeard({ feeds }: CaseToll): boolean {
  return feeds.some(({ heard, mayBeSilent }) => heard > 0 || mayBeSilent);
}
