/** From a plan to the machines of a rig, in one order, wired. */
import type { Signal } from "../shared/flow.ts";
import { isAbout } from "../shared/lines.ts";
import { addTo } from "../shared/lists.ts";
import type { DevicePlan, EventPlan, LinkPlan, Plan } from "../shared/plan.ts";
import type { DeviceState } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { nsFromSeconds, ZERO } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import type { CableSpec, Socket } from "./cable.ts";
import { makeCable } from "./cable.ts";
import { INTERNAL } from "./choice.ts";
import { converterAt } from "./converted.ts";
import { makeConverter } from "./converter.ts";
import { firstSignal, makeDevice } from "./device/device.ts";
import type { DeviceBegin, DeviceSpec } from "./device/state.ts";
import { FLOW_PORT, STATUS_PORT, statusOf, takingPorts } from "./device/tell.ts";
import { makeTimebases, powerChanges, sourcesChanges } from "./lives.ts";
import type { Machine, Network, Wire } from "./machine.ts";
import { inEngineOrder } from "./machine.ts";
import type { Arrival, Mail, Order, Status } from "./mail.ts";
import { delayed } from "./mail.ts";
import type { NetworksAtStart } from "./network/at-start.ts";
import { networksAtStart } from "./network/at-start.ts";
import { packetWays } from "./network/flood.ts";
import type { NetworkMachines } from "./network/machines.ts";
import { networkMachines } from "./network/machines.ts";
import { DEFAULT_QUANTUM_SAMPLES } from "./quantum.ts";
import type { BufferShape, ReceiverSpec } from "./receiver.ts";
import { ARRIVAL_PORT, makeReceiver, OWN_PORT } from "./receiver.ts";
import { ownRateAtStart, settle } from "./settle.ts";
import type { WorldCable } from "./world.ts";
import { deviceId, worldOf } from "./world.ts";

export interface Rig extends Network<Order, Mail> {
  /** The one list in which all machines look: {@link relived} changes it in place. */
  readonly timebases: Timebase[];
  /** What the machines of devices were made of, by the machine's id. */
  readonly deviceSpecs: ReadonlyMap<string, DeviceSpec>;
  /** Places of machines by their id. */
  readonly slots: ReadonlyMap<string, number>;
  /** In the order of links. */
  readonly cables: readonly WorldCable[];
}

type AnyMachine = Machine<unknown, Order, Mail>;

interface CableDraft extends WorldCable {
  readonly sockets: readonly Socket[];
}

/** A port that can hear a cable: it has a receiver, and a device may take clock from it. */
interface Ear {
  readonly device: string;
  readonly port: number;
  /** Streams end in buffers of their own, though they share a port; null: what a cable brings. */
  readonly stream: string | null;
}

const portId = ({ device, port, stream }: Ear): string =>
  stream === null ? `port ${device}.${port}` : `port ${device}.${port} ${stream}`;
const streamOf = (link: LinkPlan): string | null => (link.stream === undefined ? null : link.id);

export function buildRig(plan: Plan, quantumSamples: number = DEFAULT_QUANTUM_SAMPLES): Rig {
  const quantumSeconds = quantumSamples / plan.sampleRateHz;
  const { timebases, livesOf } = makeTimebases(plan);
  const devices = new Map(plan.devices.map((device) => [device.id, device]));
  // By id: in which order a plan lists them must not show, not even in what is the cause of what.
  const links = [...plan.links].sort((a, b) => (a.id < b.id ? -1 : 1));
  const cables = links.flatMap((link) => cablesOf(link, plan.events));
  const ears = earsOf(cables);
  const powered = new Set(
    plan.devices.filter((device) => powerChanges(plan, device)[0]?.event === null).map(({ id }) => id),
  );
  const hasPower = (id: string): boolean => powered.has(id);
  const isSettled = plan.begin === "settled";
  const listenedBy = new Map(plan.devices.map((device) => [device.id, portsListenedTo(plan, device)]));
  const networks = networksAtStart(
    plan,
    isSettled ? hasPower : () => false,
    (device, port) => listenedBy.get(device)?.has(port) === true,
  );

  const settled = isSettled
    ? settle(plan, hasPower, (id) => ownRateAtStart(timebases, livesOf.get(id)), networks.hearings)
    : null;
  const beginOf = (id: string): DeviceBegin =>
    settled?.begins.get(id) ?? (hasPower(id) ? { kind: "starting" } : { kind: "off" });
  const isRunning = (id: string): boolean => beginOf(id).kind === "own" || beginOf(id).kind === "locked";
  const isUp = (link: LinkPlan): boolean =>
    link.atStart === "plugged" &&
    isRunning(link.a.device) &&
    isRunning(link.b.device) &&
    (link.stream === undefined || networks.reached.has(link.id));

  // Devices from the leaders outward, so that what each hears before the first instant is known.
  const said = new Map<string, Signal | null>();
  const specs = new Map<string, DeviceSpec>();
  const cablesAt = cablesByEar(cables);
  const arrivalAt = (ear: Ear): Arrival | null => {
    const cable = cablesAt.get(portId(ear));
    if (cable === undefined) return null;
    const { link, way } = cable;
    const from = way === "there" ? link.a : link.b;
    if (!isUp(link)) return { link: link.id, way, up: false, signal: null };
    const signal = said.get(from.device) ?? null;
    if (signal === null) return { link: link.id, way, up: true, signal: null };
    const flow = delayed(signal.flow, link.delaySeconds, timebases[signal.flow.timebase] as Timebase, ZERO);
    const gives = signal.gives && givesAt(devices.get(from.device) as DevicePlan, link, from.port);
    return { link: link.id, way, up: true, signal: { ...signal, flow, gives } };
  };
  const noArrival: Arrival = { link: "", way: "there", up: false, signal: null };
  const noticeSecondsMax = plan.links.reduce((most, link) => Math.max(most, link.noticeSeconds), 0);
  const specOf = (device: DevicePlan): DeviceSpec => {
    const listened = listenedBy.get(device.id) as ReadonlySet<number>;
    const cabled = (earsOfDevice.get(device.id) ?? []).filter(
      ({ port, stream }) => stream === null && listened.has(port),
    );
    const ports = [
      ...cabled.map(({ port }) => port),
      ...[...listened].filter((port) => networks.sites.siteOf(device.id, port) !== undefined),
    ];
    return {
      id: deviceId(device.id),
      plan: device,
      timebases,
      lives: livesOf.get(device.id) ?? [],
      ports,
      networkPorts: new Set([...listened].filter((port) => networks.sites.siteOf(device.id, port)).map(String)),
      begin: beginOf(device.id),
      quantumSeconds,
      noticeSecondsMax,
      arrivals: ports.map(
        (port) =>
          arrivalAt({ device: device.id, port, stream: null }) ??
          networks.arrivalAt(device.id, port, timebases, said) ??
          noArrival,
      ),
    };
  };
  const earsOfDevice = new Map<string, Ear[]>();
  for (const ear of ears) addTo(earsOfDevice, ear.device, ear);
  for (const id of settled?.order ?? plan.devices.map((device) => device.id))
    said.set(id, firstSignal(specOf(devices.get(id) as DevicePlan)));
  for (const device of plan.devices) specs.set(device.id, specOf(device)); // again: now everybody has spoken

  const machines: AnyMachine[] = [];
  for (const spec of specs.values()) machines.push(makeDevice(spec) as AnyMachine);
  const buffers: Record<string, BufferShape> = {};
  for (const link of plan.links) if (link.channels > 0) buffers[link.id] = link.buffer;
  for (const ear of ears) {
    const device = devices.get(ear.device) as DevicePlan;
    const spec: ReceiverSpec = {
      id: portId(ear),
      sampleRateHz: device.sampleRateHz,
      timebases,
      buffers,
      arrival: arrivalAt(ear),
      own: said.get(ear.device) ?? null,
      quantumSeconds,
    };
    const converter = converterAt(device, ear.port);
    const machine =
      converter === null
        ? makeReceiver(spec)
        : makeConverter({ ...spec, ratioMax: converter.ratioMax, lockNs: nsFromSeconds(converter.lockSeconds) });
    machines.push(machine as AnyMachine);
  }
  const network = networkMachines(networks, {
    timebases,
    said,
    statusOf: (id) => statusAtStart(specs.get(id) as DeviceSpec),
    inPortsOf: (id, wanted) => {
      const { ports } = specs.get(id) as DeviceSpec;
      return [...ports.keys()].filter((index) => wanted.includes(ports[index] as number));
    },
  });
  machines.push(...network.machines);
  for (const cable of cables)
    machines.push(makeCable(cableSpec(cable, timebases, said, specs, isUp(cable.link), networks)) as AnyMachine);
  machines.sort(inEngineOrder);
  const slots = new Map(machines.map((machine, slot) => [machine.id, slot]));
  return {
    machines,
    wires: wiresOf(machines, slots, specs, cables, ears, network),
    world: worldOf(plan, slots, cables),
    timebases,
    deviceSpecs: new Map([...specs.values()].map((spec) => [spec.id, spec])),
    slots,
    cables,
  };
}

/**
 * The same rig for a plan that gives power otherwise from `fromNs` on: another life of an oscillator begins then, and
 * only the devices whose lives these are have to be made anew. What was born before has kept its number.
 */
export function relived(rig: Rig, plan: Plan, fromNs: Ns): Rig {
  const { timebases, livesOf } = makeTimebases(plan);
  const before = rig.timebases.filter(({ bornNs }) => bornNs < fromNs);
  refill(rig.timebases, [...before, ...timebases.slice(before.length)]);
  const machines = rig.machines.map((machine) => {
    const spec = rig.deviceSpecs.get(machine.id);
    const lives = spec === undefined ? undefined : livesOf.get(spec.plan.id);
    if (spec === undefined || lives === undefined || lives.join() === spec.lives.join()) return machine;
    return makeDevice({ ...spec, lives }) as AnyMachine;
  });
  return { ...rig, machines };
}

export function refill<T>(list: T[], items: readonly T[]): void {
  list.splice(0, list.length, ...items);
}

/** What a port hears as the show begins: the cable that is meant to be there. */
function cablesByEar(cables: readonly CableDraft[]): ReadonlyMap<string, { link: LinkPlan; way: "there" | "back" }> {
  const found = new Map<string, { link: LinkPlan; way: "there" | "back" }>();
  for (const { link, ways } of cables) {
    if (link.ethernet !== undefined) continue;
    for (const way of ways) {
      const key = portId({ ...(way === "there" ? link.b : link.a), stream: streamOf(link) });
      if (!found.has(key)) found.set(key, { link, way });
    }
  }
  return found;
}

function cablesOf(link: LinkPlan, events: readonly EventPlan[]): CableDraft[] {
  const sockets: Socket[] = [
    { end: "a", ...link.a },
    { end: "b", ...link.b },
  ];
  for (const event of events) {
    if (event.do !== "plug" || !isAbout(event, link) || event.into === null || event.end === null) continue;
    const { device } = event.end === "a" ? link.a : link.b;
    const socket: Socket = { end: event.end, device, port: event.into };
    if (!sockets.some((each) => each.end === socket.end && each.port === socket.port)) sockets.push(socket);
  }
  if (link.twoWay) return [{ id: `link ${link.id} both`, link, ways: ["there", "back"], sockets }];
  const there: CableDraft = { id: `link ${link.id} there`, link, ways: ["there"], sockets };
  return link.hasReturn ? [there, { id: `link ${link.id} back`, link, ways: ["back"], sockets }] : [there];
}

/** What comes out of an ethernet cable is for bridges and nodes. */
function isHearing(cable: CableDraft, socket: Socket): boolean {
  if (cable.link.ethernet !== undefined) return false;
  return cable.ways.some((way) => (way === "there" ? "b" : "a") === socket.end);
}

function isSpeaking(cable: CableDraft, socket: Socket): boolean {
  if (cable.link.ethernet !== undefined) return false;
  return cable.ways.some((way) => (way === "there" ? "a" : "b") === socket.end);
}

function earsOf(cables: readonly CableDraft[]): Ear[] {
  const ears = new Map<string, Ear>();
  for (const cable of cables) {
    for (const socket of cable.sockets) {
      if (!isHearing(cable, socket)) continue;
      const ear: Ear = { device: socket.device, port: socket.port, stream: streamOf(cable.link) };
      ears.set(portId(ear), ear);
    }
  }
  return [...ears.values()];
}

/** A device is wired for clock only to ports that stand in its sources at some time. Behind a converter there is none. */
export function portsListenedTo(plan: Plan, device: DevicePlan): ReadonlySet<number> {
  const later = sourcesChanges(plan, device).flatMap(({ clockSources }) => clockSources);
  const sources = [...device.clockSources, ...later].filter((source) => source !== INTERNAL);
  return new Set(sources.filter((source) => converterAt(device, source) === null).map(Number));
}

function givesAt(sender: DevicePlan, link: LinkPlan, port: number): boolean {
  return !link.clockIsAgreed || !takingPorts(sender.clockSources, sender.ports).includes(port);
}

function cableSpec(
  { id, link, ways, sockets }: CableDraft,
  timebases: readonly Timebase[],
  said: ReadonlyMap<string, Signal | null>,
  specs: ReadonlyMap<string, DeviceSpec>,
  isUp: boolean,
  networks: NetworksAtStart,
): CableSpec {
  return {
    id,
    link: link.id,
    ways,
    sockets,
    timebases,
    delaySeconds: link.delaySeconds,
    delayNs: Math.max(1, Math.ceil(link.delaySeconds * 1e9)) as Ns, // only the message waits for a whole nanosecond
    noticeNs: nsFromSeconds(link.noticeSeconds),
    comingUpNs: nsFromSeconds(link.comingUpSeconds),
    clockIsAgreed: link.clockIsAgreed,
    hasReturn: link.hasReturn,
    packets: link.ethernet === undefined ? null : packetWays(link, link.ethernet),
    stream:
      link.stream === undefined
        ? null
        : {
            isReachedAtStart: networks.reached.has(link.id),
            packetNs: nsFromSeconds(link.stream.packetSeconds),
            refillNs: nsFromSeconds(
              link.buffer.startSamples / (specs.get(link.b.device) as DeviceSpec).plan.sampleRateHz,
            ),
          },
    begin: { isPlugged: link.atStart === "plugged", isUp, plugA: 0, plugB: 1 },
    offers: sockets.map(({ device }) => ({
      signal: said.get(device) ?? null,
      status: statusAtStart(specs.get(device) as DeviceSpec),
    })),
  };
}

function statusAtStart({ plan, begin, networkPorts }: DeviceSpec): Status {
  const state: DeviceState = begin.kind === "own" ? "free-run" : begin.kind;
  const source = begin.kind === "own" || begin.kind === "locked" ? begin.source : null;
  const settings = { state, source, lost: null, sources: plan.clockSources, portClock: plan.ports };
  return statusOf(plan, settings, networkPorts);
}

function wiresOf(
  machines: readonly AnyMachine[],
  slots: ReadonlyMap<string, number>,
  specs: ReadonlyMap<string, DeviceSpec>,
  cables: readonly CableDraft[],
  ears: readonly Ear[],
  network: NetworkMachines,
): Wire[][][] {
  const wires: Wire[][][] = machines.map(() => []);
  const slot = (id: string): number => slots.get(id) as number;
  const connect = (from: string, port: number, to: Wire): void => {
    const ports = wires[slot(from)] as Wire[][];
    while (ports.length <= port) ports.push([]);
    (ports[port] as Wire[]).push(to);
  };
  for (const id of specs.keys()) {
    (wires[slot(deviceId(id))] as Wire[][]).push([], []);
    for (const ear of ears)
      if (ear.device === id) connect(deviceId(id), FLOW_PORT, { to: slot(portId(ear)), port: OWN_PORT });
  }
  for (const cable of cables) {
    for (const [index, socket] of cable.sockets.entries()) {
      const own = { to: slot(cable.id), port: index };
      connect(deviceId(socket.device), STATUS_PORT, own);
      if (isSpeaking(cable, socket)) connect(deviceId(socket.device), FLOW_PORT, own);
      while ((wires[slot(cable.id)] as Wire[][]).length <= index) (wires[slot(cable.id)] as Wire[][]).push([]);
      if (!isHearing(cable, socket)) continue;
      const stream = streamOf(cable.link);
      connect(cable.id, index, { to: slot(portId({ ...socket, stream })), port: ARRIVAL_PORT });
      const inPort = (specs.get(socket.device) as DeviceSpec).ports.indexOf(socket.port);
      if (inPort >= 0 && stream === null) connect(cable.id, index, { to: slot(deviceId(socket.device)), port: inPort });
    }
  }
  for (const [id, count] of network.outs)
    for (let port = 0; port < count; port++) (wires[slot(id)] as Wire[][]).push([]);
  for (const { from, out, to, port } of network.wires) connect(from, out, { to: slot(to), port });
  return wires;
}
