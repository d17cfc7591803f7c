/** "Fix first: …. Rehearsed with that change: no clicks." */
import type { FirstFix, Suffering } from "../first-fix.ts";
import type { Told } from "./picture.ts";
import { feedsInOrder, piecesOf } from "./pieces.ts";
import { counted, duration, listed } from "./words.ts";

export function fixSentences(told: Told, { fix, tried, before, after }: FirstFix): string {
  const { summary } = told;
  if (fix !== null)
    return `Fix first: ${fix.words}. Rehearsed with that change: ${effectWords(before, after, longestSilence(told))}.`;
  const changes =
    tried === 1
      ? "the one change tried does not help"
      : `none of the ${counted(tried, "change", "changes")} tried helps`;
  const down = summary.feeds.reduce((sum, { silentForDeviceDownSeconds }) => sum + silentForDeviceDownSeconds, 0);
  const isOnlyDown =
    down > 0 && down > 0.95 * before.silentSeconds && before.slips === 0 && before.dropoutsOnReturn === 0;
  const why = isOnlyDown ? " What is left is the time that a device is down." : "";
  return `Nothing to fix first: ${changes}.${why}`;
}

/** "the PA's silence of 1 min 15 s": what one listener hears, not the sum of all; null without one. */
function longestSilence(told: Told): string | null {
  const pieces = feedsInOrder(told)
    .flatMap((feed) => piecesOf(told, feed))
    .filter(({ kind }) => kind === "silent" || kind === "dropout");
  const [first, ...rest] = pieces;
  if (first === undefined) return null;
  const longest = rest.reduce((most, one) => (one.to - one.from > most.to - most.from + 0.05 ? one : most), first);
  const { mid } = longest.who;
  const length = duration(longest.to - longest.from);
  if (mid.endsWith(")")) return `the silence of ${length} for ${mid}`;
  return `${mid}${mid.endsWith("s") ? "'" : "'s"} silence of ${length}`;
}

interface Aspect {
  readonly of: (suffering: Suffering) => number;
  readonly none: string;
  readonly amount: (value: number) => string;
  /** What stays of it; empty where that says nothing new. */
  readonly stays: (value: number) => string;
}

const SILENCE: Aspect = {
  of: ({ silentSeconds }) => silentSeconds,
  none: "no silence",
  amount: (value) => `${duration(value)} of silence`,
  stays: (value) => `the silence of ${duration(value)}`,
};
const CLICKS: Aspect = {
  of: ({ slips }) => slips,
  none: "no clicks",
  amount: (value) => counted(value, "click", "clicks"),
  stays: () => "the clicks",
};
const RETURNS: Aspect = {
  of: ({ dropoutsOnReturn }) => dropoutsOnReturn,
  none: "no dropout on the return",
  amount: (value) => `${counted(value, "dropout", "dropouts")} on the return`,
  stays: () => "the dropouts on the return",
};
const DROPOUTS: Aspect = {
  of: ({ dropoutsWhileFaulty }) => dropoutsWhileFaulty,
  none: "no dropout",
  amount: (value) => counted(value, "dropout", "dropouts"),
  stays: () => "the dropouts",
};
/** Where it stays, it says no more than the silence that stays with it. */
const LEVEL: Aspect = {
  of: ({ fullLevelReturns }) => fullLevelReturns,
  none: "nothing comes back at full level",
  amount: (value) => `${counted(value, "feed", "feeds")} back at full level`,
  stays: () => "",
};
const UNHEARD: Aspect = {
  of: ({ unheardSlips }) => unheardSlips,
  none: "no slips",
  amount: (value) => counted(value, "slip", "slips"),
  stays: () => "the slips",
};

/** What is gone or less, then what is new, then what stays; what only repeats another is left out. */
export function effectWords(before: Suffering, after: Suffering, silence: string | null = null): string {
  const better: string[] = [];
  const added: string[] = [];
  const stays: string[] = [];
  for (const { of, none, amount, stays: staysWords } of aspectsOf(before, after)) {
    const was = of(before);
    const is = of(after);
    if (was === 0 && is === 0) continue;
    if (is === 0) better.push(none);
    else if (was === 0 || is > was * 1.05) added.push(amount(is));
    else if (is < was * 0.95)
      better.push(
        `${amount(is)} instead of ${amount(was).replace(/ (of silence|clicks?|dropouts? .*|feeds? .*|slips?)$/, "")}`,
      );
    else if (of === SILENCE.of && silence !== null) stays.push(silence);
    else if (staysWords(is) !== "") stays.push(staysWords(is));
  }
  const parts = [listed(better), added.length === 0 ? "" : `but ${listed(added)}`, staying(stays)];
  return parts.filter((part) => part !== "").join("; ");
}

function staying(names: readonly string[]): string {
  if (names.length === 0) return "";
  const isOne = names.length === 1 && /\bsilence of\b/.test(names[0]!);
  return `${listed(names)} ${isOne ? "stays" : "stay"}`;
}

/**
 * A silence or a train of clicks is itself a dropout, how it comes back matters only where a silence stays, and what no
 * feed carries only where nothing is heard.
 */
function aspectsOf(before: Suffering, after: Suffering): readonly Aspect[] {
  const isHeard = before.silentSeconds > 0 || before.slips > 0;
  const aspects = [SILENCE, CLICKS, RETURNS];
  if (isHeard) return after.silentSeconds > 0.95 * before.silentSeconds ? [...aspects, LEVEL] : aspects;
  if (before.dropoutsWhileFaulty + before.dropoutsOnReturn > 0) return [...aspects, DROPOUTS];
  return [...aspects, UNHEARD];
}
