/** The power laws of oscillator noise, and which of them a record looks like at an averaging time. */
import { averagingFactorOf, type PreparedSamples, prepare, type Samples, type StabilityIssue } from "./samples.ts";

/**
 * Names as in NIST SP 1065 and IEEE 1139, with the exponent α of the spectrum of frequency, S_y(f) = h_α f^α. The last
 * two have no finite Allan variance; the Hadamard family takes them.
 */
export const NOISE_TYPES = {
  "white-pm": 2,
  "flicker-pm": 1,
  "white-fm": 0,
  "flicker-fm": -1,
  "random-walk-fm": -2,
  "flicker-walk-fm": -3,
  "random-run-fm": -4,
} as const;

export type NoiseType = keyof typeof NOISE_TYPES;

/** Fewer points than this say little about the noise (NIST SP 1065, section 5.5.6, from memory). */
const POINTS_MIN = 30;

/** Differences taken at most before the rest counts as noise: enough for random run FM. */
const DIFFERENCES_MAX = { allan: 2, hadamard: 3 } as const;

/**
 * The noise that dominates at tau, from the lag-1 autocorrelation of the phase.
 *
 * Phase is taken every tau and freed of a parabola (offset and drift). With r its autocorrelation at lag 1 and
 * δ = r / (1 + r), it is differenced d times until δ < 0.25, or as often as the family of variances does; then
 * α = 2 − 2 (δ + d), rounded. Of several runs the longest is taken.
 *
 * @param samples phase in seconds or fractional frequency; gaps are left out
 * @param tauSeconds averaging time, a whole number of tau0
 * @param family which variances it is for: the Hadamard family knows two steeper noises
 * @returns the type, or an issue where tau is no whole number of tau0 or fewer than 30 points are left
 *
 * Source: W. J. Riley, C. A. Greenhall, "Power law noise identification using the lag 1 autocorrelation", 18th European
 * Frequency and Time Forum, 2004; NIST SP 1065, section 5.5.6 (both from memory; the algorithm agrees with allantools'
 * `autocorr_noise_id`).
 */
export function identifyNoise(
  samples: Samples | PreparedSamples,
  tauSeconds: number,
  family: "allan" | "hadamard" = "allan",
): NoiseType | StabilityIssue {
  const prepared = prepare(samples);
  if (prepared.issue !== null) return prepared.issue;
  const m = averagingFactorOf(tauSeconds, prepared.tau0Seconds);
  if (typeof m !== "number") return m;
  const longest = prepared.runs.reduce((most, run) => (run.length > most.length ? run : most));
  let series = new Float64Array(Math.ceil(longest.length / m));
  for (let i = 0; i < series.length; i++) series[i] = longest[i * m] as number;
  const present = series.reduce((count, x) => (Number.isNaN(x) ? count : count + 1), 0);
  if (present < POINTS_MIN)
    return {
      kind: "too-short",
      expected: `at least ${POINTS_MIN} points of phase, one every tau`,
      received: String(present),
      remedy: "name the noise type, or choose a shorter tau",
    };
  takeOutParabola(series);
  const most = DIFFERENCES_MAX[family];
  for (let d = 0; ; d++) {
    const r = lagOneAutocorrelation(series);
    const delta = r / (1 + r);
    if (d === most || delta < 0.25) {
      const alpha = 2 - Math.round(2 * delta) - 2 * d;
      return typeOf(Math.max(family === "allan" ? -2 : -4, Math.min(2, alpha)));
    }
    const shorter = new Float64Array(series.length - 1);
    for (let i = 0; i < shorter.length; i++) shorter[i] = (series[i + 1] as number) - (series[i] as number);
    series = shorter;
  }
}

function typeOf(alpha: number): NoiseType {
  const found = (Object.keys(NOISE_TYPES) as NoiseType[]).find((name) => NOISE_TYPES[name] === alpha);
  if (found === undefined) throw new Error(`no power law of noise has the exponent ${alpha}`);
  return found;
}

/** Σ (z[i] − z̄)(z[i+1] − z̄) / Σ (z[i] − z̄)², over what is there; 0 for a constant, which is as white as can be. */
function lagOneAutocorrelation(z: Float64Array): number {
  let sum = 0;
  let count = 0;
  for (const value of z)
    if (!Number.isNaN(value)) {
      sum += value;
      count++;
    }
  const mean = sum / count;
  let products = 0;
  let squares = 0;
  for (let i = 0; i < z.length; i++) {
    const here = (z[i] as number) - mean;
    if (Number.isNaN(here)) continue;
    squares += here * here;
    const next = i + 1 < z.length ? (z[i + 1] as number) - mean : 0;
    if (!Number.isNaN(next)) products += here * next;
  }
  return squares > 0 ? products / squares : 0;
}

/** Least squares over what is there, by polynomials that are orthogonal on it (Forsythe's recurrence). */
function takeOutParabola(z: Float64Array): void {
  const n = z.length;
  let before = new Float64Array(n);
  let basis = new Float64Array(n);
  for (let i = 0; i < n; i++) if (!Number.isNaN(z[i])) basis[i] = 1;
  let normBefore = 0;
  for (let degree = 0; degree <= 2; degree++) {
    let norm = 0;
    let fit = 0;
    let centre = 0;
    for (let i = 0; i < n; i++) {
      const p = basis[i] as number;
      if (p === 0) continue;
      const t = place(i, n);
      norm += p * p;
      fit += p * (z[i] as number);
      centre += t * p * p;
    }
    if (norm === 0) return;
    const next = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const p = basis[i] as number;
      z[i] = (z[i] as number) - (fit / norm) * p;
      const behind = normBefore === 0 ? 0 : (norm / normBefore) * (before[i] as number);
      next[i] = (place(i, n) - centre / norm) * p - behind;
    }
    before = basis;
    basis = next;
    normBefore = norm;
  }
}

/** Index i of n on [−1, 1]. */
function place(i: number, n: number): number {
  return n > 1 ? (2 * i) / (n - 1) - 1 : 0;
}
