/**
 * Slips on a curve of fill, in closed form: how many there were by an instant, and when each was.
 *
 * F(t) is the fill with slips left out, n = drops − repeats so far. A drop falls when F − slip·n reaches the depth, a
 * repeat when it reaches 0: F alone decides, so nothing is ever snapped. On a stretch where F only rises (or only
 * falls) the slips are one train: the k-th drop at the first whole nanosecond with F ≥ depth + slip·(n + k − 1), the
 * k-th repeat at F ≤ slip·(n − k + 1).
 *
 * Wander bends F at every knot. Where the smooth part is faster than wander is steep a train goes on through the knots;
 * where it is not, each slip is a train of its own.
 */
import type { Fact, FillCurve, FillWander } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { earliest, NEVER, secondsBetween } from "../shared/time.ts";
import { slopeAt, slopesFrom, wanderAt } from "../shared/wander.ts";
import { aheadAtKnots, aheadFrom } from "../shared/wander-ahead.ts";
import { settleGuess } from "./crossing.ts";
import { quadraticRoots } from "./loop.ts";

export type Train = Extract<Fact, { kind: "slips" }>;

/** The polynomial alone. */
function smoothAt(curve: FillCurve, at: Ns): number {
  const tau = secondsBetween(curve.atNs, at);
  return curve.samples + tau * (curve.perSecond + 0.5 * curve.perSecond2 * tau);
}

/** The last fill with wander in it that was asked for: whoever wakes asks several times. */
let asked: { readonly curve: FillCurve; readonly at: Ns; readonly fill: number } | null = null;

export function fillAt(curve: FillCurve, at: Ns): number {
  const smooth = smoothAt(curve, at);
  const { wander } = curve;
  if (wander === null) return smooth;
  if (asked?.curve === curve && asked.at === at) return asked.fill;
  const ahead = wanderAt(wander.theirs, at) - wanderAt(wander.own, at) - wander.startSeconds;
  const fill = smooth + wander.samplesPerSecond * ahead;
  asked = { curve, at, fill };
  return fill;
}

export function fillRateAt(curve: FillCurve, at: Ns): number {
  const smooth = smoothRateAt(curve, at);
  const { wander } = curve;
  return wander === null
    ? smooth
    : smooth + wander.samplesPerSecond * (slopeAt(wander.theirs, at) - slopeAt(wander.own, at));
}

function smoothRateAt(curve: FillCurve, at: Ns): number {
  return curve.perSecond + curve.perSecond2 * secondsBetween(curve.atNs, at);
}

/** When the smooth part of a curve turns, after `fromNs`; NEVER if it does not. */
export function turnsAt(curve: FillCurve, fromNs: Ns): Ns {
  if (curve.perSecond2 === 0) return NEVER;
  const at = curve.atNs + Math.round((-curve.perSecond / curve.perSecond2) * 1e9);
  return at > fromNs && at < NEVER ? (at as Ns) : NEVER;
}

/**
 * Until when a curve that goes up (sign 1) or down at `fromNs` is certain to go on so; `fromNs` if it is not. Wander is
 * looked at block by block of its knots: where the smooth part is faster than it is steep, nothing turns.
 */
export function goesOnUntil(curve: FillCurve, sign: 1 | -1, fromNs: Ns): Ns {
  const { wander } = curve;
  if (wander === null) return fillRateAt(curve, fromNs) * sign > 0 ? turnsAt(curve, fromNs) : fromNs;
  const { least, most, toNs } = wanderRates(wander, fromNs);
  const against = sign === 1 ? -least : most;
  if (smoothRateAt(curve, fromNs) * sign <= against) return fromNs;
  if (smoothRateAt(curve, toNs) * sign > against) return toNs;
  const seconds = (against * sign - smoothRateAt(curve, fromNs)) / curve.perSecond2;
  return (fromNs + Math.floor(seconds * 1e9)) as Ns;
}

/** Rates that wander can give a fill, in samples a second, and until when that is known. */
function wanderRates({ theirs, own, samplesPerSecond }: FillWander, at: Ns): { least: number; most: number; toNs: Ns } {
  const one = slopesFrom(theirs, at);
  const other = slopesFrom(own, at);
  const middle = one.middle - other.middle;
  const spread = one.spread + other.spread;
  return {
    least: samplesPerSecond * (middle - spread),
    most: samplesPerSecond * (middle + spread),
    toNs: one.toNs < other.toNs ? one.toNs : other.toNs,
  };
}

/** What wander can add to a fill, in samples, from an instant until another: a straight line, and how far from it. */
export interface FillBand {
  readonly of: FillWander;
  readonly atNs: Ns;
  readonly samples: number;
  readonly perSecond: number;
  /** At most 0, and at least 0. */
  readonly below: number;
  readonly above: number;
  readonly toNs: Ns;
  /** From when on a closer one can be had. */
  readonly closerNs: Ns;
}

/** More than rounding makes of a fill, in samples, and nothing that anybody would wait for. */
const ROUNDING_SAMPLES = 1e-9;

export function bandOf(wander: FillWander, at: Ns, over: "block" | "part"): FillBand {
  const { theirs, own, samplesPerSecond, startSeconds } = wander;
  const { phase, slope, below, above, toNs, closerNs } = aheadFrom(theirs, own, at, over);
  return {
    of: wander,
    atNs: at,
    samples: samplesPerSecond * (phase - startSeconds),
    perSecond: samplesPerSecond * slope,
    below: samplesPerSecond * below - ROUNDING_SAMPLES,
    above: samplesPerSecond * above + ROUNDING_SAMPLES,
    toNs,
    closerNs,
  };
}

/** Until when a fill is certain to be between two levels, as far as a band goes; `at` if it is not now. */
export function staysUntil(curve: FillCurve, band: FillBand, above: number, below: number, at: Ns): Ns {
  const fill = smoothAt(curve, at) + band.samples + band.perSecond * secondsBetween(band.atNs, at);
  const perSecond = smoothRateAt(curve, at) + band.perSecond;
  const half = 0.5 * curve.perSecond2;
  const up = above - band.above - fill;
  const down = fill + band.below - below;
  if (up <= 0 || down <= 0) return at;
  const until = at + Math.floor(1e9 * Math.min(climbs(up, perSecond, half), climbs(down, -perSecond, -half)));
  return (until < band.toNs ? until : band.toNs) as Ns;
}

/** Seconds in which b·τ + a·τ² has climbed so far, above 0; Infinity if it never does. */
function climbs(far: number, b: number, a: number): number {
  const discriminant = b * b + 4 * a * far;
  if (discriminant < 0) return Number.POSITIVE_INFINITY;
  const twice = b + Math.sqrt(discriminant);
  return twice > 0 ? (2 * far) / twice : Number.POSITIVE_INFINITY;
}

/** Knots that are looked through at a time where a level is near. */
const KNOTS_AHEAD = 32;

/**
 * The next instant worth a look, from `fromNs` and up to `untilNs`: one at which F is at the upper level or beyond, or at
 * the lower one, or with wander one up to which it is not, found in so many steps. NEVER if there is none. `band`: of the
 * curve's wander, if it has any.
 */
export function nextLook(
  curve: FillCurve,
  band: FillBand | null,
  above: number,
  below: number,
  fromNs: Ns,
  untilNs: Ns,
  steps: number,
): Ns {
  const { wander } = curve;
  if (wander === null || band === null) {
    const present = smoothAt(curve, fromNs);
    return present >= above || present <= below ? fromNs : smoothLook(curve, above, below, fromNs, untilNs);
  }
  let at = fromNs;
  for (let step = 0; step < steps && at < untilNs; step++) {
    // Where chance cannot bridge what is left, not even over a block of knots.
    const far = staysUntil(curve, band, above, below, at);
    if (far > at) {
      if (far >= band.toNs || steps === 1) return earliest(far, untilNs);
      at = far;
      continue;
    }
    const further = staysUntil(curve, bandOf(wander, at, "part"), above, below, at);
    if (further > at) {
      at = further;
      continue;
    }
    const fill = fillAt(curve, at);
    if (isBeyond(fill, above, below)) return at;
    at = throughKnots(curve, wander, fill, above, below, at, untilNs);
  }
  return earliest(at, untilNs);
}

/** At a level or past it. */
function isBeyond(fill: number, above: number, below: number): boolean {
  return fill >= above || fill <= below;
}

/** How far one clock's wander is ahead of the other's at the knots that are looked through. */
const AHEAD = new Float64Array(2 * KNOTS_AHEAD);

/**
 * First instant after `fromNs` at which F is at a level, being short of both there; without one the knot up to which
 * there is none, or `untilNs`. Between two knots F is a quadratic.
 */
function throughKnots(
  curve: FillCurve,
  wander: FillWander,
  fill: number,
  above: number,
  below: number,
  fromNs: Ns,
  untilNs: Ns,
): Ns {
  const { theirs, own, samplesPerSecond, startSeconds } = wander;
  const gridNs = (theirs ?? own)?.gridNs ?? NEVER;
  const grid = gridNs / 1e9;
  const first = Math.floor(fromNs / gridNs) + 1;
  const last = (Math.floor(first / KNOTS_AHEAD) + 1) * KNOTS_AHEAD;
  aheadAtKnots(theirs, own, first, last, AHEAD);
  const bow = (Math.abs(curve.perSecond2) * grid * grid) / 8 + ROUNDING_SAMPLES;
  let from = fromNs;
  let here = fill;
  for (let knot = first; knot <= last; knot++) {
    const knotNs = (knot * gridNs) as Ns;
    const ahead = AHEAD[knot - first] as number;
    const next = smoothAt(curve, knotNs) + samplesPerSecond * (ahead - startSeconds);
    if (Math.max(here, next) + bow >= above || Math.min(here, next) - bow <= below) {
      const slope =
        knot === first
          ? slopeAt(theirs, from) - slopeAt(own, from)
          : (ahead - (AHEAD[knot - first - 1] as number)) / grid;
      const perSecond = smoothRateAt(curve, from) + samplesPerSecond * slope;
      const local = { atNs: from, samples: here, perSecond, perSecond2: curve.perSecond2, wander: null };
      const stop = earliest(knotNs, untilNs);
      const found = smoothLook(local, above, below, from, stop);
      if (found <= stop) {
        const isThere = (t: Ns): boolean => isBeyond(fillAt(curve, t), above, below);
        return settleGuess(isThere, found, from, stop);
      }
    }
    if (knotNs >= untilNs) return untilNs;
    from = knotNs;
    here = next;
  }
  return from;
}

/** First instant at which the smooth part is at either level; NEVER if there is none. */
function smoothLook(curve: FillCurve, above: number, below: number, fromNs: Ns, untilNs: Ns): Ns {
  const up = reachesOn(curve, above, 1, fromNs, untilNs, (t) => smoothAt(curve, t) >= above);
  const down = reachesOn(curve, below, -1, fromNs, up < untilNs ? up : untilNs, (t) => smoothAt(curve, t) <= below);
  return down < up ? down : up;
}

/**
 * First instant after `fromNs` and up to `untilNs` at which a smooth F is at the level or beyond it: above for sign 1,
 * below for −1. NEVER if there is none. F must be short of the level at `fromNs`.
 */
export function reachesAt(curve: FillCurve, level: number, sign: 1 | -1, fromNs: Ns, untilNs: Ns): Ns {
  return reachesOn(curve, level, sign, fromNs, untilNs, (t) => (fillAt(curve, t) - level) * sign >= 0);
}

/** The quadratic guesses, `holds` decides. */
function reachesOn(
  curve: FillCurve,
  level: number,
  sign: 1 | -1,
  fromNs: Ns,
  untilNs: Ns,
  holds: (t: Ns) => boolean,
): Ns {
  if (smoothRateAt(curve, fromNs) * sign <= 0 && curve.perSecond2 * sign <= 0) return NEVER; // goes away, for good
  const turning = turnsAt(curve, fromNs);
  let low = fromNs;
  if (turning < untilNs) {
    if (holds(turning)) return settleGuess(holds, guessOf(curve, level, low) ?? low, low, turning);
    low = turning;
  }
  if (untilNs !== NEVER)
    return holds(untilNs) ? settleGuess(holds, guessOf(curve, level, low) ?? low, low, untilNs) : NEVER;
  // Without an end to look at, one past the guess: a root just behind `low` has the curve going away from the level.
  const guess = guessOf(curve, level, low);
  const end = guess === null ? NEVER : ((Math.ceil(guess * (1 + 1e-9)) + 1e6) as Ns);
  return guess !== null && holds(end) ? settleGuess(holds, guess, low, end) : NEVER;
}

/** Nanosecond at which the formula has F at the level, after `lowNs`; null if never. */
function guessOf(curve: FillCurve, level: number, lowNs: Ns): number | null {
  let best: number | null = null;
  for (const tau of quadraticRoots(0.5 * curve.perSecond2, curve.perSecond, curve.samples - level)) {
    const at = curve.atNs + tau * 1e9;
    if (at > lowNs - 1 && at < NEVER && (best === null || at < best)) best = at;
  }
  return best;
}

/** Level of F at the k-th slip (from 1) of a train. */
function levelOf(train: Pick<Train, "sign" | "slipSamples" | "depthSamples" | "netBefore">, k: number): number {
  return train.sign === 1
    ? train.depthSamples + train.slipSamples * (train.netBefore + k - 1)
    : train.slipSamples * (train.netBefore - k + 1);
}

/** Slips of a train up to and including an instant on its curve. */
export function countBy(
  train: Pick<Train, "sign" | "slipSamples" | "depthSamples" | "netBefore" | "curve">,
  at: Ns,
): number {
  const fill = fillAt(train.curve, at);
  const estimate = ((fill - levelOf(train, 1)) * train.sign) / train.slipSamples + 1;
  let count = Math.max(0, Math.floor(estimate));
  // The estimate divides; the law compares. Settle on the law.
  while (count > 0 && (fill - levelOf(train, count)) * train.sign < 0) count -= 1;
  while ((fill - levelOf(train, count + 1)) * train.sign >= 0) count += 1;
  return count;
}

/** Instant of the k-th slip of a train, from 1. */
export function slipAt(train: Train, k: number): Ns {
  if (k === 1) return train.fromNs;
  const { curve, sign, fromNs, toNs } = train;
  const level = levelOf(train, k);
  const before = (fromNs - 1) as Ns;
  if (curve.wander === null) return reachesAt(curve, level, sign, before, toNs);
  // Within a train F goes one way only, wander included.
  const { samplesPerSecond, startSeconds } = curve.wander;
  const guess = guessOf(curve, level + samplesPerSecond * startSeconds, before);
  return settleGuess((t) => (fillAt(curve, t) - level) * sign >= 0, guess ?? before, before, toNs);
}

/** Instants of the slips of a train inside [fromNs, toNs], in order; at most `limit` of them. */
export function slipInstants(train: Train, fromNs: Ns, toNs: Ns, limit = Number.MAX_SAFE_INTEGER): Ns[] {
  const instants: Ns[] = [];
  if (toNs < train.fromNs || fromNs > train.toNs) return instants;
  const end = toNs < train.toNs ? toNs : train.toNs;
  const first = fromNs > train.fromNs ? countBy(train, (fromNs - 1) as Ns) + 1 : 1;
  for (let k = first; k <= train.count && instants.length < limit; k++) {
    const at = slipAt(train, k);
    if (at > end) break;
    instants.push(at);
  }
  return instants;
}
