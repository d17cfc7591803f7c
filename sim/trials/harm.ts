/** What a fault does to those who listen: what they hear of it beyond what the show as planned has anyway. */
import type { FeedCourse, FeedStretch } from "../../shared/summary.ts";

/** A shorter gap nobody has turned anything up in, *assumed*: it goes on as it was and is no sudden level. */
const LEVEL_FROM_SECONDS = 1;

/** Of one feed, from the instant of the fault on. */
export interface FeedHarm {
  readonly feed: string;
  /** Silent, or not carried at all. */
  readonly silentSeconds: number;
  readonly longestSilenceSeconds: number;
  readonly clicks: number;
  readonly dropouts: number;
  /** Of these, those that the return brought and not the failure. */
  readonly dropoutsOnReturn: number;
  /** It comes back with no fade, after a silence in which somebody may have turned it up. */
  readonly isAtFullLevel: boolean;
  /** Nobody knows whether it mutes or clicks: to be tested. */
  readonly mayBeSilent: boolean;
  /** From the fault until the last of it; 0: nothing is heard; null: it goes on for as long as was watched. */
  readonly normalAfterSeconds: number | null;
}

/**
 * @param atSeconds of the fault; both were watched from the start of the show to `endSeconds`, and say of returns at full
 * level only those after it. One that was planned for later counts where the fault is heard at all: the worse case.
 */
export function harmOf(faulty: FeedCourse, planned: FeedCourse, atSeconds: number, endSeconds: number): FeedHarm {
  const silences = newSilences(faulty, planned, atSeconds);
  const clicks = Math.max(0, faulty.slips - planned.slips);
  const count = (key: "whileFaulty" | "onReturn") => Math.max(0, faulty.dropouts[key] - planned.dropouts[key]);
  const realigned = faulty.realignedAtSeconds.filter((at) => !planned.realignedAtSeconds.includes(at));
  const isNew = (each: FeedStretch) => !planned.states.some((other) => isSame(each, other));
  // Where clicks are planned to go on for ever, more of them have no end of their own.
  const slipsAnyway = stillSlips(planned, endSeconds);
  const slipping =
    clicks === 0 || slipsAnyway ? [] : faulty.states.filter((each) => each.state === "slipping" && isNew(each));
  const ends = [
    ...silences.map(({ to }) => to),
    ...slipping.map(({ toSeconds }) => toSeconds),
    ...realigned.filter((at) => at >= atSeconds),
  ];
  const last = ends.reduce((most, each) => Math.max(most, each), atSeconds);
  const dropoutsOnReturn = count("onReturn");
  const isHeard = ends.length > 0 || clicks > 0;
  const isOpen = last >= endSeconds || (clicks > 0 && (slipsAnyway || stillSlips(faulty, endSeconds)));
  return {
    feed: faulty.id,
    silentSeconds: silences.reduce((sum, { from, to }) => sum + (to - from), 0),
    longestSilenceSeconds: silences.reduce((most, { from, to }) => Math.max(most, to - from), 0),
    clicks,
    dropouts: count("whileFaulty") + dropoutsOnReturn,
    dropoutsOnReturn,
    isAtFullLevel: faulty.returnsAtFullLevel && silences.some(({ from, to }) => to - from >= LEVEL_FROM_SECONDS),
    mayBeSilent: faulty.mayBeSilent,
    normalAfterSeconds: !isHeard ? 0 : isOpen ? null : last - atSeconds,
  };
}

/** What an audience has of one trial: of its feeds it hears the worst. */
export interface Worst {
  readonly silentSeconds: number;
  /** Clicks and dropouts. */
  readonly disturbances: number;
  /** 1 where any comes back with no fade, else 0. */
  readonly atFullLevel: number;
}

export function worstOf(harms: readonly FeedHarm[]): Worst {
  const most = (of: (harm: FeedHarm) => number) => harms.reduce((worst, harm) => Math.max(worst, of(harm)), 0);
  return {
    silentSeconds: most(({ silentSeconds }) => silentSeconds),
    disturbances: most(({ clicks, dropouts }) => clicks + dropouts),
    atFullLevel: most(({ isAtFullLevel }) => (isAtFullLevel ? 1 : 0)),
  };
}

export interface Span {
  readonly from: number;
  readonly to: number;
}

/** In seconds of show time, from an instant on: silent, or not carried at all, where the show as planned is not. */
export function newSilences(faulty: FeedCourse, planned: FeedCourse, atSeconds: number): readonly Span[] {
  return without(silencesOf(faulty.states, atSeconds), silencesOf(planned.states, atSeconds));
}

/** Neighbours joined, whatever their reasons. */
function silencesOf(states: readonly FeedStretch[], fromSeconds: number): Span[] {
  const joined: { from: number; to: number }[] = [];
  for (const { state, fromSeconds: start, toSeconds: to } of states) {
    if ((state !== "silent" && state !== "not-carried") || to <= fromSeconds) continue;
    const from = Math.max(start, fromSeconds);
    const last = joined.at(-1);
    if (last !== undefined && last.to === from) last.to = to;
    else joined.push({ from, to });
  }
  return joined;
}

/** What is left of spans where others are taken out; both by instant. */
function without(spans: readonly Span[], others: readonly Span[]): Span[] {
  return others.reduce<Span[]>(
    (left, other) =>
      left.flatMap(({ from, to }) =>
        [
          { from, to: Math.min(to, other.from) },
          { from: Math.max(from, other.to), to },
        ].filter((each) => each.to > each.from),
      ),
    [...spans],
  );
}

function isSame(one: FeedStretch, other: FeedStretch): boolean {
  return (
    one.state === other.state &&
    one.slips === other.slips &&
    one.fromSeconds === other.fromSeconds &&
    one.toSeconds === other.toSeconds
  );
}

/** The last stretch reaches the end, or nothing has been clean since: a summary knows of slips that are still to come. */
function stillSlips({ states, cleanAgainAtSeconds }: FeedCourse, endSeconds: number): boolean {
  const last = states.findLast(({ state }) => state === "slipping");
  return last !== undefined && (last.toSeconds >= endSeconds || cleanAgainAtSeconds === null);
}
