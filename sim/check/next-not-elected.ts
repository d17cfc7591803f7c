/** When the leader is gone, its network elects somebody else than the next in line, or nobody. */
import type { Finding } from "../../shared/finding.ts";
import type { NetworkPlan, Plan } from "../../shared/plan.ts";
import { rigParts } from "../clock-graph.ts";
import { electionMeant, listsNetwork } from "../network/meant.ts";
import { electedIn } from "./elected.ts";
import { byText, head, mid, names, networkWords } from "./finding.ts";

export function nextNotElected(plan: Plan): readonly Finding[] {
  return rigParts(plan).flatMap((part) => {
    const [first, second] = plan.leaders.filter((id) => part.includes(id));
    if (first === undefined || second === undefined) return [];
    const networks = electedIn(plan).filter(({ root, leader }) => root === first && leader === first);
    return networks.flatMap(({ network }) => [
      ...otherNext(plan, network, first, second),
      ...nobodyNext(plan, network, first, second),
    ]);
  });
}

function otherNext(plan: Plan, network: NetworkPlan, first: string, second: string): Finding[] {
  return electedIn(plan, first)
    .filter((next) => next.network.id === network.id && next.root === next.leader && next.leader !== second)
    .map(({ leader }) => ({
      ...shared([leader, second]),
      path: ["devices", second, "ptp"],
      what: `When ${mid(plan, first)} is gone, ${mid(plan, leader)} wins the election on ${networkWords(network)}, and ${mid(plan, second)} is meant to be next.`,
      see: `Nothing, until ${mid(plan, first)} goes; then ${mid(plan, leader)} leads, and what is on another clock clicks.`,
      remedy: `${head(plan, second)}: have it stand for election on ${networkWords(network)}, with the lowest priority1 after ${mid(plan, first)}.`,
    }));
}

function nobodyNext(plan: Plan, network: NetworkPlan, first: string, second: string): Finding[] {
  const meant = electionMeant(plan, first);
  const left = meant.sites
    .filter((site) => site.network.id === network.id && listsNetwork(site) && meant.leaderOf(site) === null)
    .map(({ device }) => device.id)
    .sort(byText);
  if (left.length === 0) return [];
  return [
    {
      ...shared(left),
      path: ["devices", second, "ptp"],
      what: `When ${mid(plan, first)} is gone, nobody leads ${networkWords(network)} any more: who is left there only follows.`,
      see: `Nothing, until ${mid(plan, first)} goes; then ${names(plan, left)} lose the clock.`,
      remedy: `Have ${mid(plan, second)} stand for election on ${networkWords(network)}: a cable to it, followerOnly false, the lowest priority1 after ${mid(plan, first)}.`,
    },
  ];
}

function shared(devices: readonly string[]) {
  return {
    rule: "next-not-elected",
    severity: "warning",
    devices,
    links: [],
    why: "Who is next in an election is whoever has the next lowest numbers, not who stands next in a plan.",
  } as const;
}
