/** Who is elected on the networks of a plan, whose clock that is, and whose it is meant to be. */
import type { NetworkPlan, Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { clockGraph, meantToLead, rigParts, rootOf } from "../clock-graph.ts";
import type { DecidingField } from "../election/compare.ts";
import { decidingField } from "../election/compare.ts";
import { ownCandidate } from "../election/own-data.ts";
import { electionMeant } from "../network/meant.ts";
import { byText } from "./finding.ts";

/** A device that wins against others on a network. */
export interface Elected {
  readonly network: NetworkPlan;
  readonly leader: string;
  /** Who have its time, straight or over boundary devices, or would if they took it. */
  readonly followers: readonly string[];
  /** On whose own clock that ends; null: it comes out of a ring. */
  readonly root: string | null;
}

/** By network, then leader. */
export function electedIn(plan: Plan, without: string | null = null): readonly Elected[] {
  const meant = electionMeant(plan, without);
  const graph = clockGraph(plan, without);
  const found = new Map<string, { network: NetworkPlan; leader: string; followers: string[] }>();
  for (const site of meant.sites) {
    const leader = meant.leaderOf(site);
    if (leader === null || leader === site.device.id) continue;
    const key = `${site.network.id} ${leader}`;
    const there = found.get(key) ?? { network: site.network, leader, followers: [] };
    there.followers.push(site.device.id);
    found.set(key, there);
  }
  return [...found.keys()].sort(byText).map((key) => {
    const { network, leader, followers } = found.get(key)!;
    return { network, leader, followers: followers.sort(byText), root: rootOf(graph, leader) };
  });
}

export interface Misled extends Elected {
  /** Who is meant to lead. */
  readonly meant: string;
}

const misled = new WeakMap<Plan, readonly Misled[]>();

/** Where a network elects somebody on its own clock who is not meant to lead. */
export function misledNetworks(plan: Plan): readonly Misled[] {
  const known = misled.get(plan);
  if (known !== undefined) return known;
  const parts = rigParts(plan);
  const made = electedIn(plan).flatMap((elected): Misled[] => {
    const part = parts.find((ids) => ids.includes(elected.leader)) ?? [];
    const meant = meantToLead(plan, part);
    return meant === null || elected.root !== elected.leader || elected.leader === meant ? [] : [{ ...elected, meant }];
  });
  misled.set(plan, made);
  return made;
}

/** By what one device wins an election against another. */
export function decidedBy(plan: Plan, one: string, other: string): DecidingField | null {
  const data = (id: string) => {
    const { ptp } = deviceOf(plan, id);
    return ptp === undefined ? null : ownCandidate(ptp, ptp.clockClass).data;
  };
  const [first, second] = [data(one), data(other)];
  return first === null || second === null ? null : decidingField(first, second);
}

/** Whether a device is on a network and stands for election there. */
export function standsOn(plan: Plan, network: string, id: string): boolean {
  return electionMeant(plan).sites.some(
    (site) => site.device.id === id && site.network.id === network && site.device.ptp?.followerOnly !== true,
  );
}
