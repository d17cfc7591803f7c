/**
 * How many hops each device stands from a clock of its own, by the settings: 0 for whoever leads and for whoever is on
 * its own clock, one more for each cable on the way. Switches that only pass packets on count as hops. A ring begins at
 * its smallest id; what nobody's clock reaches stands one behind what it is plugged to.
 */
import type { Plan } from "../../shared/plan.ts";
import { clockGraph, meantToLead, rigParts } from "../clock-graph.ts";
import { isPlainSwitch } from "../network/outcome.ts";

export function hopsOf(plan: Plan): ReadonlyMap<string, number> {
  const { straight, overNetwork, own } = whoHearsWhom(plan);
  const wired = neighbours(plan);
  const devices = new Map(plan.devices.map((device) => [device.id, device]));
  const isStraight = new Set([...straight.values()].flat());
  const isFollowed = new Set([...overNetwork.values()].map(({ parent, network }) => `${parent} ${network}`));
  const hops = new Map<string, number>();

  /** Whom packets that carry time reach from here with one more cable. */
  const overPackets = (id: string): readonly string[] =>
    (wired.get(id) ?? []).flatMap(({ to, network }) => {
      if (network === null || isStraight.has(to)) return [];
      if (devices.get(id)?.bridge === undefined && !isFollowed.has(`${id} ${network}`)) return [];
      const isOnTheWay = devices.get(to)?.kind === "switch" && !overNetwork.has(to);
      return isOnTheWay || overNetwork.get(to)?.network === network ? [to] : [];
    });
  const spread = (roots: readonly string[], from: number): void => {
    const queue = roots.filter((id) => !hops.has(id));
    for (const id of queue) hops.set(id, from);
    for (const id of queue) {
      for (const to of [...(straight.get(id) ?? []), ...overPackets(id)]) {
        if (hops.has(to)) continue;
        hops.set(to, hops.get(id)! + 1);
        queue.push(to);
      }
    }
  };

  const meant = rigParts(plan).flatMap((part) => meantToLead(plan, part) ?? []);
  const plain = new Set(plan.devices.filter((device) => isPlainSwitch(plan, device)).map(({ id }) => id));
  spread(
    [...new Set([...meant, ...own])].filter((id) => !plain.has(id)),
    0,
  );
  for (const [first] of clockGraph(plan).rings) spread([first!], 0);
  for (;;) {
    const left = plan.devices.filter(({ id }) => !hops.has(id)).map(({ id }) => id);
    if (left.length === 0) return hops;
    const nearest = (id: string) =>
      Math.min(...(wired.get(id) ?? []).map(({ to }) => hops.get(to) ?? Number.POSITIVE_INFINITY));
    const best = left.reduce((one, other) => (nearest(other) < nearest(one) ? other : one));
    spread([best], Number.isFinite(nearest(best)) ? nearest(best) + 1 : 0);
  }
}

function whoHearsWhom(plan: Plan) {
  const graph = clockGraph(plan);
  const straight = new Map<string, string[]>();
  const overNetwork = new Map<string, { readonly parent: string; readonly network: string }>();
  const own: string[] = [];
  for (const { id, kind } of plan.devices) {
    const heard = graph.used(id)?.heard;
    if (heard?.kind === "device" && heard.network === null)
      straight.set(heard.device, [...(straight.get(heard.device) ?? []), id]);
    else if (heard?.kind === "device" && heard.network !== null)
      overNetwork.set(id, { parent: heard.device, network: heard.network });
    else if (heard?.kind === "own" && kind !== "switch") own.push(id);
  }
  return { straight, overNetwork, own };
}

interface Neighbour {
  readonly to: string;
  readonly network: string | null;
}

/** Who is plugged to whom: streams have no cable. */
function neighbours({ links }: Plan): ReadonlyMap<string, readonly Neighbour[]> {
  const found = new Map<string, Neighbour[]>();
  const add = (from: string, to: string, network: string | null) =>
    found.set(from, [...(found.get(from) ?? []), { to, network }]);
  for (const { a, b, ethernet, stream } of links) {
    if (stream !== undefined) continue;
    add(a.device, b.device, ethernet?.network ?? null);
    add(b.device, a.device, ethernet?.network ?? null);
  }
  return found;
}
