/**
 * How late sound is, by the plan: what each hop of a feed adds, over its main and over its spare. Mixing inside a device
 * is not in a plan and not in these numbers; nor are the cables under a stream, whose way the network chooses in a run.
 */
import type { FeedPlan, HopPlan, LinkPlan, Plan, SparePlan } from "../shared/plan.ts";
import type { FeedSummary } from "../shared/summary.ts";
import { nsFromSeconds } from "../shared/time.ts";
import { converterAt } from "./converted.ts";

/** What one link adds to one hop, in seconds; `seconds` is the sum of the others. */
export interface PathLatency {
  readonly link: string;
  readonly way: "there" | "back";
  /** Audio latency of the link's type. */
  readonly linkSeconds: number;
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
export function arrivalSeconds({ delaySeconds, latencySeconds }: LinkPlan): number {
  return delaySeconds + latencySeconds;
}

/** Whether a receiver puts these two together without a gap: to the nanosecond, their difference is inside its window. */
export function isMerged(spare: SparePlan, one: LinkPlan, other: LinkPlan): boolean {
  return nsFromSeconds(skewSeconds(one, other)) <= nsFromSeconds(spare.windowSeconds ?? 0);
}

/** Difference in delay between two links, never negative. */
export function skewSeconds(one: LinkPlan, other: LinkPlan): number {
  return Math.abs(arrivalSeconds(one) - arrivalSeconds(other));
}

export function hopLatencies(plan: Plan, feed: FeedPlan): readonly HopLatency[] {
  return feed.hops.map((hop) => ({ from: hop.from, to: hop.to, paths: pathsOf(plan, hop) }));
}

function pathsOf(plan: Plan, hop: HopPlan): readonly PathLatency[] {
  const listener = plan.devices.find(({ id }) => id === hop.to);
  const spare = plan.spares.find(({ id }) => id === hop.spare);
  const linkOf = (id: string) => plan.links.find((link) => link.id === id);
  const links = hop.over.flatMap(({ link }) => linkOf(link) ?? []);
  return hop.over.flatMap(({ link: id, way }): PathLatency[] => {
    const link = linkOf(id);
    if (link === undefined || listener === undefined) return [];
    const converter = converterAt(listener, (way === "there" ? link.b : link.a).port);
    const merged = spare?.mode === "duplicate" ? links.filter((other) => isMerged(spare, link, other)) : [];
    const parts = {
      linkSeconds: link.latencySeconds,
      propagationSeconds: link.delaySeconds,
      bufferSeconds: converter === null ? link.buffer.startSamples / listener.sampleRateHz : 0,
      converterSeconds: converter?.delaySeconds ?? 0,
      heldBackSeconds: Math.max(0, ...merged.map((other) => arrivalSeconds(other) - arrivalSeconds(link))),
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
