/**
 * The one thing to change first: every candidate is rehearsed, and the one under which the listeners suffer least is
 * named, with what its rehearsal found. A candidate that does not help is not named, however right it looks on paper.
 */
import type { Summary } from "../shared/summary.ts";
import { candidateFixes, type Fix } from "./fix.ts";
import { clicksIn } from "./hearing/clicks.ts";
import { type Run, type RunHeard, rehearseToHear } from "./rehearse.ts";

/** What all listeners of a run suffer together, gravest first. */
export interface Suffering {
  readonly silentSeconds: number;
  /** Of them, those that are heard: what slips while its feed is silent does not click. */
  readonly slips: number;
  readonly dropoutsOnReturn: number;
  readonly dropoutsWhileFaulty: number;
  readonly fullLevelReturns: number;
  /** On cables that no feed uses: nobody hears them in this plan. */
  readonly unheardSlips: number;
}

export interface FirstFix {
  /** Null: none of the changes tried helps. */
  readonly fix: Pick<Fix, "rule" | "words"> | null;
  readonly tried: number;
  readonly before: Suffering;
  /** With that change; the same as before without one. */
  readonly after: Suffering;
}

/** Each candidate costs a run; the findings come first, so what is left out is what helps least. */
const CANDIDATES_TRIED = 8;
/** After a short gap a fade would only make it longer; after this one the return is a surprise: *common practice, no source*. */
const HANDS_LEAVE_FADERS_SECONDS = 10;
/** What is less by a smaller part than this has stayed, to whoever listens: *common practice, no source*. */
const LESS_BY = 0.05;
/** Less silence than this is a dropout to a listener, and as such it is counted: *common practice, no source*. */
const SILENCE_COUNTS_FROM_SECONDS = 0.25;

/** Null when no listener suffers and no cable slips, or there is nothing to try: then there is nothing to fix. */
export function firstFix(run: Run): FirstFix | null {
  const before = sufferingOf(run);
  if (!isTrouble(before)) return null;
  const isSudden = new Set(run.summary.feeds.filter((feed) => feed.returnsAtFullLevel).map((feed) => feed.id));
  const candidates = candidateFixes(run.plan)
    .filter((fix) => fix.feed === undefined || isSudden.has(fix.feed))
    .slice(0, CANDIDATES_TRIED);
  if (candidates.length === 0) return null;
  let best: { fix: Fix; after: Suffering } | null = null;
  for (const fix of candidates) {
    const after = sufferingOf(rehearseToHear(fix.apply(run.plan)));
    if (isHeardBetter(before, after) && compare(after, best?.after ?? before) < 0) best = { fix, after };
  }
  const tried = candidates.length;
  if (best === null) return { fix: null, tried, before, after: before };
  return { fix: { rule: best.fix.rule, words: best.fix.words }, tried, before, after: best.after };
}

export function sufferingOf(run: RunHeard): Suffering {
  const { feeds } = run.summary;
  const total = (of: (feed: Summary["feeds"][number]) => number) => feeds.reduce((sum, feed) => sum + of(feed), 0);
  const used = new Set(
    run.plan.feeds.flatMap(({ hops }) => hops.flatMap(({ over }) => over.map(({ link, way }) => `${link} ${way}`))),
  );
  const audio = new Set(run.plan.links.filter(({ channels }) => channels > 0).map(({ id }) => id));
  let unheardSlips = 0;
  for (const { fact } of run.record.rows) {
    if (fact.kind === "slips" && audio.has(fact.link) && !used.has(`${fact.link} ${fact.way}`))
      unheardSlips += fact.count;
  }
  return {
    silentSeconds: total(({ silentSeconds, states }) => silentSeconds + notCarriedSeconds(states)),
    slips: total(clicksIn),
    dropoutsOnReturn: total(({ dropouts }) => dropouts.onReturn),
    dropoutsWhileFaulty: total(({ dropouts }) => dropouts.whileFaulty),
    fullLevelReturns: feeds.filter(
      ({ returnsAtFullLevel, longestSilenceSeconds }) =>
        returnsAtFullLevel && longestSilenceSeconds >= HANDS_LEAVE_FADERS_SECONDS,
    ).length,
    unheardSlips,
  };
}

function notCarriedSeconds(states: Summary["feeds"][number]["states"]): number {
  return states
    .filter(({ state }) => state === "not-carried")
    .reduce((sum, { fromSeconds, toSeconds }) => sum + (toSeconds - fromSeconds), 0);
}

export type Aspect = keyof Suffering;

export function isLess(is: number, was: number): boolean {
  return was > 0 && (is === 0 || is < was * (1 - LESS_BY));
}

export function isMore(is: number, was: number): boolean {
  return is > was * (1 + LESS_BY);
}

function isHeardBetter(before: Suffering, after: Suffering): boolean {
  return aspectsHeard(before, after).some((aspect) => isLess(after[aspect], before[aspect]));
}

/**
 * What is compared of two runs. A silence or a train of clicks is itself a dropout, so dropouts count where both stay;
 * how sound comes back matters only where a silence stays, and what no feed carries only where nothing is heard.
 */
export function aspectsHeard(before: Suffering, after: Suffering): readonly Aspect[] {
  const isHeard = before.silentSeconds > 0 || before.slips > 0;
  const hasDropouts = before.dropoutsWhileFaulty + before.dropoutsOnReturn > 0;
  const stays = (aspect: Aspect) => !isLess(after[aspect], before[aspect]);
  const isAsSilent = before.silentSeconds > 0 && stays("silentSeconds");
  const isAside = isHeard && stays("silentSeconds") && stays("slips") && !stays("dropoutsWhileFaulty");
  return [
    "silentSeconds",
    "slips",
    "dropoutsOnReturn",
    ...((!isHeard && hasDropouts) || isAside ? (["dropoutsWhileFaulty"] as const) : []),
    ...(isAsSilent ? (["fullLevelReturns"] as const) : []),
    ...(isHeard || hasDropouts ? [] : (["unheardSlips"] as const)),
  ];
}

function isTrouble(suffering: Suffering): boolean {
  return Object.values(suffering).some((amount) => amount > 0);
}

/** Negative: the first is the lesser evil. */
function compare(one: Suffering, other: Suffering): number {
  const silence = one.silentSeconds - other.silentSeconds;
  if (Math.abs(silence) > SILENCE_COUNTS_FROM_SECONDS) return silence;
  return (
    one.slips - other.slips ||
    one.dropoutsOnReturn - other.dropoutsOnReturn ||
    one.dropoutsWhileFaulty - other.dropoutsWhileFaulty ||
    one.fullLevelReturns - other.fullLevelReturns ||
    one.unheardSlips - other.unheardSlips
  );
}
