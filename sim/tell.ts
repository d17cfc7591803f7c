/**
 * A run in words, for the command and the page alike. Pure: the same run gives the same text.
 *
 * How it speaks: show time first, then who, what, what is heard, what to do; listeners by their own words; clicks for
 * what is heard; one line per stretch; a long word of the trade gets a short one beside it where it stands first; at
 * most three figures in a sentence; "may" for lamps; nobody is blamed.
 */
import type { Telling } from "../shared/telling.ts";
import type { FirstFix } from "./first-fix.ts";
import type { Run } from "./rehearse.ts";
import { chainSentence } from "./tell/chain.ts";
import { conversionLines } from "./tell/conversions.ts";
import { fixSentences } from "./tell/fix-words.ts";
import { heardLines } from "./tell/heard.ts";
import { holdoverLines } from "./tell/holdovers.ts";
import { beforeReturnLines } from "./tell/muting.ts";
import { toldOf } from "./tell/picture.ts";
import { ridesOutLines } from "./tell/rides-out.ts";
import { timelineOf } from "./tell/timeline.ts";
import { topSentences } from "./tell/top.ts";
import { verdictSentences } from "./tell/verdict.ts";
import { glossed, grouped } from "./tell/words.ts";

/** `fix` is what {@link "./first-fix.ts".firstFix} found; without it nothing is said about what to fix. */
export function tell(run: Run, extras: { readonly fix?: FirstFix | null } = {}): Telling {
  const told = toldOf(run);
  const fix = extras.fix ? fixSentences(told, extras.fix) : null;
  const timeline = timelineOf(told);
  const heard = heardLines(told);
  const verdict = verdictSentences(told);
  const body = glossed([...timeline, ...heard].map(({ text }) => text).concat(verdict, fix ?? []));
  let taken = 0;
  const next = () => body[taken++] ?? "";
  return {
    title: run.plan.title,
    sentences: glossed(topSentences(told, { fix, verdict })),
    timeline: timeline.map((line) => ({ ...line, text: next() })),
    heard: heard.map((line) => ({ ...line, text: next() })),
    beforeReturn: beforeReturnLines(told),
    ridesOut: ridesOutLines(told),
    converters: conversionLines(told),
    holdovers: holdoverLines(told),
    chain: chainSentence(told),
    verdict: verdict.map(() => next()),
    fixFirst: fix === null ? null : next(),
    last: lastSentence(run.summary.assumed.length),
  };
}

export function lastSentence(assumed: number): string {
  return `A rehearsal with ${grouped(assumed)} assumed ${assumed === 1 ? "number" : "numbers"}, not a test. Pull the cables before doors.`;
}
