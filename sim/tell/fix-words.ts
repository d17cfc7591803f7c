/** "Fix first: …. Rehearsed with that change: no clicks." */
import { type Aspect, aspectsHeard, type FirstFix, isLess, isMore, type Suffering } from "../first-fix.ts";
import type { Told } from "./picture.ts";
import { feedsInOrder, piecesOf } from "./pieces.ts";
import { counted, duration, listed } from "./words.ts";

/** Null where none of the changes tried helps. */
export function fixSentences(told: Told, { fix, before, after }: FirstFix): string | null {
  if (fix === null) return null;
  return `Fix first: ${fix.words}. Rehearsed with that change: ${effectWords(before, after, longestSilence(told))}.`;
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

interface Words {
  readonly none: string;
  readonly amount: (value: number) => string;
  /** What stays of it; empty where that says nothing new. */
  readonly stays: (value: number) => string;
}

const WORDS: Readonly<Record<Aspect, Words>> = {
  silentSeconds: {
    none: "no silence",
    amount: (value) => `${duration(value)} of silence`,
    stays: (value) => `the silence of ${duration(value)}`,
  },
  slips: { none: "no clicks", amount: (value) => counted(value, "click", "clicks"), stays: () => "the clicks" },
  dropoutsOnReturn: {
    none: "no dropout on the return",
    amount: (value) => `${counted(value, "dropout", "dropouts")} on the return`,
    stays: () => "the dropouts on the return",
  },
  dropoutsWhileFaulty: {
    none: "no dropout",
    amount: (value) => counted(value, "dropout", "dropouts"),
    stays: () => "the dropouts",
  },
  // Where it stays, it says no more than the silence that stays with it.
  fullLevelReturns: {
    none: "nothing comes back at full level",
    amount: (value) => `${counted(value, "feed", "feeds")} back at full level`,
    stays: () => "",
  },
  unheardSlips: { none: "no slips", amount: (value) => counted(value, "slip", "slips"), stays: () => "the slips" },
};

/** What is gone or less, then what is new, then what stays; what only repeats another is left out. */
export function effectWords(before: Suffering, after: Suffering, silence: string | null = null): string {
  const better: string[] = [];
  const added: string[] = [];
  const stay: string[] = [];
  for (const aspect of aspectsHeard(before, after)) {
    const { none, amount, stays } = WORDS[aspect];
    const [was, is] = [before[aspect], after[aspect]];
    if (was === 0 && is === 0) continue;
    if (is === 0) better.push(none);
    else if (isMore(is, was)) added.push(amount(is));
    else if (isLess(is, was))
      better.push(
        `${amount(is)} instead of ${amount(was).replace(/ (of silence|clicks?|dropouts?( .*)?|feeds? .*|slips?)$/, "")}`,
      );
    else if (aspect === "silentSeconds" && silence !== null) stay.push(silence);
    else if (stays(is) !== "") stay.push(stays(is));
  }
  const parts = [listed(better), added.length === 0 ? "" : `but ${listed(added)}`, staying(stay)];
  return parts.filter((part) => part !== "").join("; ");
}

function staying(names: readonly string[]): string {
  if (names.length === 0) return "";
  const isOne = names.length === 1 && /\bsilence of\b/.test(names[0]!);
  return `${listed(names)} ${isOne ? "stays" : "stay"}`;
}
