/**
 * The plan as nets of shared risks: a feed from its source to its outputs, and the clock from those who may lead to one
 * follower. Risks are cables, paths they are laid along, supplies and devices; where something goes over a network, its
 * cables and bridges. Devices at the two ends do not count: when they are gone there is nothing to carry.
 */
import { cableOf } from "../../shared/lines.ts";
import type { FeedPlan, HopPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { deviceOf, linkOf } from "../by-id.ts";
import type { ClockGraph } from "../clock-graph.ts";
import { sourcesHeard } from "../clock-graph.ts";
import type { RiskyArc, RiskyNet } from "../cut-sets.ts";
import { disjointWays, minimalCuts, minimalCutsInSeries } from "../cut-sets.ts";
import { electionMeant } from "../network/meant.ts";
import { theCableIn, path as thePath } from "../tell/words.ts";
import { fabricArcs } from "./fabric.ts";
import { mid } from "./finding.ts";

export type RiskKind = "cable" | "path" | "supply" | "device";

const risk = (kind: RiskKind, name: string) => `${kind} ${name}`;

/** Of a risk: "path quay wall" is of kind "path" and named "quay wall". */
export function riskOf(text: string): { readonly kind: RiskKind; readonly name: string } {
  const at = text.indexOf(" ");
  return { kind: text.slice(0, at) as RiskKind, name: text.slice(at + 1) };
}

export function riskWords(plan: Plan, text: string): string {
  const { kind, name } = riskOf(text);
  if (kind === "cable") return theCableIn(plan, name);
  if (kind === "path") return thePath(name);
  return kind === "supply" ? `supply ${name}` : mid(plan, name);
}

/** What takes a device: itself, or all of its supplies together. */
function deviceFails(plan: Plan, id: string): RiskyArc["fails"] {
  return [[risk("device", id)], deviceOf(plan, id).power.map((supply) => risk("supply", supply))];
}

function cableFails(link: LinkPlan): RiskyArc["fails"] {
  return [[risk("cable", cableOf(link))], ...link.laidAlong.map((along) => [risk("path", along)])];
}

/**
 * A net for each hop, whose arcs are the links that can carry it, or the cables of the network that its streams go over:
 * the hops have to be passed one after the other.
 */
export function feedNets(plan: Plan, feed: FeedPlan): readonly RiskyNet[] {
  const ends = [feed.through[0]!, feed.through.at(-1)!];
  return feed.hops.map((hop) => hopNet(plan, hop, ends));
}

/** @param ends devices that do not count */
export function hopNet(plan: Plan, { from, to, over }: HopPlan, ends: readonly string[]): RiskyNet {
  const fails = failsWithout(plan, ends);
  const links = over.map(({ link }) => linkOf(plan, link));
  const straight = links.filter(({ stream }) => stream === undefined);
  // Two streams over one network have the same ways.
  const networks = [...new Set(links.flatMap(({ stream }) => (stream === undefined ? [] : [stream.network])))];
  const arcs = [
    ...straight.map((link): RiskyArc => ({ from, to, fails: fails(link, [from, to]) })),
    ...networks.flatMap((network) => fabricArcs(plan, network, [from], to, fails)),
  ];
  return { source: from, sink: to, arcs };
}

/** What silences a feed by itself at a hop that has no spare; what main and spare share is told where the spare is. */
export function risksWithoutSpare(plan: Plan, feed: FeedPlan): readonly ReturnType<typeof riskOf>[] {
  const ends = [feed.through[0]!, feed.through.at(-1)!];
  return feed.hops
    .filter(({ over }) => over.length === 1)
    .flatMap((hop) =>
      minimalCuts(hopNet(plan, hop, ends), 1)
        .flat()
        .map(riskOf),
    );
}

/** What takes a cable with the devices at its ends, but for those that do not count. */
function failsWithout(plan: Plan, spared: readonly string[]) {
  return (link: LinkPlan, ends: readonly string[]): RiskyArc["fails"] => [
    ...cableFails(link),
    ...ends.filter((id) => !spared.includes(id)).flatMap((id) => deviceFails(plan, id)),
  ];
}

/** Not an id that a device can have. */
const ANY_LEADER = "(any leader)";

/**
 * Every clock source that is listed, as an arc from whom it hears, back from one follower to all who are meant to lead,
 * now or next, and can: they are one source. Over a network: from all of those on it who stand for election, and from
 * whoever leads it, by every way there is.
 */
export function clockNet(plan: Plan, graph: ClockGraph, follower: string): RiskyNet {
  const leads = plan.leaders.filter((id) => id !== follower && deviceOf(plan, id).clockSources.includes("internal"));
  const arcs = leads.map((id): RiskyArc => ({ from: ANY_LEADER, to: id, fails: [] }));
  const fails = failsWithout(plan, [follower, ...leads]);
  const listening = new Set([follower]);
  for (const id of listening) {
    if (leads.includes(id)) continue;
    for (const heard of sourcesHeard(graph, id)) {
      if (heard.device === follower) continue;
      if (heard.network === null) {
        arcs.push({ from: heard.device, to: id, fails: fails(linkOf(plan, heard.link), [heard.device, id]) });
        listening.add(heard.device);
        continue;
      }
      const senders = whoMayLead(plan, heard.network, leads).filter((one) => one !== id);
      arcs.push(...fabricArcs(plan, heard.network, senders, id, fails));
      for (const sender of senders) if (sender !== follower) listening.add(sender);
    }
  }
  return { source: ANY_LEADER, sink: follower, arcs };
}

/** On one network: who stands for election among some devices, and who is elected. */
function whoMayLead(plan: Plan, network: string, leads: readonly string[]): readonly string[] {
  const meant = electionMeant(plan);
  const there = meant.sites.filter((site) => site.network.id === network);
  const elected = new Set(there.map((site) => meant.leaderOf(site)));
  return there
    .filter(({ device }) => elected.has(device.id) || (leads.includes(device.id) && !device.ptp?.followerOnly))
    .map(({ device }) => device.id);
}

/** What has to go before a feed is gone. */
export interface FeedCuts {
  readonly feed: string;
  /** Ways over cables of which no two share one. */
  readonly disjointWays: number;
  /** Up to three risks each, the fewest first: "cable main", "path quay wall", "supply stage", "device foh". */
  readonly cuts: readonly (readonly string[])[];
}

const ORDER_MAX = 3;

/** @param orderMax larger sets are not looked for. */
export function feedCuts(plan: Plan, orderMax: number = ORDER_MAX): readonly FeedCuts[] {
  return plan.feeds.map((feed) => {
    const nets = feedNets(plan, feed);
    const ways = Math.min(...nets.map((net) => disjointWays(net).count));
    return { feed: feed.id, disjointWays: ways, cuts: minimalCutsInSeries(nets, orderMax) };
  });
}
