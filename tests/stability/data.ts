/** Records for the tests of stability. */
import type { StabilityValue } from "../../sim/stability/index.ts";

/** NBS14, ten points of phase: NIST SP 1065 (2008), section 12.4, table 30's data. READ in allantools' tests. */
export const TEN_PHASES = Float64Array.of(
  ...[0.0, 103.11111, 123.22222, 157.33333, 166.44444, 48.55555, -96.33333, -2.22222, 111.88889, 0.0],
);
/** The same as nine values of frequency. */
export const NINE_FREQUENCIES = Float64Array.of(892, 809, 823, 798, 671, 644, 883, 903, 677);

/**
 * The handbook's thousand points: n[i+1] = 16807 n[i] mod (2^31 − 1), y[i] = n[i] / (2^31 − 1), the seed itself first.
 * Every product is below 2^53, so plain numbers are exact.
 */
export function thousandFrequencies(): { readonly n: readonly number[]; readonly y: Float64Array } {
  const n = [1234567890];
  while (n.length < 1000) n.push((16807 * (n[n.length - 1] as number)) % 2147483647);
  return { n, y: Float64Array.from(n, (value) => value / 2147483647) };
}

/** PHASE.DAT of allantools' tests: the thousand points without their mean, summed from 0. */
export function phaseDat(): Float64Array {
  const { y } = thousandFrequencies();
  const mean = y.reduce((sum, value) => sum + value, 0) / y.length;
  const phase = new Float64Array(y.length + 1);
  y.forEach((value, i) => {
    phase[i + 1] = (phase[i] as number) + value - mean;
  });
  return phase;
}

/** Normal deviates by Box and Muller, from a seed. */
export function normals(seed: number): () => number {
  let state = seed;
  const uniform = () => {
    state = (16807 * state) % 2147483647;
    return state / 2147483647;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

/** Phase of white noise of phase (0), of frequency (1), or of a random walk of frequency (2): sums of normals. */
export function powerLawPhase(sums: 0 | 1 | 2, points: number, normal: () => number): Float64Array {
  const phase = Float64Array.from({ length: points }, normal);
  for (let pass = 0; pass < sums; pass++)
    for (let i = 1; i < points; i++) phase[i] = (phase[i] as number) + (phase[i - 1] as number);
  return phase;
}

/** The value at one averaging time; fails the test where there is none. */
export function onlyValue(found: readonly StabilityValue[]): number {
  const [only] = found;
  if (only === undefined || "issue" in only) throw new Error(`no value: ${JSON.stringify(only)}`);
  return only.value;
}
