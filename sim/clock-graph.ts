/**
 * Who listens to whom, read from the settings alone, before anything is played.
 *
 * A port may hear a clock, or not: no cable there, a one-way cable that runs the other way, another sample rate, an
 * other end that takes as well, a sample-rate converter that puts all on the device's own clock. Over a network it hears
 * whom the election makes its parent; boundary devices are parents, other bridges are not. Of its list a device uses the
 * first entry that it can use, so those choices form a graph with one arrow out of each device, and following the arrows
 * ends on somebody's own clock or goes round a ring.
 * Everything is taken as it is meant to be in the show: `atStart` is not looked at. What the settings cannot tell
 * (capture, holdover, waits) is left to the run.
 */
import { addTo } from "../shared/lists.ts";
import type { DevicePlan, LinkPlan, Plan, PortRef, Way } from "../shared/plan.ts";
import { convertedWays, converterAt, waysOf } from "./converted.ts";
import { electionMeant, listsNetwork, portFor } from "./network/meant.ts";

/** The last two: on a network, a device that leads it itself, or finds nobody there whom it could follow. */
export type Silence = "no-cable" | "one-way" | "both-take" | "rate" | "converted" | "leads-itself" | "nobody-leads";

/** What one entry of `clockSources` leads to. */
export type Heard =
  | { readonly kind: "own" }
  | {
      readonly kind: "device";
      readonly device: string;
      /** Over a network: the cable at this device's own port. */
      readonly link: string;
      readonly way: Exclude<Way, "both">;
      /** Over which the time comes, from the device that announces it; null: straight over the link. */
      readonly network: string | null;
    }
  | { readonly kind: "nothing"; readonly because: Silence; readonly link: string | null };

export interface Choice {
  /** The entry as written: a port number or "internal". */
  readonly source: string;
  readonly heard: Heard;
}

/** Where the arrows lead from one choice. */
export interface Trace {
  /** Devices passed, the nearest first; in a ring, up to and with the first that is met twice. */
  readonly through: readonly string[];
  /** The device on whose own clock it ends; null: it goes round a ring, or its device is not there. */
  readonly ends: string | null;
  /** The members of the ring it ends in, beginning with the smallest id; empty where it ends. */
  readonly ring: readonly string[];
}

export interface ClockGraph {
  /** Entries of `clockSources`, in order. */
  choices(device: string): readonly Choice[];
  /** The entry in use when all is well; null: none can be used, so it runs on its own clock. */
  used(device: string): Choice | null;
  trace(from: Choice): Trace;
  /** Every ring among the choices in use, each beginning with its smallest id. */
  readonly rings: readonly (readonly string[])[];
}

/** Whether this port offers its clock to the other end: written, or implied by `clockSources`. */
export function portClock(device: DevicePlan, port: number): "give" | "take" {
  return device.ports[String(port)] ?? (device.clockSources.includes(String(port)) ? "take" : "give");
}

/** By first choice. */
export function runsOnOwnClock(device: DevicePlan): boolean {
  return device.clockSources[0] === "internal";
}

export type HeardDevice = Extract<Heard, { kind: "device" }>;

/** What a device lists and hears, each source once: all ports on one network are one source. */
export function sourcesHeard(graph: ClockGraph, device: string): readonly HeardDevice[] {
  const keys = new Set<string>();
  return graph.choices(device).flatMap(({ heard }) => {
    if (heard.kind !== "device") return [];
    const key = heard.network === null ? `link ${heard.link}` : `network ${heard.network}`;
    if (keys.has(key)) return [];
    keys.add(key);
    return [heard];
  });
}

/** On its own clock by first choice, or because the networks that it lists first have elected it. */
export function leadsOnOwnClock(plan: Plan, id: string): boolean {
  let isElected = false;
  for (const { heard } of clockGraph(plan).choices(id)) {
    if (heard.kind === "own") return true;
    if (heard.kind === "device" || heard.because !== "leads-itself") return false;
    isElected = true;
  }
  return isElected;
}

interface PortIndex {
  readonly devices: ReadonlyMap<string, DevicePlan>;
  /** By device, then by port; only ports with a cable. */
  readonly heard: ReadonlyMap<string, ReadonlyMap<number, Heard>>;
}

/** A plan never changes, and every rule asks for the same: made once for each. */
const indexes = new WeakMap<Plan, PortIndex>();

function portIndex(plan: Plan): PortIndex {
  const known = indexes.get(plan);
  if (known !== undefined) return known;
  const devices = new Map(plan.devices.map((device) => [device.id, device]));
  const heard = new Map(plan.devices.map(({ id }) => [id, new Map<number, Heard>()]));
  for (const link of plan.links) {
    // Of a network the election says who hears whom; a stream carries no clock.
    if (link.ethernet !== undefined || link.stream !== undefined) continue;
    for (const way of ["there", "back"] as const) {
      const { device, port } = way === "there" ? link.b : link.a;
      const ports = heard.get(device);
      const now = heardOver(devices, link, way);
      if (ports !== undefined && (now.kind === "device" || !ports.has(port))) ports.set(port, now);
    }
  }
  const index = { devices, heard };
  indexes.set(plan, index);
  return index;
}

/** What arrives at one port; `one-way` where the cable only leads away from it. */
function heardAt(plan: Plan, device: string, port: number, without: string | null): Heard {
  const clock = electionMeant(plan, without).clockAt(device, port);
  if (typeof clock === "string") return { kind: "nothing", because: clock, link: null };
  if (clock !== null) {
    const { device: parent, link, way, network } = clock;
    return { kind: "device", device: parent, link: link.id, way, network };
  }
  return portIndex(plan).heard.get(device)?.get(port) ?? { kind: "nothing", because: "no-cable", link: null };
}

function heardOver(devices: ReadonlyMap<string, DevicePlan>, link: LinkPlan, way: "there" | "back"): Heard {
  const [from, to] = way === "there" ? [link.a, link.b] : [link.b, link.a];
  const nothing = (because: Silence): Heard => ({ kind: "nothing", because, link: link.id });
  if (way === "back" && !link.twoWay && !link.hasReturn) return nothing("one-way");
  const sender = devices.get(from.device);
  const receiver = devices.get(to.device);
  if (sender === undefined || receiver === undefined) return nothing("no-cable");
  if (converterAt(receiver, to.port) !== null) return nothing("converted");
  if (link.clockIsAgreed && portClock(sender, from.port) === "take") return nothing("both-take");
  if (sender.sampleRateHz !== receiver.sampleRateHz) return nothing("rate");
  return { kind: "device", device: from.device, link: link.id, way, network: null };
}

const graphs = new WeakMap<Plan, Map<string | null, ClockGraph>>();

/** @param without a device that is not there, to see who would then listen to whom. */
export function clockGraph(plan: Plan, without: string | null = null): ClockGraph {
  const known = graphs.get(plan) ?? new Map<string | null, ClockGraph>();
  graphs.set(plan, known);
  const there = known.get(without);
  if (there !== undefined) return there;
  const made = makeGraph(plan, without);
  known.set(without, made);
  return made;
}

function makeGraph(plan: Plan, without: string | null): ClockGraph {
  const choices = new Map<string, readonly Choice[]>();
  for (const device of plan.devices) {
    choices.set(
      device.id,
      device.clockSources.map((source) => ({
        source,
        heard: source === "internal" ? { kind: "own" } : heardAt(plan, device.id, Number(source), without),
      })),
    );
  }
  const isThere = (choice: Choice) =>
    choice.heard.kind === "own" || (choice.heard.kind === "device" && choice.heard.device !== without);
  const used = (device: string) => choices.get(device)?.find(isThere) ?? null;

  function trace(from: Choice): Trace {
    const through: string[] = [];
    let choice: Choice | null = from;
    while (choice !== null && choice.heard.kind === "device") {
      const next: string = choice.heard.device;
      if (next === without) return { through, ends: null, ring: [] };
      const met = through.indexOf(next);
      through.push(next);
      if (met >= 0) return { through, ends: null, ring: turned(through.slice(met, -1)) };
      choice = used(next);
    }
    return { through, ends: through.at(-1) ?? null, ring: [] };
  }

  const rings = new Map<string, readonly string[]>();
  for (const device of plan.devices) {
    const choice = device.id === without ? null : used(device.id);
    if (choice === null) continue;
    const { ring } = trace(choice);
    if (ring.length > 0) rings.set(ring.join(" "), ring);
  }
  return {
    choices: (device) => choices.get(device) ?? [],
    used,
    trace,
    rings: [...rings.keys()].sort().map((key) => rings.get(key)!),
  };
}

/** On whose own clock a device is by its settings; null: it goes round a ring, or its device is not there. */
export function rootOf(graph: ClockGraph, id: string): string | null {
  const used = graph.used(id);
  return used === null || used.heard.kind === "own" ? id : graph.trace(used).ends;
}

/** The same circle, read from its smallest id. */
function turned(ring: readonly string[]): readonly string[] {
  let smallest = 0;
  ring.forEach((id, index) => {
    if (id < ring[smallest]!) smallest = index;
  });
  return [...ring.slice(smallest), ...ring.slice(0, smallest)];
}

/**
 * What hangs together: by links that carry audio to where there is no converter, by those that carry nothing but a clock
 * that somebody lists, and by the time that somebody takes from a network. There two clocks meet, whoever listens to
 * whom. A switch that only passes packets on hangs together with nobody. Sorted, as are the devices in each.
 */
export function rigParts(plan: Plan): readonly (readonly string[])[] {
  const known = parts.get(plan);
  if (known !== undefined) return known;
  const made = findParts(plan);
  parts.set(plan, made);
  return made;
}

const parts = new WeakMap<Plan, readonly (readonly string[])[]>();

function findParts(plan: Plan): readonly (readonly string[])[] {
  const part = new Map(plan.devices.map((device) => [device.id, device.id]));
  const root = (id: string): string => {
    const above = part.get(id) ?? id;
    if (above === id) return id;
    const top = root(above);
    part.set(id, top);
    return top;
  };
  const { devices } = portIndex(plan);
  const isListed = ({ device, port }: PortRef) => devices.get(device)?.clockSources.includes(String(port)) === true;
  const join = (one: string, other: string): void => {
    const [first, second] = [root(one), root(other)].sort();
    part.set(second!, first!);
  };
  for (const link of plan.links) {
    if (link.ethernet !== undefined) continue;
    if (link.channels === 0 && !isListed(link.a) && !isListed(link.b)) continue;
    if (link.channels > 0 && waysOf(link).every(({ to }) => converterAt(devices.get(to.device), to.port) !== null))
      continue;
    join(link.a.device, link.b.device);
  }
  const leaderless = new Map<string, string>();
  const meant = electionMeant(plan);
  const listens = new Set(meant.sites.filter(listsNetwork).map(({ device, network }) => `${device.id} ${network.id}`));
  const listensTo = (device: string, network: string): boolean => listens.has(`${device} ${network}`);
  for (const site of meant.sites) {
    const { device, network } = site;
    const leader = meant.leaderOf(site);
    if (leader === null && listensTo(device.id, network.id)) {
      join(leaderless.get(network.id) ?? device.id, device.id);
      leaderless.set(network.id, device.id);
    }
    if (leader !== null && (listensTo(device.id, network.id) || listensTo(leader, network.id))) join(leader, device.id);
  }
  const members = new Map<string, string[]>();
  for (const device of plan.devices) {
    const of = root(device.id);
    addTo(members, of, device.id);
  }
  return [...members.keys()].sort().map((key) => members.get(key)!.sort());
}

/**
 * Who is meant to lead this part of the rig: the first of `leaders` in it; where the plan names nobody, the only device
 * that runs on its own clock, by first choice or elected; else null.
 */
export function meantToLead(plan: Plan, part: readonly string[]): string | null {
  const named = plan.leaders.find((id) => part.includes(id));
  if (named !== undefined) return named;
  const own = part.filter((id) => leadsOnOwnClock(plan, id));
  return own.length === 1 ? own[0]! : null;
}

/** Whether a device is meant to lead a part of its own that only converters join to others: then its own clock is the plan. */
export function leadsBehindConverters(plan: Plan, device: string): boolean {
  const part = rigParts(plan).find((ids) => ids.includes(device)) ?? [];
  return (
    meantToLead(plan, part) === device &&
    convertedWays(plan).some(({ from, to }) => part.includes(from.device) !== part.includes(to.device))
  );
}

export interface PortThatHears {
  readonly port: number;
  readonly from: string;
  readonly link: string;
  readonly network: string | null;
}

/**
 * Port numbers of a device at which some device's clock arrives, with that device; lowest port first. Of a network one
 * port, and what would arrive there if the device listened.
 */
export function portsThatHear(plan: Plan, device: string): readonly PortThatHears[] {
  const straight = [...(portIndex(plan).heard.get(device) ?? [])].flatMap(([port, heard]): PortThatHears[] =>
    heard.kind === "device" ? [{ port, from: heard.device, link: heard.link, network: null }] : [],
  );
  const settled = electionMeant(plan);
  const own = settled.sites.filter((site) => site.device.id === device);
  const meant = own.every(listsNetwork) ? settled : electionMeant(plan, null, device);
  const overNetworks = own.flatMap((site): PortThatHears[] => {
    const clock = meant.clockAt(device, portFor(site, meant.resultOf(site)));
    if (clock === null || typeof clock === "string") return [];
    return [{ port: clock.port, from: clock.device, link: clock.link.id, network: clock.network }];
  });
  return [...straight, ...overNetworks].sort((one, two) => one.port - two.port);
}

/** The port over which a device would hear a leader by the fewest hops, not through itself; null where there is none. */
export function portTowards(
  plan: Plan,
  device: string,
  leader: string,
): { readonly port: number; readonly from: string } | null {
  const graph = clockGraph(plan, device);
  let best: { readonly port: number; readonly from: string } | null = null;
  let hopsMin = Number.POSITIVE_INFINITY;
  for (const { port, from, link, network } of portsThatHear(plan, device)) {
    const heard: Heard = { kind: "device", device: from, link, way: "there", network };
    const { ends, through } = graph.trace({ source: String(port), heard });
    if (ends !== leader || through.length >= hopsMin) continue;
    best = { port, from };
    hopsMin = through.length;
  }
  return best;
}
