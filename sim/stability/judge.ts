/** A record against the masks: where each is exceeded first, and how near the record comes to it. */
import { type Mask, maskLimitSeconds } from "./masks.ts";
import { type PreparedSamples, prepare, type Samples, wholePhase } from "./samples.ts";
import type { StabilityValue } from "./statistic.ts";

/** One value beside its limit. */
export interface MaskPoint {
  /** Observation interval τ; for a limit of phase the time since the first value given. */
  readonly atSeconds: number;
  readonly valueSeconds: number;
  readonly limitSeconds: number;
}

export interface MaskVerdict {
  readonly mask: Mask;
  /** "not judged": nothing of the record falls where the mask says anything. */
  readonly outcome: "below" | "exceeded" | "not judged";
  readonly firstExceeded: MaskPoint | null;
  /** Where limit / value is least: the margin, below 1 where the mask is exceeded. Null where nothing was judged. */
  readonly nearest: MaskPoint | null;
  /** How many values were compared, and over which stretch; only at these is anything known. */
  readonly judged: { readonly count: number; readonly fromSeconds: number; readonly toSeconds: number } | null;
  /** Why nothing was judged; null where something was. */
  readonly reason: string | null;
}

/** limit / value of a verdict's nearest point; Infinity where the value is 0, null where nothing was judged. */
export function marginOf({ nearest }: MaskVerdict): number | null {
  return nearest === null ? null : nearest.limitSeconds / nearest.valueSeconds;
}

/**
 * Compares a statistic with a mask over the observation interval.
 *
 * @param mask a mask of MTIE or TDEV
 * @param values that statistic in seconds, at any intervals in any order; those with an issue are passed over
 * @returns exceeded means above the limit, equal is still below
 */
export function judgeStatistic(
  mask: Mask,
  values: readonly (StabilityValue | { readonly tauSeconds: number; readonly value: number })[],
): MaskVerdict {
  const points: MaskPoint[] = [];
  for (const found of values) {
    if ("issue" in found) continue;
    const limitSeconds = maskLimitSeconds(mask, found.tauSeconds);
    if (limitSeconds !== null) points.push({ atSeconds: found.tauSeconds, valueSeconds: found.value, limitSeconds });
  }
  points.sort((a, b) => a.atSeconds - b.atSeconds);
  const first = points[0];
  const last = points[points.length - 1];
  if (first === undefined || last === undefined)
    return notJudged(mask, "the record has no value where the mask has a limit");
  return {
    mask,
    firstExceeded: points.find(({ valueSeconds, limitSeconds }) => valueSeconds > limitSeconds) ?? null,
    nearest: points.reduce((nearest, point) => (isNearer(point, nearest) ? point : nearest)),
    outcome: points.some(({ valueSeconds, limitSeconds }) => valueSeconds > limitSeconds) ? "exceeded" : "below",
    judged: { count: points.length, fromSeconds: first.atSeconds, toSeconds: last.atSeconds },
    reason: null,
  };
}

function isNearer(a: MaskPoint, b: MaskPoint): boolean {
  return a.valueSeconds * b.limitSeconds > b.valueSeconds * a.limitSeconds;
}

/**
 * Compares the phase itself with a limit of phase.
 *
 * Phase is taken as it is given, as the difference from the reference; of frequency only the change of phase since the
 * beginning is known, and a gap in it ends that knowledge.
 *
 * @param mask a mask of phase
 * @param samples phase in seconds or fractional frequency
 * @returns exceeded means that |x| is above the limit at some instant
 */
export function judgePhase(mask: Mask, samples: Samples | PreparedSamples): MaskVerdict {
  const prepared = prepare(samples);
  if (prepared.issue !== null)
    return notJudged(mask, `expected ${prepared.issue.expected}, received ${prepared.issue.received}`);
  if (prepared.runs.length > 1) return notJudged(mask, "the phase after a gap in frequency is not known");
  const limitSeconds = maskLimitSeconds(mask, 0) ?? Number.NaN;
  const start = prepared.starts[0] as number;
  const phase = wholePhase(prepared, prepared.runs[0] as Float64Array);
  let count = 0;
  let exceeded = -1;
  let furthest = 0;
  for (let i = 0; i < phase.length; i++) {
    const size = Math.abs(phase[i] as number);
    if (Number.isNaN(size)) continue;
    count++;
    if (exceeded < 0 && size > limitSeconds) exceeded = i;
    if (size > Math.abs(phase[furthest] as number)) furthest = i;
  }
  const point = (i: number): MaskPoint => {
    const atSeconds = (start + i) * prepared.tau0Seconds;
    return { atSeconds, valueSeconds: Math.abs(phase[i] as number), limitSeconds };
  };
  return {
    mask,
    outcome: exceeded < 0 ? "below" : "exceeded",
    firstExceeded: exceeded < 0 ? null : point(exceeded),
    nearest: point(furthest),
    judged: { count, fromSeconds: point(0).atSeconds, toSeconds: point(phase.length - 1).atSeconds },
    reason: null,
  };
}

function notJudged(mask: Mask, reason: string): MaskVerdict {
  return { mask, outcome: "not judged", firstExceeded: null, nearest: null, judged: null, reason };
}
