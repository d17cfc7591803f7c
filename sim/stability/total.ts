/**
 * The total deviation: the Allan deviation of a record that was made longer by its own mirror image, for averaging
 * times near the length of the record.
 */
import type { PreparedSamples, Samples } from "./samples.ts";
import { deviations, type StabilityValue, type TermStatistic } from "./statistic.ts";

const TOTDEV: TermStatistic = {
  points: (m) => Math.max(3, m + 1),
  terms: extendedDifferences,
  scale: (_m, tau) => 1 / (2 * tau * tau),
};

/** Second differences about every inner point, the record mirrored about both ends: 2x[0] − x[j], 2x[N−1] − x[N−1−j]. */
function extendedDifferences(x: Float64Array, m: number) {
  const last = x.length - 1;
  if (last < 2 || m > last) return { sum: 0, count: 0 };
  const twiceFirst = 2 * (x[0] as number);
  const twiceLast = 2 * (x[last] as number);
  let sum = 0;
  let count = 0;
  for (let i = 1; i < last; i++) {
    const before = i >= m ? (x[i - m] as number) : twiceFirst - (x[m - i] as number);
    const after = i + m <= last ? (x[i + m] as number) : twiceLast - (x[2 * last - i - m] as number);
    const difference = before - 2 * (x[i] as number) + after;
    if (!Number.isNaN(difference)) {
      sum += difference * difference;
      count++;
    }
  }
  return { sum, count };
}

/**
 * Total deviation.
 *
 *     TOTDEV²(tau) = 1 / (2 tau² (N − 2)) Σ_{i=1}^{N−2} (x*[i−m] − 2x*[i] + x*[i+m])²
 *
 * with x* the phase, continued by x*[−j] = 2x[0] − x[j] and x*[N−1+j] = 2x[N−1] − x[N−1−j] for j = 1 … N − 2. For
 * flicker and random-walk noise of frequency its expectation is lower than the Allan variance by the factor
 * 1 − a tau / T (a = 0.481 and 0.750, T the length of the record; from memory of section 5.2.11); the value is not
 * corrected for it, as the handbook's tables are not. Other published variants join the ends before mirroring, or
 * mirror only once; their values differ from m = 2 on.
 *
 * @param samples phase in seconds or fractional frequency, N points of phase; runs of frequency between gaps are
 *   mirrored each by itself
 * @param tausSeconds averaging times, each a whole number of tau0 up to N − 1 of them, in any order
 * @returns one dimensionless value per averaging time, in their order; an issue where tau is no whole number of tau0
 *   or fewer than m + 1 points, or 3, hang together
 *
 * Source: NIST SP 1065, section 5.2.11, equation (25) as quoted in allantools (`totdev_phase`).
 */
export function totdev(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  return deviations(samples, tausSeconds, TOTDEV);
}
