/**
 * A device: its oscillator, its loop and its choice of source. One machine, because they share one state and one list
 * of deadlines. What a real device could not know, it does not decide by.
 *
 * First row that applies:
 *
 * | from                 | when                                             | to                                            |
 * | any                  | power lost                                       | off: nothing leaves                           |
 * | any but off          | reboot of engine or all                          | starting; oscillator and phase go on          |
 * | off                  | power back                                       | starting; a new life of the oscillator        |
 * | starting             | boot time has run                                | acquiring the first usable source, or free-run|
 * | free-run             | a source is chosen                               | acquiring, control from 0                     |
 * | acquiring            | |e| in the lock window for the dwell, unbroken   | locked                                        |
 * | acquiring            | source lost; locked since the last free-run      | holdover with the old integrator              |
 * | acquiring            | source lost; not locked since                    | free-run                                      |
 * | acquiring, locked    | another source chosen                            | acquiring                                     |
 * | locked               | |e| above the unlock window                      | acquiring, no jump                            |
 * | locked               | loss noticed                                     | holdover, loop open since the instant of loss |
 * | holdover, or free-run| same source back inside hold-off                 | locked if inside the lock window, or acquiring|
 * | holdover             | a source chosen                                  | acquiring, control from the integrator        |
 * | holdover             | its time has run                                 | free-run: control steps to 0                  |
 * | running              | sources set by hand, the current one not in them | chosen anew without waits                     |
 *
 * Stuck, it chooses as if the source it had were the only one in its list, until it is let go or boots.
 *
 * Only choosing a source makes a device jump: if one that merely sees a step jumped too, two devices in a ring would
 * swap phases for ever.
 *
 * The parts: `state.ts` what it is made of, `phase.ts` the loop, `sources.ts` what it listens to, `tell.ts` what leaves.
 */

import type { Flow, Signal } from "../../shared/flow.ts";
import { loopWander } from "../../shared/loop-wander.ts";
import type { Cause, DeviceState } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER, ZERO } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { atRest, startCourse } from "../loop.ts";
import type { Machine, MachineEvent, Step } from "../machine.ts";
import type { Mail, Order } from "../mail.ts";
import { NO_DOUBT } from "./doubt.ts";
import { lookAhead, neededFrom, runOnOwn, timebaseOf, turnLoop } from "./phase.ts";
import { arrive, choose, freeRun, isGoodSignal, skipWaits, take, wish } from "./sources.ts";
import type { DeviceMachineState, DeviceNumbers, DeviceSpec, Drive, Input, LoopDrive, Work } from "./state.ts";
import { deviceNumbers, draftOf, enter, record } from "./state.ts";
import { presentSignal, statusOf, tell, tellStatus } from "./tell.ts";

export function makeDevice(spec: DeviceSpec): Machine<DeviceMachineState, Order, Mail> {
  const numbers = deviceNumbers(spec);
  return {
    id: spec.id,
    rank: "lives",
    start(now): Step<DeviceMachineState, Mail> {
      const w = beginWork(numbers, beginState(numbers), now, FROM_START);
      w.effects.push({
        do: "record",
        fact: { kind: "clock", state: w.s.state, source: w.s.source, reason: "as the show begins" },
      });
      lookAhead(w);
      // Cables and receivers were built with this signal: it is recorded, not sent.
      w.mustTell = true;
      w.s.told = presentSignal(w);
      w.effects.push({ do: "record", fact: { kind: "flow", flow: w.s.told?.flow ?? null } });
      choose(w);
      settleDue(w);
      return { state: w.s, effects: w.effects };
    },
    handle(state, event: MachineEvent<Order, Mail>, now): Step<DeviceMachineState, Mail> {
      const w = beginWork(numbers, state, now, event.cause);
      if (event.kind === "world") obey(w, event.order);
      else if (event.kind === "mail" && event.mail.kind === "arrival") arrive(w, event.port, event.mail.arrival);
      progress(w);
      settleDue(w);
      return { state: w.s, effects: w.effects };
    },
    due: (state) => state.due,
  };
}

function beginWork(n: DeviceNumbers, state: DeviceMachineState, now: Ns, cause: Cause): Work {
  return { n, s: draftOf(state), effects: [], now, cause, mustTell: false };
}

/** Serves everything that is due, in the order of the state table. */
function progress(w: Work): void {
  const { s, now } = w;
  if (s.surfaceUntilNs <= now) surfaceWorks(w, s.surfaceCause);
  if (s.bootUntilNs <= now) leaveStarting(w);
  if (s.drive.kind === "loop" && s.loopWakeNs <= now) turnLoop(w);
  if (s.holdoverUntilNs <= now) freeRun(w, null, "its holdover has run out", s.holdoverCause);
  choose(w);
  tell(w);
  // What it says of itself in an election goes with its state; all others say nothing new here.
  if (w.n.plan.ptp !== undefined) tellStatus(w);
}

/** The earliest deadline, with its cause. */
function settleDue(w: Work): void {
  const { s, now } = w;
  let atNs: Ns = NEVER;
  let cause: Cause = s.courseCause;
  const consider = (at: Ns, why: Cause): void => {
    if (at < atNs) {
      atNs = at;
      cause = why;
    }
  };
  consider(s.bootUntilNs, s.bootCause);
  consider(s.surfaceUntilNs, s.surfaceCause);
  if (s.drive.kind === "loop") {
    consider(s.loopWakeNs, s.courseCause);
    consider(s.tellAtNs, s.courseCause);
  }
  consider(s.holdoverUntilNs, s.holdoverCause);
  consider(s.reactAtNs, s.reactCause);
  if (s.state !== "off" && s.state !== "starting") {
    if (s.lost !== null && s.holdOffUntilNs > now) consider(s.holdOffUntilNs, s.lossCause);
    for (const input of s.inputs) if (input.isGood && input.availableNs > now) consider(input.availableNs, input.cause);
    if (s.captureWakeNs > now) consider(s.captureWakeNs, s.captureCause);
  }
  if (atNs < now) atNs = now;
  if (s.due.atNs !== atNs || s.due.cause !== cause) s.due = { atNs, cause };
}

function obey(w: Work, order: Order): void {
  const { s } = w;
  switch (order.do) {
    case "power":
      if (order.on) powerOn(w);
      else powerOff(w);
      return;
    case "reboot":
      reboot(w, order.part);
      return;
    case "hang":
      if (s.state !== "off") setHung(w, order.hung);
      return;
    case "bend":
      s.courseCause = w.cause;
      if (s.drive.kind === "own") runOnOwn(w, s.drive.flow.rate);
      return;
    case "set-clock-sources":
      s.sources = order.clockSources;
      s.byHand = null;
      skipWaits(w);
      tellStatus(w);
      return;
    case "choose-source":
      if (s.state === "off" || s.state === "starting" || s.stuck !== null) return; // nobody is there to obey
      s.byHand = order.source;
      skipWaits(w);
      return;
    case "set-port-clock":
      s.portClock = { ...s.portClock, [order.port]: order.clock };
      tellStatus(w);
      return;
    case "stick":
      if (!order.stuck) s.stuck = null;
      else if (s.state !== "off" && s.state !== "starting") s.stuck = { on: s.source ?? s.lost };
      return;
    default:
      throw new Error(`${w.n.spec.id} was given an order for cables: ${order.do}`);
  }
}

function powerOff(w: Work): void {
  const { s } = w;
  if (s.state === "off") return;
  stopTimers(w);
  setHung(w, false);
  s.drive = { kind: "off" };
  enter(w, "off", null, "power is lost");
  tellStatus(w);
}

function powerOn(w: Work): void {
  const { s, now, n } = w;
  if (s.state !== "off") return;
  const life = n.spec.lives.find((id) => timebaseOf(w, id).bornNs === now);
  if (life === undefined) throw new Error(`${n.spec.id} has no oscillator life that begins at ${now} ns`);
  s.life = life;
  s.drive = { kind: "own", flow: standingFlow(timebaseOf(w, life), now), doubtRate: 0 };
  boot(w, n.bootNs, "power is back");
}

function boot(w: Work, takesNs: Ns, reason: string): void {
  const { s, now } = w;
  stopTimers(w);
  s.bootUntilNs = later(now, takesNs);
  s.bootCause = w.cause;
  s.byHand = null;
  s.stuck = null;
  enter(w, "starting", null, reason);
  tellStatus(w);
}

function reboot(w: Work, part: "surface" | "engine" | "all"): void {
  const { s, now, n } = w;
  if (s.state === "off") return;
  if (part === "surface") {
    if (s.surfaceUntilNs === NEVER) w.effects.push({ do: "record", fact: { kind: "surface", works: false } });
    s.surfaceUntilNs = later(now, n.surfaceBootNs);
    s.surfaceCause = w.cause;
    return;
  }
  setHung(w, false);
  if (s.drive.kind === "loop" || (s.drive.kind === "own" && s.drive.flow.rate !== 0)) runOnOwn(w, 0);
  if (part === "all") boot(w, n.bootNs, "it reboots");
  else boot(w, n.engineBootNs, "its engine reboots");
}

function leaveStarting(w: Work): void {
  const { s, now } = w;
  s.bootUntilNs = NEVER;
  s.epoch += 1;
  s.inputs = s.inputs.map((input) => ({ ...input, wasGood: input.isGood, availableNs: now, isRefused: false }));
  w.mustTell = true;
  const wanted = wish(w);
  if (wanted !== null) take(w, wanted, "it has started", s.bootCause);
  else freeRun(w, null, "it has started, and no source can be used", s.bootCause);
  tellStatus(w);
}

function setHung(w: Work, hung: boolean): void {
  if (w.s.isHung === hung) return;
  w.s.isHung = hung;
  w.effects.push({ do: "record", fact: { kind: "hung", hung } });
}

function surfaceWorks(w: Work, cause?: Cause): void {
  w.s.surfaceUntilNs = NEVER;
  record(w, { kind: "surface", works: true }, cause);
}

function stopTimers(w: Work): void {
  const { s } = w;
  if (s.surfaceUntilNs !== NEVER) surfaceWorks(w);
  s.bootUntilNs = NEVER;
  s.holdOffUntilNs = NEVER;
  s.holdoverUntilNs = NEVER;
  s.reactAtNs = NEVER;
  s.loopWakeNs = NEVER;
  s.captureWakeNs = NEVER;
  s.insideSinceNs = NEVER;
  s.lost = null;
}

function standingFlow({ id, wander }: Timebase, atNs: Ns): Flow {
  return { timebase: id, atNs, phaseSeconds: 0, rate: 0, ageingPerSecond: 0, wander, withinSeconds: 0 };
}

function beginState(n: DeviceNumbers): DeviceMachineState {
  const { spec, plan } = n;
  const { begin } = spec;
  const state: DeviceState = begin.kind === "own" ? "free-run" : begin.kind === "locked" ? "locked" : begin.kind;
  const inputs: Input[] = spec.arrivals.map(({ up, signal }) => {
    const isGood = isGoodSignal(up, signal, plan.sampleRateHz);
    return { up, signal, isGood, wasGood: isGood, availableNs: ZERO, isRefused: false, cause: FROM_START };
  });
  const drive = beginDrive(n, inputs);
  const source = begin.kind === "own" || begin.kind === "locked" ? begin.source : null;
  const settings = { state, source, lost: null, sources: plan.clockSources, portClock: plan.ports };
  return {
    ...settings,
    life: spec.lives[0] ?? -1,
    drive,
    inputs,
    epoch: 0,
    isHung: false,
    byHand: null,
    stuck: null,
    wasHolding: false,
    hasLockedSinceFreeRun: state === "locked",
    marks: n.plan.holdoverAverageSeconds > 0 && drive.kind === "loop" ? [{ drive, fromNs: ZERO, untilNs: NEVER }] : [],
    heldControl: 0,
    heldDoubt: 0,
    insideSinceNs: NEVER,
    bootUntilNs: state === "starting" ? n.bootNs : NEVER,
    surfaceUntilNs: NEVER,
    holdOffUntilNs: NEVER,
    holdoverUntilNs: NEVER,
    reactAtNs: NEVER,
    loopWakeNs: NEVER,
    tellAtNs: NEVER,
    captureWakeNs: NEVER,
    told: null,
    status: statusOf(plan, settings, spec.networkPorts),
    reactFor: null,
    bootCause: FROM_START,
    surfaceCause: FROM_START,
    lossCause: FROM_START,
    holdoverCause: FROM_START,
    reactCause: FROM_START,
    captureCause: FROM_START,
    courseCause: FROM_START,
    insideCause: FROM_START,
    due: { atNs: NEVER, cause: FROM_START },
  };
}

function beginDrive(n: DeviceNumbers, inputs: readonly Input[]): Drive {
  const { begin, lives, ports } = n.spec;
  if (begin.kind === "off") return { kind: "off" };
  const own = n.timebases[lives[0] as number] as Timebase;
  if (begin.kind !== "locked") return { kind: "own", flow: standingFlow(own, ZERO), doubtRate: 0 };
  const input = inputs[ports.indexOf(Number(begin.source))] as Input;
  return settledDrive(n, begin.source, input.signal as Signal);
}

/** A loop at rest on what arrives at the first instant. */
function settledDrive(n: DeviceNumbers, source: string, signal: Signal): LoopDrive {
  const life = n.spec.lives[0] as number;
  const { need, needPerSecond, untilNs } = neededFrom(n, life, signal.flow, ZERO);
  const course = startCourse(n.shape, ZERO, { error: 0, integrator: need, need, needPerSecond, stop: n.stop });
  return {
    kind: "loop",
    source,
    reference: signal.flow,
    seen: signal.seen,
    takenOff: 0,
    course: course.mode === "linear" ? atRest(n.shape, course) : course,
    wander: loopWander(n.shape, signal.flow.wander, n.timebases[life]?.wander ?? null, ZERO, null, "closed"),
    pieceUntilNs: untilNs,
    beganAtNs: ZERO,
    began: NO_DOUBT,
  };
}

/** The signal that a device puts out at the first instant: what cables and receivers are built with. */
export function firstSignal(spec: DeviceSpec): Signal | null {
  const numbers = deviceNumbers(spec);
  const w = beginWork(numbers, beginState(numbers), ZERO, FROM_START);
  w.mustTell = true;
  return presentSignal(w);
}
