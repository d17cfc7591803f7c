/**
 * Time errors: phase itself, not its differences of second order, so a frequency offset counts. In seconds.
 *
 * Definitions: ITU-T G.810, as read in secondary pages; NIST SP 1065, sections 5.2.15 to 5.2.17 (from memory).
 */
import { type PreparedSamples, prepare, type Samples, type StabilityIssue, wholePhase } from "./samples.ts";
import { deviations, evaluated, type StabilityValue, type TermStatistic, tooShort } from "./statistic.ts";

/**
 * Time interval error: phase since the first point, TIE[i] = x[i] − x[0].
 *
 * @param samples phase in seconds or fractional frequency
 * @returns seconds at every point of phase from the first present on, NaN where one is missing; an issue for a bad
 *   record, or for frequency with a gap, over which nothing is known of the phase
 */
export function tie(samples: Samples | PreparedSamples): Float64Array | StabilityIssue {
  const prepared = prepare(samples);
  if (prepared.issue !== null) return prepared.issue;
  if (prepared.runs.length > 1)
    return {
      kind: "too-many-gaps",
      expected: "frequency without gaps",
      received: `${prepared.missing} missing values`,
      remedy: "give phase, or one stretch without gaps",
    };
  const phase = wholePhase(prepared, prepared.runs[0] as Float64Array);
  const first = phase[0] as number;
  return phase.map((x) => x - first);
}

const TIE_RMS: TermStatistic = {
  points: (m) => m + 1,
  terms: (x, m) => {
    let sum = 0;
    let count = 0;
    for (let i = 0, end = x.length - m; i < end; i++) {
      const difference = (x[i + m] as number) - (x[i] as number);
      if (!Number.isNaN(difference)) {
        sum += difference * difference;
        count++;
      }
    }
    return { sum, count };
  },
  scale: () => 1,
};

/**
 * Root mean square of the time interval error over tau.
 *
 *     TIErms²(tau) = 1 / (N − m) Σ_{i=0}^{N−m−1} (x[i+m] − x[i])²
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds observation intervals, each a whole number of tau0, in any order
 * @returns one value in seconds per interval, in their order; an issue where it is no whole number of tau0 or fewer
 *   than m + 1 points hang together
 */
export function tieRms(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  const prepared = prepare(samples);
  const whole = { ...prepared, runs: prepared.runs.map((run) => wholePhase(prepared, run)) };
  return deviations(whole, tausSeconds, TIE_RMS);
}

/**
 * Maximum time interval error: the largest peak-to-peak phase within any window of length tau.
 *
 *     MTIE(tau) = max over i = 0 … N−m−1 of ( max x[i … i+m] − min x[i … i+m] )
 *
 * Windows hold m + 1 points. The extremes over 2^k spacings are made from those over 2^(k−1) in one pass over the
 * record (S. Bregni's binary decomposition), and those of any other window from two of 2^k that overlap; so the cost is
 * N per octave and per window asked for, whatever its length. Missing points do not count; a window needs one that is
 * there.
 *
 * @param samples phase in seconds or fractional frequency, N points of phase
 * @param tausSeconds observation intervals, each a whole number of tau0, in any order
 * @returns one value in seconds per interval, in their order, with the number of windows looked at; an issue where it
 *   is no whole number of tau0 or no run has m + 1 points
 *
 * Source: ITU-T G.810 (definition); S. Bregni, S. Maccabruni, "Fast computation of maximum time interval error by
 * binary decomposition", IEEE Trans. Instrum. Meas. 49(6), 2000 (method; from memory).
 */
export function mtie(samples: Samples | PreparedSamples, tausSeconds: readonly number[]): StabilityValue[] {
  const prepared = prepare(samples);
  const factors = new Set<number>();
  evaluated(prepared, tausSeconds, (m) => {
    factors.add(m);
    return { value: 0, terms: 0 };
  });
  const wanted = [...factors].sort((a, b) => a - b);
  const largest = new Float64Array(wanted.length).fill(-1);
  const windows = new Float64Array(wanted.length);
  for (const run of prepared.runs) largestRanges(wholePhase(prepared, run), wanted, largest, windows);
  return evaluated(prepared, tausSeconds, (m) => {
    const index = wanted.indexOf(m);
    const value = largest[index] as number;
    return value < 0 ? tooShort(prepared, m + 1) : { value, terms: windows[index] as number };
  });
}

/** Raises `largest[k]` to the widest range within any window of `wanted[k]` spacings (ascending) and counts the windows. */
function largestRanges(x: Float64Array, wanted: readonly number[], largest: Float64Array, windows: Float64Array): void {
  const points = x.length;
  const fitting = wanted.filter((m) => m < points);
  // high[i], low[i]: the extremes of x[i … i + span]; a missing point is lower and higher than any.
  const high = x.slice();
  const low = x.slice();
  for (let i = 0; i < points; i++) {
    if (!Number.isNaN(x[i])) continue;
    high[i] = Number.NEGATIVE_INFINITY;
    low[i] = Number.POSITIVE_INFINITY;
  }
  let span = 0;
  fitting.forEach((m, k) => {
    let range = -1;
    while (span === 0 || 2 * span <= m) {
      const next = span === 0 ? 1 : 2 * span;
      range = widen(high, low, points - next, next - span);
      span = next;
    }
    if (span !== m) range = widestRange(high, low, points - m, m - span);
    if (range > (largest[k] as number)) largest[k] = range;
    windows[k] = (windows[k] as number) + points - m;
  });
}

/**
 * Replaces the extremes over a window by those over a longer one, which begins with it and ends with the one that begins
 * `shift` later, for the first `count`; answers with the widest range among them. Below 0 where no point is there.
 */
function widen(high: Float64Array, low: Float64Array, count: number, shift: number): number {
  let widest = -1;
  for (let i = 0; i < count; i++) {
    const top = Math.max(high[i] as number, high[i + shift] as number);
    const bottom = Math.min(low[i] as number, low[i + shift] as number);
    high[i] = top;
    low[i] = bottom;
    widest = Math.max(widest, top - bottom);
  }
  return widest;
}

/** The widest range over such longer windows, the extremes left as they are. */
function widestRange(high: Float64Array, low: Float64Array, count: number, shift: number): number {
  let widest = -1;
  for (let i = 0; i < count; i++) {
    const top = Math.max(high[i] as number, high[i + shift] as number);
    const bottom = Math.min(low[i] as number, low[i + shift] as number);
    widest = Math.max(widest, top - bottom);
  }
  return widest;
}
