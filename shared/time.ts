/**
 * Time inside the simulation: whole nanoseconds since the start of the show.
 *
 * Whole numbers, because a wake must find its own condition true: with seconds in floating point a crossing that a
 * formula predicts is often still ahead at the predicted instant, and a run hangs on it. Elapsed time is an exact
 * integer difference, turned into seconds once. 2^53 ns is 104 days; anything later is {@link NEVER}.
 */

/** An instant or a duration in whole nanoseconds, below 2^53. */
export type Ns = number & { readonly unit: "ns" };

/** Later than anything: nothing is due. */
export const NEVER = Number.MAX_SAFE_INTEGER as Ns;
export const ZERO = 0 as Ns;

const NS_PER_SECOND = 1e9;

/** Nearest whole nanosecond; saturates at {@link NEVER}. */
export function nsFromSeconds(seconds: number): Ns {
  const ns = Math.round(seconds * NS_PER_SECOND);
  return (ns < NEVER ? ns : NEVER) as Ns;
}

export function secondsFromNs(ns: Ns): number {
  return ns / NS_PER_SECOND;
}

/** `at` plus a duration; saturates at {@link NEVER}. */
export function later(at: Ns, by: Ns): Ns {
  const sum = at + by;
  return (sum < NEVER ? sum : NEVER) as Ns;
}

/** Seconds from one instant to another, from the exact integer difference. */
export function secondsBetween(from: Ns, to: Ns): number {
  return (to - from) / NS_PER_SECOND;
}

export function earliest(a: Ns, b: Ns): Ns {
  return a < b ? a : b;
}
