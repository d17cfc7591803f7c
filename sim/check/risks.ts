/**
 * The plan as nets of shared risks: a feed from its source to its outputs, and the clock from those who may lead to one
 * follower. Risks are cables, paths they are laid along, supplies and devices. Devices at the two ends do not count: when
 * they are gone there is nothing to carry.
 */
import type { FeedPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import type { ClockGraph } from "../clock-graph.ts";
import type { RiskyArc, RiskyNet } from "../cut-sets.ts";
import { disjointWays, minimalCutsInSeries } from "../cut-sets.ts";
import { theCable, path as thePath } from "../tell/words.ts";
import { deviceOf, linkOf, mid } from "./finding.ts";

export type RiskKind = "cable" | "path" | "supply" | "device";

const risk = (kind: RiskKind, name: string) => `${kind} ${name}`;

/** Of a risk: "path quay wall" is of kind "path" and named "quay wall". */
export function riskOf(text: string): { readonly kind: RiskKind; readonly name: string } {
  const at = text.indexOf(" ");
  return { kind: text.slice(0, at) as RiskKind, name: text.slice(at + 1) };
}

export function riskWords(plan: Plan, text: string): string {
  const { kind, name } = riskOf(text);
  if (kind === "cable") return theCable(name);
  if (kind === "path") return thePath(name);
  return kind === "supply" ? `supply ${name}` : mid(plan, name);
}

/** What takes a device: itself, or all of its supplies together. */
function deviceFails(plan: Plan, id: string): RiskyArc["fails"] {
  return [[risk("device", id)], deviceOf(plan, id).power.map((supply) => risk("supply", supply))];
}

function cableFails(link: LinkPlan): RiskyArc["fails"] {
  return [[risk("cable", link.id)], ...link.laidAlong.map((along) => [risk("path", along)])];
}

/** A net for each hop, whose arcs are the links that can carry it: they have to be passed one after the other. */
export function feedNets(plan: Plan, feed: FeedPlan): readonly RiskyNet[] {
  const ends = [feed.through[0], feed.through.at(-1)];
  return feed.hops.map(({ from, to, over }) => {
    const devices = [from, to].filter((id) => !ends.includes(id)).flatMap((id) => deviceFails(plan, id));
    const arcs = over.map(
      ({ link }): RiskyArc => ({ from, to, fails: [...cableFails(linkOf(plan, link)), ...devices] }),
    );
    return { source: from, sink: to, arcs };
  });
}

/** Not an id that a device can have. */
const ANY_LEADER = "(any leader)";

/**
 * Every clock source that is listed, as an arc from whom it hears, back from one follower to all who are meant to lead,
 * now or next, and can: they are one source.
 */
export function clockNet(plan: Plan, graph: ClockGraph, follower: string): RiskyNet {
  const leads = plan.leaders.filter((id) => id !== follower && deviceOf(plan, id).clockSources.includes("internal"));
  const arcs = leads.map((id): RiskyArc => ({ from: ANY_LEADER, to: id, fails: [] }));
  const listening = new Set([follower]);
  for (const id of listening) {
    if (leads.includes(id)) continue;
    for (const { heard } of graph.choices(id)) {
      if (heard.kind !== "device" || heard.device === follower) continue;
      const between = [heard.device, id].filter((one) => one !== follower && !leads.includes(one));
      arcs.push({
        from: heard.device,
        to: id,
        fails: [...cableFails(linkOf(plan, heard.link)), ...between.flatMap((one) => deviceFails(plan, one))],
      });
      listening.add(heard.device);
    }
  }
  return { source: ANY_LEADER, sink: follower, arcs };
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
