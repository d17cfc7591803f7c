/**
 * Slips on a curve of fill, in closed form: how many there were by an instant, and when each was.
 *
 * F(t) is the fill with slips left out, n = drops − repeats so far. A drop falls when F − slip·n reaches the depth, a
 * repeat when it reaches 0: F alone decides, so nothing is ever snapped. On a stretch where F only rises (or only
 * falls) the slips are one train: the k-th drop at the first whole nanosecond with F ≥ depth + slip·(n + k − 1), the
 * k-th repeat at F ≤ slip·(n − k + 1).
 */
import type { Fact, FillCurve } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { NEVER, secondsBetween } from "../shared/time.ts";
import { settleGuess } from "./crossing.ts";
import { quadraticRoots } from "./loop.ts";

export type Train = Extract<Fact, { kind: "slips" }>;

export function fillAt(curve: FillCurve, at: Ns): number {
  const tau = secondsBetween(curve.atNs, at);
  return curve.samples + tau * (curve.perSecond + 0.5 * curve.perSecond2 * tau);
}

export function fillRateAt(curve: FillCurve, at: Ns): number {
  return curve.perSecond + curve.perSecond2 * secondsBetween(curve.atNs, at);
}

/** When the curve turns, after `fromNs`; NEVER if it does not. */
export function turnsAt(curve: FillCurve, fromNs: Ns): Ns {
  if (curve.perSecond2 === 0) return NEVER;
  const at = curve.atNs + Math.round((-curve.perSecond / curve.perSecond2) * 1e9);
  return at > fromNs && at < NEVER ? (at as Ns) : NEVER;
}

/**
 * First instant after `fromNs` and up to `untilNs` at which F is at the level or beyond it: above for sign 1, below for
 * −1. NEVER if there is none. F must be short of the level at `fromNs`.
 */
export function reachesAt(curve: FillCurve, level: number, sign: 1 | -1, fromNs: Ns, untilNs: Ns): Ns {
  if (fillRateAt(curve, fromNs) * sign <= 0 && curve.perSecond2 * sign <= 0) return NEVER; // goes away, for good
  const holds = (t: Ns): boolean => (fillAt(curve, t) - level) * sign >= 0;
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
  return reachesAt(train.curve, levelOf(train, k), train.sign, (train.fromNs - 1) as Ns, train.toNs);
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
