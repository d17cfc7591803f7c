/**
 * Who follows whom at any instant of a run, read from the finished summary and plan.
 *
 * A device names the clock source in use; the cable at that port says which device it listens to, on a network the
 * election does. Following those steps from any device ends at the one that runs on its own clock, or never, in a ring.
 */
import { isAbout } from "../../shared/lines.ts";
import { addTo } from "../../shared/lists.ts";
import type { DevicePlan, FeedPlan, LinkPlan, NetworkPlan, Plan, PortRef } from "../../shared/plan.ts";
import type { DeviceState, RunRecord } from "../../shared/record.ts";
import type { DeviceStretch, DeviceSummary, Summary } from "../../shared/summary.ts";
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { deviceById } from "../by-id.ts";
import { faultsOf, isOnReturn } from "../faults.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import { sitesOf } from "../network/sites.ts";
import { looksOf, valueAt } from "../timeline.ts";

/** All that a telling reads. */
export interface Told {
  readonly plan: Plan;
  readonly record: RunRecord;
  readonly summary: Summary;
  /** Trouble that begins at this instant of show time belongs to something that has come back. */
  isOnReturn(seconds: number): boolean;
}

export function toldOf({ plan, record, summary }: Omit<Told, "isOnReturn">): Told {
  const faults = faultsOf(plan, looksOf(record));
  return { plan, record, summary, isOnReturn: (seconds) => isOnReturn(plan, faults, nsFromSeconds(seconds)) };
}

export interface Standing {
  readonly device: DevicePlan;
  readonly state: DeviceState;
  readonly source: string | null;
  /** The device whose clock arrives at that source; null for its own clock. */
  readonly upstream: DevicePlan | null;
  /** Where following upstream ends; null in a ring. */
  readonly root: DevicePlan | null;
}

export interface Picture {
  readonly at: number;
  /** By device id. */
  readonly standings: ReadonlyMap<string, Standing>;
  /** On their own clock with somebody following them, in the order of the plan's leaders, then by id. */
  readonly leaders: readonly DevicePlan[];
}

/** One device's change of state or source. */
export interface Change {
  readonly at: number;
  readonly device: DevicePlan;
  readonly from: DeviceStretch;
  readonly to: DeviceStretch;
}

/** The stretch that holds at an instant; at a border, the later one. */
export function stretchAt<S extends { readonly fromSeconds: number; readonly toSeconds: number }>(
  stretches: readonly S[],
  seconds: number,
): S | undefined {
  let found: S | undefined;
  for (const stretch of stretches) {
    if (stretch.fromSeconds > seconds) break;
    found = stretch;
  }
  return found;
}

/** A plan never changes, and every picture asks for every device: made once for each. */
const ports = new WeakMap<Plan, ReadonlyMap<string, readonly LinkPlan[]>>();

/** By "device port": the cables that are in it at any time of the show, in the order of the plan. */
function portsOf(plan: Plan): ReadonlyMap<string, readonly LinkPlan[]> {
  const known = ports.get(plan);
  if (known !== undefined) return known;
  const plugs = plan.events.flatMap((event) => (event.do === "plug" && event.into !== null ? [event] : []));
  const found = new Map<string, LinkPlan[]>();
  for (const link of plan.links) {
    const own = new Set([`${link.a.device} ${link.a.port}`, `${link.b.device} ${link.b.port}`]);
    for (const plug of plugs)
      if (plug.end !== null && isAbout(plug, link)) own.add(`${link[plug.end].device} ${plug.into}`);
    for (const place of own) addTo(found, place, link);
  }
  ports.set(plan, found);
  return found;
}

/** The ends of a link at an instant: a plug can have moved one into another port. */
export function endsAt(plan: Plan, link: LinkPlan, seconds: number): { readonly a: PortRef; readonly b: PortRef } {
  let { a, b } = link;
  for (const event of plan.events) {
    if (secondsFromNs(event.atNs) > seconds) break;
    if (event.do !== "plug" || !isAbout(event, link) || event.into === null) continue;
    if (event.end === "a") a = { ...a, port: event.into };
    if (event.end === "b") b = { ...b, port: event.into };
  }
  return { a, b };
}

/** The network behind a clock source; null where it is a cable with a clock of its own. */
export function networkBehind(plan: Plan, device: string, source: string | null): NetworkPlan | null {
  if (source === null || source === "internal") return null;
  return sitesOf(plan).siteOf(device, Number(source))?.network ?? null;
}

/**
 * The device whose clock comes in at a source, as `clockSources` writes it: the one at the other end of the cable; on a
 * network the one that its packets come from, while it follows anybody there.
 */
export function deviceBehind(
  { plan, record }: Pick<Told, "plan" | "record">,
  device: string,
  source: string | null,
  seconds: number,
): DevicePlan | null {
  const network = networkBehind(plan, device, source);
  if (network === null) return deviceAcross(plan, device, source, seconds);
  const node = looksOf(record).nodes.get(`${device} ${network.id}`);
  const look = node === undefined ? undefined : valueAt(node, nsFromSeconds(seconds));
  return look?.role === "follows" && look.parent !== null ? (deviceById(plan, look.parent) ?? null) : null;
}

/** The device at the other end of the cable in a port that is on no network. */
export function deviceAcross(plan: Plan, device: string, source: string | null, seconds: number): DevicePlan | null {
  if (source === null || source === "internal") return null;
  const port = Number(source);
  for (const link of portsOf(plan).get(`${device} ${port}`) ?? []) {
    if (link.ethernet !== undefined || link.stream !== undefined) continue;
    const { a, b } = endsAt(plan, link, seconds);
    const carriesBothWays = link.twoWay || link.hasReturn;
    if (b.device === device && b.port === port) return deviceById(plan, a.device) ?? null;
    if (carriesBothWays && a.device === device && a.port === port) return deviceById(plan, b.device) ?? null;
  }
  return null;
}

/** The cable in a port, for a source as `clockSources` writes it. */
export function linkInPort(plan: Plan, device: string, source: string, seconds: number): LinkPlan | null {
  const port = Number(source);
  return (
    portsOf(plan)
      .get(`${device} ${port}`)
      ?.find((link) => {
        const { a, b } = endsAt(plan, link, seconds);
        if (link.stream !== undefined) return false;
        return (a.device === device && a.port === port) || (b.device === device && b.port === port);
      }) ?? null
  );
}

/** Without switches that only pass packets on: nobody can be on their clock. */
export function pictureAt(told: Told, seconds: number): Picture {
  const { plan, summary } = told;
  const open = new Map<string, Omit<Standing, "root">>();
  for (const device of plan.devices) {
    if (isPlainSwitch(plan, device)) continue;
    const stretch = stretchAt(statesOf(summary, device.id), seconds);
    const state = stretch?.state ?? "off";
    const source = stretch?.source ?? null;
    const follows = state === "locked" || state === "acquiring";
    open.set(device.id, {
      device,
      state,
      source,
      upstream: follows ? deviceBehind(told, device.id, source, seconds) : null,
    });
  }
  const standings = new Map<string, Standing>();
  for (const [id, standing] of open) standings.set(id, { ...standing, root: rootOf(open, id) });

  const followed = new Set<string>();
  for (const standing of open.values()) if (standing.upstream !== null) followed.add(standing.upstream.id);
  const rank = (device: DevicePlan) =>
    plan.leaders.includes(device.id) ? plan.leaders.indexOf(device.id) : plan.leaders.length;
  const leaders = [...standings.values()]
    .filter(({ device, upstream }) => upstream === null && followed.has(device.id))
    .map(({ device }) => device)
    .sort((one, other) => rank(one) - rank(other));
  return { at: seconds, standings, leaders };
}

function rootOf(open: ReadonlyMap<string, Omit<Standing, "root">>, id: string): DevicePlan | null {
  const seen = new Set<string>();
  let standing = open.get(id);
  while (standing !== undefined && standing.upstream !== null) {
    if (seen.has(standing.device.id)) return null;
    seen.add(standing.device.id);
    standing = open.get(standing.upstream.id);
  }
  return standing?.device ?? null;
}

/** The devices of each ring of sources, in the order of the clock, each ring once and from its first id. */
export function ringsIn(picture: Picture): readonly (readonly DevicePlan[])[] {
  const rings: DevicePlan[][] = [];
  const known = new Set<string>();
  for (const [id, start] of picture.standings) {
    if (start.root !== null || known.has(id)) continue;
    const walked: DevicePlan[] = [];
    let standing: Standing | undefined = start;
    while (standing !== undefined && !walked.includes(standing.device)) {
      walked.push(standing.device);
      standing = standing.upstream === null ? undefined : picture.standings.get(standing.upstream.id);
    }
    const first = standing?.device;
    for (const device of walked) known.add(device.id);
    const ring = first === undefined ? [] : walked.slice(walked.indexOf(first));
    if (ring.length > 0 && !rings.some((other) => other.includes(ring[0]!))) rings.push(ring);
  }
  return rings;
}

/** Instants, in seconds, at which a clock's own frequency begins or ends to move by an event. */
export function turnsOf(plan: Plan): readonly number[] {
  const turns = plan.events.flatMap((event) => {
    const at = secondsFromNs(event.atNs);
    if (event.do === "step-frequency") return [at];
    if (event.do === "temperature") return event.overSeconds > 0 ? [at, at + event.overSeconds] : [at];
    return [];
  });
  return turns.sort((one, other) => one - other);
}

export function statesOf(summary: Summary, id: string): DeviceSummary["states"] {
  return summary.devices.find((device) => device.id === id)?.states ?? [];
}

/** Every change of every device after the start, in order of time, then by id. */
export function changesIn({ plan, summary }: Told): readonly Change[] {
  const changes: Change[] = [];
  for (const device of plan.devices) {
    const states = statesOf(summary, device.id);
    for (let index = 1; index < states.length; index += 1) {
      const to = states[index]!;
      changes.push({ at: to.fromSeconds, device, from: states[index - 1]!, to });
    }
  }
  return changes.sort((one, other) => one.at - other.at);
}

/** The device that makes a feed's mix: the one in the middle of its way; null for a feed without one. */
export function mixOf(plan: Plan, feed: FeedPlan): DevicePlan | null {
  const inner = feed.through.slice(1, -1).map((id) => deviceById(plan, id));
  return inner.find((device) => device?.kind === "desk") ?? inner[0] ?? null;
}
