/** The ordinary standard deviation of frequency, for comparison: it grows with the record where noise is not white. */
import { type PreparedSamples, prepare, type Samples } from "./samples.ts";
import { evaluated, type StabilityValue, tooShort } from "./statistic.ts";

/**
 * Sample standard deviation of the M averages ȳ of frequency over tau that do not overlap.
 *
 *     s²(tau) = 1 / (M − 1) Σ_{k=0}^{M−1} (ȳ[k] − mean of ȳ)²
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds averaging times, each a whole number of tau0, in any order
 * @returns one dimensionless value per averaging time, in their order; an issue where tau is no whole number of tau0
 *   or there are fewer than two averages
 *
 * Source: NIST SP 1065, section 5.2.1.
 */
export function sampleDeviation(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  const prepared = prepare(samples);
  return evaluated(prepared, tausSeconds, (m) => {
    const differences: number[] = [];
    for (const x of prepared.runs)
      for (let i = 0; i + m < x.length; i += m) {
        const difference = (x[i + m] as number) - (x[i] as number);
        if (!Number.isNaN(difference)) differences.push(difference);
      }
    const count = differences.length;
    if (count < 2) return tooShort(prepared, 2 * m + 1);
    const mean = differences.reduce((sum, difference) => sum + difference, 0) / count;
    const squares = differences.reduce((sum, difference) => sum + (difference - mean) * (difference - mean), 0);
    return { value: Math.sqrt(squares / (count - 1)) / (m * prepared.tau0Seconds), terms: count };
  });
}
