/** How far one wander can be ahead of another, without more being computed of either than the answer needs. */

import { errorBoundAt } from "./loop-wander.ts";
import type { OwnWander } from "./own-wander.ts";
import { BLOCK, ownPart, ownSummary, PART } from "./own-wander.ts";
import type { Ns } from "./time.ts";
import { earliest, NEVER } from "./time.ts";
import type { LoopWander, Wander } from "./wander.ts";
import { blockOf, chunkAt, isSameWander, knotPhases, scratch, scratches, wanderAt } from "./wander.ts";

/** A straight line from an instant until another, and how far what is meant can go from it, in seconds. */
interface Band {
  readonly phase: number;
  readonly slope: number;
  /** At most 0, and at least 0. */
  readonly below: number;
  readonly above: number;
  readonly toNs: Ns;
  /** From when on a closer one can be had; never later than `toNs`. */
  readonly closerNs: Ns;
}

/**
 * How far one wander is ahead of another, from an instant on: for the rest of a block of their oscillators' knots, judged
 * without running a loop, or more closely for the rest of a part of it.
 */
export function aheadFrom(one: Wander | null, other: Wander | null, at: Ns, over: "block" | "part"): Band {
  const reach = apartBound(one, other, at);
  if (reach < Number.POSITIVE_INFINITY) {
    if (over === "part") {
      const { seconds, toNs } = apartFrom(one, other, at);
      return { phase: 0, slope: 0, below: -seconds, above: seconds, toNs, closerNs: toNs };
    }
    // What is left of how a loop began only grows less: the band holds on, but later a closer one will do.
    const closerNs = earliest(leftUntil(one, at), leftUntil(other, at));
    return { phase: 0, slope: 0, below: -reach, above: reach, toNs: NEVER, closerNs };
  }
  const first = bandFrom(one, at, over);
  const second = bandFrom(other, at, over);
  const toNs = earliest(first.toNs, second.toNs);
  return {
    phase: first.phase - second.phase,
    slope: first.slope - second.slope,
    below: first.below - second.above,
    above: first.above - second.below,
    toNs,
    closerNs: toNs,
  };
}

/** When the next of the loops that a wander comes through has forgotten how it began; NEVER if all have. */
function leftUntil(wander: Wander | null, at: Ns): Ns {
  let untilNs = NEVER;
  for (let of = wander; of?.kind === "loop"; of = of.reference)
    if (at < of.left.untilNs) untilNs = earliest(untilNs, of.left.untilNs);
  return untilNs;
}

function bandFrom(wander: Wander | null, at: Ns, over: "block" | "part"): Omit<Band, "closerNs"> {
  let loose = 0;
  let shift = 0;
  let of = wander;
  while (of?.kind === "loop") {
    if (of.control === "closed") {
      loose += errorBoundAt(of, at);
      of = of.reference;
    } else {
      shift += aheadOfOwn(of);
      of = of.own;
    }
  }
  if (of === null) return { phase: shift, slope: 0, below: -loose, above: loose, toNs: NEVER };
  const { gridNs } = of;
  const knot = Math.floor(at / gridNs);
  const index = blockOf(knot);
  const length = over === "block" ? BLOCK : PART;
  const first = Math.floor(knot / length) * length;
  const { phase, slope, below, above } =
    over === "block" ? ownSummary(of, index) : ownPart(of, index, (first - index * BLOCK) / PART);
  return {
    phase: shift + phase + (slope * (at - first * gridNs)) / 1e9,
    slope,
    below: below - loose,
    above: above + loose,
    toNs: ((first + length) * gridNs) as Ns,
  };
}

const aheads = new WeakMap<LoopWander, number>();

/** What an open loop puts out is its own oscillator's wander, from where it stood. */
function aheadOfOwn(wander: LoopWander): number {
  const known = aheads.get(wander);
  if (known !== undefined) return known;
  const { fromNs, own } = wander;
  const ahead = wanderAt(wander, fromNs) - wanderAt(own, fromNs);
  aheads.set(wander, ahead);
  return ahead;
}

/** Writes how far one wander is ahead of another at the knots `first … last` to an array; none before either begins. */
export function aheadAtKnots(
  one: Wander | null,
  other: Wander | null,
  first: number,
  last: number,
  to: Float64Array,
): void {
  const count = last - first + 1;
  const others = scratch(count);
  knotPhases(one, first, last, to);
  knotPhases(other, first, last, others);
  for (let k = 0; k < count; k++) to[k] = (to[k] as number) - (others[k] as number);
  scratches.push(others);
}

/**
 * How far two wanders can ever be apart from an instant on, in seconds: finite where both come from one oscillator
 * through loops, since then only what the loops leave over counts.
 */
export function apartBound(one: Wander | null, other: Wander | null, at: Ns): number {
  return sumToRoot(one, other, (loop) => errorBoundAt(loop, at));
}

/** How far two wanders are apart from an instant until another, in seconds: closer, at the price of running the loops. */
export function apartFrom(
  one: Wander | null,
  other: Wander | null,
  at: Ns,
): { readonly seconds: number; readonly toNs: Ns } {
  let toNs = NEVER;
  const seconds = sumToRoot(one, other, (loop) => {
    const knot = Math.max(Math.floor(at / loop.gridNs), Math.ceil(loop.fromNs / loop.gridNs));
    const { first, length, largest } = chunkAt(loop, knot);
    const endNs = ((first + length) * loop.gridNs) as Ns;
    if (endNs < toNs) toNs = endNs;
    return largest;
  });
  return { seconds, toNs };
}

/** Adds up what each loop on the ways to a common root leaves over; Infinity if there is none. */
function sumToRoot(one: Wander | null, other: Wander | null, leftOver: (loop: LoopWander) => number): number {
  // The common case: a device and what it follows.
  if (other?.kind === "loop" && other.reference === one) return leftOver(other);
  if (one?.kind === "loop" && one.reference === other) return leftOver(one);
  if (!isSameWander(rootOf(one), rootOf(other))) return Number.POSITIVE_INFINITY;
  const passed: Wander[] = [];
  for (let at = one; at?.kind === "loop"; at = at.reference) passed.push(at);
  let sum = 0;
  let met = passed.length;
  for (let at = other; at?.kind === "loop"; at = at.reference) {
    const index = passed.indexOf(at);
    if (index >= 0) {
      met = index;
      break;
    }
    sum += leftOver(at);
  }
  for (const each of passed.slice(0, met)) sum += leftOver(each as LoopWander);
  return sum;
}

function rootOf(wander: Wander | null): OwnWander | null {
  let at = wander;
  while (at?.kind === "loop") at = at.reference;
  return at;
}
