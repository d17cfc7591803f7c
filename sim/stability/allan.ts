/**
 * The Allan family: second differences of phase. Blind to a constant phase and to a constant frequency offset; not to
 * a drift of the frequency, which shows as drift · tau / √2.
 *
 * In every formula x is phase in seconds, N its number of points, m the averaging factor, tau = m · tau0. The equations
 * are those of W. J. Riley, "Handbook of Frequency Stability Analysis", NIST Special Publication 1065 (2008),
 * section 5.2, written out from memory and checked against its tables; equation numbers are given where a public text
 * quotes them.
 */
import type { PreparedSamples, Samples } from "./samples.ts";
import { deviations, type StabilityValue, type TermStatistic } from "./statistic.ts";

function secondDifferences(x: Float64Array, m: number, stride: number) {
  let sum = 0;
  let count = 0;
  for (let i = 0, end = x.length - 2 * m; i < end; i += stride) {
    const difference = (x[i + 2 * m] as number) - 2 * (x[i + m] as number) + (x[i] as number);
    // A point is missing.
    if (!Number.isNaN(difference)) {
      sum += difference * difference;
      count++;
    }
  }
  return { sum, count };
}

const ADEV: TermStatistic = {
  points: (m) => 2 * m + 1,
  terms: (x, m) => secondDifferences(x, m, m),
  scale: (_m, tau) => 1 / (2 * tau * tau),
};

const OADEV: TermStatistic = { ...ADEV, terms: (x, m) => secondDifferences(x, m, 1) };

const MDEV: TermStatistic = {
  points: (m) => 3 * m,
  terms: averagedDifferences,
  scale: (m, tau) => 1 / (2 * m * m * tau * tau),
};

/** TDEV² = tau² MDEV² / 3. */
const TDEV: TermStatistic = { ...MDEV, scale: (m) => 1 / (6 * m * m) };

/**
 * Squares of Σ_{i=j}^{j+m−1} (x[i+2m] − 2x[i+m] + x[i]) for every j. The inner sum is carried from j to j + 1, so the
 * whole costs N steps instead of N · m. A missing point counts as 0 in it, and the sums that hold one are left out.
 */
function averagedDifferences(x: Float64Array, m: number) {
  const windows = x.length - 3 * m + 1;
  if (windows < 1) return { sum: 0, count: 0 };
  // Small numbers add up with small errors: the first point is taken as 0.
  const origin = x[0] as number;
  let inner = 0;
  let missing = 0;
  const at = (i: number) => {
    const value = (x[i] as number) - origin;
    return Number.isNaN(value) ? 0 : value;
  };
  const isMissing = (i: number) => (Number.isNaN(x[i]) ? 1 : 0);
  for (let i = 0; i < m; i++) {
    inner += at(i + 2 * m) - 2 * at(i + m) + at(i);
    missing += isMissing(i) + isMissing(i + m) + isMissing(i + 2 * m);
  }
  let sum = 0;
  let count = 0;
  for (let j = 0; ; j++) {
    if (missing === 0) {
      sum += inner * inner;
      count++;
    }
    if (j === windows - 1) return { sum, count };
    inner += at(j + 3 * m) - 3 * at(j + 2 * m) + 3 * at(j + m) - at(j);
    missing += isMissing(j + 3 * m) - isMissing(j);
  }
}

/**
 * Allan deviation, from averages that do not overlap.
 *
 *     ADEV²(tau) = 1 / (2 (M − 1)) Σ_{k=0}^{M−2} (ȳ[k+1] − ȳ[k])²
 *
 * with ȳ the M averages of frequency over tau; in phase the sum of (x[i+2m] − 2x[i+m] + x[i])² / tau² over i = 0, m, 2m, …
 * The classical estimator: the overlapping one ({@link oadev}) has the same expectation and a narrower interval.
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds averaging times, each a whole number of tau0, in any order
 * @returns one dimensionless value per averaging time, in their order; an issue where tau is no whole number of tau0
 *   or fewer than 2m + 1 points hang together
 *
 * Source: NIST SP 1065, section 5.2.2.
 */
export function adev(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  return deviations(samples, tausSeconds, ADEV);
}

/**
 * Overlapping Allan deviation: every possible second difference.
 *
 *     ADEV²(tau) = 1 / (2 tau² (N − 2m)) Σ_{i=0}^{N−2m−1} (x[i+2m] − 2x[i+m] + x[i])²
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds averaging times, each a whole number of tau0, in any order
 * @returns one dimensionless value per averaging time, in their order; an issue where tau is no whole number of tau0
 *   or fewer than 2m + 1 points hang together
 *
 * Source: NIST SP 1065, section 5.2.4.
 */
export function oadev(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  return deviations(samples, tausSeconds, OADEV);
}

/**
 * Modified Allan deviation: second differences of phase averaged over m points, which tells white from flicker phase
 * noise. At m = 1 it is the Allan deviation.
 *
 *     MDEV²(tau) = 1 / (2 m² tau² (N − 3m + 1)) Σ_{j=0}^{N−3m} ( Σ_{i=j}^{j+m−1} (x[i+2m] − 2x[i+m] + x[i]) )²
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds averaging times, each a whole number of tau0, in any order
 * @returns one dimensionless value per averaging time, in their order; an issue where tau is no whole number of tau0
 *   or fewer than 3m points hang together
 *
 * Source: NIST SP 1065, section 5.2.5, equations (14) and (15) as quoted in allantools (`mdev`).
 */
export function mdev(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  return deviations(samples, tausSeconds, MDEV);
}

/**
 * Time deviation: how far time wanders over tau, in seconds.
 *
 *     TDEV(tau) = tau · MDEV(tau) / √3
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds averaging times, each a whole number of tau0, in any order
 * @returns one value in seconds per averaging time, in their order; an issue where tau is no whole number of tau0 or
 *   fewer than 3m points hang together
 *
 * Source: NIST SP 1065, section 5.2.6; the same in ITU-T G.810 (from memory).
 */
export function tdev(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  return deviations(samples, tausSeconds, TDEV);
}
