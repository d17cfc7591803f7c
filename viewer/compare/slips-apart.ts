/** The slips of one feed in two runs, one by one: what clicks at another pace differs from a certain click on. */
import type { FeedSlips } from "../slips.ts";

/** Show time counts whole nanoseconds: seconds are those, divided. */
export function nsOf(seconds: number): number {
  return Math.round(seconds * 1e9);
}

/** So many slips at a time are listed; a run of days may hold millions. */
const SLIPS_AT_A_TIME = 4096;

/** The first slip of either in the window that the other does not have at that instant; null: they are the same. */
export function firstSlipApart(
  first: FeedSlips | undefined,
  second: FeedSlips | undefined,
  fromSeconds: number,
  toSeconds: number,
): number | null {
  if (first === undefined || second === undefined) return first === second ? null : fromSeconds;
  const endNs = nsOf(toSeconds);
  let startNs = nsOf(fromSeconds);
  let width = endNs - startNs;
  while (startNs <= endNs) {
    const stopNs = Math.min(startNs + width, endNs);
    const atMost = width <= 1 ? Number.POSITIVE_INFINITY : SLIPS_AT_A_TIME;
    const [own, theirs] = [first, second].map((slips) => slips.instants(startNs / 1e9, stopNs / 1e9, atMost));
    if (!own || !theirs) {
      width = Math.floor(width / 2);
      continue;
    }
    for (let index = 0; index < Math.max(own.length, theirs.length); index += 1) {
      const [a, b] = [nsOf(own[index] ?? Number.POSITIVE_INFINITY), nsOf(theirs[index] ?? Number.POSITIVE_INFINITY)];
      if (a !== b) return Math.min(a, b) / 1e9;
    }
    startNs = stopNs + 1;
    width *= 2;
  }
  return null;
}
