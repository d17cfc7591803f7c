/**
 * How much of a swing at one frequency comes out of a chain of loops: the product of the loops' |H|.
 *
 * Each factor rises below its own peak and falls above it, so the product is greatest somewhere between the lowest and
 * the highest of the peaks. Loops alike have theirs in one place, and the answer is closed: N·20·log10 of one peak.
 */
import { exp, log, PI } from "../../shared/maths.ts";
import { gainSquared, peakingAt } from "../loop.ts";

/** One loop, as a plan has it. */
export interface ChainLoop {
  readonly naturalFrequencyHz: number;
  readonly damping: number;
}

export interface Peak {
  readonly decibels: number;
  readonly hz: number;
}

const NEPER_DECIBELS = 4.342944819032518; // 10/ln 10: from the logarithm of |H|²
/** The width of a peak goes with ζ; above 1 it grows no narrower. */
const POINTS_PER_WIDTH = 12;
const GOLDEN = 0.6180339887498949; // (√5 − 1)/2

/** Greatest product of |H| over frequency, and where; 0 dB at 0 Hz without a loop. */
export function peakThroughChain(loops: readonly ChainLoop[]): Peak {
  const kinds = countedKinds(loops);
  const [first] = kinds;
  if (first === undefined) return { decibels: 0, hz: 0 };
  const peaks = kinds.map(({ naturalFrequencyHz, damping }) => log(naturalFrequencyHz * Math.sqrt(peakingAt(damping))));
  const low = Math.min(...peaks);
  const high = Math.max(...peaks);
  const at = (logHz: number): Peak => ({ decibels: decibelsAt(kinds, exp(logHz)), hz: exp(logHz) });
  if (low === high) {
    const hz = first.naturalFrequencyHz * Math.sqrt(peakingAt(first.damping));
    return { decibels: decibelsAt(kinds, hz), hz };
  }
  const width = Math.min(1, ...kinds.map(({ damping }) => damping)) / POINTS_PER_WIDTH;
  const parts = Math.max(2, Math.ceil((high - low) / width));
  const step = (high - low) / parts;
  const height = Array.from({ length: parts + 1 }, (_, n) => at(low + n * step).decibels);
  let best: Peak = { decibels: Number.NEGATIVE_INFINITY, hz: 0 };
  for (const [n, here] of height.entries()) {
    const isTop =
      here >= (height[n - 1] ?? Number.NEGATIVE_INFINITY) && here >= (height[n + 1] ?? Number.NEGATIVE_INFINITY);
    if (!isTop) continue;
    const logHz = topBetween(
      (x) => at(x).decibels,
      Math.max(low, low + (n - 1) * step),
      Math.min(high, low + (n + 1) * step),
    );
    const top = at(logHz);
    if (top.decibels > best.decibels) best = top;
  }
  return best;
}

/** No chain of these loops peaks higher than all of them at one place would. */
export function peakAtMost(loops: readonly ChainLoop[]): number {
  let sum = 0;
  for (const { damping } of loops) sum += NEPER_DECIBELS * log(gainSquared(damping, peakingAt(damping)));
  return sum;
}

interface Kind extends ChainLoop {
  readonly count: number;
}

/** Loops alike, counted, in an order of their own: along which way they stand changes nothing, not even a rounding. */
function countedKinds(loops: readonly ChainLoop[]): readonly Kind[] {
  const kinds = new Map<string, Kind>();
  for (const { naturalFrequencyHz, damping } of loops) {
    const key = `${naturalFrequencyHz} ${damping}`;
    kinds.set(key, { naturalFrequencyHz, damping, count: (kinds.get(key)?.count ?? 0) + 1 });
  }
  return [...kinds.values()].sort(
    (one, two) => one.naturalFrequencyHz - two.naturalFrequencyHz || one.damping - two.damping,
  );
}

function decibelsAt(kinds: readonly Kind[], hz: number): number {
  let sum = 0;
  for (const { naturalFrequencyHz, damping, count } of kinds) {
    const ratio = hz / naturalFrequencyHz;
    sum += count * log(gainSquared(damping, ratio * ratio));
  }
  return NEPER_DECIBELS * sum;
}

/** Golden-section search of the top of a curve with one top in the bracket. */
function topBetween(height: (x: number) => number, from: number, to: number): number {
  let [low, high] = [from, to];
  let left = high - GOLDEN * (high - low);
  let right = low + GOLDEN * (high - low);
  let [atLeft, atRight] = [height(left), height(right)];
  // A top is flat: closer than the root of the last digit nothing can be told apart.
  while (high - low > 1e-9) {
    if (atLeft >= atRight) {
      high = right;
      [right, atRight] = [left, atLeft];
      left = high - GOLDEN * (high - low);
      atLeft = height(left);
    } else {
      low = left;
      [left, atLeft] = [right, atRight];
      right = low + GOLDEN * (high - low);
      atRight = height(right);
    }
  }
  return (low + high) / 2;
}

/** Natural frequency in rad/s. */
export function omegaOf({ naturalFrequencyHz }: ChainLoop): number {
  return 2 * PI * naturalFrequencyHz;
}
