/**
 * Wander on its way through a device: from what arrives and its own oscillator to what leaves.
 *
 * Nothing is announced for it from knot to knot. A device says whose wander it passes on, and says so again only when
 * that changes: another source, or a control that reaches its stop or comes off it. In a ring it passes on what arrives
 * as it is, or the saying would go round for ever.
 */
import type { Signal } from "../../shared/flow.ts";
import { errorBoundAt, loopWander } from "../../shared/loop-wander.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, secondsBetween } from "../../shared/time.ts";
import type { LoopWander, OwnWander, Wander } from "../../shared/wander.ts";
import { firstKnotBeyond, isSameWander, learntAt, loopMotionAt, wanderAt } from "../../shared/wander.ts";
import type { LoopCourse } from "../loop.ts";
import { pointAt, startCourse, transientBounds } from "../loop.ts";
import type { LoopDrive, Work } from "./state.ts";
import { isInRing } from "./state.ts";

/** Part of the lock window below which wander in the loop is not asked for: it could not decide anything. */
const NEGLIGIBLE_SHARE = 0.01;
/** Knots looked ahead for wander that reaches a window, before looking again. */
const KNOTS_AHEAD = 256;

function ownWander(w: Work): OwnWander | null {
  return w.n.timebases[w.s.life]?.wander ?? null;
}

function controlOf(mode: LoopDrive["course"]["mode"]): LoopWander["control"] {
  return mode === "linear" ? "closed" : mode;
}

/** Wander that a device's own loop makes of what arrives; null where it passes that on as it is. */
function madeOf({ wander, reference }: Pick<LoopDrive, "wander" | "reference">): LoopWander | null {
  return wander?.kind === "loop" && wander !== reference.wander ? wander : null;
}

/** Frequency that an integrator holds for the sake of wander. */
export function learnt(drive: Pick<LoopDrive, "wander" | "reference">, at: Ns): number {
  const made = madeOf(drive);
  return made === null ? 0 : learntAt(made, at);
}

/** Wander of a loop that has just been closed: at rest, so that the course has the whole error. */
export function wanderFrom(w: Work, signal: Signal): Wander | null {
  if (isInRing(w, signal)) return signal.flow.wander;
  return loopWander(w.n.shape, signal.flow.wander, ownWander(w), w.now, null, "closed");
}

/**
 * Wander of a loop that goes on with a new flow. Of the same timebase it goes on as it was. From another one it starts
 * at rest, and what it had of error and integrator goes over to the course.
 */
export function wanderGoesOn(
  w: Work,
  drive: LoopDrive,
  signal: Signal,
): { readonly wander: Wander | null; readonly errorBy: number; readonly integratorBy: number } {
  const { reference, wander } = drive;
  const { flow } = signal;
  const isSameTimebase = flow.timebase === reference.timebase;
  const inRing = isInRing(w, signal);
  if (isSameTimebase && isSameWander(flow.wander, reference.wander) && inRing === isInRing(w, drive))
    return { wander, errorBy: 0, integratorBy: 0 };
  const made = madeOf(drive);
  if (isSameTimebase && !inRing && made !== null) {
    const goesOn = loopWander(w.n.shape, flow.wander, ownWander(w), w.now, made, made.control);
    return { wander: goesOn, errorBy: 0, integratorBy: 0 };
  }
  const next = wanderFrom(w, signal);
  return {
    wander: next,
    errorBy: wanderAt(next, w.now) - wanderAt(wander, w.now),
    integratorBy: learnt(drive, w.now) - learnt({ wander: next, reference: flow }, w.now),
  };
}

/**
 * Wander of a loop that is off its stop again, or has taken off a period there. What it gathered while the loop was open
 * goes over to the course, and it begins with no part in the control: the smaller that is, the less it matters that a
 * stop is judged by the course alone. Null if there is nothing to go over.
 */
export function wanderOffStop(
  w: Work,
  drive: LoopDrive,
): { readonly wander: Wander | null; readonly errorBy: number; readonly integratorBy: number } | null {
  const made = madeOf(drive);
  if (made === null || made.control === "closed") return null;
  const { reference, own } = made;
  const fromNothing = loopWander(w.n.shape, reference, own, w.now, null, "clipped");
  return {
    wander: loopWander(w.n.shape, reference, own, w.now, fromNothing, "closed"),
    errorBy: wanderAt(reference, w.now) - wanderAt(made, w.now),
    integratorBy: learntAt(made, w.now),
  };
}

/**
 * The control has reached a stop or come off it: from here on wander passes by another law. The integrator has one stop
 * for all that is in it, so at a stop the course takes over wander's part.
 */
export function matchControl(w: Work): void {
  const { drive } = w.s;
  if (drive.kind !== "loop") return;
  const made = madeOf(drive);
  if (made === null || made.control === controlOf(drive.course.mode)) return;
  const { reference, own } = made;
  const isNew = made.fromNs === w.now && made.before === null;
  const course = made.control === "closed" ? withLearnt(w, drive.course, made) : drive.course;
  const before = isNew ? null : made;
  const wander = loopWander(w.n.shape, reference, own, w.now, before, controlOf(course.mode));
  w.s.drive = { ...drive, course, wander };
}

/** A course at a stop with wander's part in its integrator. Off the stop by that alone, it comes off a nanosecond later. */
function withLearnt(w: Work, course: LoopCourse, wander: LoopWander): LoopCourse {
  const { error, need, needPerSecond, stop } = course;
  const integrator = course.integrator + learntAt(wander, w.now);
  const whole = startCourse(w.n.shape, w.now, { error, integrator, need, needPerSecond, stop });
  return { ...whole, mode: whole.mode === "linear" ? "clipped" : whole.mode, side: course.side };
}

/** Wander in the loop, if it can matter to a window at all. */
function wanderThatMatters(w: Work): LoopWander | null {
  const { drive } = w.s;
  const made = drive.kind === "loop" ? madeOf(drive) : null;
  if (made === null) return null;
  return errorBoundAt(made, w.now) > NEGLIGIBLE_SHARE * w.n.lockWindowSeconds ? made : null;
}

/** What wander adds to the error now; 0 where it could not decide anything. */
export function errorOfWander(w: Work): number {
  const wander = wanderThatMatters(w);
  return wander === null ? 0 : loopMotionAt(wander, w.now).error;
}

/**
 * The course with wander in it, and until when it is so: up to the next knot both are motions of one law, so their sum is
 * one course. The course alone, for good, if wander does not matter.
 */
export function courseInAll(
  w: Work,
  course: LoopCourse,
  untilNs: Ns,
): { readonly course: LoopCourse; readonly untilNs: Ns } {
  const wander = wanderThatMatters(w);
  if (wander === null) return { course, untilNs };
  const { shape } = w.n;
  const motion = loopMotionAt(wander, w.now);
  const { error, errorPerSecond } = pointAt(shape, course, w.now);
  const need = course.need + course.needPerSecond * secondsBetween(course.atNs, w.now);
  const knot = knotAfter(wander, w.now);
  const both = { ...course, atNs: w.now, error: error + motion.error };
  return {
    // An integrator, or a need at a stop, with which the error moves as both together do.
    course:
      course.mode === "linear"
        ? { ...both, need, integrator: need - shape.twoZetaOmega * both.error - errorPerSecond - motion.rate }
        : { ...both, need: need + motion.rate },
    untilNs: knot < untilNs ? knot : untilNs,
  };
}

function knotAfter(wander: LoopWander, at: Ns): Ns {
  return ((Math.floor(at / wander.gridNs) + 1) * wander.gridNs) as Ns;
}

/** The next knot, if wander matters; NEVER if not. */
export function nextKnotThatMatters(w: Work): Ns {
  const wander = wanderThatMatters(w);
  return wander === null ? NEVER : knotAfter(wander, w.now);
}

/**
 * The knot before an instant from which wander could take the error across a level; NEVER if there is none. What happens
 * before the next knot is left out: there {@link courseInAll} is exact.
 */
export function wanderCrosses(w: Work, level: number, untilNs: Ns): Ns {
  const wander = wanderThatMatters(w);
  const { drive } = w.s;
  if (wander === null || drive.kind !== "loop") return NEVER;
  const { shape } = w.n;
  // In linear mode the rest of the motion is bounded; at a stop the course may go anywhere.
  const next = knotAfter(wander, w.now);
  if (next >= untilNs) return NEVER;
  if (drive.course.mode !== "linear") return next;
  const smooth = Math.abs(drive.course.needPerSecond / shape.omega2) + transientBounds(shape, drive.course).phase;
  const bound = errorBoundAt(wander, w.now);
  if (smooth + bound <= level) return NEVER;
  // Between two knots it strays from the straight line by no more than this.
  const between = wander.before === null || wander.before.control === "closed" ? wander.chordBound : bound;
  const first = next / wander.gridNs;
  // What is left of how it began is soon gone, and then the bound may do.
  const isBrief = smooth + wander.errorBound <= level;
  const endNs = isBrief && wander.left.untilNs < untilNs ? wander.left.untilNs : untilNs;
  const last = Math.max(first, Math.min(first + KNOTS_AHEAD, Math.floor(endNs / wander.gridNs)));
  const beyond = firstKnotBeyond(wander, level - smooth - between, first, last);
  return ((beyond === null ? last : Math.max(beyond - 1, first)) * wander.gridNs) as Ns;
}
