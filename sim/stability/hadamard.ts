/**
 * The Hadamard family: third differences of phase. Blind to a constant phase, a constant frequency offset, and a
 * linear drift of the frequency, so that an ageing oscillator shows its noise. Notation as in `allan.ts`.
 */
import type { PreparedSamples, Samples } from "./samples.ts";
import { deviations, type StabilityValue, type TermStatistic } from "./statistic.ts";

function thirdDifferences(x: Float64Array, m: number, stride: number) {
  let sum = 0;
  let count = 0;
  for (let i = 0, end = x.length - 3 * m; i < end; i += stride) {
    const difference =
      (x[i + 3 * m] as number) - (x[i] as number) - 3 * ((x[i + 2 * m] as number) - (x[i + m] as number));
    if (!Number.isNaN(difference)) {
      sum += difference * difference;
      count++;
    }
  }
  return { sum, count };
}

const HDEV: TermStatistic = {
  points: (m) => 3 * m + 1,
  terms: (x, m) => thirdDifferences(x, m, m),
  scale: (_m, tau) => 1 / (6 * tau * tau),
};

const OHDEV: TermStatistic = { ...HDEV, terms: (x, m) => thirdDifferences(x, m, 1) };

/**
 * Hadamard deviation, from averages that do not overlap.
 *
 *     HDEV²(tau) = 1 / (6 (M − 2)) Σ_{k=0}^{M−3} (ȳ[k+2] − 2ȳ[k+1] + ȳ[k])²
 *
 * with ȳ the M averages of frequency over tau.
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds averaging times, each a whole number of tau0, in any order
 * @returns one dimensionless value per averaging time, in their order; an issue where tau is no whole number of tau0
 *   or fewer than 3m + 1 points hang together
 *
 * Source: NIST SP 1065, section 5.2.8, equation (18) as quoted in allantools (`calc_hdev_phase`).
 */
export function hdev(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  return deviations(samples, tausSeconds, HDEV);
}

/**
 * Overlapping Hadamard deviation: every possible third difference.
 *
 *     HDEV²(tau) = 1 / (6 tau² (N − 3m)) Σ_{i=0}^{N−3m−1} (x[i+3m] − 3x[i+2m] + 3x[i+m] − x[i])²
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds averaging times, each a whole number of tau0, in any order
 * @returns one dimensionless value per averaging time, in their order; an issue where tau is no whole number of tau0
 *   or fewer than 3m + 1 points hang together
 *
 * Source: NIST SP 1065, section 5.2.9, equation (20) as quoted in allantools (`calc_hdev_phase`).
 */
export function ohdev(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  return deviations(samples, tausSeconds, OHDEV);
}
