/**
 * Intervals of confidence: of a mean, and of a share. Student's t and Wilson's score, as any handbook of statistics has
 * them (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2 and 7.2.4.1).
 */
import { exp, log } from "../../shared/maths.ts";
import { chiSquaredQuantile, logGamma } from "../stability/chi-squared.ts";

export interface Interval {
  readonly low: number;
  readonly high: number;
}

export interface Mean extends Interval {
  readonly mean: number;
  readonly count: number;
}

/** @param confidence such as 0.95; of a single value there is no interval: from −∞ to ∞ */
export function meanOf(values: readonly number[], confidence: number): Mean {
  const count = values.length;
  const mean = count === 0 ? 0 : values.reduce((sum, value) => sum + value, 0) / count;
  if (count < 2) return { mean, count, low: Number.NEGATIVE_INFINITY, high: Number.POSITIVE_INFINITY };
  const squares = values.reduce((sum, value) => sum + (value - mean) * (value - mean), 0);
  const half = tQuantile(0.5 + confidence / 2, count - 1) * Math.sqrt(squares / (count - 1) / count);
  return { mean, count, low: mean - half, high: mean + half };
}

/** Wilson's score interval of a share: never below 0 nor above 1, and of use where nothing was ever seen. */
export function shareOf(hits: number, count: number, confidence: number): Interval {
  if (count === 0) return { low: 0, high: 1 };
  const z = normalQuantile(0.5 + confidence / 2);
  const share = hits / count;
  const denominator = 1 + (z * z) / count;
  const middle = (share + (z * z) / (2 * count)) / denominator;
  const half = (z / denominator) * Math.sqrt((share * (1 - share)) / count + (z * z) / (4 * count * count));
  return { low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}

/** Of Student's t with so many degrees of freedom, found by halving: exact to some ten digits. */
export function tQuantile(probability: number, degrees: number): number {
  if (probability === 0.5) return 0;
  if (probability < 0.5) return -tQuantile(1 - probability, degrees);
  let high = 1;
  while (tCumulative(high, degrees) < probability && high < 1e12) high *= 2;
  let low = 0;
  for (let step = 0; step < 100; step += 1) {
    const middle = (low + high) / 2;
    if (tCumulative(middle, degrees) < probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** P(T ≤ t) = 1 − ½·I(ν/(ν+t²); ν/2, ½) for t ≥ 0. */
function tCumulative(t: number, degrees: number): number {
  return 1 - incompleteBeta(degrees / (degrees + t * t), degrees / 2, 0.5) / 2;
}

/** Of the normal distribution, above the middle: the square of a normal deviate is chi-squared with one degree. */
function normalQuantile(probability: number): number {
  return Math.sqrt(chiSquaredQuantile(2 * probability - 1, 1));
}

/** Regularised incomplete beta function by its continued fraction (NIST DLMF 8.17.22), evaluated by Lentz's method. */
function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  // The fraction converges fast below the mean; above it the other tail does.
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const front = exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * log(x) + b * log(1 - x)) / a;
  const tiny = 1e-300;
  let c = 1;
  let d = 1 - ((a + b) * x) / (a + 1);
  d = 1 / (Math.abs(d) < tiny ? tiny : d);
  let fraction = d;
  for (let m = 1; m <= 500; m += 1) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 + even * d;
    c = 1 + even / c;
    d = 1 / (Math.abs(d) < tiny ? tiny : d);
    c = Math.abs(c) < tiny ? tiny : c;
    fraction *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 + odd * d;
    c = 1 + odd / c;
    d = 1 / (Math.abs(d) < tiny ? tiny : d);
    c = Math.abs(c) < tiny ? tiny : c;
    const step = d * c;
    fraction *= step;
    if (Math.abs(step - 1) < 1e-15) break;
  }
  return front * fraction;
}
