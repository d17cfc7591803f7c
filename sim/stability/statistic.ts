/**
 * What the statistics have in common: one value per averaging time, or why there is none. A record that is too short
 * has no deviation; that is not a deviation of 0.
 */
import { averagingFactorOf, type PreparedSamples, prepare, type Samples, type StabilityIssue } from "./samples.ts";

/** One statistic at one averaging time. */
export type StabilityValue =
  | {
      readonly tauSeconds: number;
      /** m of tau = m · tau0. */
      readonly averagingFactor: number;
      /** Dimensionless for ADEV, MDEV, HDEV, TOTDEV and the sample deviation; seconds for TDEV, MTIE, TIErms. */
      readonly value: number;
      /** How many terms (differences, averages, windows) it was made of. */
      readonly terms: number;
    }
  | { readonly tauSeconds: number; readonly issue: StabilityIssue };

/** What one run adds to a sum over terms. */
export interface Terms {
  readonly sum: number;
  readonly count: number;
}

/** A variance as a sum over terms: the square root of `scale` times their mean is the deviation. */
export interface TermStatistic {
  /** Phase points that one term needs, for averaging factor m. */
  points(m: number): number;
  terms(run: Float64Array, m: number): Terms;
  scale(m: number, tauSeconds: number): number;
}

export function deviations(
  samples: Samples | PreparedSamples,
  tausSeconds: readonly number[],
  statistic: TermStatistic,
): StabilityValue[] {
  const prepared = prepare(samples);
  return evaluated(prepared, tausSeconds, (m) => {
    let sum = 0;
    let count = 0;
    for (const run of prepared.runs) {
      const terms = statistic.terms(run, m);
      sum += terms.sum;
      count += terms.count;
    }
    if (count === 0) return tooShort(prepared, statistic.points(m));
    return { value: Math.sqrt((sum / count) * statistic.scale(m, m * prepared.tau0Seconds)), terms: count };
  });
}

/** Applies `at` to each tau that is a whole number of spacings; the others, and every tau of a bad record, get the issue. */
export function evaluated(
  prepared: PreparedSamples,
  tausSeconds: readonly number[],
  at: (m: number) => { readonly value: number; readonly terms: number } | StabilityIssue,
): StabilityValue[] {
  return tausSeconds.map((tauSeconds) => {
    if (prepared.issue !== null) return { tauSeconds, issue: prepared.issue };
    const m = averagingFactorOf(tauSeconds, prepared.tau0Seconds);
    if (typeof m !== "number") return { tauSeconds, issue: m };
    const found = at(m);
    return "kind" in found ? { tauSeconds, issue: found } : { tauSeconds, averagingFactor: m, ...found };
  });
}

export function tooShort(prepared: PreparedSamples, pointsNeeded: number): StabilityIssue {
  if (prepared.points >= pointsNeeded)
    return {
      kind: "too-many-gaps",
      expected: `one stretch of ${pointsNeeded} points of phase without a gap in the way`,
      received: `${prepared.missing} missing values among ${prepared.points} points`,
      remedy: "choose a shorter tau",
    };
  return {
    kind: "too-short",
    expected: `at least ${pointsNeeded} points of phase`,
    received: String(prepared.points),
    remedy: "choose a shorter tau, or measure for longer",
  };
}
