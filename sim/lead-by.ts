/**
 * The same rig with another device leading: its clock goes out over the links that are there, by the fewest hops, and
 * every other device listens only towards it, so no ring can form. On a network it wins the election; where it is not on
 * one, the first device that its clock reaches wins there. A clock that carries no audio and cannot hear the new leader is
 * left alone, and nobody listens to it any more.
 */
import type { DevicePlan, LinkPlan, Plan } from "../shared/plan.ts";
import { converterAt, waysOf as endsOf } from "./converted.ts";
import type { Site } from "./network/sites.ts";
import { sitesOf } from "./network/sites.ts";

interface Way {
  readonly from: string;
  readonly to: string;
  readonly toPort: number;
}

/** How the clock of a leader spreads. */
interface Spread {
  /** Hops from the leader, by device. */
  readonly depth: ReadonlyMap<string, number>;
  /** By network: the device on whose time it is to be. */
  readonly leaders: ReadonlyMap<string, string>;
}

/** Null where some device of the part that carries audio cannot hear the new leader, or no priority is left to win with. */
export function leadBy(plan: Plan, part: readonly string[], leader: string): Plan | null {
  const byId = new Map(plan.devices.map((device) => [device.id, device]));
  const ways = plan.links
    .filter(({ stream, ethernet }) => stream === undefined && ethernet === undefined)
    .flatMap(waysOf)
    .filter(({ from, to }) => byId.get(from)?.sampleRateHz === byId.get(to)?.sampleRateHz)
    .filter(({ to, toPort }) => converterAt(byId.get(to), toPort) === null);
  const sites = sitesOf(plan).sites.filter(({ isInElection }) => isInElection);
  const spread = spreadFrom(leader, ways, sites);
  const { depth } = spread;
  const carries = new Set(plan.links.flatMap(({ channels, a, b }) => (channels > 0 ? [a.device, b.device] : [])));
  if (part.some((id) => !depth.has(id) && carries.has(id))) return null;
  const priorities = winning(spread, sites);
  if (priorities === null) return null;

  const isLeftAlone = (id: string) => part.includes(id) && !depth.has(id);
  const leaders = [leader, ...plan.leaders.filter((id) => id !== leader && !isLeftAlone(id))];
  const devices = plan.devices.map((device): DevicePlan => {
    const own = depth.get(device.id);
    const priority1 = priorities.get(device.id);
    const led: DevicePlan =
      device.ptp === undefined || priority1 === undefined
        ? device
        : { ...device, ptp: { ...device.ptp, priority1, followerOnly: false } };
    if (own === undefined) return led;
    if (own === 0) return { ...led, clockSources: ["internal"], ports: {} };
    const towards = [
      ...ways.filter((way) => way.to === device.id && depth.get(way.from)! < own),
      ...networkWays(device.id, sites, spread),
    ].sort((one, two) => depth.get(one.from)! - depth.get(two.from)! || one.toPort - two.toPort);
    const ports = [...new Set(towards.map((way) => String(way.toPort)))];
    return { ...led, clockSources: leaders.includes(device.id) ? [...ports, "internal"] : ports, ports: {} };
  });
  return { ...plan, leaders, devices: devices.map((device) => takingAmongEquals(device, plan.links, depth)) };
}

function spreadFrom(leader: string, ways: readonly Way[], sites: readonly Site[]): Spread {
  const depth = new Map([[leader, 0]]);
  const leaders = new Map<string, string>();
  for (let hops = 1, found = true; found; hops += 1) {
    found = false;
    const reach = (id: string): void => {
      if (depth.has(id)) return;
      depth.set(id, hops);
      found = true;
    };
    for (const { from, to } of ways) if (depth.get(from) === hops - 1) reach(to);
    for (const { device, network } of sites) {
      if (depth.get(device.id) !== hops - 1 || leaders.has(network.id)) continue;
      leaders.set(network.id, device.id);
      for (const other of sites) if (other.network.id === network.id) reach(other.device.id);
    }
  }
  return { depth, leaders };
}

/** The way over a network, from its leader. */
function networkWays(device: string, sites: readonly Site[], { leaders }: Spread): Way[] {
  return sites.flatMap((site) => {
    const from = leaders.get(site.network.id);
    if (site.device.id !== device || from === undefined || from === device) return [];
    return [{ from, to: device, toPort: site.ports[0] as number }];
  });
}

/** A priority1 for those that are to win: one better than the best of the others. Null where there is none. */
function winning({ leaders }: Spread, sites: readonly Site[]): ReadonlyMap<string, number> | null {
  const priorities = new Map<string, number>();
  for (const [network, leader] of leaders) {
    const others = sites.filter((site) => site.network.id === network && site.device.id !== leader);
    const best = Math.min(
      ...others.map(({ device }) => (device.ptp?.followerOnly ? 256 : (device.ptp?.priority1 ?? 256))),
    );
    const own = sites.find((site) => site.network.id === network && site.device.id === leader)?.device.ptp;
    if (own !== undefined && !own.followerOnly && own.priority1 < best) continue;
    if (best === 0) return null;
    priorities.set(leader, Math.min(priorities.get(leader) ?? 255, best - 1));
  }
  return priorities;
}

function waysOf(link: LinkPlan): readonly Way[] {
  return endsOf(link).map(({ from, to }) => ({ from: from.device, to: to.device, toPort: to.port }));
}

/** Where clock is agreed and neither end listens, one has to take all the same: the second. */
function takingAmongEquals(
  device: DevicePlan,
  links: readonly LinkPlan[],
  depth: ReadonlyMap<string, number>,
): DevicePlan {
  const idle = links.filter(
    (link) =>
      link.clockIsAgreed && link.b.device === device.id && depth.get(link.a.device) === depth.get(link.b.device),
  );
  if (idle.length === 0) return device;
  return { ...device, ports: Object.fromEntries(idle.map((link) => [String(link.b.port), "take" as const])) };
}
