/**
 * The loop that pulls a follower to what arrives: the mathematics alone, in closed form.
 *
 * Type 2, second order: phase error e (seconds) between what arrives and the own clock, integrator i (the frequency it
 * has learnt), natural frequency ω, damping ζ, steering stops ±R:
 *
 *   control u = clip(2ζω·e + i, ±R),  di/dt = ω²·e with i kept within ±R,  de/dt = need(t) − u,  need = n + c·τ
 *
 * `need` is the frequency that the reference has and the own oscillator lacks; within one piece it is a straight line.
 * H(s) = (2ζωs + ω²)/(s² + 2ζωs + ω²): Gardner, "Phaselock Techniques", and Best, "Phase-Locked Loops" (both from
 * memory for the page; the formulas here are derived and checked against published tables in tests/published).
 *
 * Three modes:
 *
 * | mode    | while                          | law                                                  |
 * | linear  | |2ζω·e + i| < R                | e = c/ω² + z, z'' + 2ζω·z' + ω²·z = 0                |
 * | clipped | control at ±R, i still moving  | e a quadratic, i a cubic                             |
 * | pinned  | control at ±R, i at ±R         | e a quadratic                                        |
 *
 * Errors are never folded here: taking off whole sample periods is the device's business.
 */
import { atan2, cbrt, exp, log, PI } from "../shared/maths.ts";
import type { Ringing } from "../shared/motion.ts";
import { motionAt, NEARLY_CRITICAL, ringShrink } from "../shared/motion.ts";
import type { Ns } from "../shared/time.ts";
import { later, NEVER, nsFromSeconds, secondsBetween } from "../shared/time.ts";
import { firstHolding } from "./crossing.ts";

export interface LoopShape extends Ringing {
  /** Greatest value of the response to a unit impulse of z', in seconds. */
  readonly impulsePeakSeconds: number;
  /** L1 norm of the closed loop's impulse response: how much a bounded error can grow in passing through. */
  readonly l1Norm: number;
  /** Greatest |H| over frequency. */
  readonly peakGain: number;
}

export function loopShape(naturalFrequencyHz: number, damping: number): LoopShape {
  const omega = 2 * PI * naturalFrequencyHz;
  const zeta = damping;
  const q = Math.sqrt(Math.abs(1 - zeta * zeta));
  return {
    omega,
    zeta,
    omega2: omega * omega,
    twoZetaOmega: 2 * zeta * omega,
    split: omega * q,
    impulsePeakSeconds: peakAfterFrequencyStep(zeta) / omega,
    l1Norm: l1NormOf(zeta),
    peakGain: Math.sqrt(gainSquared(zeta, peakingAt(zeta))),
  };
}

/**
 * Peak phase error after a frequency step, in units of step/ω:
 * exp(−(ζ/q)·atan(q/ζ)) for ζ < 1, 1/e at 1, with atanh above; derived from the error response s/(s² + 2ζωs + ω²).
 */
export function peakAfterFrequencyStep(zeta: number): number {
  return exp(-zeta * timeOfPeakAfterFrequencyStep(zeta));
}

/** When that peak falls, as ω·t: atan(q/ζ)/q, 1 at ζ = 1, atanh(q/ζ)/q above. */
export function timeOfPeakAfterFrequencyStep(zeta: number): number {
  const q = Math.sqrt(Math.abs(1 - zeta * zeta));
  const r = q / zeta;
  // atan(r)/q and atanh(r)/q share the series (1 − ± r²/3)/ζ near ζ = 1.
  if (q < NEARLY_CRITICAL) return (1 + ((zeta < 1 ? -1 : 1) * r * r) / 3) / zeta;
  return zeta < 1 ? atan2(q, zeta) / q : (0.5 * log((1 + r) / (1 - r))) / q;
}

/** Overshoot of the phase after a phase step, as a share of the step: s(ω·t = 2·atan2(q, ζ)/q) − 1 and its kin above 1. */
export function phaseStepOvershoot(zeta: number): number {
  // The error 1 − s has its extremum where its rate, −2ζω·C + …, is 0: the general turning point of z(0) = 1, z'(0) = −2ζω.
  const shape = { omega: 1, zeta, omega2: 1, twoZetaOmega: 2 * zeta, split: Math.sqrt(Math.abs(1 - zeta * zeta)) };
  const at = firstTurning(shape, 1, -2 * zeta);
  return -motionAt(shape, 1, -2 * zeta, at).z;
}

function l1NormOf(zeta: number): number {
  const overshoot = phaseStepOvershoot(zeta);
  if (zeta >= 1) return 1 + 2 * overshoot; // up to 1 + overshoot, then down to 1 for good
  // Each half ring is smaller by e^(−ζπ/q): the total variation of the step response is a geometric sum.
  const shrink = ringShrink(zeta);
  return 1 + overshoot + (overshoot * (1 + shrink)) / (1 - shrink);
}

/** (ω/ωn)² at which |H| is greatest: (√(1 + 8ζ²) − 1)/(4ζ²). */
export function peakingAt(zeta: number): number {
  return (Math.sqrt(1 + 8 * zeta * zeta) - 1) / (4 * zeta * zeta);
}

/** |H|² at u = (ω/ωn)². */
export function gainSquared(zeta: number, u: number): number {
  const through = 4 * zeta * zeta * u;
  return (1 + through) / ((1 - u) * (1 - u) + through);
}

/** No later |z| is greater than this. */
function motionBound(shape: LoopShape, z0: number, v0: number): number {
  return Math.abs(z0) + Math.abs(v0 + shape.zeta * shape.omega * z0) * shape.impulsePeakSeconds;
}

/** Seconds to the first z' = 0 after now; Infinity if there is none. */
function firstTurning(shape: Ringing, z0: number, v0: number): number {
  const { omega, zeta, split } = shape;
  // z' = v0·C − (ω²z0 + ζωv0)·S: the angle whose tangent (or tanh) is v0·split over the bracket.
  const bracket = shape.omega2 * z0 + zeta * omega * v0;
  if (z0 === 0 && v0 === 0) return Number.POSITIVE_INFINITY;
  if (zeta < 1) {
    const angle = atan2(v0 * split, bracket);
    if (split / omega < NEARLY_CRITICAL && angle > 0 && angle < NEARLY_CRITICAL) return angle / split;
    return (angle > 0 ? angle : angle + PI) / split;
  }
  if (split === 0 || Math.abs(v0 * split) < NEARLY_CRITICAL * Math.abs(bracket)) {
    const r = (v0 * split) / bracket;
    const at = (v0 / bracket) * (1 + (r * r) / 3);
    return at > 0 ? at : Number.POSITIVE_INFINITY;
  }
  const r = (v0 * split) / bracket;
  return r > 0 && r < 1 ? (0.5 * log((1 + r) / (1 - r))) / split : Number.POSITIVE_INFINITY;
}

/** Seconds between one turning and the next. */
function turningSpacing(shape: Ringing): number {
  return shape.zeta < 1 && shape.split > 0 ? PI / shape.split : Number.POSITIVE_INFINITY;
}

/** One piece of a loop's course, from `atNs` until its mode or its inputs change. Plain data. */
export interface LoopCourse {
  readonly mode: "linear" | "clipped" | "pinned";
  /** At which stop the control is; 1 in linear mode. */
  readonly side: 1 | -1;
  readonly atNs: Ns;
  /** Phase error at `atNs`, s. */
  readonly error: number;
  /** Integrator at `atNs`, fractional frequency. */
  readonly integrator: number;
  /** Frequency needed at `atNs`, and its change per second. */
  readonly need: number;
  readonly needPerSecond: number;
  /** Steering stop R. */
  readonly stop: number;
}

export interface LoopPoint {
  readonly error: number;
  readonly errorPerSecond: number;
  readonly integrator: number;
}

/** Starts a course from its four numbers: finds the mode. */
export function startCourse(
  shape: LoopShape,
  atNs: Ns,
  from: { error: number; integrator: number; need: number; needPerSecond: number; stop: number },
): LoopCourse {
  const integrator = Math.max(-from.stop, Math.min(from.stop, from.integrator));
  const wanted = shape.twoZetaOmega * from.error + integrator;
  const side = wanted < 0 ? -1 : 1;
  const isClipped = wanted * side >= from.stop;
  const isPinned = isClipped && integrator * side >= from.stop && from.error * side >= 0;
  const mode = isPinned ? "pinned" : isClipped ? "clipped" : "linear";
  const { error, need, needPerSecond, stop } = from;
  return { mode, side: mode === "linear" ? 1 : side, atNs, error, integrator, need, needPerSecond, stop };
}

/** Error that a course in linear mode comes to rest at: c/ω². */
export function restingError(shape: LoopShape, course: LoopCourse): number {
  return course.needPerSecond / shape.omega2;
}

/** z and z' at the start of a linear course. */
function departure(shape: LoopShape, course: LoopCourse): { z: number; v: number } {
  return {
    z: course.error - restingError(shape, course),
    v: course.need - shape.twoZetaOmega * course.error - course.integrator,
  };
}

export function pointAt(shape: LoopShape, course: LoopCourse, at: Ns): LoopPoint {
  const tau = secondsBetween(course.atNs, at);
  if (course.mode === "linear") {
    const rest = restingError(shape, course);
    const from = departure(shape, course);
    if (from.z === 0 && from.v === 0) {
      return { error: rest, errorPerSecond: 0, integrator: course.integrator + course.needPerSecond * tau };
    }
    const { z, v } = motionAt(shape, from.z, from.v, tau);
    const error = rest + z;
    return {
      error,
      errorPerSecond: v,
      integrator: course.need + course.needPerSecond * tau - v - shape.twoZetaOmega * error,
    };
  }
  const slope = course.need - course.side * course.stop;
  const error = course.error + tau * (slope + 0.5 * course.needPerSecond * tau);
  const errorPerSecond = slope + course.needPerSecond * tau;
  if (course.mode === "pinned") return { error, errorPerSecond, integrator: course.integrator };
  const gained = shape.omega2 * tau * (course.error + tau * (slope / 2 + (course.needPerSecond * tau) / 6));
  return { error, errorPerSecond, integrator: course.integrator + gained };
}

/** Control at an instant: what the loop adds to its own oscillator. */
export function controlAt(shape: LoopShape, course: LoopCourse, at: Ns): number {
  if (course.mode !== "linear") return course.side * course.stop;
  return (
    course.need + course.needPerSecond * secondsBetween(course.atNs, at) - pointAt(shape, course, at).errorPerSecond
  );
}

/** The same course seen from a later instant. */
export function carriedTo(shape: LoopShape, course: LoopCourse, at: Ns): LoopCourse {
  if (at === course.atNs) return course;
  const { error, integrator } = pointAt(shape, course, at);
  const { mode, side, needPerSecond, stop } = course;
  const need = course.need + needPerSecond * secondsBetween(course.atNs, at);
  return { mode, side, atNs: at, error, integrator, need, needPerSecond, stop };
}

/** The course at rest: no transient. Only what is smaller than `below` may be dropped so. */
export function atRest(shape: LoopShape, course: LoopCourse): LoopCourse {
  const error = restingError(shape, course);
  const { mode, side, atNs, need, needPerSecond, stop } = course;
  return { mode, side, atNs, error, integrator: need - shape.twoZetaOmega * error, need, needPerSecond, stop };
}

/** Bounds of the transient and of its second and third derivative, for all later time; 0 outside linear mode. */
export function transientBounds(
  shape: LoopShape,
  course: LoopCourse,
): { phase: number; second: number; third: number } {
  if (course.mode !== "linear") return { phase: 0, second: 0, third: 0 };
  const { z, v } = departure(shape, course);
  if (z === 0 && v === 0) return { phase: 0, second: 0, third: 0 };
  // A derivative of z obeys the same law, so the same bound serves.
  const second = -shape.twoZetaOmega * v - shape.omega2 * z;
  const third = -shape.twoZetaOmega * second - shape.omega2 * v;
  const fourth = -shape.twoZetaOmega * third - shape.omega2 * second;
  return {
    phase: motionBound(shape, z, v),
    second: motionBound(shape, second, third),
    third: motionBound(shape, third, fourth),
  };
}

/**
 * Quadratic that stays within `tolerance` of the error over the longest stretch from `at` that the bound on the third
 * derivative allows: three Chebyshev points, rest ≤ max|e'''|·L³/192 (Chebyshev interpolation, any numerics text).
 */
export function fitError(
  shape: LoopShape,
  course: LoopCourse,
  tolerance: number,
): { readonly value: number; readonly perSecond: number; readonly perSecond2: number; readonly untilNs: Ns } {
  const { atNs } = course;
  const slope = course.need - course.side * course.stop;
  if (course.mode !== "linear") {
    return { value: course.error, perSecond: slope, perSecond2: course.needPerSecond, untilNs: NEVER };
  }
  const { third } = transientBounds(shape, course);
  const rest = restingError(shape, course);
  if (third === 0) return { value: rest, perSecond: 0, perSecond2: 0, untilNs: NEVER };
  const length = Math.max(cbrt((192 * tolerance) / third), 1e-6);
  const { z, v } = departure(shape, course);
  const half = length / 2;
  const arm = half * 0.8660254037844386; // cos(π/6): Chebyshev points of the third degree
  const early = motionAt(shape, z, v, half - arm).z;
  const middle = motionAt(shape, z, v, half).z;
  const late = motionAt(shape, z, v, half + arm).z;
  const perSecond2 = (late - 2 * middle + early) / (arm * arm);
  const slopeAtMiddle = (late - early) / (2 * arm);
  return {
    value: rest + middle - slopeAtMiddle * half + 0.5 * perSecond2 * half * half,
    perSecond: slopeAtMiddle - perSecond2 * half,
    perSecond2,
    untilNs: later(atNs, nsFromSeconds(length)),
  };
}

/**
 * Searches a condition on a linear course, monotone between the turnings of e. `canHold(bound)` says whether it still can
 * when the rest of the motion is within the bound.
 */
function searchLinear(
  shape: LoopShape,
  course: LoopCourse,
  fromNs: Ns,
  untilNs: Ns,
  holds: (t: Ns) => boolean,
  canHold: (boundOfRest: number) => boolean,
): Ns {
  const start = departure(shape, course);
  let { z, v } = motionAt(shape, start.z, start.v, secondsBetween(course.atNs, fromNs));
  let low = fromNs;
  let turning = firstTurning(shape, z, v);
  const spacing = turningSpacing(shape);
  let tau = 0;
  while (canHold(motionBound(shape, z, v))) {
    let high: Ns;
    let early = low;
    if (turning === Number.POSITIVE_INFINITY) {
      // From here on z only falls to its rest: double the stretch until it holds or nothing is left.
      const step = Math.max(2 * (low - fromNs), 1e9 / shape.omega);
      high = later(low, Math.ceil(step) as Ns);
    } else {
      // The extremum lies between two whole nanoseconds, and either may be the higher.
      high = later(fromNs, Math.ceil(turning * 1e9) as Ns);
      early = (high - 1) as Ns;
      turning += spacing;
    }
    if (high > untilNs) high = untilNs;
    for (const end of [early, high]) {
      if (end > low && end <= high && holds(end)) return firstHolding(holds, low, end);
    }
    if (high >= untilNs) return NEVER;
    const gone = secondsBetween(fromNs, high);
    ({ z, v } = motionAt(shape, z, v, gone - tau));
    tau = gone;
    low = high;
  }
  return NEVER;
}

/** First instant in (fromNs, untilNs] at which |e| is greater than the level (`outside`), or not greater (`inside`). */
export function errorCrosses(
  shape: LoopShape,
  course: LoopCourse,
  level: number,
  to: "outside" | "inside",
  fromNs: Ns,
  untilNs: Ns,
): Ns {
  if (untilNs <= fromNs) return NEVER;
  if (to === "inside") return entersWindow(shape, course, level, fromNs, untilNs);
  const holds = (t: Ns): boolean => Math.abs(pointAt(shape, course, t).error) > level;
  if (course.mode !== "linear") return searchQuadratic(course, fromNs, untilNs, holds, level);
  const rest = Math.abs(restingError(shape, course));
  // Outside is either above or below: each side is monotone between turnings, both are true on a union of ends.
  return searchLinear(shape, course, fromNs, untilNs, holds, (bound) => rest + bound > level);
}

/** Inside is a band: a fast motion may cross it whole between two turnings, so it is entered at one edge first. */
function entersWindow(shape: LoopShape, course: LoopCourse, level: number, fromNs: Ns, untilNs: Ns): Ns {
  const side = pointAt(shape, course, fromNs).error > 0 ? 1 : -1;
  const holds = (t: Ns): boolean => pointAt(shape, course, t).error * side <= level;
  if (course.mode !== "linear") return searchQuadratic(course, fromNs, untilNs, holds, level);
  const rest = restingError(shape, course) * side;
  return searchLinear(shape, course, fromNs, untilNs, holds, (bound) => rest - bound <= level && bound > 0);
}

/** As `searchLinear`, for an error that is a quadratic: stretches end at its edges and on both sides of its turning. */
function searchQuadratic(course: LoopCourse, fromNs: Ns, untilNs: Ns, holds: (t: Ns) => boolean, level: number): Ns {
  const slope = course.need - course.side * course.stop;
  let low = fromNs;
  for (const high of quadraticEdges(course, slope, level)
    .filter((instant) => instant > fromNs && instant < untilNs)
    .sort((a, b) => a - b)) {
    if (holds(high)) return firstHolding(holds, low, high);
    low = high;
  }
  return untilNs !== NEVER && holds(untilNs) ? firstHolding(holds, low, untilNs) : NEVER;
}

/** Nanoseconds at which a quadratic error is ±level or turns; a root is known to some of them, so a later one is added. */
function quadraticEdges(course: LoopCourse, slope: number, level: number): Ns[] {
  const half = 0.5 * course.needPerSecond;
  const roots = [level, -level].flatMap((target) => quadraticRoots(half, slope, course.error - target));
  const turnings = half === 0 ? [] : [-slope / course.needPerSecond];
  return [...instantsOf(course, roots, 0, 1000), ...instantsOf(course, turnings, -1, 0)];
}

/** First whole nanosecond at or after each of the times (in seconds from the course's start), moved by two steps. */
function instantsOf(course: LoopCourse, seconds: readonly number[], first: number, second: number): Ns[] {
  return seconds
    .filter((tau) => tau > -1e-6 && tau < 9e6)
    .map((tau) => course.atNs + Math.ceil(tau * 1e9))
    .flatMap((instant) => [instant + first, instant + second] as Ns[]);
}

/** Real roots of a·x² + b·x + c, stable for small a. */
export function quadraticRoots(a: number, b: number, c: number): number[] {
  const discriminant = b * b - 4 * a * c;
  if (discriminant < 0 || (a === 0 && b === 0)) return [];
  const q = -0.5 * (b + (b < 0 ? -1 : 1) * Math.sqrt(discriminant));
  const roots: number[] = [];
  if (a !== 0) roots.push(q / a);
  if (q !== 0) roots.push(c / q);
  return roots;
}

/** When the course leaves its mode, in (fromNs, untilNs]; NEVER if it does not. */
export function modeChangesAt(shape: LoopShape, course: LoopCourse, fromNs: Ns, untilNs: Ns): Ns {
  if (untilNs <= fromNs) return NEVER;
  if (course.mode === "linear") return clipsAt(shape, course, fromNs, untilNs);
  return unclipsAt(shape, course, fromNs, untilNs);
}

/**
 * First instant at which |control| = |need − z'| reaches the stop. It turns where z'' is the slope of the need, at most
 * once between two turnings of z''; and before the need is as near to the stop as z' can be large, nothing can happen.
 */
function clipsAt(shape: LoopShape, course: LoopCourse, fromNs: Ns, untilNs: Ns): Ns {
  const { need, needPerSecond: slope, stop } = course;
  const start = departure(shape, course);
  const motion = (t: Ns): { v: number; second: number; third: number } => {
    const { z, v } = motionAt(shape, start.z, start.v, secondsBetween(course.atNs, t));
    const second = -shape.twoZetaOmega * v - shape.omega2 * z;
    return { v, second, third: -shape.twoZetaOmega * second - shape.omega2 * v };
  };
  const holds = (t: Ns): boolean => {
    const point = pointAt(shape, course, t);
    return Math.abs(shape.twoZetaOmega * point.error + point.integrator) >= stop;
  };
  const isRising = (t: Ns): boolean => slope > motion(t).second;
  let low = fromNs;
  let step = 1e9 / shape.omega;
  while (low < untilNs) {
    const { v, second, third } = motion(low);
    const present = need + slope * secondsBetween(course.atNs, low);
    const bound = motionBound(shape, v, second);
    if (bound === 0 && slope === 0) return NEVER;
    if (Math.abs(present) + bound < stop) {
      const seconds =
        slope === 0 ? Number.POSITIVE_INFINITY : ((slope > 0 ? stop - bound : bound - stop) - present) / slope;
      if (seconds > 9e6) return NEVER;
      const nearNs = (low + Math.floor(seconds * 1e9)) as Ns;
      if (nearNs > low) {
        low = nearNs;
        continue;
      }
    }
    step *= 2; // where z'' turns late or never
    const length = Math.min(firstTurning(shape, second, third) * 1e9, step);
    const next = later(low, Math.max(Math.ceil(length), 1) as Ns);
    const high = next < untilNs ? next : untilNs;
    if (high === NEVER) return NEVER;
    const wasRising = isRising(low);
    const ends = [high];
    if (isRising(high) !== wasRising) {
      const turn = firstHolding((t) => isRising(t) !== wasRising, low, high);
      ends.unshift((turn - 1) as Ns, turn);
    }
    for (const end of ends) {
      if (end > low && holds(end)) return firstHolding(holds, low, end);
      low = end;
    }
  }
  return NEVER;
}

/** First instant at which a clipped or pinned course comes off its stop, or its integrator reaches the stop. */
function unclipsAt(shape: LoopShape, course: LoopCourse, fromNs: Ns, untilNs: Ns): Ns {
  const { side, stop } = course;
  const slope = course.need - side * stop;
  const holds = (t: Ns): boolean => {
    const point = pointAt(shape, course, t);
    const isPastStop = point.integrator * side >= stop && point.error * side > 0;
    return (
      side * (shape.twoZetaOmega * point.error + point.integrator) < stop || (course.mode === "clipped" && isPastStop)
    );
  };
  // Stretches on which both e and 2ζω·e + i are monotone: cut at the roots of e, e' and of 2ζω·e' + ω²·e.
  const c = course.needPerSecond;
  const { twoZetaOmega: k, omega2 } = shape;
  const cuts = [
    ...quadraticRoots(0.5 * c, slope, course.error),
    ...(c === 0 ? [] : [-slope / c]),
    ...quadraticRoots(0.5 * c * omega2, k * c + omega2 * slope, k * slope + omega2 * course.error),
  ];
  let low = fromNs;
  // A cut is known to a nanosecond or two, and past a root of e the integrator is on its way back from the stop.
  for (const high of instantsOf(course, cuts, -2, 2)
    .filter((instant) => instant > fromNs && instant < untilNs)
    .sort((a, b) => a - b)) {
    if (holds(high)) return firstHolding(holds, low, high);
    low = high;
  }
  // After the last cut all is monotone: double the stretch.
  let step = Math.max(1e9 / shape.omega, 1);
  while (low < untilNs) {
    let high = later(low, Math.ceil(step) as Ns);
    if (high > untilNs) high = untilNs;
    if (high === NEVER) return NEVER;
    if (holds(high)) return firstHolding(holds, low, high);
    low = high;
    step *= 2;
  }
  return NEVER;
}
