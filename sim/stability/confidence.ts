/**
 * How far to believe a deviation: equivalent degrees of freedom of its estimator for a named type of noise, and the
 * interval that follows from the chi-squared distribution.
 *
 * A sum of squared differences that overlap or hang together by the noise has the mean and the variance of a chi-squared
 * variable with fewer degrees of freedom ν than it has terms; then ν s² / σ² is taken as chi-squared.
 *
 * ADEV, MDEV, TDEV, HDEV, overlapping or not: the combined algorithm of C. A. Greenhall and W. J. Riley, "Uncertainty of
 * stability variances based on finite differences", 35th PTTI meeting, 2003, which NIST SP 1065, section 5.4.1, takes
 * over; its equations (7) to (10) and (13) as written in allantools' `ci.py`. Two things are done otherwise:
 *
 * - The paper takes each value of phase as an average over tau0 (its filter F = m). A counter or a simulated clock gives
 *   phase sampled at an instant; at m = 1 and white FM that makes ν 2/3 of the terms instead of 18/23. Both are offered;
 *   sampled is the default, and exact (tested against covariance matrices).
 * - The sum itself is taken where the paper, for speed, uses tabled approximations to it; only beyond 512 steps per tau
 *   is it taken at 512, where it has long settled.
 *
 * TOTDEV: NIST SP 1065, section 5.4.2, table 7, as quoted in allantools: white, flicker and random-walk noise of
 * frequency only. Sample deviation: M − 1, for white noise of frequency only. MTIE and TIErms: no formula is known to us.
 */
import { log } from "../../shared/maths.ts";
import { chiSquaredQuantile } from "./chi-squared.ts";
import { NOISE_TYPES, type NoiseType } from "./noise.ts";

export type IntervalStatistic = "adev" | "oadev" | "mdev" | "tdev" | "hdev" | "ohdev" | "totdev" | "sampleDeviation";

export interface EstimatorShape {
  readonly statistic: IntervalStatistic;
  readonly noise: NoiseType;
  /** Points of phase, N. */
  readonly points: number;
  /** m of tau = m · tau0. */
  readonly averagingFactor: number;
  /**
   * Whether a value of phase was taken at an instant (the default), or is an average over tau0. It matters for noise of
   * frequency and few spacings per tau.
   */
  readonly phase?: "sampled" | "averaged";
  /** Terms that are there, where gaps have taken some: degrees are then those of the whole record times their share. */
  readonly terms?: number;
}

/**
 * Equivalent degrees of freedom of one deviation.
 *
 * @returns ν > 0; null where the record is too short for the statistic or no formula holds for that noise (steeper than
 *   random-walk FM for the Allan family, noise of phase for TOTDEV, all but white FM for the sample deviation)
 */
export function degreesOfFreedom(shape: EstimatorShape): number | null {
  const { statistic, noise, points, averagingFactor: m } = shape;
  const alpha = NOISE_TYPES[noise];
  if (statistic === "sampleDeviation") {
    const averages = shape.terms ?? Math.floor((points - 1) / m);
    return alpha === 0 && averages >= 2 ? averages - 1 : null;
  }
  if (statistic === "totdev") {
    const degrees = totalDegrees(alpha, (points - 1) / m, points);
    return degrees === null ? null : (degrees * (shape.terms ?? points - 2)) / (points - 2);
  }
  const isModified = statistic === "mdev" || statistic === "tdev";
  const differences = statistic === "hdev" || statistic === "ohdev" ? 3 : 2;
  const strides = statistic === "adev" || statistic === "hdev" ? 1 : m;
  // Points under one term: d tau, and those averaged at its end.
  const span = differences * m + (isModified ? m : 1);
  const terms = 1 + Math.floor((strides * (points - span)) / m);
  if (terms < 1) return null;
  const isAveraged = shape.phase === "averaged";
  const degrees = differenceDegrees({ alpha, differences, m, strides, terms, isModified, isAveraged });
  return degrees === null ? null : (degrees * (shape.terms ?? terms)) / terms;
}

/** ν = b T / tau − c, with b and c by α = 0, −1, −2: NIST SP 1065, table 7. */
const TOTAL_DEGREES: readonly (readonly [number, number])[] = [
  [1.5, 0],
  [1.17, 0.22],
  [0.93, 0.36],
];

function totalDegrees(alpha: number, lengthInTaus: number, points: number): number | null {
  const row = TOTAL_DEGREES[-alpha];
  if (alpha > 0 || row === undefined || lengthInTaus < 1 || points < 3) return null;
  const degrees = row[0] * lengthInTaus - row[1];
  return degrees > 0 ? degrees : null;
}

/** Steps per tau of the longest sum; at 512 the sum is within 1e-3 of its limit (tested). */
const STRIDES_MAX = 512;
/** Up to here an average over tau is a sum over its m samples; beyond, the integral is as good (tested). */
const SAMPLES_MAX = 64;
/** Up to here the average of phase over one spacing counts; beyond, its differences drown in rounding. */
const FILTER_MAX = 1e6;

/** ν by the sums of Greenhall and Riley; names as there: d differences, stride S per tau, M terms, J lags. */
function differenceDegrees({
  alpha,
  differences: d,
  m,
  strides,
  terms,
  isModified,
  isAveraged,
}: {
  readonly alpha: number;
  readonly differences: 2 | 3;
  readonly m: number;
  readonly strides: number;
  readonly terms: number;
  readonly isModified: boolean;
  readonly isAveraged: boolean;
}): number | null {
  if (alpha + 2 * d <= 1) return null;
  if (!isModified && alpha === 2) return terms / whitePhaseSum(d, terms, strides);
  let lags = Math.min(terms, (d + 1) * strides);
  let perTau = strides;
  let total = terms;
  if (strides > STRIDES_MAX) {
    // Only the ratio M / S matters by now: the same sum with fewer strides.
    const ratio = terms / strides;
    lags = Math.min(Math.max(1, Math.round(ratio * STRIDES_MAX)), (d + 1) * STRIDES_MAX);
    total = lags < (d + 1) * STRIDES_MAX ? lags : ratio * STRIDES_MAX;
    perTau = total / ratio;
  }
  const covariance = covarianceOf({ alpha, differences: d, m, isModified, isAveraged });
  const peak = covariance(0);
  let sum = peak * peak;
  for (let j = 1; j <= lags; j++) {
    const here = covariance(j / perTau);
    sum += (j === lags ? 1 : 2) * (1 - j / total) * here * here;
  }
  return (peak * peak * total) / sum;
}

/**
 * White noise of phase: differences hang together only at lags of whole tau, with correlations
 * (−1)^k C(2d, d−k) / C(2d, d); the sum Σ (1 − |k| S / M) over their squares is exact.
 */
function whitePhaseSum(d: 2 | 3, terms: number, strides: number): number {
  const correlations = d === 2 ? [1, 4 / 6, 1 / 6] : [1, 15 / 20, 6 / 20, 1 / 20];
  return correlations.reduce((sum, r, k) => {
    const weight = 1 - (k * strides) / terms;
    return weight <= 0 ? sum : sum + (k === 0 ? 1 : 2) * weight * r * r;
  }, 0);
}

/** Covariance of two d-th differences by their lag t in tau, up to a factor: equation (9). */
function covarianceOf({
  alpha,
  differences,
  m,
  isModified,
  isAveraged,
}: {
  readonly alpha: number;
  readonly differences: 2 | 3;
  readonly m: number;
  readonly isModified: boolean;
  readonly isAveraged: boolean;
}): (t: number) => number {
  // Noise of phase needs the average over tau0 in any case: without a bandwidth it is infinite.
  const isSampled = !isAveraged && alpha <= 0;
  const sampled = (t: number) => difference((lag) => powerCovariance(lag, alpha + 2), t, differences);
  if (isModified && isSampled && m <= SAMPLES_MAX)
    return (t) => {
      let sum = m * sampled(t);
      for (let l = 1; l < m; l++) sum += (m - l) * (sampled(t - l / m) + sampled(t + l / m));
      return sum;
    };
  if (!isModified && isSampled) return sampled;
  const filter = isModified ? 1 : Math.min(m, FILTER_MAX);
  return (t) => difference((lag) => averagedCovariance(lag, filter, alpha), t, differences);
}

function difference(at: (lag: number) => number, t: number, d: 2 | 3): number {
  if (d === 2) return 6 * at(t) - 4 * (at(t - 1) + at(t + 1)) + at(t - 2) + at(t + 2);
  return 20 * at(t) - 15 * (at(t - 1) + at(t + 1)) + 6 * (at(t - 2) + at(t + 2)) - at(t - 3) - at(t + 3);
}

/** Of phase averaged over tau / F: equation (8). */
function averagedCovariance(t: number, filter: number, alpha: number): number {
  const width = 1 / filter;
  const sides = powerCovariance(t - width, alpha) + powerCovariance(t + width, alpha);
  return 2 * powerCovariance(t, alpha) - sides;
}

/**
 * Of the integral of phase, equation (7), and with α + 2 of phase itself: |t|^(3−α), with a logarithm where that power
 * is even. Its sign and every common factor cancel.
 */
function powerCovariance(t: number, alpha: number): number {
  const size = Math.abs(t);
  if (size === 0) return 0;
  let power = 1;
  for (let i = 0; i < 3 - alpha; i++) power *= size;
  return alpha % 2 === 0 ? power : power * log(size);
}

/**
 * The interval in which the true deviation lies with the given probability, half of the rest on either side.
 *
 *     s √(ν / χ²((1 + p) / 2, ν)) … s √(ν / χ²((1 − p) / 2, ν))
 *
 * @param deviation s, in any unit; 0 or above
 * @param degreesOfFreedom ν > 0
 * @param confidence p, above 0 and below 1
 * @returns both ends in the unit of the deviation; null outside those ranges
 *
 * Source: NIST SP 1065, section 5.3.2, equation (45) as quoted in allantools (`confidence_interval`).
 */
export function confidenceInterval({
  deviation,
  degreesOfFreedom,
  confidence,
}: {
  readonly deviation: number;
  readonly degreesOfFreedom: number;
  readonly confidence: number;
}): { readonly low: number; readonly high: number } | null {
  if (!(deviation >= 0 && degreesOfFreedom > 0 && confidence > 0 && confidence < 1)) return null;
  const upper = chiSquaredQuantile((1 + confidence) / 2, degreesOfFreedom);
  const lower = chiSquaredQuantile((1 - confidence) / 2, degreesOfFreedom);
  const low = deviation * Math.sqrt(degreesOfFreedom / upper);
  const high = deviation * Math.sqrt(degreesOfFreedom / lower);
  return Number.isFinite(low) && Number.isFinite(high) ? { low, high } : null;
}
