/**
 * How late sound is, by the plan: what each hop of a feed adds, over its main and over its spare. Mixing inside a device
 * is not in a plan and not in these numbers. Under a stream lie the cables and bridges of its way at rest; where a network
 * goes another way in a run, what that adds is not told.
 */
import type { FeedPlan, HopPlan, LinkPlan, Plan, SparePlan } from "../shared/plan.ts";
import type { FeedSummary } from "../shared/summary.ts";
import { nsFromSeconds } from "../shared/time.ts";
import { deviceById, linkById, spareById } from "./by-id.ts";
import { converterAt } from "./converted.ts";
import { streamWays } from "./network/stream-ways.ts";

/** What one link adds to one hop, in seconds; `seconds` is the sum of the others. */
export interface PathLatency {
  readonly link: string;
  readonly way: "there" | "back";
  /** Audio latency of the link's type. */
  readonly linkSeconds: number;
  /** Cable; of a stream, the cables and bridges that it goes over. */
  readonly propagationSeconds: number;
  /** The receiver's buffer at its start; 0 where a converter stands in its place. */
  readonly bufferSeconds: number;
  readonly converterSeconds: number;
  /** What a receiver that merges duplicates holds this one back by, until the latest of them has arrived. */
  readonly heldBackSeconds: number;
  readonly seconds: number;
}

export interface HopLatency {
  readonly from: string;
  readonly to: string;
  /** Main first. */
  readonly paths: readonly PathLatency[];
}

/** From a sample's leaving one device to its arrival at the other. */
export function arrivalSeconds(plan: Plan, link: LinkPlan): number {
  return propagationSeconds(plan, link) + link.latencySeconds;
}

function propagationSeconds(plan: Plan, { id, stream, delaySeconds }: LinkPlan): number {
  const way = stream === undefined ? undefined : streamWays(plan)[0]?.ways.get(id);
  const cables = (way?.cables ?? []).reduce((sum, { link }) => sum + link.delaySeconds, delaySeconds);
  return (way?.bridges ?? []).reduce((sum, { device }) => sum + (device.bridge?.residenceSeconds ?? 0), cables);
}

/** Whether a receiver puts these two together without a gap: to the nanosecond, their difference is inside its window. */
export function isMerged(plan: Plan, spare: SparePlan, one: LinkPlan, other: LinkPlan): boolean {
  return nsFromSeconds(skewSeconds(plan, one, other)) <= nsFromSeconds(spare.windowSeconds ?? 0);
}

/** Difference in delay between two links, never negative. */
export function skewSeconds(plan: Plan, one: LinkPlan, other: LinkPlan): number {
  return Math.abs(arrivalSeconds(plan, one) - arrivalSeconds(plan, other));
}

export function hopLatencies(plan: Plan, feed: FeedPlan): readonly HopLatency[] {
  return feed.hops.map((hop) => ({ from: hop.from, to: hop.to, paths: pathsOf(plan, hop) }));
}

function pathsOf(plan: Plan, hop: HopPlan): readonly PathLatency[] {
  const listener = deviceById(plan, hop.to);
  const spare = spareById(plan, hop.spare);
  const links = hop.over.flatMap(({ link }) => linkById(plan, link) ?? []);
  return hop.over.flatMap(({ link: id, way }): PathLatency[] => {
    const link = linkById(plan, id);
    if (link === undefined || listener === undefined) return [];
    const converter = converterAt(listener, (way === "there" ? link.b : link.a).port);
    const merged = spare?.mode === "duplicate" ? links.filter((other) => isMerged(plan, spare, link, other)) : [];
    const parts = {
      linkSeconds: link.latencySeconds,
      propagationSeconds: propagationSeconds(plan, link),
      bufferSeconds: converter === null ? link.buffer.startSamples / listener.sampleRateHz : 0,
      converterSeconds: converter?.delaySeconds ?? 0,
      heldBackSeconds: Math.max(0, ...merged.map((other) => arrivalSeconds(plan, other) - arrivalSeconds(plan, link))),
    };
    return [{ link: id, way, ...parts, seconds: Object.values(parts).reduce((sum, part) => sum + part, 0) }];
  });
}

/** The whole way over the mains, and over the first spare wherever a hop has one; in samples of the rig's rate. */
export function feedLatency(plan: Plan, feed: FeedPlan): FeedSummary["latency"] {
  const hops = hopLatencies(plan, feed);
  const sum = (place: number) => hops.reduce((all, { paths }) => all + ((paths[place] ?? paths[0])?.seconds ?? 0), 0);
  const mainSeconds = sum(0);
  const spareSeconds = hops.some(({ paths }) => paths.length > 1) ? sum(1) : null;
  return {
    mainSeconds,
    mainSamples: mainSeconds * plan.sampleRateHz,
    spareSeconds,
    spareSamples: spareSeconds === null ? null : spareSeconds * plan.sampleRateHz,
  };
}
