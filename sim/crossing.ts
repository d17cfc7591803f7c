/**
 * Crossings on whole nanoseconds: formulas guess, a search on integers settles.
 *
 * A crossing is the whole nanosecond at which a condition holds and at the one before it does not. Callers cut time into
 * stretches on which the condition changes at most once, so that a graze between two samples cannot be missed.
 */
import type { Ns } from "../shared/time.ts";

/** First instant in (low, high] at which `holds`, given that it does at `high` and changes once at the most. */
export function firstHolding(holds: (t: Ns) => boolean, low: Ns, high: Ns): Ns {
  let before: number = low;
  let at: number = high;
  while (at - before > 1) {
    const middle = Math.floor((before + at) / 2);
    if (holds(middle as Ns)) at = middle;
    else before = middle;
  }
  return at as Ns;
}

/** As {@link firstHolding}, starting from a guess that is usually within some nanoseconds. */
export function settleGuess(holds: (t: Ns) => boolean, guess: number, low: Ns, high: Ns): Ns {
  let step = 1;
  let at = Math.min(Math.max(Math.round(guess), low + 1), high);
  if (holds(at as Ns)) {
    let before = at - step;
    while (before > low && holds(before as Ns)) {
      at = before;
      step *= 8;
      before -= step;
    }
    return firstHolding(holds, Math.max(before, low) as Ns, at as Ns);
  }
  let before = at;
  at += step;
  while (at < high && !holds(at as Ns)) {
    before = at;
    step *= 8;
    at += step;
  }
  return firstHolding(holds, before as Ns, Math.min(at, high) as Ns);
}

/**
 * How long |a + b·τ + ½·c·τ² + d·τ³/6| can stay below the room, judged by a bound and not by a root: each of the three
 * growing terms gets a third of what is left. Seconds; Infinity if nothing grows, 0 if there is no room.
 */
export function safeSeconds(
  room: number,
  a: number,
  b: number,
  c: number,
  d: number,
  cubeRoot: (x: number) => number,
): number {
  const third = (room - Math.abs(a)) / 3;
  if (third <= 0) return 0;
  let seconds = Number.POSITIVE_INFINITY;
  if (b !== 0) seconds = third / Math.abs(b);
  if (c !== 0) seconds = Math.min(seconds, Math.sqrt((2 * third) / Math.abs(c)));
  if (d !== 0) seconds = Math.min(seconds, cubeRoot((6 * third) / Math.abs(d)));
  return seconds;
}
