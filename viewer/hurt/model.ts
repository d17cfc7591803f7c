/** What is listed of faults that were tried: which of them, in which order, under which heading. */
import type { Plan } from "../../shared/plan.ts";
import { feedsInOrder } from "../../sim/tell/pieces.ts";
import { alike, type Bar, barOf } from "../../sim/trials/alike.ts";
import { FAULT_KINDS, type FaultKind } from "../../sim/trials/list.ts";
import {
  type Audience,
  audiencesOf,
  type CaseToll,
  CONCERNS,
  type Concern,
  isHeard,
  nameOf,
  tollsOf,
} from "../../sim/trials/rank.ts";
import type { Sweep, TrialResult } from "../../sim/trials/trial.ts";
import { trialAt } from "../../sim/trials/trial.ts";
import { caseWords, tollWords } from "../../sim/trials/words.ts";
import { classWords, rowWords, whoHears } from "../../sim/trials/words-faults.ts";

/** What people chose to see; null: all. */
export interface Choice {
  readonly feed: string | null;
  readonly kind: FaultKind | null;
  /** Every class, not the worst alone. */
  readonly isAll: boolean;
}

export interface FaultRow {
  readonly name: string;
  readonly words: string;
  /** One for each of the listeners, in their order. `words` null: they hear nothing of it. */
  readonly heard: readonly { readonly bar: Bar; readonly words: string | null }[];
}

export interface Listed {
  /** Above the bars. */
  readonly listeners: readonly string[];
  /** Faults that look alike, worst first. */
  readonly classes: readonly { readonly heading: string; readonly rows: readonly FaultRow[] }[];
  /** Faults of classes that are not listed. */
  readonly more: number;
  /** Faults that none of these listeners hears. */
  readonly unheard: readonly string[];
}

/** Classes that are read at one go. */
const CLASSES_SHOWN = 12;

/** @param tolls as ranked */
export function listed(plan: Plan, tolls: readonly CaseToll[], { feed, kind, isAll }: Choice): Listed {
  const feeds = feedsInOrder({ plan }).filter(({ id }) => feed === null || id === feed);
  const chosen = tolls
    .filter(({ faults }) => kind === null || faults.some((fault) => fault.kind === kind))
    .map((toll) => ({
      ...toll,
      feeds: feeds.flatMap(({ id }) => toll.feeds.find((each) => each.feed === id) ?? []),
    }));
  const classes = alike(chosen.filter(isHeard));
  const shown = isAll ? classes : classes.slice(0, CLASSES_SHOWN);
  return {
    listeners: feeds.map(({ id }) => whoHears(plan, id).head),
    classes: shown.map((alikes) => ({
      heading: classWords(plan, alikes),
      rows: alikes.map((toll) => ({
        name: nameOf(toll),
        words: rowWords(plan, toll),
        heard: toll.feeds.map((each) => ({ bar: barOf(each), words: tollWords(each) })),
      })),
    })),
    more: classes.slice(shown.length).flat().length,
    unheard: chosen.filter((toll) => !isHeard(toll)).map(({ faults }) => caseWords(plan, faults)),
  };
}

export function kindsIn({ cases }: Sweep): readonly FaultKind[] {
  return FAULT_KINDS.filter((kind) => cases.some((faults) => faults.some((fault) => fault.kind === kind)));
}

/** Of one fault in the plan's own draw, at the moment at which it is worst; null: it was not tried there. */
export function worstInOwnDraw(
  sweep: Sweep,
  results: readonly TrialResult[],
  name: string,
  rank: (tolls: readonly CaseToll[]) => readonly CaseToll[],
): { readonly toll: CaseToll; readonly standing: number } | null {
  const own = results.flatMap((result) => {
    const trial = trialAt(sweep, result.index);
    const [toll] = tollsOf(sweep, [result]);
    return trial.seed === 0 && toll !== undefined && nameOf(toll) === name ? [{ toll, standing: trial.standing }] : [];
  });
  const [worst] = rank(own.map(({ toll }) => toll));
  return own.find(({ toll }) => toll === worst) ?? null;
}

/** Those that somebody in this rig can have, in the order of all. */
export function concernsOf({ feeds }: Plan, concerns: readonly Concern[]): readonly Concern[] {
  const audiences = new Set(feeds.flatMap(({ heardBy }) => [...audiencesOf(heardBy)]));
  return concerns.filter((concern) => audiences.has(concern.split(" ")[0] as Audience));
}

/** One of those that are shown, one place up or down among them; the others stay where they stand. */
export function moved(
  concerns: readonly Concern[],
  shown: readonly Concern[],
  concern: Concern,
  by: 1 | -1,
): readonly Concern[] {
  const other = shown[shown.indexOf(concern) + by];
  if (other === undefined) return concerns;
  return concerns.map((each) => (each === concern ? other : each === other ? concern : each));
}

const KEY = "pulltest-concerns";

/** In this browser, where it lets us; what is no order of all concerns counts for nothing. */
export function keptConcerns(storage: () => Storage): readonly Concern[] {
  try {
    const kept: unknown = JSON.parse(storage().getItem(KEY) ?? "null");
    if (Array.isArray(kept) && [...kept].sort().join() === [...CONCERNS].sort().join()) return kept as Concern[];
  } catch {
    // Refused, or somebody else's text: the order that it has anyway.
  }
  return CONCERNS;
}

export function keepConcerns(storage: () => Storage, concerns: readonly Concern[]): void {
  try {
    storage().setItem(KEY, JSON.stringify(concerns));
  } catch {
    // Then it is gone with the page.
  }
}
