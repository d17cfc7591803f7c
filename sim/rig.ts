/** From a plan to the machines of a rig, in one order, wired. */
import type { Signal } from "../shared/flow.ts";
import type { DevicePlan, EventPlan, LinkPlan, Plan } from "../shared/plan.ts";
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
import { FLOW_PORT, STATUS_PORT, statusOf } from "./device/tell.ts";
import { makeTimebases, powerChanges } from "./lives.ts";
import type { Machine, Network, Wire, WorldEvent } from "./machine.ts";
import { inEngineOrder } from "./machine.ts";
import type { Arrival, Mail, Order } from "./mail.ts";
import { delayed } from "./mail.ts";
import { DEFAULT_QUANTUM_SAMPLES } from "./quantum.ts";
import type { BufferShape, ReceiverSpec } from "./receiver.ts";
import { ARRIVAL_PORT, makeReceiver, OWN_PORT } from "./receiver.ts";
import { ownRateAtStart, settle } from "./settle.ts";

export interface Rig extends Network<Order, Mail> {
  readonly timebases: readonly Timebase[];
}

type AnyMachine = Machine<unknown, Order, Mail>;

interface CableDraft {
  readonly id: string;
  readonly link: LinkPlan;
  readonly ways: readonly ("there" | "back")[];
  readonly sockets: readonly Socket[];
}

/** A port that can hear a cable: it has a receiver, and a device may take clock from it. */
interface Ear {
  readonly device: string;
  readonly port: number;
}

const deviceId = (id: string): string => `device ${id}`;
const portId = (ear: Ear): string => `port ${ear.device}.${ear.port}`;

export function buildRig(plan: Plan, quantumSamples: number = DEFAULT_QUANTUM_SAMPLES): Rig {
  const quantumSeconds = quantumSamples / plan.sampleRateHz;
  const { timebases, livesOf } = makeTimebases(plan);
  // By id: in which order a plan lists them must not show, not even in what is the cause of what.
  const links = [...plan.links].sort((a, b) => (a.id < b.id ? -1 : 1));
  const cables = links.flatMap((link) => cablesOf(link, plan.events));
  const ears = earsOf(cables);
  const hasPower = (id: string): boolean => {
    const device = plan.devices.find((each) => each.id === id);
    return device !== undefined && powerChanges(plan, device)[0]?.event === null;
  };

  const settled =
    plan.begin === "settled" ? settle(plan, hasPower, (id) => ownRateAtStart(timebases, livesOf.get(id))) : null;
  const beginOf = (id: string): DeviceBegin =>
    settled?.begins.get(id) ?? (hasPower(id) ? { kind: "starting" } : { kind: "off" });
  const isRunning = (id: string): boolean => beginOf(id).kind === "own" || beginOf(id).kind === "locked";
  const isUp = (link: LinkPlan): boolean =>
    link.atStart === "plugged" && isRunning(link.a.device) && isRunning(link.b.device);

  // Devices from the leaders outward, so that what each hears before the first instant is known.
  const said = new Map<string, Signal | null>();
  const specs = new Map<string, DeviceSpec>();
  const arrivalAt = (ear: Ear): Arrival | null => {
    for (const { link, ways } of cables) {
      for (const way of ways) {
        const [from, to] = way === "there" ? [link.a, link.b] : [link.b, link.a];
        if (to.device !== ear.device || to.port !== ear.port) continue;
        if (!isUp(link)) return { link: link.id, way, up: false, signal: null };
        const signal = said.get(from.device) ?? null;
        if (signal === null) return { link: link.id, way, up: true, signal: null };
        const flow = delayed(signal.flow, link.delaySeconds, timebases[signal.flow.timebase] as Timebase, ZERO);
        return {
          link: link.id,
          way,
          up: true,
          signal: { ...signal, flow, gives: signal.gives && givesAt(plan, link, from) },
        };
      }
    }
    return null;
  };
  const noArrival: Arrival = { link: "", way: "there", up: false, signal: null };
  const specOf = (id: string): DeviceSpec => {
    const device = plan.devices.find((each) => each.id === id) as (typeof plan.devices)[number];
    const listened = portsListenedTo(plan, device);
    const ports = ears.filter((ear) => ear.device === id && listened.has(ear.port)).map((ear) => ear.port);
    return {
      id: deviceId(id),
      plan: device,
      timebases,
      lives: livesOf.get(id) ?? [],
      ports,
      begin: beginOf(id),
      quantumSeconds,
      noticeSecondsMax: plan.links.reduce((most, link) => Math.max(most, link.noticeSeconds), 0),
      arrivals: ports.map((port) => arrivalAt({ device: id, port }) ?? noArrival),
    };
  };
  for (const id of settled?.order ?? plan.devices.map((device) => device.id)) said.set(id, firstSignal(specOf(id)));
  for (const device of plan.devices) specs.set(device.id, specOf(device.id)); // again: now everybody has spoken

  const machines: AnyMachine[] = [];
  for (const spec of specs.values()) machines.push(makeDevice(spec) as AnyMachine);
  const buffers: Record<string, BufferShape> = {};
  for (const link of plan.links) if (link.channels > 0) buffers[link.id] = link.buffer;
  for (const ear of ears) {
    const spec = receiverSpec(plan, ear, timebases, buffers, said, arrivalAt, quantumSeconds);
    const converter = converterAt(
      plan.devices.find((device) => device.id === ear.device),
      ear.port,
    );
    const machine =
      converter === null
        ? makeReceiver(spec)
        : makeConverter({ ...spec, ratioMax: converter.ratioMax, lockNs: nsFromSeconds(converter.lockSeconds) });
    machines.push(machine as AnyMachine);
  }
  for (const cable of cables)
    machines.push(makeCable(cableSpec(plan, cable, timebases, said, specs, isUp(cable.link))) as AnyMachine);
  machines.sort(inEngineOrder);
  const slots = new Map(machines.map((machine, slot) => [machine.id, slot]));
  return {
    machines,
    wires: wiresOf(machines, slots, specs, cables, ears),
    world: worldOf(plan, slots, cables),
    timebases,
  };
}

function cablesOf(link: LinkPlan, events: readonly EventPlan[]): CableDraft[] {
  const sockets: Socket[] = [
    { end: "a", ...link.a },
    { end: "b", ...link.b },
  ];
  for (const event of events) {
    if (event.do !== "plug" || event.link !== link.id || event.into === null || event.end === null) continue;
    const { device } = event.end === "a" ? link.a : link.b;
    const socket: Socket = { end: event.end, device, port: event.into };
    if (!sockets.some((each) => each.end === socket.end && each.port === socket.port)) sockets.push(socket);
  }
  if (link.twoWay) return [{ id: `link ${link.id} both`, link, ways: ["there", "back"], sockets }];
  const there: CableDraft = { id: `link ${link.id} there`, link, ways: ["there"], sockets };
  return link.hasReturn ? [there, { id: `link ${link.id} back`, link, ways: ["back"], sockets }] : [there];
}

function isHearing(cable: CableDraft, socket: Socket): boolean {
  return cable.ways.some((way) => (way === "there" ? "b" : "a") === socket.end);
}

function isSpeaking(cable: CableDraft, socket: Socket): boolean {
  return cable.ways.some((way) => (way === "there" ? "a" : "b") === socket.end);
}

function earsOf(cables: readonly CableDraft[]): Ear[] {
  const ears = new Map<string, Ear>();
  for (const cable of cables) {
    for (const socket of cable.sockets) {
      if (!isHearing(cable, socket)) continue;
      const ear: Ear = { device: socket.device, port: socket.port };
      ears.set(portId(ear), ear);
    }
  }
  return [...ears.values()];
}

/** A device is wired for clock only to ports that stand in its sources at some time. Behind a converter there is none. */
function portsListenedTo(plan: Plan, device: DevicePlan): ReadonlySet<number> {
  const later = plan.events.flatMap((event) =>
    event.do === "set-clock-sources" && event.device === device.id ? event.clockSources : [],
  );
  const sources = [...device.clockSources, ...later].filter((source) => source !== INTERNAL);
  return new Set(sources.filter((source) => converterAt(device, source) === null).map(Number));
}

function givesAt(plan: Plan, link: LinkPlan, from: { readonly device: string; readonly port: number }): boolean {
  const sender = plan.devices.find((each) => each.id === from.device) as (typeof plan.devices)[number];
  const { takes } = statusOf(sender, { state: "locked", sources: sender.clockSources, portClock: sender.ports });
  return !link.clockIsAgreed || !takes.includes(from.port);
}

function receiverSpec(
  plan: Plan,
  ear: Ear,
  timebases: readonly Timebase[],
  buffers: ReceiverSpec["buffers"],
  said: ReadonlyMap<string, Signal | null>,
  arrivalAt: (ear: Ear) => Arrival | null,
  quantumSeconds: number,
): ReceiverSpec {
  const device = plan.devices.find((each) => each.id === ear.device) as (typeof plan.devices)[number];
  return {
    id: portId(ear),
    sampleRateHz: device.sampleRateHz,
    timebases,
    buffers,
    arrival: arrivalAt(ear),
    own: said.get(ear.device) ?? null,
    quantumSeconds,
  };
}

function cableSpec(
  plan: Plan,
  cable: CableDraft,
  timebases: readonly Timebase[],
  said: ReadonlyMap<string, Signal | null>,
  specs: ReadonlyMap<string, DeviceSpec>,
  isUp: boolean,
): CableSpec {
  const { link, sockets } = cable;
  return {
    id: cable.id,
    link: link.id,
    ways: cable.ways,
    sockets,
    timebases,
    delaySeconds: link.delaySeconds,
    delayNs: Math.max(1, Math.ceil(link.delaySeconds * 1e9)) as Ns, // only the message waits for a whole nanosecond
    noticeNs: nsFromSeconds(link.noticeSeconds),
    comingUpNs: nsFromSeconds(link.comingUpSeconds),
    clockIsAgreed: link.clockIsAgreed,
    hasReturn: link.hasReturn,
    begin: { isPlugged: link.atStart === "plugged", isUp, plugA: 0, plugB: 1 },
    offers: sockets.map((socket) => {
      const device = plan.devices.find((each) => each.id === socket.device) as (typeof plan.devices)[number];
      const begin = (specs.get(socket.device) as DeviceSpec).begin.kind;
      const state = begin === "own" ? "free-run" : begin;
      return {
        signal: said.get(socket.device) ?? null,
        status: statusOf(device, { state, sources: device.clockSources, portClock: device.ports }),
      };
    }),
  };
}

function wiresOf(
  machines: readonly AnyMachine[],
  slots: ReadonlyMap<string, number>,
  specs: ReadonlyMap<string, DeviceSpec>,
  cables: readonly CableDraft[],
  ears: readonly Ear[],
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
      connect(cable.id, index, { to: slot(portId(socket)), port: ARRIVAL_PORT });
      const inPort = (specs.get(socket.device) as DeviceSpec).ports.indexOf(socket.port);
      if (inPort >= 0) connect(cable.id, index, { to: slot(deviceId(socket.device)), port: inPort });
    }
  }
  return wires;
}

function worldOf(plan: Plan, slots: ReadonlyMap<string, number>, cables: readonly CableDraft[]): WorldEvent<Order>[] {
  const power = plan.devices.map((device) => ({ id: device.id, changes: powerChanges(plan, device) }));
  return plan.events.map((event, index) => {
    const orders: { to: number; order: Order }[] = [];
    const toDevice = (id: string, order: Order): void => {
      orders.push({ to: slots.get(deviceId(id)) as number, order });
    };
    const toCables = (isMeant: (cable: CableDraft) => boolean, order: Order): void => {
      for (const cable of cables) if (isMeant(cable)) orders.push({ to: slots.get(cable.id) as number, order });
    };
    const isNamed = (cable: CableDraft): boolean =>
      (event.do === "unplug" || event.do === "plug") &&
      cable.link.id === event.link &&
      (event.way === null || cable.ways.includes(event.way));
    switch (event.do) {
      case "unplug":
        toCables(isNamed, { do: "unplug", end: event.end });
        break;
      case "plug":
        toCables(isNamed, { do: "plug", end: event.end, into: event.into });
        break;
      case "cut":
      case "mend":
        toCables((cable) => cable.link.laidAlong.includes(event.path), { do: event.do, path: event.path });
        break;
      case "power-cut":
      case "power-back":
        for (const { id, changes } of power) {
          const change = changes.find((each) => each.event === index);
          if (change !== undefined) toDevice(id, { do: "power", on: change.on });
        }
        break;
      case "reboot":
        toDevice(event.device, { do: "reboot", part: event.part });
        break;
      case "hang":
      case "unhang":
        toDevice(event.device, { do: "hang", hung: event.do === "hang" });
        break;
      case "set-clock-sources":
        toDevice(event.device, { do: "set-clock-sources", clockSources: event.clockSources });
        break;
      case "choose-source":
        toDevice(event.device, { do: "choose-source", source: event.source });
        break;
      case "set-port-clock":
        toDevice(event.device, { do: "set-port-clock", port: event.port, clock: event.clock });
        break;
      case "step-frequency":
        toDevice(event.device, { do: "bend" });
        break;
      case "temperature":
        for (const { id, oscillator } of plan.devices) {
          const feelsHeat = oscillator.tempcoTable !== null || oscillator.tempcoPpmPerCelsius !== 0;
          if ((event.device ?? id) === id && feelsHeat) toDevice(id, { do: "bend" });
        }
        break;
    }
    return { atNs: event.atNs, fact: { kind: "event", index, event }, orders };
  });
}
