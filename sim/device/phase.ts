/**
 * Own phase and the loop of a device: opening, closing, following, and what the windows say.
 *
 * Phase is kept against the timebase of what is followed: own phase = T + q − k·P − e, where q is what arrives against
 * T, P a sample period, k the whole periods taken off, e the loop's error. So a hot afternoon in T needs no message.
 * Wander passes through beside it (`noise.ts`): where the loop is linear the two just add up.
 */
import { clockPhaseAt } from "../../shared/clock-phase.ts";
import type { Flow, Signal } from "../../shared/flow.ts";
import { phaseAgainstTimebase, rateAgainstTimebase } from "../../shared/flow.ts";
import type { Cause } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { wanderAt } from "../../shared/wander.ts";
import { errorCrosses, modeChangesAt, pointAt, startCourse } from "../loop.ts";
import { PIECE_SHARE } from "../quantum.ts";
import { keepMark, keptControl } from "./average.ts";
import { doubtOf } from "./doubt.ts";
import {
  courseInAll,
  errorOfWander,
  learnt,
  matchControl,
  nextKnotThatMatters,
  wanderCrosses,
  wanderFrom,
  wanderGoesOn,
  wanderOffStop,
} from "./noise.ts";
import type { DeviceNumbers, LoopDrive, Work } from "./state.ts";
import { enter, record } from "./state.ts";
import { judgeTold } from "./tell.ts";

/** Why lock was lost, where only chance did it: the row has no cause but the start. */
export const BY_WANDER = "wander took its phase out of the unlock window";

export function timebaseOf(w: Work, id: number): Timebase {
  return w.n.timebases[id] as Timebase;
}

/** Own phase against true time, in seconds; 0 when off. */
function ownPhase(w: Work): number {
  const { drive } = w.s;
  if (drive.kind === "off") return 0;
  if (drive.kind === "own") return clockPhaseAt(w.n.timebases, drive.flow, w.now);
  return loopPhaseAt(w, drive, w.now);
}

/** Phase that a loop puts out while it is in force, against true time, in seconds. */
export function loopPhaseAt(w: Work, { reference, takenOff, course, wander }: LoopDrive, at: Ns): number {
  const behind = takenOff * w.n.periodSeconds + pointAt(w.n.shape, course, at).error;
  const arrives = timebaseOf(w, reference.timebase).phaseSecondsAt(at) + phaseAgainstTimebase(reference, at);
  return arrives - behind + wanderAt(wander, at);
}

/** Frequency that what arrives has and the own oscillator lacks, as a straight line from now. */
export function neededFrom(
  n: Pick<DeviceNumbers, "timebases" | "quantumSeconds">,
  life: number,
  reference: Flow,
  now: Ns,
): { need: number; needPerSecond: number; untilNs: Ns } {
  const rate = rateAgainstTimebase(reference, now);
  if (reference.timebase === life) return { need: rate, needPerSecond: reference.ageingPerSecond, untilNs: NEVER };
  const within = n.quantumSeconds * PIECE_SHARE;
  const theirs = (n.timebases[reference.timebase] as Timebase).pieceAt(now, within);
  const own = (n.timebases[life] as Timebase).pieceAt(now, within);
  return {
    need: theirs.rate + rate - own.rate,
    needPerSecond: theirs.ageingPerSecond + reference.ageingPerSecond - own.ageingPerSecond,
    untilNs: theirs.untilNs < own.untilNs ? theirs.untilNs : own.untilNs,
  };
}

/** Goes on from the present phase on the own oscillator, with this much control left. */
export function runOnOwn(w: Work, rate: number): void {
  const { s, now, n } = w;
  const own = timebaseOf(w, s.life);
  const phaseSeconds = ownPhase(w) - own.phaseSecondsAt(now) - wanderAt(own.wander, now);
  // What its phase was off by when it came to stand alone stays in it, and what its control is off by adds up.
  const before = doubtOf(n, s.life, s.drive, now);
  const doubtRate = rate === 0 ? 0 : Math.max(before.rate, s.heldDoubt);
  const withinSeconds = before.phaseSeconds + (rate === 0 ? 0 : doubtRate * n.openSecondsMax);
  s.drive = {
    kind: "own",
    flow: { timebase: s.life, atNs: now, phaseSeconds, rate, ageingPerSecond: 0, wander: own.wander, withinSeconds },
    doubtRate,
  };
  s.loopWakeNs = NEVER;
  w.mustTell = true;
}

/** Keeps the control of a locked loop: what holdover goes on with. */
export function hold(w: Work, control: number): void {
  w.s.heldControl = control;
  w.s.heldDoubt = doubtOf(w.n, w.s.life, w.s.drive, w.now).rate;
}

/** Opens the loop at this instant; the control keeps what it has learnt, not the transient. */
export function openLoop(w: Work): void {
  const { s } = w;
  if (s.drive.kind !== "loop") return;
  const isLocked = s.state === "locked";
  const control = isLocked ? keptControl(w) : integratorNow(w);
  if (isLocked) hold(w, control);
  runOnOwn(w, control);
}

/** What the loop has learnt, wander's part included; 0 if there is none. */
export function integratorNow(w: Work): number {
  const { drive } = w.s;
  if (drive.kind !== "loop") return 0;
  const integrator = pointAt(w.n.shape, drive.course, w.now).integrator + learnt(drive, w.now);
  return Math.max(-w.n.stop, Math.min(w.n.stop, integrator));
}

/** Control that is there when a source is taken: 0 out of free-run, else the integrator. */
function presentControl(w: Work): number {
  return w.s.drive.kind === "own" ? w.s.drive.flow.rate : integratorNow(w);
}

/**
 * Closes the loop on what arrives. The difference is taken to (−½, ½] of a sample period: whole periods were paid for
 * as slips. A network carries the time of day, so there the whole difference counts. Outside the unlock window a device
 * that chooses jumps the rest and is re-aligned; one that does not, pulls. True if it has jumped.
 */
export function closeLoop(w: Work, source: string, signal: Signal, mayJump: boolean, cause?: Cause): boolean {
  const { s, now, n } = w;
  const reference = signal.flow;
  const apart = apartFrom(w, reference);
  const wander = wanderFrom(w, signal);
  const integrator = presentControl(w) - learnt({ wander, reference }, now);
  const began = doubtOf(n, s.life, s.drive, now);
  const takenOff = n.spec.networkPorts.has(source) && mayJump ? 0 : Math.ceil(apart / n.periodSeconds - 0.5);
  let error = apart - takenOff * n.periodSeconds;
  let hasJumped = false;
  if (mayJump && Math.abs(error) > n.unlockWindowSeconds) {
    record(w, { kind: "re-aligned", bySeconds: error }, cause);
    s.epoch += 1;
    error = 0;
    hasJumped = true;
  }
  const { need, needPerSecond, untilNs } = neededFrom(n, s.life, reference, now);
  s.drive = {
    kind: "loop",
    source,
    reference,
    seen: signal.seen,
    takenOff,
    course: startCourse(n.shape, now, { error, integrator, need, needPerSecond, stop: n.stop }),
    wander,
    pieceUntilNs: untilNs,
    beganAtNs: now,
    began,
  };
  matchControl(w);
  keepMark(w, true);
  w.mustTell = true;
  return hasJumped;
}

/** How far what arrives is ahead of the own phase now, in seconds, whole periods included. */
export function apartFrom(w: Work, reference: Flow): number {
  return clockPhaseAt(w.n.timebases, reference, w.now) - ownPhase(w);
}

/** What arrives has a new flow: own phase goes on, the error takes the difference. */
export function follow(w: Work, signal: Signal): void {
  const { s, now, n } = w;
  if (s.drive.kind !== "loop") return;
  const { drive } = s;
  const old = drive.reference;
  const point = pointAt(n.shape, drive.course, now);
  const between =
    old.timebase === signal.flow.timebase
      ? 0
      : timebaseOf(w, signal.flow.timebase).phaseSecondsAt(now) - timebaseOf(w, old.timebase).phaseSecondsAt(now);
  const moved = phaseAgainstTimebase(signal.flow, now) - phaseAgainstTimebase(old, now) + between;
  const passed = wanderGoesOn(w, drive, signal);
  const { need, needPerSecond, untilNs } = neededFrom(n, s.life, signal.flow, now);
  s.drive = {
    kind: "loop",
    source: drive.source,
    reference: signal.flow,
    seen: signal.seen,
    takenOff: drive.takenOff,
    course: startCourse(n.shape, now, {
      error: point.error + moved + passed.errorBy,
      integrator: point.integrator + passed.integratorBy,
      need,
      needPerSecond,
      stop: n.stop,
    }),
    wander: passed.wander,
    pieceUntilNs: untilNs,
    beganAtNs: drive.beganAtNs,
    began: drive.began,
  };
  matchControl(w);
  keepMark(w, false);
  s.courseCause = w.cause;
  judgeTold(w);
  lookAhead(w);
}

/** A window, a mode, a whole period or a piece: whatever the loop was to be woken for. */
export function turnLoop(w: Work): void {
  const { s, now, n } = w;
  if (s.drive.kind !== "loop") return;
  const { drive } = s;
  const point = pointAt(n.shape, drive.course, now);
  const whole = Math.trunc((point.error + errorOfWander(w)) / n.periodSeconds);
  if (whole !== 0) record(w, { kind: "wrapped", samples: whole }, s.courseCause);
  let error = point.error - whole * n.periodSeconds;
  let { wander } = drive;
  const { need, needPerSecond, untilNs } = neededFrom(n, s.life, drive.reference, now);
  let course = startCourse(n.shape, now, { error, integrator: point.integrator, need, needPerSecond, stop: n.stop });
  const offStop = whole !== 0 || course.mode === "linear" ? wanderOffStop(w, drive) : null;
  if (offStop !== null) {
    wander = offStop.wander;
    error += offStop.errorBy;
    const integrator = point.integrator + offStop.integratorBy;
    course = startCourse(n.shape, now, { error, integrator, need, needPerSecond, stop: n.stop });
  }
  s.drive = {
    kind: "loop",
    source: drive.source,
    reference: drive.reference,
    seen: drive.seen,
    takenOff: drive.takenOff + whole,
    course,
    wander,
    pieceUntilNs: untilNs,
    beganAtNs: drive.beganAtNs,
    began: drive.began,
  };
  matchControl(w);
  keepMark(w, false);
  const seen = error + errorOfWander(w);
  if (s.state === "locked" && (whole !== 0 || Math.abs(seen) > n.unlockWindowSeconds)) {
    hold(w, keptControl(w));
    // The larger part of the error is wander's: nothing that happened did this.
    const isByChance = Math.abs(errorOfWander(w)) > Math.abs(point.error);
    if (isByChance) s.courseCause = FROM_START;
    enter(w, "acquiring", s.source, isByChance ? BY_WANDER : "its phase left the unlock window", s.courseCause);
  }
  judgeDwell(w, seen);
  judgeTold(w);
  lookAhead(w);
}

/** Inside the lock window for the dwell, unbroken: locked. */
function judgeDwell(w: Work, error: number): void {
  const { s, now, n } = w;
  if (s.state !== "acquiring") return;
  if (Math.abs(error) > n.lockWindowSeconds) s.insideSinceNs = NEVER;
  else comeInside(w);
  if (s.insideSinceNs !== NEVER && now >= later(s.insideSinceNs, n.dwellNs)) {
    enter(w, "locked", s.source, "its phase stayed in the lock window", s.insideCause);
  }
}

/** The dwell begins. What arrives while it runs, and does not end it, has no part in the lock. */
function comeInside({ s, now }: Work): void {
  if (s.insideSinceNs !== NEVER) return;
  s.insideSinceNs = now;
  s.insideCause = s.courseCause;
}

/** Finds when the loop next needs a look. */
export function lookAhead(w: Work): void {
  const { s, now, n } = w;
  if (s.drive.kind !== "loop") return;
  const { course, pieceUntilNs } = s.drive;
  const error = Math.abs(pointAt(n.shape, course, now).error + errorOfWander(w));
  let wake = pieceUntilNs;
  const soonest = (at: Ns): void => {
    if (at < wake) wake = at;
  };
  const crosses = (level: number, to: "outside" | "inside"): void => {
    const inAll = courseInAll(w, course, wake);
    soonest(errorCrosses(n.shape, inAll.course, level, to, now, inAll.untilNs));
  };
  const leaves = (level: number): void => {
    if (error > level) soonest(now);
    else crosses(level, "outside");
    soonest(wanderCrosses(w, level, wake));
  };
  if (s.state === "locked") leaves(n.unlockWindowSeconds);
  if (s.state === "acquiring") {
    if (error > n.lockWindowSeconds) {
      s.insideSinceNs = NEVER;
      crosses(n.lockWindowSeconds, "inside");
      soonest(nextKnotThatMatters(w));
    } else {
      comeInside(w);
      soonest(later(s.insideSinceNs, n.dwellNs));
      leaves(n.lockWindowSeconds);
    }
  }
  leaves(n.periodSeconds);
  soonest(modeChangesAt(n.shape, course, now, wake));
  s.loopWakeNs = wake;
}
