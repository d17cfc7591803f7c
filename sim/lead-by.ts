/**
 * The same rig with another device leading: its clock goes out over the links that are there, by the fewest hops, and
 * every other device listens only towards it, so no ring can form. A clock that carries no audio and cannot hear the new
 * leader is left alone, and nobody listens to it any more.
 */
import type { DevicePlan, LinkPlan, Plan } from "../shared/plan.ts";
import { converterAt, waysOf as endsOf } from "./converted.ts";

interface Way {
  readonly from: string;
  readonly to: string;
  readonly toPort: number;
  readonly link: LinkPlan;
}

/** Null where some device of the part that carries audio cannot hear the new leader over any chain of links. */
export function leadBy(plan: Plan, part: readonly string[], leader: string): Plan | null {
  const byId = new Map(plan.devices.map((device) => [device.id, device]));
  const ways = plan.links
    .flatMap(waysOf)
    .filter(({ from, to }) => byId.get(from)?.sampleRateHz === byId.get(to)?.sampleRateHz)
    .filter(({ to, toPort }) => converterAt(byId.get(to), toPort) === null);
  const depth = new Map([[leader, 0]]);
  for (let hops = 1, found = true; found; hops += 1) {
    found = false;
    for (const { from, to } of ways) {
      if (depth.get(from) !== hops - 1 || depth.has(to)) continue;
      depth.set(to, hops);
      found = true;
    }
  }
  const carries = new Set(plan.links.flatMap(({ channels, a, b }) => (channels > 0 ? [a.device, b.device] : [])));
  if (part.some((id) => !depth.has(id) && carries.has(id))) return null;

  const isLeftAlone = (id: string) => part.includes(id) && !depth.has(id);
  const leaders = [leader, ...plan.leaders.filter((id) => id !== leader && !isLeftAlone(id))];
  const devices = plan.devices.map((device): DevicePlan => {
    const own = depth.get(device.id);
    if (own === undefined) return device;
    if (own === 0) return { ...device, clockSources: ["internal"], ports: {} };
    const towards = ways
      .filter((way) => way.to === device.id && depth.get(way.from)! < own)
      .sort((one, two) => depth.get(one.from)! - depth.get(two.from)! || one.toPort - two.toPort);
    const ports = [...new Set(towards.map((way) => String(way.toPort)))];
    return { ...device, clockSources: leaders.includes(device.id) ? [...ports, "internal"] : ports, ports: {} };
  });
  return { ...plan, leaders, devices: devices.map((device) => takingAmongEquals(device, plan.links, depth)) };
}

function waysOf(link: LinkPlan): readonly Way[] {
  return endsOf(link).map(({ from, to }) => ({ from: from.device, to: to.device, toPort: to.port, link }));
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
