/**
 * The cables of one network as arcs of a net of risks: every way that its packets could take, for its bridges find
 * another when one is lost. A network without recovery finds none, so there only the cables count that carry at rest.
 */
import { addTo } from "../../shared/lists.ts";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import type { RiskyArc } from "../cut-sets.ts";
import type { Standing } from "../network/flood.ts";
import type { JoinedCable } from "../network/loops.ts";
import { sitesMeant, standingMeant } from "../network/meant.ts";
import type { Site } from "../network/sites.ts";
import { networkOf } from "./finding.ts";

/** Cables of a network by which packets can go. */
interface Ways {
  readonly cables: readonly JoinedCable[];
  /** Places among them: those between bridges, and those at each device. */
  readonly trunks: readonly number[];
  readonly at: ReadonlyMap<string, readonly number[]>;
}

const known = new WeakMap<Plan, Map<string, Ways>>();

function waysOn(plan: Plan, network: string): Ways {
  const networks = known.get(plan) ?? new Map<string, Ways>();
  known.set(plan, networks);
  const there = networks.get(network);
  if (there !== undefined) return there;
  const cables = findWays(plan, network);
  const trunks: number[] = [];
  const at = new Map<string, number[]>();
  for (const [index, { a, b }] of cables.entries()) {
    if (a.isBridge && b.isBridge) trunks.push(index);
    for (const { device } of [a, b]) addTo(at, device.id, index);
  }
  const made = { cables, trunks, at };
  networks.set(network, made);
  return made;
}

/** In the order of the plan: what lies between bridges, and at the devices asked for. */
function waysBetween({ cables, trunks, at }: Ways, devices: readonly string[]): readonly JoinedCable[] {
  const places = new Set([...trunks, ...devices.flatMap((device) => at.get(device) ?? [])]);
  return [...places].sort((one, other) => one - other).map((index) => cables[index]!);
}

function findWays(plan: Plan, network: string): readonly JoinedCable[] {
  const { siteOf } = sitesMeant(plan);
  const standing = networkOf(plan, network).recovery === "none" ? standingMeant(plan) : null;
  return sitesMeant(plan).cables.flatMap(({ link, ethernet }): JoinedCable[] => {
    const [a, b] = [siteOf(link.a.device, link.a.port), siteOf(link.b.device, link.b.port)];
    if (ethernet.network !== network || a === undefined || b === undefined || a === b) return [];
    return standing === null || carriesAtRest(standing, link, a, b) ? [{ link, a, b }] : [];
  });
}

function carriesAtRest({ forwards }: Standing, link: LinkPlan, a: Site, b: Site): boolean {
  return (!a.isBridge || forwards(a, link.a.port)) && (!b.isBridge || forwards(b, link.b.port));
}

/**
 * From any of some devices to another over one network; all of them are places of their own id, so that an arc to or
 * from them joins on to others. Between are bridges.
 *
 * @param fails what takes a cable with what is at its two ends
 */
export function fabricArcs(
  plan: Plan,
  network: string,
  from: readonly string[],
  to: string,
  fails: (link: LinkPlan, ends: readonly string[]) => RiskyArc["fails"],
): readonly RiskyArc[] {
  const senders = new Set(from);
  const place = (device: string) => (device === to || senders.has(device) ? device : `${network} ${device}`);
  const canLeave = ({ device, isBridge }: Site) => senders.has(device.id) || (isBridge && device.id !== to);
  const canEnter = ({ device, isBridge }: Site) => device.id === to || isBridge;
  return waysBetween(waysOn(plan, network), [...from, to]).flatMap(({ link, a, b }) =>
    [[a, b] as const, [b, a] as const].flatMap(([one, other]): RiskyArc[] => {
      if (!canLeave(one) || !canEnter(other)) return [];
      const ends = [one.device.id, other.device.id];
      return [{ from: place(ends[0]!), to: place(ends[1]!), fails: fails(link, ends) }];
    }),
  );
}
