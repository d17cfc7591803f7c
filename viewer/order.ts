/**
 * The order in which the page lists things: devices by how far they stand from the leader as the show begins, then by
 * name; links by id; feeds by name. Numbers in names count as numbers, so that 2 stands before 10.
 */
import type { DevicePlan } from "../shared/plan.ts";
import { createFollowers, type Followers } from "../sim/lanes/follow.ts";
import { keepStamp, stampOf } from "../sim/stamp.ts";
import type { Run } from "./run.ts";

// One language for all, so that a page looks the same wherever it is opened.
const NATURAL = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

/** The same run with the lists of its summary, and its feeds, in that order. */
export function inPageOrder(run: Run): Run {
  const { plan, summary } = run;
  const hops = hopsFromLeader(run);
  const far = (id: string) => hops.get(id) ?? plan.devices.length;
  const byName = <One extends { readonly name: string; readonly id: string }>(one: One, other: One) =>
    NATURAL.compare(one.name, other.name) || NATURAL.compare(one.id, other.id);
  const ordered = { ...plan, feeds: [...plan.feeds].sort(byName) };
  // A stamp knows no order.
  keepStamp(ordered, stampOf(plan));
  return {
    ...run,
    plan: ordered,
    summary: {
      ...summary,
      devices: [...summary.devices].sort((one, other) => far(one.id) - far(other.id) || byName(one, other)),
      // Both ways of a link keep their order.
      links: [...summary.links].sort((one, other) => NATURAL.compare(one.id, other.id)),
      feeds: [...summary.feeds].sort(byName),
    },
  };
}

/** 0 for the leader, 1 for those that listen to it …; without an entry: not led by it. */
function hopsFromLeader(run: Run): ReadonlyMap<string, number> {
  const { plan } = run;
  const followers = createFollowers(run);
  const { leader, standings } = followers.at(0);
  const first = leader ?? plan.leaders[0];
  const hops = new Map<string, number>();
  if (first === undefined) return hops;
  const below = new Map<string, string[]>();
  for (const device of plan.devices) {
    const from = standings.get(device.id)?.upstream ?? firstChoice(device, followers);
    if (from !== null) below.set(from.id, [...(below.get(from.id) ?? []), device.id]);
  }
  hops.set(first, 0);
  // A map goes on to what is set while it is walked.
  for (const [id, far] of hops) for (const next of below.get(id) ?? []) if (!hops.has(next)) hops.set(next, far + 1);
  return hops;
}

/** Whom a device that does not listen yet is set to listen to. */
function firstChoice(device: DevicePlan, followers: Followers): DevicePlan | null {
  for (const source of device.clockSources) {
    if (source === "internal") return null;
    const behind = followers.behind(device.id, source, 0);
    if (behind !== null) return behind;
  }
  return null;
}
