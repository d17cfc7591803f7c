/**
 * Own phase and the loop of a device: opening, closing, following, and what the windows say.
 *
 * Phase is kept against the timebase of what is followed: own phase = T + q − k·P − e, where q is what arrives against
 * T, P a sample period, k the whole periods taken off, e the loop's error. So a hot afternoon in T needs no message.
 */
import type { Flow, Signal } from "../../shared/flow.ts";
import { phaseAgainstTimebase, rateAgainstTimebase } from "../../shared/flow.ts";
import type { Cause } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { errorCrosses, modeChangesAt, pointAt, startCourse } from "../loop.ts";
import { PIECE_SHARE } from "../quantum.ts";
import { doubtOf } from "./doubt.ts";
import type { DeviceNumbers, Work } from "./state.ts";
import { enter, record } from "./state.ts";
import { judgeTold } from "./tell.ts";

export function timebaseOf(w: Work, id: number): Timebase {
  return w.n.timebases[id] as Timebase;
}

/** Own phase against true time, in seconds; 0 when off. */
function ownPhase(w: Work): number {
  const { drive } = w.s;
  if (drive.kind === "off") return 0;
  const flow = drive.kind === "own" ? drive.flow : drive.reference;
  const behind =
    drive.kind === "own" ? 0 : drive.takenOff * w.n.periodSeconds + pointAt(w.n.shape, drive.course, w.now).error;
  return timebaseOf(w, flow.timebase).phaseSecondsAt(w.now) + phaseAgainstTimebase(flow, w.now) - behind;
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
  const phaseSeconds = ownPhase(w) - timebaseOf(w, s.life).phaseSecondsAt(now);
  // What its phase was off by when it came to stand alone stays in it, and what its control is off by adds up.
  const before = doubtOf(n, s.life, s.drive, now);
  const doubtRate = rate === 0 ? 0 : Math.max(before.rate, s.heldDoubt);
  const withinSeconds = before.phaseSeconds + (rate === 0 ? 0 : doubtRate * n.openSecondsMax);
  s.drive = {
    kind: "own",
    flow: { timebase: s.life, atNs: now, phaseSeconds, rate, ageingPerSecond: 0, withinSeconds },
    doubtRate,
  };
  s.loopWakeNs = NEVER;
  w.mustTell = true;
}

/** Keeps the integrator of a locked loop: what holdover goes on with. */
export function hold(w: Work, integrator: number): void {
  w.s.heldIntegrator = integrator;
  w.s.heldDoubt = doubtOf(w.n, w.s.life, w.s.drive, w.now).rate;
}

/** Opens the loop at this instant; the control keeps the integrator, not the transient. */
export function openLoop(w: Work): void {
  const { s } = w;
  if (s.drive.kind !== "loop") return;
  const { integrator } = pointAt(w.n.shape, s.drive.course, w.now);
  if (s.state === "locked") hold(w, integrator);
  runOnOwn(w, integrator);
}

/** Control that is there when a source is taken: 0 out of free-run, else the integrator. */
function presentControl(w: Work): number {
  const { drive } = w.s;
  if (drive.kind === "own") return drive.flow.rate;
  return drive.kind === "loop" ? pointAt(w.n.shape, drive.course, w.now).integrator : 0;
}

/**
 * Closes the loop on what arrives. The difference is taken to (−½, ½] of a sample period: whole periods were paid for
 * as slips. Outside the unlock window a device that chooses jumps the rest and is re-aligned; one that does not, pulls.
 * True if it has jumped.
 */
export function closeLoop(w: Work, source: string, signal: Signal, mayJump: boolean, cause?: Cause): boolean {
  const { s, now, n } = w;
  const reference = signal.flow;
  const arrives = timebaseOf(w, reference.timebase).phaseSecondsAt(now) + phaseAgainstTimebase(reference, now);
  const apart = arrives - ownPhase(w);
  const integrator = presentControl(w);
  const began = doubtOf(n, s.life, s.drive, now);
  const takenOff = Math.ceil(apart / n.periodSeconds - 0.5);
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
    pieceUntilNs: untilNs,
    beganAtNs: now,
    began,
  };
  w.mustTell = true;
  return hasJumped;
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
  const { need, needPerSecond, untilNs } = neededFrom(n, s.life, signal.flow, now);
  s.drive = {
    kind: "loop",
    source: drive.source,
    reference: signal.flow,
    seen: signal.seen,
    takenOff: drive.takenOff,
    course: startCourse(n.shape, now, {
      error: point.error + moved,
      integrator: point.integrator,
      need,
      needPerSecond,
      stop: n.stop,
    }),
    pieceUntilNs: untilNs,
    beganAtNs: drive.beganAtNs,
    began: drive.began,
  };
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
  const whole = Math.trunc(point.error / n.periodSeconds);
  if (whole !== 0) record(w, { kind: "wrapped", samples: whole }, s.courseCause);
  const error = point.error - whole * n.periodSeconds;
  const { need, needPerSecond, untilNs } = neededFrom(n, s.life, drive.reference, now);
  s.drive = {
    kind: "loop",
    source: drive.source,
    reference: drive.reference,
    seen: drive.seen,
    takenOff: drive.takenOff + whole,
    course: startCourse(n.shape, now, { error, integrator: point.integrator, need, needPerSecond, stop: n.stop }),
    pieceUntilNs: untilNs,
    beganAtNs: drive.beganAtNs,
    began: drive.began,
  };
  if (s.state === "locked" && (whole !== 0 || Math.abs(error) > n.unlockWindowSeconds)) {
    hold(w, point.integrator);
    enter(w, "acquiring", s.source, "its phase left the unlock window", s.courseCause);
  }
  judgeDwell(w, error);
  judgeTold(w);
  lookAhead(w);
}

/** Inside the lock window for the dwell, unbroken: locked. */
function judgeDwell(w: Work, error: number): void {
  const { s, now, n } = w;
  if (s.state !== "acquiring") return;
  if (Math.abs(error) > n.lockWindowSeconds) s.insideSinceNs = NEVER;
  else if (s.insideSinceNs === NEVER) s.insideSinceNs = now;
  if (s.insideSinceNs !== NEVER && now >= later(s.insideSinceNs, n.dwellNs)) {
    enter(w, "locked", s.source, "its phase stayed in the lock window", s.courseCause);
  }
}

/** Finds when the loop next needs a look. */
export function lookAhead(w: Work): void {
  const { s, now, n } = w;
  if (s.drive.kind !== "loop") return;
  const { course, pieceUntilNs } = s.drive;
  const error = Math.abs(pointAt(n.shape, course, now).error);
  let wake = pieceUntilNs;
  const soonest = (at: Ns): void => {
    if (at < wake) wake = at;
  };
  const leaves = (level: number): void =>
    soonest(error > level ? now : errorCrosses(n.shape, course, level, "outside", now, wake));
  if (s.state === "locked") leaves(n.unlockWindowSeconds);
  if (s.state === "acquiring") {
    if (error > n.lockWindowSeconds) {
      s.insideSinceNs = NEVER;
      soonest(errorCrosses(n.shape, course, n.lockWindowSeconds, "inside", now, wake));
    } else {
      if (s.insideSinceNs === NEVER) s.insideSinceNs = now;
      soonest(later(s.insideSinceNs, n.dwellNs));
      leaves(n.lockWindowSeconds);
    }
  }
  leaves(n.periodSeconds);
  soonest(modeChangesAt(n.shape, course, now, wake));
  s.loopWakeNs = wake;
}
