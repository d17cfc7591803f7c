/** The slips that a feed gets, and the stretches that a listener takes them for. */
import type { FeedPlan } from "../../shared/plan.ts";
import type { FeedSummary } from "../../shared/summary.ts";
import type { Ns } from "../../shared/time.ts";
import { secondsBetween } from "../../shared/time.ts";
import type { Train } from "../slips.ts";
import { countBy, fillRateAt, slipAt } from "../slips.ts";
import type { Looks, Timeline } from "../timeline.ts";
import { stretches } from "../timeline.ts";
import type { Carrier } from "./carriers.ts";

/** Trouble with gaps below this is one dropout to a listener, and slips this close are one stretch. */
export const TOGETHER_SECONDS = 10;

/** Slips of one train that this feed gets: while the train's link carries the hop. */
export interface Heard {
  readonly train: Train;
  readonly fromNs: Ns;
  readonly toNs: Ns;
  readonly count: number;
}

export function slipsOf(feed: FeedPlan, hops: readonly Timeline<Carrier>[], looks: Looks): Heard[] {
  const heard: Heard[] = [];
  for (const index of feed.hops.keys()) {
    const carriers = stretches(hops[index] as Timeline<Carrier>, looks.endNs);
    for (const { fromNs, toNs, value } of carriers) {
      for (const train of looks.trains.get(`${value.link} ${value.way}`) ?? []) {
        // A slip at the very end of the show is still one.
        const part = clip(train, fromNs, toNs === looks.endNs ? ((toNs + 1) as Ns) : toNs);
        if (part !== null) heard.push(part);
      }
    }
  }
  return heard.sort((a, b) => a.fromNs - b.fromNs);
}

/** The slips of a train within [fromNs, toNs): first, last and count. */
export function clip(train: Train, fromNs: Ns, toNs: Ns): Heard | null {
  if (train.count === 0 || train.toNs < fromNs || train.fromNs >= toNs) return null;
  const before = fromNs > train.fromNs ? countBy(train, (fromNs - 1) as Ns) : 0;
  const by = toNs <= train.toNs ? countBy(train, (toNs - 1) as Ns) : train.count;
  if (by <= before) return null;
  return { train, fromNs: slipAt(train, before + 1), toNs: slipAt(train, by), count: by - before };
}

/** How many of a feed's slips are heard as clicks: what slips in a silence is heard by nobody. */
export function clicksIn({ states }: Pick<FeedSummary, "states">): number {
  return states.reduce((sum, { slips }) => sum + slips, 0);
}

export interface Group {
  readonly fromNs: Ns;
  readonly toNs: Ns;
  readonly count: number;
}

/** Slips less than max(10 s, twice the time between two of them then) apart are one stretch. */
export function groupsOf(heard: readonly Heard[]): Group[] {
  const groups: { fromNs: Ns; toNs: Ns; count: number; secondsBetween: number }[] = [];
  for (const { train, fromNs, toNs, count } of heard) {
    const apart = secondsApart(train, fromNs);
    // One train may itself be too slow to be one stretch: that is so when its members are further apart than the limit,
    // which twice their own distance never is.
    const last = groups[groups.length - 1];
    const limit = Math.max(TOGETHER_SECONDS, 2 * Math.min(apart, last?.secondsBetween ?? Number.POSITIVE_INFINITY));
    if (last !== undefined && secondsBetween(last.toNs, fromNs) < limit) {
      if (toNs > last.toNs) last.toNs = toNs;
      last.count += count;
      last.secondsBetween = secondsApart(train, toNs);
    } else groups.push({ fromNs, toNs, count, secondsBetween: secondsApart(train, toNs) });
  }
  return groups;
}

function secondsApart(train: Train, at: Ns): number {
  const rate = Math.abs(fillRateAt(train.curve, at));
  return rate > 0 ? train.slipSamples / rate : Number.POSITIVE_INFINITY;
}

/** A train that has not been closed by anything but the end of the run goes on slipping. */
export function isStillSlipping(heard: readonly Heard[], endNs: Ns): boolean {
  return heard.some(
    ({ train, toNs }) =>
      train.toNs === endNs && secondsBetween(toNs, endNs) < Math.max(TOGETHER_SECONDS, 2 * secondsApart(train, toNs)),
  );
}
