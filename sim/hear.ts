/**
 * What a listener hears, as a pure function of the finished record: nothing that is heard changes a clock.
 *
 * At every instant a feed is silent (with the first reason that holds: a device on the way is down, no link carries it,
 * a device mutes, a converter finds its rate, a device mutes because it is out of step), not carried, slipping, or clean. Silence counts from the
 * instant of the fault, not of noticing.
 */
import type { FeedPlan, Plan } from "../shared/plan.ts";
import type { RunRecord } from "../shared/record.ts";
import type { FeedCourse, FeedStretch, FeedSummary, Silence } from "../shared/summary.ts";
import type { Ns } from "../shared/time.ts";
import { secondsBetween, secondsFromNs, ZERO } from "../shared/time.ts";
import { faultsOf, isOnReturn } from "./faults.ts";
import { carrierLine } from "./hearing/carriers.ts";
import type { Group, Heard } from "./hearing/clicks.ts";
import { clip, groupsOf, isStillSlipping, slipsOf, TOGETHER_SECONDS } from "./hearing/clicks.ts";
import type { Condition } from "./hearing/conditions.ts";
import { conditionsOf, mutedLine } from "./hearing/conditions.ts";
import { feedLatency, hopLatencies } from "./latency.ts";
import type { Looks } from "./timeline.ts";
import { looksOf } from "./timeline.ts";

export type { Heard };

/** What is heard, and how late by the plan. */
export function hear(plan: Plan, record: RunRecord): FeedSummary[] {
  return coursesOf(plan, looksOf(record)).map(({ states, realignedAtSeconds, ...course }, place) => {
    const feed = plan.feeds[place] as FeedPlan;
    const converterDelaySeconds = hopLatencies(plan, feed).reduce(
      (sum, hop) => sum + (hop.paths[0]?.converterSeconds ?? 0),
      0,
    );
    return { ...course, converterDelaySeconds, latency: feedLatency(plan, feed), states, realignedAtSeconds };
  });
}

/**
 * In the order of the plan.
 *
 * @param sinceNs a return at full level, and what may be silent, counts only if it ends later
 */
export function coursesOf(plan: Plan, looks: Looks, sinceNs: Ns = ZERO): FeedCourse[] {
  const faults = faultsOf(plan, looks);
  const muted = new Map(plan.devices.map((device) => [device.id, mutedLine(device, looks)]));
  return plan.feeds.map((feed) => {
    const hops = feed.hops.map((hop) => carrierLine(plan, hop, looks));
    const conditions = conditionsOf(plan, feed, hops, looks, muted);
    const slips = slipsOf(feed, hops, looks);
    return summarise(plan, feed, conditions, slips, {
      looks,
      sinceNs,
      isOnReturnAt: (at) => isOnReturn(plan, faults, at),
    });
  });
}

/** Slips of each feed, by its id: the trains of its hops, cut to the time in which their link carried the hop. */
export function slipsHeard(plan: Plan, record: RunRecord): ReadonlyMap<string, readonly Heard[]> {
  const looks = looksOf(record);
  return new Map(
    plan.feeds.map((feed) => [
      feed.id,
      slipsOf(
        feed,
        feed.hops.map((hop) => carrierLine(plan, hop, looks)),
        looks,
      ),
    ]),
  );
}

function summarise(
  plan: Plan,
  feed: FeedPlan,
  conditions: readonly { fromNs: Ns; toNs: Ns; value: Condition }[],
  heard: readonly Heard[],
  {
    looks,
    sinceNs,
    isOnReturnAt,
  }: { readonly looks: Looks; readonly sinceNs: Ns; readonly isOnReturnAt: (at: Ns) => boolean },
): FeedCourse {
  const groups = groupsOf(heard);
  const realigned = [
    ...new Set(feed.through.flatMap((id) => (looks.realigned.get(id) ?? []) as readonly number[])),
  ].sort((a, b) => a - b) as Ns[];
  const states = overlay(conditions, groups, heard);
  const silent = conditions.filter((each) => each.value.silence !== null);
  const secondsOf = (parts: readonly { fromNs: Ns; toNs: Ns }[]): number =>
    parts.reduce((sum, { fromNs, toNs }) => sum + (toNs - fromNs), 0) / 1e9;
  const because = (reasons: readonly Silence[]): number =>
    secondsOf(silent.filter((each) => reasons.includes(each.value.silence as Silence)));
  const troubles = [
    ...conditions.filter((each) => each.value.silence !== null || !each.value.isCarried),
    ...groups,
    ...realigned.map((at) => ({ fromNs: at, toNs: at })),
  ].sort((a, b) => a.fromNs - b.fromNs);
  const dropouts = together(troubles);
  const lastNs = troubles.reduce<Ns>((last, { toNs }) => (toNs > last ? toNs : last), ZERO);
  const isCleanAtEnd = troubles.length > 0 && lastNs < looks.endNs && !isStillSlipping(heard, looks.endNs);
  return {
    id: feed.id,
    name: feed.name,
    heardBy: feed.heardBy,
    slips: heard.reduce((sum, each) => sum + each.count, 0),
    drops: heard.reduce((sum, each) => sum + (each.train.sign === 1 ? each.count : 0), 0),
    repeats: heard.reduce((sum, each) => sum + (each.train.sign === -1 ? each.count : 0), 0),
    silentSeconds: secondsOf(silent),
    silentForDeviceDownSeconds: because(["device-down"]),
    silentForClockSeconds: because(["muted", "finding-rate", "out-of-step"]),
    longestSilenceSeconds: longest(silent),
    dropouts: {
      whileFaulty: dropouts.filter((each) => !isOnReturnAt(each.fromNs)).length,
      onReturn: dropouts.filter((each) => isOnReturnAt(each.fromNs)).length,
    },
    firstAudibleAtSeconds: troubles[0] === undefined ? null : secondsFromNs(troubles[0].fromNs),
    cleanAgainAtSeconds: isCleanAtEnd ? secondsFromNs(lastNs) : null,
    returnsAtFullLevel: silent.some((each) => {
      if (each.toNs < sinceNs) return false;
      const following = conditions.find((other) => other.fromNs === each.toNs);
      if (following === undefined || following.value.silence !== null) return false;
      return plan.devices.every(
        (device) => !each.value.returnsBy.includes(device.id) || device.unmuteRampSeconds === 0,
      );
    }),
    mayBeSilent: conditions.some((each) => each.value.mayBeSilent && each.toNs >= sinceNs),
    states,
    realignedAtSeconds: realigned.map(secondsFromNs),
  };
}

/** Troubles with gaps below ten seconds are one. */
function together(troubles: readonly { fromNs: Ns; toNs: Ns }[]): { fromNs: Ns; toNs: Ns }[] {
  const joined: { fromNs: Ns; toNs: Ns }[] = [];
  for (const { fromNs, toNs } of troubles) {
    const last = joined[joined.length - 1];
    if (last !== undefined && secondsBetween(last.toNs, fromNs) < TOGETHER_SECONDS) {
      if (toNs > last.toNs) last.toNs = toNs;
    } else joined.push({ fromNs, toNs });
  }
  return joined;
}

/** Longest silence, whatever its reasons: neighbours count as one. */
function longest(silent: readonly { fromNs: Ns; toNs: Ns }[]): number {
  let best = 0;
  let from: Ns | null = null;
  let to: Ns | null = null;
  for (const part of silent) {
    if (to === null || part.fromNs !== to) from = part.fromNs;
    to = part.toNs;
    best = Math.max(best, secondsBetween(from as Ns, to));
  }
  return best;
}

/** Conditions with the slipping stretches laid over their audible parts. */
function overlay(
  conditions: readonly { fromNs: Ns; toNs: Ns; value: Condition }[],
  groups: readonly Group[],
  heard: readonly Heard[],
): FeedStretch[] {
  const result: FeedStretch[] = [];
  const push = (stretch: FeedStretch): void => {
    const last = result[result.length - 1];
    const isSame =
      last !== undefined &&
      last.state === stretch.state &&
      last.silence === stretch.silence &&
      last.because === stretch.because &&
      last.toSeconds === stretch.fromSeconds &&
      stretch.state !== "slipping";
    if (isSame) result[result.length - 1] = { ...last, toSeconds: stretch.toSeconds };
    else result.push(stretch);
  };
  for (const { fromNs, toNs, value } of conditions) {
    const base = { silence: value.silence, because: value.because, slips: 0 };
    const isAudible = value.silence === null && value.isCarried;
    if (!isAudible) {
      push({
        ...base,
        state: value.silence === null ? "not-carried" : "silent",
        fromSeconds: secondsFromNs(fromNs),
        toSeconds: secondsFromNs(toNs),
      });
      continue;
    }
    let at = fromNs;
    for (const group of groups) {
      const from = group.fromNs > fromNs ? group.fromNs : fromNs;
      const to = group.toNs < toNs ? group.toNs : toNs;
      if (from > to || group.toNs < fromNs || group.fromNs >= toNs) continue;
      const slips = heard.reduce(
        (sum, each) =>
          sum + (each.fromNs <= to && each.toNs >= from ? (clip(each.train, from, (to + 1) as Ns)?.count ?? 0) : 0),
        0,
      );
      if (slips === 0) continue; // the group goes on on the other side of a silence
      if (from > at) push({ ...base, state: "clean", fromSeconds: secondsFromNs(at), toSeconds: secondsFromNs(from) });
      push({
        ...base,
        state: "slipping",
        because: null,
        slips,
        fromSeconds: secondsFromNs(from),
        toSeconds: secondsFromNs(to),
      });
      at = to;
    }
    if (at < toNs) push({ ...base, state: "clean", fromSeconds: secondsFromNs(at), toSeconds: secondsFromNs(toNs) });
  }
  return result;
}
