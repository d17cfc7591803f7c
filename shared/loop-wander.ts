/** The wander of a loop from some instant on: how it is said, and what bounds it before any of it is computed. */
import type { Ringing } from "./motion.ts";
import { ringShrink } from "./motion.ts";
import type { Limits, OwnWander } from "./own-wander.ts";
import { ownLimits, STEADY } from "./own-wander.ts";
import type { Ns } from "./time.ts";
import { later, nsFromSeconds, ZERO } from "./time.ts";
import type { LoopWander, Wander } from "./wander.ts";
import { beginning, REMEMBERED, slowestOf, wanderAt } from "./wander.ts";

/** Norms that bound what a loop makes of wander; all derived from the impulse response r of 1/(s² + 2ζωs + ω²). */
interface LoopNorms {
  /** Of the loop's own impulse response. */
  readonly l1Norm: number;
  /** Greatest value of r, in seconds. */
  readonly impulsePeakSeconds: number;
}

/**
 * A loop's wander from `fromNs` on; null where nothing wanders. `before`: what the same loop put out until now, with
 * which it goes on; null: it stands on what arrives and is as fast.
 */
export function loopWander(
  loop: Ringing & LoopNorms,
  reference: Wander | null,
  own: OwnWander | null,
  fromNs: Ns,
  before: LoopWander | null,
  control: LoopWander["control"],
): LoopWander | null {
  const gridNs = reference?.gridNs ?? own?.gridNs;
  if (gridNs === undefined) return null;
  if (reference?.kind === "loop" && reference.fromNs > fromNs)
    throw new RangeError(`a loop cannot follow from ${fromNs} ns what begins at ${reference.fromNs} ns`);
  const { omega, zeta, omega2, twoZetaOmega, split } = loop;
  const grid = gridNs / 1e9;
  const theirs = reference === null ? STEADY : reference.kind === "own" ? ownLimits(reference) : reference.limits;
  const ours = own === null ? STEADY : ownLimits(own);
  const bounds = loopBounds(loop, grid, theirs, ours);
  const wander: LoopWander = {
    kind: "loop",
    gridNs,
    loop: { omega, zeta, omega2, twoZetaOmega, split },
    reference,
    own,
    fromNs,
    before,
    control,
    errorBound: control === "closed" ? bounds.error : Number.POSITIVE_INFINITY,
    // What leaves an open loop is its own oscillator's, from where it stood.
    limits: control === "closed" ? bounds.limits : ours,
    l1Norm: loop.l1Norm,
    left: NOTHING_LEFT,
    chordBound: bounds.chord,
  };
  if (control !== "closed") return wander;
  const untilNs = later(fromNs, nsFromSeconds(REMEMBERED / slowestOf(loop)));
  const upstream = reference?.kind === "loop" ? reference.left : NOTHING_LEFT;
  // What is left in what arrives passes the loop as any phase does.
  const arrives = upstream.untilNs > fromNs ? (1 + loop.l1Norm) * upstream.seconds : 0;
  const seconds = arrives + (before === null ? 0 : beganOff(loop, wander, before));
  if (seconds === 0) return wander;
  const lastNs = arrives === 0 ? untilNs : later(upstream.untilNs, (untilNs - fromNs) as Ns);
  return { ...wander, left: { seconds, untilNs: lastNs } };
}

/** What a loop that goes on may be off by more than by its own bound, in seconds. */
function beganOff(loop: LoopNorms, wander: LoopWander, before: LoopWander): number {
  const { fromNs, reference, errorBound } = wander;
  if (before.control === "closed")
    return Math.max(0, errorBoundAt(before, fromNs) - errorBound) + jumpOf(before.reference, reference, fromNs);
  // What an open loop has gathered is not bounded beforehand, but it is known now, and dies away.
  const { error, rate } = beginning(wander);
  return Math.abs(error) + Math.abs(rate + wander.loop.zeta * wander.loop.omega * error) * loop.impulsePeakSeconds;
}

const NOTHING_LEFT = { seconds: 0, untilNs: ZERO };

/** No |e| of a loop is greater from an instant on, in seconds. */
export function errorBoundAt({ errorBound, left }: LoopWander, at: Ns): number {
  return at < left.untilNs ? errorBound + left.seconds : errorBound;
}

/** Phase by which what arrives jumps in being replaced: none where the new one goes on from the old. */
function jumpOf(old: Wander | null, next: Wander | null, at: Ns): number {
  // A device may have changed several things in one instant.
  for (let each = next; each !== null; each = each.kind === "loop" ? each.before : null) {
    if (each === old) return 0;
    if (each.kind === "loop" && old?.kind === "loop" && each.fromNs < old.fromNs) break;
  }
  return Math.abs(wanderAt(next, at) - wanderAt(old, at));
}

function loopBounds(
  loop: Ringing & LoopNorms,
  grid: number,
  theirs: Limits,
  ours: Limits,
): { error: number; limits: Limits; chord: number } {
  const { zeta, omega2, twoZetaOmega, l1Norm, impulsePeakSeconds: peak } = loop;
  const shrink = ringShrink(zeta);
  const area = (1 + shrink) / ((1 - shrink) * omega2); // ∫|r|
  const variation = (2 * peak) / (1 - shrink); // ∫|r'|
  const slope = theirs.slope + ours.slope;
  const kink = theirs.kink + ours.kink;
  // e answers a slope with r', and a kink with r: a sum of |r| over knots is at most its integral plus its variation.
  const error = slope * variation + kink * (area / grid + variation);
  const rate = slope * (1 + l1Norm) + kink * (variation / grid + 1 + 2 / (1 - shrink));
  return {
    error,
    limits: {
      slope: l1Norm * theirs.slope + (1 + l1Norm) * ours.slope,
      kink: l1Norm * theirs.kink + (1 + l1Norm) * ours.kink,
    },
    // |e''| ≤ 2ζω·|e'| + ω²·|e|; a chord over T leaves out at most max|e''|·T²/8, and never more than twice the whole.
    chord: Math.min(2 * error, ((twoZetaOmega * rate + omega2 * error) * grid * grid) / 8),
  };
}
