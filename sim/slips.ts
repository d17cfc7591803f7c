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
import { NEVER, secondsBetween } from "../shared/time.ts";
import { apartBound, apartFrom, slopeAt, slopesFrom, wanderAt } from "../shared/wander.ts";
import { settleGuess } from "./crossing.ts";
import { quadraticRoots } from "./loop.ts";

export type Train = Extract<Fact, { kind: "slips" }>;

/** The polynomial alone. */
function smoothAt(curve: FillCurve, at: Ns): number {
  const tau = secondsBetween(curve.atNs, at);
  return curve.samples + tau * (curve.perSecond + 0.5 * curve.perSecond2 * tau);
}

export function fillAt(curve: FillCurve, at: Ns): number {
  const smooth = smoothAt(curve, at);
  const { wander } = curve;
  if (wander === null) return smooth;
  return (
    smooth + wander.samplesPerSecond * (wanderAt(wander.theirs, at) - wanderAt(wander.own, at) - wander.startSeconds)
  );
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

/**
 * The next instant worth a look, from `fromNs` and up to `untilNs`: one at which F is at the upper level or beyond, or at
 * the lower one, or with wander one up to which it is not, found in so many steps. NEVER if there is none.
 */
export function nextLook(curve: FillCurve, above: number, below: number, fromNs: Ns, untilNs: Ns, steps: number): Ns {
  const { wander } = curve;
  const present = smoothAt(curve, fromNs);
  if (wander === null) {
    return present >= above || present <= below ? fromNs : smoothLook(curve, above, below, fromNs, untilNs);
  }
  // Levels for the polynomial alone, with the two ends as far apart as without wander.
  const shift = wander.samplesPerSecond * wander.startSeconds;
  const high = above + shift;
  const low = below + shift;
  const reach = wander.samplesPerSecond * apartBound(wander.theirs, wander.own, fromNs);
  // Chance alone cannot bridge what is left until the smooth part has come this near.
  if (present + reach < high && present - reach > low)
    return smoothLook(curve, high - reach, low + reach, fromNs, untilNs);
  const close = apartFrom(wander.theirs, wander.own, fromNs);
  const near = wander.samplesPerSecond * close.seconds;
  if (present + near < high && present - near > low) {
    const stop = close.toNs < untilNs ? close.toNs : untilNs;
    const found = smoothLook(curve, high - near, low + near, fromNs, stop);
    return found < stop ? found : stop;
  }
  const fill = fillAt(curve, fromNs);
  if (fill >= above || fill <= below) return fromNs;
  // As far as F cannot have gone: there it is looked at again. In the last interval between knots it is a quadratic.
  const { least, most, toNs } = wanderRates(wander, fromNs);
  const end = toNs < untilNs ? toNs : untilNs;
  const rate = smoothRateAt(curve, fromNs);
  const lastRate = smoothRateAt(curve, end);
  const rising = Math.max(rate, lastRate) + most;
  const falling = -Math.min(rate, lastRate) - least;
  const up = rising > 0 ? (above - fill) / rising : Number.POSITIVE_INFINITY;
  const down = falling > 0 ? (fill - below) / falling : Number.POSITIVE_INFINITY;
  const safe = fromNs + Math.floor(Math.min(up, down, secondsBetween(fromNs, end)) * 1e9);
  const gridNs = (wander.theirs ?? wander.own)?.gridNs ?? NEVER;
  const knotNs = (Math.floor(fromNs / gridNs) + 1) * gridNs;
  const goOn = (at: Ns): Ns => (steps > 1 && at < end ? nextLook(curve, above, below, at, untilNs, steps - 1) : at);
  if (safe > knotNs) return goOn(safe as Ns);
  const stop = (knotNs < end ? knotNs : end) as Ns;
  const perSecond = rate + wander.samplesPerSecond * (slopeAt(wander.theirs, fromNs) - slopeAt(wander.own, fromNs));
  const local = { atNs: fromNs, samples: fill, perSecond, perSecond2: curve.perSecond2, wander: null };
  const rises = reachesOn(local, above, 1, fromNs, stop, (t) => fillAt(curve, t) >= above);
  const falls = reachesOn(local, below, -1, fromNs, stop, (t) => fillAt(curve, t) <= below);
  const found = falls < rises ? falls : rises;
  return found <= stop ? found : goOn(stop);
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
  for (const high of turning < untilNs ? [turning, untilNs] : [untilNs]) {
    const guess = guessOf(curve, level, low);
    // Without an end to look at, one past the guess: a root just behind `low` has the curve going away from the level.
    const end = high !== NEVER || guess === null ? high : ((Math.ceil(guess * (1 + 1e-9)) + 1e6) as Ns);
    if (end !== NEVER && holds(end)) return settleGuess(holds, guess ?? low, low, end);
    low = high;
  }
  return NEVER;
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
