/**
 * What leaves a device, and when it has to say something new.
 *
 * It speaks again when the truth *can* have left the last announcement by the quantum, judged by a bound and never by
 * looking for a root. A transient is told as quadratics fitted over their length; one whose rest is below half a
 * quantum is left out of what is told (the loop itself goes on exactly), so every chain falls silent. A new flow at an
 * input is no reason to speak: a ring would do so millions of times a second. A new timebase is, except in a ring,
 * where it would go round for ever.
 */
import type { Flow, Seen, Signal } from "../../shared/flow.ts";
import { phaseAgainstTimebase, rateAgainstTimebase } from "../../shared/flow.ts";
import { cbrt } from "../../shared/maths.ts";
import type { DevicePlan, PtpPlan } from "../../shared/plan.ts";
import type { DeviceState } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER, nsFromSeconds } from "../../shared/time.ts";
import { isSameWander, slopeAt, wanderAt } from "../../shared/wander.ts";
import { INTERNAL } from "../choice.ts";
import { safeSeconds } from "../crossing.ts";
import { clockClassOf } from "../election/clock-class.ts";
import type { LoopCourse } from "../loop.ts";
import { atRest, carriedTo, fitError, pointAt, transientBounds } from "../loop.ts";
import type { Status } from "../mail.ts";
import { PIECE_SHARE } from "../quantum.ts";
import { doubtInLoop } from "./doubt.ts";
import { timebaseOf } from "./phase.ts";
import type { DeviceMachineState, LoopDrive, Work } from "./state.ts";
import { isInRing } from "./state.ts";

export const FLOW_PORT = 0;
export const STATUS_PORT = 1;

/** Share of the quantum that the fit of a transient may use. */
const FIT_SHARE = 0.25;

/** Part of the quantum below which a transient is forgotten: holdover may go on for an hour with what is left of it. */
const FORGOTTEN_SHARE = 1e-6;

/** Carries the loop's course to now. */
function freshen(w: Work): LoopDrive | null {
  const { s, n } = w;
  if (s.drive.kind !== "loop") return null;
  const { source, reference, seen, takenOff, wander, pieceUntilNs, beganAtNs, began } = s.drive;
  const carried = carriedTo(n.shape, s.drive.course, w.now);
  const { course } = calmed(w, carried, n.quantumSeconds * FORGOTTEN_SHARE);
  const drive: LoopDrive = {
    kind: "loop",
    source,
    reference,
    seen,
    takenOff,
    course,
    wander,
    pieceUntilNs,
    beganAtNs,
    began,
  };
  s.drive = drive;
  return drive;
}

/** The course as it is told: a transient whose rest stays below this is left out. `rest`: how much that is, in seconds. */
function calmed(
  w: Work,
  course: LoopCourse,
  belowSeconds: number,
): { readonly course: LoopCourse; readonly rest: number } {
  const { phase } = transientBounds(w.n.shape, course);
  return phase !== 0 && phase < belowSeconds ? { course: atRest(w.n.shape, course), rest: phase } : { course, rest: 0 };
}

/** Decides when the truth can have left what was told; now, if it has. */
export function judgeTold(w: Work): void {
  const { s, now, n } = w;
  const drive = freshen(w);
  if (drive === null || s.told === null) return;
  const { flow } = s.told;
  const { reference } = drive;
  const { course, rest } = calmed(w, drive.course, n.quantumSeconds / 2);
  const hasOtherTimebase = flow.timebase !== reference.timebase;
  if ((hasOtherTimebase || !isSameWander(flow.wander, drive.wander)) && !isInRing(w, drive)) {
    w.mustTell = true;
    return;
  }
  const point = pointAt(n.shape, course, now);
  const errorPerSecond2 =
    course.mode === "linear"
      ? course.needPerSecond - n.shape.twoZetaOmega * point.errorPerSecond - n.shape.omega2 * point.error
      : course.needPerSecond;
  let phase =
    phaseAgainstTimebase(reference, now) -
    drive.takenOff * n.periodSeconds -
    point.error -
    phaseAgainstTimebase(flow, now);
  let rate = rateAgainstTimebase(reference, now) - point.errorPerSecond - rateAgainstTimebase(flow, now);
  let perSecond2 = reference.ageingPerSecond - errorPerSecond2 - flow.ageingPerSecond;
  if (hasOtherTimebase) {
    const theirs = timebaseOf(w, reference.timebase);
    const told = timebaseOf(w, flow.timebase);
    const within = n.quantumSeconds * PIECE_SHARE;
    phase += theirs.phaseSecondsAt(now) - told.phaseSecondsAt(now);
    rate += theirs.rateAt(now) - told.rateAt(now);
    perSecond2 += theirs.pieceAt(now, within).ageingPerSecond - told.pieceAt(now, within).ageingPerSecond;
  }
  if (flow.wander !== drive.wander) {
    // In a ring two oscillators' wander may go round: what was told is compared with all of what leaves.
    phase += wanderAt(drive.wander, now) - wanderAt(flow.wander, now);
    rate += slopeAt(drive.wander, now) - slopeAt(flow.wander, now);
  }
  if (Math.abs(phase) >= n.quantumSeconds / 2) {
    w.mustTell = true;
    return;
  }
  const seconds = safeSeconds(
    n.quantumSeconds - rest,
    phase,
    rate,
    perSecond2,
    transientBounds(n.shape, course).third,
    cbrt,
  );
  s.tellAtNs = seconds === Number.POSITIVE_INFINITY ? NEVER : later(now, Math.max(nsFromSeconds(seconds), 1) as Ns);
}

/** Tells the rig what leaves from this instant on, if that is news. */
export function tell(w: Work): void {
  const { s, now } = w;
  if (s.tellAtNs <= now && !w.mustTell) {
    judgeTold(w);
    // A transient that is still alive is told as its next piece rather than looked at again and again.
    const isAlive =
      s.drive.kind === "loop" && transientBounds(w.n.shape, s.drive.course).phase >= w.n.quantumSeconds / 2;
    if (isAlive) w.mustTell = true;
  }
  const signal = presentSignal(w);
  if (signal === s.told) return;
  const isNewFlow = signal?.flow !== s.told?.flow;
  s.told = signal;
  if (isNewFlow) w.effects.push({ do: "record", fact: { kind: "flow", flow: signal?.flow ?? null } });
  w.effects.push({ do: "send", port: FLOW_PORT, mail: { kind: "flow", signal } });
}

/** What leaves now: the same object as was told, if nothing is new. */
export function presentSignal(w: Work): Signal | null {
  const { s, n } = w;
  const { plan } = n;
  if (s.drive.kind === "off" || (s.state === "starting" && plan.whileBooting === "nothing")) {
    s.tellAtNs = NEVER;
    return null;
  }
  const isWrongRate = s.state === "starting" && plan.whileBooting === "wrong-rate";
  const rateHz = isWrongRate ? wrongRateHz(plan.sampleRateHz) : plan.sampleRateHz;
  const isAdrift = s.state === "holdover" || (s.state === "free-run" && s.source !== INTERNAL);
  const gives = plan.givesWhenUnlocked || !isAdrift;
  const seen = presentSeen(w);
  const { told } = s;
  const present = told === null || w.mustTell ? presentFlow(w) : told.flow;
  const flow = told !== null && isSameFlow(told.flow, present) ? told.flow : present;
  const isAsTold =
    told !== null &&
    told.flow === flow &&
    told.rateHz === rateHz &&
    told.gives === gives &&
    told.epoch === s.epoch &&
    told.seen === seen;
  return isAsTold ? told : { flow, gives, rateHz, epoch: s.epoch, seen };
}

/** By value: a moment that was copied holds the same flow as another object. */
function isSameFlow(a: Flow, b: Flow): boolean {
  return (
    a === b ||
    (a.timebase === b.timebase &&
      a.atNs === b.atNs &&
      a.phaseSeconds === b.phaseSeconds &&
      a.rate === b.rate &&
      a.ageingPerSecond === b.ageingPerSecond &&
      a.withinSeconds === b.withinSeconds)
  );
}

/** A rate of the other family: what a device may send while it boots (44.1 and 48 kHz, AES5). */
function wrongRateHz(rateHz: number): number {
  return rateHz % 44100 === 0 ? (rateHz / 44100) * 48000 : (rateHz / 48000) * 44100;
}

const NOBODY: readonly string[] = [];

/**
 * In a ring what was said stays said, and nothing is traced to one oscillator: there two lists, or a yes and a no, that
 * follow each other round would do so for ever, every few nanoseconds.
 */
function presentSeen(w: Work): Seen {
  const { drive, told, state } = w.s;
  const { id } = w.n.plan;
  const through = drive.kind === "loop" ? drive.seen.through : NOBODY;
  const isRing = through.includes(id);
  const traced = !isRing && (drive.kind !== "loop" || (state === "locked" && drive.seen.traced));
  const old = told?.seen;
  const isSame =
    old !== undefined &&
    (isRing || old.through.length === through.length + 1) &&
    old.through.includes(id) &&
    through.every((each) => old.through.includes(each));
  if (isSame) return old.traced === traced ? old : { through: old.through, traced };
  const kept = isRing && old !== undefined ? old.through : NOBODY;
  return { through: [...new Set([...through, ...kept, id])].sort(), traced };
}

function presentFlow(w: Work): Flow {
  const { s, now, n } = w;
  const drive = freshen(w);
  if (drive === null) {
    s.tellAtNs = NEVER;
    return (s.drive as { readonly flow: Flow }).flow;
  }
  const { reference } = drive;
  const { course } = calmed(w, drive.course, n.quantumSeconds / 2);
  const fit = fitError(n.shape, course, n.quantumSeconds * FIT_SHARE);
  s.tellAtNs = fit.untilNs;
  return {
    timebase: reference.timebase,
    atNs: now,
    phaseSeconds: phaseAgainstTimebase(reference, now) - drive.takenOff * n.periodSeconds - fit.value,
    rate: rateAgainstTimebase(reference, now) - fit.perSecond,
    ageingPerSecond: reference.ageingPerSecond - fit.perSecond2,
    wander: drive.wander,
    // What the clock itself may be off by; the fit, the rest left out and the pieces add a quantum.
    withinSeconds: isInRing(w, drive)
      ? Number.POSITIVE_INFINITY
      : doubtInLoop(n, s.life, drive, now).phaseSeconds + n.quantumSeconds + chordOf(drive),
  };
}

/** What wander's straight lines between knots may leave out. */
function chordOf({ wander }: LoopDrive): number {
  return wander?.kind === "loop" ? wander.chordBound : 0;
}

/** Tells the cables whether this end is alive and which ports take clock, if that is news. */
export function tellStatus(w: Work): void {
  const { s } = w;
  const status = statusOf(w.n.plan, s, w.n.spec.networkPorts);
  const old = s.status;
  const isSame =
    status.alive === old.alive &&
    status.clockClass === old.clockClass &&
    status.takes.length === old.takes.length &&
    status.takes.every((p, i) => p === old.takes[i]);
  if (isSame) return;
  s.status = status;
  w.effects.push({ do: "send", port: STATUS_PORT, mail: { kind: "status", status } });
}

export function statusOf(
  plan: DevicePlan,
  s: Pick<DeviceMachineState, "state" | "source" | "lost" | "sources" | "portClock">,
  networkPorts: ReadonlySet<string>,
): Status {
  return {
    alive: isAlive(plan, s.state),
    takes: takingPorts(s.sources, s.portClock),
    clockClass: plan.ptp === undefined ? null : clockClass(plan.ptp, s, networkPorts),
  };
}

function clockClass(
  ptp: PtpPlan,
  { state, source, lost }: Pick<DeviceMachineState, "state" | "source" | "lost">,
  networkPorts: ReadonlySet<string>,
): number {
  const from = source ?? lost;
  return clockClassOf(ptp, state, source, from !== null && networkPorts.has(from));
}

/** Powered, and out of `starting` or sending in it. */
export function isAlive(plan: DevicePlan, state: DeviceState): boolean {
  return state !== "off" && (state !== "starting" || plan.whileBooting !== "nothing");
}

/** Ports that take clock: those in the list, unless their own setting says otherwise, and those set to take. */
export function takingPorts(
  sources: readonly string[],
  portClock: Readonly<Record<string, "give" | "take">>,
): number[] {
  const takes = new Set<number>();
  for (const source of sources) if (source !== INTERNAL) takes.add(Number(source));
  for (const [port, clock] of Object.entries(portClock)) {
    if (clock === "take") takes.add(Number(port));
    else takes.delete(Number(port));
  }
  return [...takes].sort((a, b) => a - b);
}
