/**
 * The slow oracle's rig: what every device, cable and wire knows, and what it decides at one instant.
 *
 * Written from the model's text alone, so that it can disagree with the simulator: no event queue, no flows, no closed
 * forms. Time goes on in small steps (`step-rig.ts`, `sample-stepper.ts`); between two steps `settleInstant` looks at
 * everything, again and again until nothing changes any more. That is right because a signal needs less than a
 * microsecond along a cable, far less than a step.
 *
 * Readings of the model where its text leaves room:
 *  - only a break of the cable takes time to be noticed; a sender that stops giving clock is noticed at once;
 *  - hold-off runs from the noticing, the reaction time follows it;
 *  - a source that comes back inside hold-off is taken up again without reaction time and without a jump;
 *  - a source whose break is not noticed yet is kept, but not chosen: its link is not up;
 *  - wait-to-restore holds back a source that was good before, lost and good again since the device left `starting`;
 *  - a source told by `choose-source` is taken once it is available, and kept, revertive or not, until it is lost or the
 *    next command comes; in `starting` nobody is there to be told;
 *  - `givesWhenUnlocked: false` stops clock in holdover and in a free-run that was not chosen;
 *  - the old `i` of a source lost while pulling in is the one of the last lock;
 *  - capture is tested when a source could be chosen: refused above the range, taken again below 90 % of it; the source
 *    in use is never tested;
 *  - a break shorter than noticing starts the buffer anew;
 *  - a buffer counts while its cable is up and both clocks run: not in `starting`, unless the device sends its own
 *    clock then;
 *  - the knots of wander are counted in show time, and an oscillator that is powered begins with the phase that wander
 *    has by then;
 *  - a rig that begins settled was chosen by steady frequencies, and its loops know the slope that wander has first;
 *  - holdover goes on with the mean of the control since its loop was closed, over the averaging time at the most.
 */
import type { DevicePlan, EventPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import type { DeviceState, LinkClock, LinkState } from "../../shared/record.ts";
import type { Fifo, SlipSeen } from "./fifo.ts";
import { startFifo } from "./fifo.ts";
import type { Oscillator } from "./oscillator.ts";
import { changeTemperature, makeOscillator, ownRateAt, steadyRateAt } from "./oscillator.ts";
import { wanderCourse } from "./wander.ts";

/** Canaries: each must be caught by whoever compares the oracle with the simulator. */
export type Mistake = "no-delay" | "slip-sign" | "hold-off-and-wait-to-restore-swapped" | "wander-sign-of-followers";

export interface RigOptions {
  /** Offsets of oscillators whose plan says "drawn from the seed": the oracle draws nothing itself. */
  readonly drawnOffsetsPpm?: Readonly<Record<string, number>> | undefined;
  readonly mistake?: Mistake | undefined;
}

export interface Device {
  readonly plan: DevicePlan;
  readonly index: number;
  readonly oscillator: Oscillator;
  readonly periodSeconds: number;
  readonly holdOffNs: number;
  readonly waitToRestoreNs: number;
  clockSources: readonly string[];
  readonly portClock: Map<string, "give" | "take">;
  /** Its own power, apart from the supplies'. */
  switchedOff: boolean;

  state: DeviceState;
  source: string | null;
  /** x: seconds ahead of true time, in this life of the oscillator. */
  phaseSeconds: number;
  /** y of what leaves: oscillator and control. */
  rate: number;
  /** i of the loop: what the control keeps when the loop opens. 0 in free-run. */
  integrator: number;
  /** What holdover goes on with, as it was when last locked: the integrator, or the mean of the control. */
  heldIntegrator: number;
  /** What the control has moved the phase by since the loop was closed, step by step. */
  steered: { readonly atNs: number; readonly seconds: number }[];
  /** How long a closed loop's control has been at a stop. */
  stoppedSeconds: number;
  /** Whole sample periods that the detector leaves out. */
  periodsOff: number;
  /** Counts what makes buffers start anew at both ends of its cables. */
  epoch: number;

  /** Locked at some time since the last free-run. */
  hasLocked: boolean;
  bootEndsNs: number;
  insideSinceNs: number | null;
  /** Its source is broken and it has not noticed. */
  isOpen: boolean;
  holdoverEndsNs: number;
  /** Source lost last, while hold-off lets it come back as if nothing had been. */
  backTo: string | null;
  holdOffEndsNs: number;
  reactionEndsNs: number | null;
  told: string | null;
  /** A jump decided at this instant, made once all devices have decided. */
  jumpSeconds: number;

  /** By port: what arrives there. */
  readonly inputs: Map<string, Wire>;
  readonly states: { readonly atNs: number; readonly state: DeviceState; readonly source: string | null }[];
  readonly realigned: { readonly atNs: number; readonly bySeconds: number }[];
  readonly wrapped: { readonly atNs: number; readonly samples: number }[];
}

/** One end of one cable. */
export interface End {
  readonly device: Device;
  port: number;
  plugged: boolean;
}

/** What one unplugs: a two-way link is one cable, a one-way link with return is two. */
export interface Cable {
  readonly link: LinkPlan;
  readonly way: "there" | "back" | "both";
  readonly a: End;
  readonly b: End;
  state: LinkState;
  noticed: boolean;
  /** The break, or the beginning of coming up. */
  sinceNs: number;
  /** How often it came up: buffers start anew each time. */
  ups: number;
  readonly states: { readonly atNs: number; readonly state: LinkState; readonly clock: LinkClock }[];
}

/** One way of a cable. */
export interface Wire {
  readonly cable: Cable;
  readonly way: "there" | "back";
  readonly sender: End;
  readonly receiver: End;
  readonly delaySeconds: number;
  /** What the receiver believes: an unnoticed break still seems good. */
  seemsGood: boolean;
  hasBeenGood: boolean;
  availableNs: number;
  /** Outside the capture range when last tested. */
  refused: boolean;
  fifo: Fifo | null;
  /** Starts counted so far (cable up, either end anew) for which the buffer was started: they only ever grow. */
  fifoStartedFor: number;
  readonly slips: SlipSeen[];
}

export interface Rig {
  readonly plan: Plan;
  readonly devices: readonly Device[];
  readonly cables: readonly Cable[];
  readonly wires: readonly Wire[];
  readonly cutPaths: Set<string>;
  readonly suppliesOff: Set<string>;
  /** Offsets before each frequency step, by the index of its event. */
  readonly offsetsBefore: Map<number, number>;
  readonly mistake: Mistake | null;
  nextEvent: number;
}

const INTERNAL = "internal";
/** A refused source is taken again below this share of the capture range: 10 % hysteresis. */
const RETAKEN_BELOW = 0.9;
/** No rig needs so many looks at one instant; more means that two decisions undo each other. */
const LOOKS_MAX = 1000;

const nsOf = (seconds: number): number => Math.round(seconds * 1e9);

// ---------------------------------------------------------------------------------------------------- building

export function buildRig(plan: Plan, options: RigOptions = {}): Rig {
  const mistake = options.mistake ?? null;
  const swapped = mistake === "hold-off-and-wait-to-restore-swapped";
  const devices = plan.devices.map((device, index): Device => {
    const offsetPpm = device.oscillator.offsetPpm ?? options.drawnOffsetsPpm?.[device.id];
    if (offsetPpm === undefined) throw new Error(`${device.id}: its offset is drawn; give it as drawnOffsetsPpm`);
    const on = device.atStart === "on";
    const isMirrored = mistake === "wander-sign-of-followers" && device.clockSources[0] !== INTERNAL;
    const wander = wanderCourse(plan, device.id, device.oscillator, isMirrored ? -1 : 1);
    return {
      plan: device,
      index,
      oscillator: makeOscillator(
        device.oscillator,
        offsetPpm,
        on && plan.begin === "settled" ? "warm" : "cold",
        wander,
      ),
      periodSeconds: 1 / device.sampleRateHz,
      holdOffNs: nsOf(swapped ? device.waitToRestoreSeconds : device.holdOffSeconds),
      waitToRestoreNs: nsOf(swapped ? device.holdOffSeconds : device.waitToRestoreSeconds),
      clockSources: device.clockSources,
      portClock: new Map(Object.entries(device.ports)),
      switchedOff: !on,
      state: "off",
      source: null,
      phaseSeconds: 0,
      rate: 0,
      integrator: 0,
      heldIntegrator: 0,
      steered: [],
      stoppedSeconds: 0,
      periodsOff: 0,
      epoch: 0,
      hasLocked: false,
      bootEndsNs: 0,
      insideSinceNs: null,
      isOpen: false,
      holdoverEndsNs: 0,
      backTo: null,
      holdOffEndsNs: 0,
      reactionEndsNs: null,
      told: null,
      jumpSeconds: 0,
      inputs: new Map(),
      states: [],
      realigned: [],
      wrapped: [],
    };
  });
  const deviceOf = (id: string): Device => mustFind(devices, (device) => device.plan.id === id, `device ${id}`);
  const cables = plan.links.flatMap((link): Cable[] => {
    const ways = link.twoWay
      ? (["both"] as const)
      : link.hasReturn
        ? (["there", "back"] as const)
        : (["there"] as const);
    return ways.map((way) => ({
      link,
      way,
      a: { device: deviceOf(link.a.device), port: link.a.port, plugged: link.atStart === "plugged" },
      b: { device: deviceOf(link.b.device), port: link.b.port, plugged: link.atStart === "plugged" },
      state: "down",
      noticed: true,
      sinceNs: 0,
      ups: 0,
      states: [],
    }));
  });
  const wires = cables.flatMap((cable): Wire[] => {
    const ways = cable.way === "both" ? (["there", "back"] as const) : ([cable.way] as const);
    return ways.map((way) => ({
      cable,
      way,
      sender: way === "there" ? cable.a : cable.b,
      receiver: way === "there" ? cable.b : cable.a,
      delaySeconds: mistake === "no-delay" ? 0 : cable.link.delaySeconds,
      seemsGood: false,
      hasBeenGood: false,
      availableNs: 0,
      refused: false,
      fifo: null,
      fifoStartedFor: 0,
      slips: [],
    }));
  });
  const rig: Rig = {
    plan,
    devices,
    cables,
    wires,
    cutPaths: new Set(),
    suppliesOff: new Set(),
    offsetsBefore: new Map(),
    mistake,
    nextEvent: 0,
  };
  findInputs(rig);
  if (plan.begin === "settled") beginSettled(rig);
  else for (const device of devices) followPower(rig, device, 0);
  return rig;
}

function findInputs(rig: Rig): void {
  for (const device of rig.devices) device.inputs.clear();
  for (const wire of rig.wires) wire.receiver.device.inputs.set(String(wire.receiver.port), wire);
}

/** On for ever: loops at rest and cables up. What follows a ring or would need more steering than it has is not. */
function beginSettled(rig: Rig): void {
  for (const device of rig.devices) {
    if (device.switchedOff) continue;
    device.state = "free-run";
    device.rate = steadyRateAt(device.oscillator, 0);
  }
  for (const cable of rig.cables) {
    if (!isWhole(rig, cable)) continue;
    cable.state = "up";
    cable.ups = 1;
  }
  const atRest = new Set<Device>();
  const settle = (device: Device): boolean => {
    for (const entry of device.clockSources) {
      if (entry === INTERNAL) {
        device.source = INTERNAL;
        return true;
      }
      const wire = device.inputs.get(entry);
      if (wire?.cable.state !== "up" || !rateAgrees(wire)) continue;
      if (wire.cable.link.clockIsAgreed && !portGives(wire.sender)) continue;
      const sender = wire.sender.device;
      if (!atRest.has(sender)) return false;
      if (!givesClock(wire)) continue;
      if (Math.abs(sender.rate) > device.plan.capturePpm * 1e-6) {
        wire.refused = true;
        continue;
      }
      const control = sender.rate - device.rate;
      if (Math.abs(control) > device.plan.steeringPpm * 1e-6) return false;
      device.state = "locked";
      device.hasLocked = true;
      device.source = entry;
      device.integrator = control;
      device.rate = sender.rate;
      device.phaseSeconds = arriving(wire);
      return true;
    }
    return true; // Nothing usable: it runs free, and does so at rest.
  };
  for (let found = true; found; ) {
    found = false;
    for (const device of rig.devices) {
      if (device.state !== "free-run" || atRest.has(device) || !settle(device)) continue;
      atRest.add(device);
      found = true;
    }
  }
  // From the leaders outward, as they came to rest.
  const slopes = new Map<Device, number>();
  for (const device of atRest) {
    const own = device.oscillator.wander.slopeAt(0);
    const sender = device.state === "locked" ? device.inputs.get(device.source as string)?.sender.device : undefined;
    const slope = sender === undefined ? own : (slopes.get(sender) as number);
    slopes.set(device, slope);
    if (sender !== undefined) device.integrator += slope - own;
    device.rate += slope;
  }
  for (const wire of rig.wires) {
    wire.seemsGood = arrives(wire);
    wire.hasBeenGood = wire.seemsGood;
  }
}

// ---------------------------------------------------------------------------------------------------- the world

/** Makes all events due by now happen; the caller steps from event to event, so none is late. */
export function playEvents(rig: Rig, nowNs: number): void {
  for (
    let event = rig.plan.events[rig.nextEvent];
    event && event.atNs <= nowNs;
    event = rig.plan.events[rig.nextEvent]
  ) {
    playEvent(rig, event, rig.nextEvent, nowNs);
    rig.nextEvent += 1;
  }
}

/** Instant of the next event of the world; infinity after the last. */
export function nextEventNs(rig: Rig): number {
  return rig.plan.events[rig.nextEvent]?.atNs ?? Number.POSITIVE_INFINITY;
}

function playEvent(rig: Rig, event: EventPlan, index: number, nowNs: number): void {
  const deviceOf = (id: string): Device => mustFind(rig.devices, (device) => device.plan.id === id, `device ${id}`);
  switch (event.do) {
    case "unplug":
    case "plug":
      for (const cable of rig.cables) {
        if (cable.link.id !== event.link || (event.way !== null && cable.way !== "both" && cable.way !== event.way))
          continue;
        const ends = event.end === null ? [cable.a, cable.b] : [cable[event.end]];
        for (const end of ends) {
          end.plugged = event.do === "plug";
          if (event.into !== null) end.port = event.into;
        }
        if (event.into !== null) for (const wire of rig.wires) if (wire.cable === cable) wire.hasBeenGood = false;
      }
      findInputs(rig);
      break;
    case "cut":
      rig.cutPaths.add(event.path);
      break;
    case "mend":
      rig.cutPaths.delete(event.path);
      break;
    case "reboot": {
      const device = deviceOf(event.device);
      const { bootSeconds, engineBootSeconds } = device.plan;
      if (event.part !== "surface" && device.state !== "off")
        startBooting(device, nowNs, event.part === "engine" ? engineBootSeconds : bootSeconds);
      break;
    }
    case "power-cut":
    case "power-back": {
      const off = event.do === "power-cut";
      if (event.supply !== null) {
        if (off) rig.suppliesOff.add(event.supply);
        else rig.suppliesOff.delete(event.supply);
      }
      if (event.device !== null) deviceOf(event.device).switchedOff = off;
      for (const device of rig.devices) followPower(rig, device, nowNs);
      break;
    }
    case "hang":
    case "unhang":
      break; // Its clock goes on.
    case "set-clock-sources": {
      const device = deviceOf(event.device);
      device.clockSources = event.clockSources;
      device.told = null;
      skipWaits(device, nowNs);
      break;
    }
    case "choose-source": {
      const device = deviceOf(event.device);
      if (!isRunning(device)) break;
      device.told = event.source;
      skipWaits(device, nowNs);
      break;
    }
    case "set-port-clock":
      deviceOf(event.device).portClock.set(String(event.port), event.clock);
      break;
    case "step-frequency": {
      const { oscillator } = deviceOf(event.device);
      const before = event.undoes === null ? undefined : rig.offsetsBefore.get(event.undoes);
      rig.offsetsBefore.set(index, oscillator.offset);
      if (event.offsetPpm !== null) oscillator.offset = event.offsetPpm * 1e-6;
      else if (before !== undefined) oscillator.offset = before;
      break;
    }
    case "temperature":
      for (const device of rig.devices) {
        if (event.device !== null && event.device !== device.plan.id) continue;
        changeTemperature(device.oscillator, nowNs / 1e9, event.toCelsius, event.overSeconds);
      }
      break;
  }
}

/** Commands skip both waits, not the reaction time. */
function skipWaits(device: Device, nowNs: number): void {
  device.holdOffEndsNs = nowNs;
  for (const wire of device.inputs.values()) wire.availableNs = nowNs;
}

function followPower(rig: Rig, device: Device, nowNs: number): void {
  const { power } = device.plan;
  const fed = power.length === 0 || power.some((supply) => !rig.suppliesOff.has(supply));
  const on = fed && !device.switchedOff;
  if (on && device.state === "off") {
    device.phaseSeconds = device.oscillator.wander.phaseAt(nowNs / 1e9); // A new life of the oscillator.
    device.epoch += 1;
    startBooting(device, nowNs);
  } else if (!on && device.state !== "off") {
    loseSource(device);
    enter(device, "off", null);
  }
}

function startBooting(device: Device, nowNs: number, seconds = device.plan.bootSeconds): void {
  loseSource(device);
  enter(device, "starting", null);
  device.bootEndsNs = nowNs + nsOf(seconds);
}

/** Forgets everything that belongs to following; the oscillator and its phase go on. */
function loseSource(device: Device): void {
  device.integrator = 0;
  device.hasLocked = false;
  device.backTo = null;
  device.told = null;
  device.reactionEndsNs = null;
  device.insideSinceNs = null;
  device.periodsOff = 0;
  for (const wire of device.inputs.values()) {
    wire.seemsGood = false;
    wire.hasBeenGood = false;
  }
}

// ---------------------------------------------------------------------------------------------------- one instant

/** Looks at cables, wires and devices until nothing changes; then starts the buffers that must start anew. */
export function settleInstant(rig: Rig, nowNs: number): void {
  let looks = 0;
  for (let changed = true; changed; looks += 1) {
    if (looks > LOOKS_MAX) throw new Error(`at ${nowNs / 1e9} s the rig does not come to rest within one instant`);
    changed = false;
    for (const cable of rig.cables) if (updateCable(rig, cable, nowNs)) changed = true;
    refreshRates(rig, nowNs);
    for (const wire of rig.wires) if (updateWire(wire, nowNs)) changed = true;
    for (const device of rig.devices) if (decide(device, nowNs)) changed = true;
    // All at once, as in a rig: two devices that choose each other swap phases.
    for (const device of rig.devices) {
      device.phaseSeconds += device.jumpSeconds;
      device.jumpSeconds = 0;
    }
  }
  refreshRates(rig, nowNs);
  for (const wire of rig.wires) updateFifo(wire);
  for (const device of rig.devices) noteState(device, nowNs);
  for (const cable of rig.cables) noteCable(cable, nowNs);
}

function noteState(device: Device, atNs: number): void {
  const last = device.states.at(-1);
  if (last?.state === device.state && last.source === device.source) return;
  device.states.push({ atNs, state: device.state, source: device.source });
}

function noteCable(cable: Cable, atNs: number): void {
  const last = cable.states.at(-1);
  const clock = linkClock(cable);
  if (last?.state === cable.state && last.clock === clock) return;
  cable.states.push({ atNs, state: cable.state, clock });
}

/** y of what every device puts out, at this instant. The loop's delay term uses the rates of the look before. */
export function refreshRates(rig: Rig, nowNs: number): void {
  const rates = rig.devices.map((device) => ownRateAt(device.oscillator, nowNs / 1e9) + control(device));
  for (const device of rig.devices) device.rate = device.state === "off" ? 0 : (rates[device.index] as number);
}

// Cables

function isWhole(rig: Rig, cable: Cable): boolean {
  const { a, b, link } = cable;
  if (!a.plugged || !b.plugged || link.laidAlong.some((path) => rig.cutPaths.has(path))) return false;
  return sends(a.device) && sends(b.device);
}

/** Powered, and out of `starting` or sending in it. */
function sends(device: Device): boolean {
  return device.state !== "off" && (device.state !== "starting" || device.plan.whileBooting !== "nothing");
}

function updateCable(rig: Rig, cable: Cable, nowNs: number): boolean {
  const whole = isWhole(rig, cable);
  const { noticeSeconds, comingUpSeconds } = cable.link;
  if (!whole && cable.state !== "down") {
    cable.noticed = cable.state === "coming-up";
    cable.state = "down";
    cable.sinceNs = nowNs;
    return true;
  }
  if (cable.state === "down" && !cable.noticed) {
    if (whole) return comeUp(cable);
    if (nowNs < cable.sinceNs + nsOf(noticeSeconds)) return false;
    cable.noticed = true;
    return true;
  }
  if (cable.state === "down" && whole) {
    cable.state = "coming-up";
    cable.sinceNs = nowNs;
    return true;
  }
  if (cable.state === "coming-up" && nowNs >= cable.sinceNs + nsOf(comingUpSeconds)) return comeUp(cable);
  return false;
}

function comeUp(cable: Cable): true {
  cable.state = "up";
  cable.ups += 1;
  return true;
}

function linkClock(cable: Cable): LinkClock {
  const { link, a, b } = cable;
  if (!link.clockIsAgreed) return link.twoWay || link.hasReturn ? "each-way" : "given";
  const giving = [a, b].filter((end) => portGives(end)).length;
  return giving === 2 ? "disputed" : giving === 1 ? "given" : "unclaimed";
}

/** A port in `clockSources` takes, any other gives, unless the port says otherwise. */
function portGives(end: End): boolean {
  const port = String(end.port);
  return (end.device.portClock.get(port) ?? (end.device.clockSources.includes(port) ? "take" : "give")) === "give";
}

// Wires

function givesClock(wire: Wire): boolean {
  const { device } = wire.sender;
  if (!sends(device) || (wire.cable.link.clockIsAgreed && !portGives(wire.sender))) return false;
  const unlocked = device.state === "holdover" || (device.state === "free-run" && device.source === null);
  return device.plan.givesWhenUnlocked || !unlocked;
}

function rateAgrees(wire: Wire): boolean {
  const { device } = wire.sender;
  if (device.state === "starting" && device.plan.whileBooting === "wrong-rate") return false;
  return device.plan.sampleRateHz === wire.receiver.device.plan.sampleRateHz;
}

/** Clock that can be followed is there, whether the receiver believes it or not. */
function arrives(wire: Wire): boolean {
  return wire.cable.state === "up" && givesClock(wire) && rateAgrees(wire);
}

/**
 * x_ref(t − d) − d. To first order in d: what is left out is ½·d²·dy/dt, and with d under 10 µs and dy/dt of a
 * re-locking sender under 1e-3 per second that is below 1e-13 s, a hundred-millionth of a sample period.
 */
export function arriving(wire: Wire): number {
  const { device } = wire.sender;
  return device.phaseSeconds - wire.delaySeconds * (1 + device.rate);
}

function updateWire(wire: Wire, nowNs: number): boolean {
  const { device } = wire.receiver;
  if (!isRunning(device)) return false;
  if (wire.cable.state === "down" && !wire.cable.noticed) return false;
  const good = arrives(wire);
  const before = wire.seemsGood;
  wire.seemsGood = good;
  if (!good) return before;
  if (!before) {
    wire.availableNs = wire.hasBeenGood ? nowNs + device.waitToRestoreNs : nowNs;
    wire.hasBeenGood = true;
    wire.refused = false;
    return true;
  }
  return false;
}

/** The capture range, tested when a source could be chosen: refused above it, taken again 10 % inside. */
function isCaptured(wire: Wire): boolean {
  const capture = wire.receiver.device.plan.capturePpm * 1e-6;
  const offset = Math.abs(wire.sender.device.rate);
  wire.refused = offset > (wire.refused ? RETAKEN_BELOW : 1) * capture;
  return !wire.refused;
}

// Buffers

function updateFifo(wire: Wire): void {
  const sender = wire.sender.device;
  const receiver = wire.receiver.device;
  const { link, ups, state } = wire.cable;
  if (link.channels === 0 || state !== "up" || !rateAgrees(wire) || !clockRuns(sender) || !clockRuns(receiver)) {
    wire.fifo = null;
    return;
  }
  const startFor = ups + sender.epoch + receiver.epoch;
  if (wire.fifo && wire.fifoStartedFor === startFor) return;
  wire.fifo = startFifo(link.buffer);
  wire.fifoStartedFor = startFor;
}

function clockRuns(device: Device): boolean {
  return isRunning(device) || (device.state === "starting" && device.plan.whileBooting === "own-clock");
}

// Loops

/** The wire that closes a device's loop at this instant: null when it runs on its integrator, or free. */
export function closedBy(device: Device): Wire | null {
  if (device.state !== "acquiring" && device.state !== "locked") return null;
  const wire = device.source === null ? undefined : device.inputs.get(device.source);
  return wire && arrives(wire) ? wire : null;
}

/** e: what arrives against the own clock, in seconds, less the whole periods taken off. */
function phaseError(device: Device, wire: Wire): number {
  return arriving(wire) - device.phaseSeconds - device.periodsOff * device.periodSeconds;
}

export function clip(value: number, limit: number): number {
  return Math.min(Math.max(value, -limit), limit);
}

export const naturalRadians = (device: Device): number => 2 * Math.PI * device.plan.loop.naturalFrequencyHz;

/** clip(2ζω·e + i, ±R) in a closed loop, i in an open one. */
function control(device: Device): number {
  const wire = closedBy(device);
  if (!wire) return device.integrator;
  const proportional = 2 * device.plan.loop.damping * naturalRadians(device) * phaseError(device, wire);
  return clip(proportional + device.integrator, device.plan.steeringPpm * 1e-6);
}

// ---------------------------------------------------------------------------------------------------- the state table

export function isRunning(device: Device): boolean {
  return device.state !== "off" && device.state !== "starting";
}

function enter(device: Device, state: DeviceState, source: string | null): true {
  if (device.state === "locked") device.heldIntegrator = device.isOpen ? device.integrator : kept(device);
  device.state = state;
  device.source = source;
  if (state === "locked") device.hasLocked = true;
  if (state === "free-run") {
    device.hasLocked = false;
    device.integrator = 0;
  }
  device.insideSinceNs = null;
  device.isOpen = false;
  return true;
}

/** What a closed loop leaves to its holdover: the control over the last seconds, and what the device gets wrong. */
function kept({ plan, steered, integrator }: Device): number {
  const { holdoverAverageSeconds, holdoverErrorPpb } = plan;
  const last = steered.at(-1);
  const fromNs = Math.max((last?.atNs ?? 0) - nsOf(holdoverAverageSeconds), steered[0]?.atNs ?? 0);
  if (last === undefined || last.atNs <= fromNs) return integrator + holdoverErrorPpb * 1e-9;
  const after = steered.findIndex(({ atNs }) => atNs > fromNs);
  const [a, b] = [steered[after - 1], steered[after]] as [Device["steered"][number], Device["steered"][number]];
  const moved = a.seconds + ((b.seconds - a.seconds) * (fromNs - a.atNs)) / (b.atNs - a.atNs);
  return (last.seconds - moved) / ((last.atNs - fromNs) / 1e9) + holdoverErrorPpb * 1e-9;
}

/** The loop opens at the instant of the loss, noticed or not: what is kept is kept then. */
function openLoop(device: Device): void {
  if (device.isOpen) return;
  if (device.state === "locked") device.integrator = kept(device);
  device.isOpen = true;
}

/** The loop closes: what it steers from here on says nothing of before. */
function closeLoop(device: Device, wire: Wire): void {
  leaveOutPeriods(device, wire);
  device.steered.length = 0;
}

/** Notes what the control of a closed loop has moved the phase by over one step. */
export function noteSteering(device: Device, fromNs: number, toNs: number, seconds: number): void {
  const { holdoverAverageSeconds, steeringPpm } = device.plan;
  if (closedBy(device) === null) return;
  if (Math.abs(control(device)) >= steeringPpm * 1e-6) device.stoppedSeconds += (toNs - fromNs) / 1e9;
  if (holdoverAverageSeconds === 0) return;
  const { steered } = device;
  if (steered.length === 0) steered.push({ atNs: fromNs, seconds: 0 });
  steered.push({ atNs: toNs, seconds: (steered.at(-1)?.seconds ?? 0) + seconds });
  while (steered.length > 2 && (steered[1]?.atNs ?? 0) <= toNs - nsOf(holdoverAverageSeconds)) steered.shift();
}

/** What one device does at this instant: the first thing that applies. True if anything changed. */
function decide(device: Device, nowNs: number): boolean {
  if (device.state === "off") return false;
  if (device.state === "starting") return nowNs >= device.bootEndsNs && leaveStarting(device, nowNs);
  return (
    watchSource(device, nowNs) || endHoldover(device, nowNs) || takeBack(device, nowNs) || chooseAnew(device, nowNs)
  );
}

/** No hold-off, no wait-to-restore, no reaction time. */
function leaveStarting(device: Device, nowNs: number): true {
  device.epoch += 1;
  device.holdOffEndsNs = nowNs;
  for (const wire of device.inputs.values()) {
    wire.seemsGood = arrives(wire);
    wire.hasBeenGood = wire.seemsGood;
    wire.availableNs = nowNs;
    wire.refused = false;
  }
  enter(device, "free-run", null);
  const first = firstUsable(device, nowNs);
  if (first !== null) follow(device, first, nowNs);
  return true;
}

/** `acquiring` and `locked`: loss, windows, dwell. */
function watchSource(device: Device, nowNs: number): boolean {
  if (device.state !== "acquiring" && device.state !== "locked") return false;
  const wire = device.inputs.get(device.source as string);
  if (!wire?.seemsGood) return losesSource(device, nowNs);
  if (closedBy(device) === null) {
    device.insideSinceNs = null; // Broken and not noticed: nothing to measure.
    openLoop(device);
    return false;
  }
  if (device.isOpen) closeLoop(device, wire);
  device.isOpen = false;
  const period = device.periodSeconds;
  const whole = Math.trunc(phaseError(device, wire) / period);
  if (whole !== 0) {
    device.periodsOff += whole;
    device.wrapped.push({ atNs: nowNs, samples: whole });
    return enter(device, "acquiring", device.source);
  }
  const error = Math.abs(phaseError(device, wire));
  if (device.state === "locked") {
    return error > (device.plan.unlockWindowPercent / 100) * period && enter(device, "acquiring", device.source);
  }
  if (error > (device.plan.lockWindowPercent / 100) * period) {
    device.insideSinceNs = null;
    return false;
  }
  device.insideSinceNs ??= nowNs;
  return nowNs >= device.insideSinceNs + nsOf(device.plan.dwellSeconds) && enter(device, "locked", device.source);
}

function losesSource(device: Device, nowNs: number): true {
  const lost = device.source;
  device.holdOffEndsNs = nowNs + device.holdOffNs;
  device.reactionEndsNs = null;
  if (device.told === lost) device.told = null;
  if (!device.hasLocked) return enter(device, "free-run", null);
  openLoop(device);
  if (device.state === "acquiring") device.integrator = device.heldIntegrator;
  device.backTo = lost;
  device.holdoverEndsNs = nowNs + nsOf(device.plan.holdoverSeconds);
  return enter(device, "holdover", null);
}

function endHoldover(device: Device, nowNs: number): boolean {
  return device.state === "holdover" && nowNs >= device.holdoverEndsNs && enter(device, "free-run", null);
}

/** The same source back inside hold-off: as if nothing had been. */
function takeBack(device: Device, nowNs: number): boolean {
  if (device.backTo === null) return false;
  if (device.source !== null || nowNs > device.holdOffEndsNs || !device.clockSources.includes(device.backTo)) {
    device.backTo = null;
    return false;
  }
  const wire = device.inputs.get(device.backTo);
  if (!wire?.seemsGood) return false;
  closeLoop(device, wire);
  const inside = Math.abs(phaseError(device, wire)) <= (device.plan.lockWindowPercent / 100) * device.periodSeconds;
  enter(device, inside ? "locked" : "acquiring", device.backTo);
  device.backTo = null;
  return true;
}

/** Another source, after the reaction time, for whatever reason. */
function chooseAnew(device: Device, nowNs: number): boolean {
  const wish = wishes(device, nowNs);
  if (wish === undefined) {
    device.reactionEndsNs = null;
    return false;
  }
  device.reactionEndsNs ??= nowNs + nsOf(device.plan.reactionSeconds);
  if (nowNs < device.reactionEndsNs) return false;
  device.reactionEndsNs = null;
  return wish === null ? losesSource(device, nowNs) : follow(device, wish, nowNs);
}

/** The source a device would change to: undefined if it is content, null if it must leave the present one for none. */
function wishes(device: Device, nowNs: number): string | null | undefined {
  if (device.told !== null) {
    if (device.told === device.source) return undefined;
    if (isAvailable(device, device.told, nowNs)) return device.told; // Else it is taken once it is there.
  }
  if (device.source === null)
    return nowNs < device.holdOffEndsNs ? undefined : (firstUsable(device, nowNs) ?? undefined);
  if (!device.clockSources.includes(device.source)) return firstUsable(device, nowNs);
  if (!device.plan.revertive) return undefined;
  const first = firstUsable(device, nowNs);
  return first === device.source ? undefined : (first ?? undefined);
}

function isUsable(device: Device, entry: string): boolean {
  if (entry === INTERNAL) return true;
  const wire = device.inputs.get(entry);
  return wire?.seemsGood === true && arrives(wire);
}

function firstUsable(device: Device, nowNs: number): string | null {
  // The one in use is tested for nothing.
  for (const entry of device.clockSources)
    if (entry === device.source || isAvailable(device, entry, nowNs)) return entry;
  return null;
}

/** Usable, its wait-to-restore has run, and it is inside the capture range. */
function isAvailable(device: Device, entry: string, nowNs: number): boolean {
  if (entry === INTERNAL) return true;
  const wire = device.inputs.get(entry);
  return wire !== undefined && nowNs >= wire.availableNs && isUsable(device, entry) && isCaptured(wire);
}

/** Goes over to a source: whole periods are left out, and what remains is pulled in, or jumped if it is too much. */
function follow(device: Device, source: string, nowNs: number): true {
  device.backTo = null;
  device.reactionEndsNs = null;
  if (source === INTERNAL) return enter(device, "free-run", INTERNAL);
  const wire = device.inputs.get(source) as Wire;
  const period = device.periodSeconds;
  leaveOutPeriods(device, wire);
  const error = phaseError(device, wire);
  if (Math.abs(error) > (device.plan.unlockWindowPercent / 100) * period) {
    device.jumpSeconds = error;
    device.epoch += 1;
    device.realigned.push({ atNs: nowNs, bySeconds: error });
  }
  enter(device, "acquiring", source);
  device.steered.length = 0;
  return true;
}

/** A loop that closes cannot tell one whole sample period from the next: its error is in (−½, ½] of one. */
function leaveOutPeriods(device: Device, wire: Wire): void {
  device.periodsOff = Math.ceil((arriving(wire) - device.phaseSeconds) / device.periodSeconds - 0.5);
}

function mustFind<Item>(items: readonly Item[], isIt: (item: Item) => boolean, what: string): Item {
  const found = items.find(isIt);
  if (found === undefined) throw new Error(`the plan has no ${what}`);
  return found;
}
