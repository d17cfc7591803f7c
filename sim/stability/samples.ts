/**
 * The record that every statistic takes: phase or frequency at even spacing, checked once.
 *
 * Phase x is in seconds (positive: ahead of the reference), frequency y is fractional and dimensionless, the average
 * over the tau0 that follows its instant: y[i] = (x[i+1] − x[i]) / tau0. N values of frequency are N + 1 of phase.
 *
 * Gaps. NaN stands for a value that was not measured. In phase it is a hole: every term that touches it is left out,
 * terms on both sides of it still count. In frequency nothing is known of the phase across a hole, so the record falls
 * into runs, no term crosses from one to the next, and the terms of all runs are pooled.
 *
 * Digits. Frequency is integrated without its mean, which would otherwise use up the digits of a double within hours
 * (1e-5 over a day is 0.9 s, whose last place is 1e-16 s); the mean is kept, and the time errors put it back.
 */

/** One measurement. `tau0Seconds` is the spacing of the values; NaN is a value that was not measured. */
export type Samples = { readonly tau0Seconds: number } & (
  | { readonly phaseSeconds: Float64Array }
  | { readonly fractionalFrequency: Float64Array }
);

export interface StabilityIssue {
  readonly kind: "spacing" | "empty" | "not-finite" | "tau" | "too-short" | "too-many-gaps";
  readonly expected: string;
  readonly received: string;
  /** What to do, as a clause that ends a sentence. */
  readonly remedy: string;
}

/** Result of {@link prepare}; every statistic takes it in place of the samples, so that they are checked only once. */
export interface PreparedSamples {
  readonly tau0Seconds: number;
  readonly kind: "phase" | "frequency";
  /**
   * Phase in seconds, one array per stretch whose phase hangs together, first and last value present. Where frequency
   * was given, {@link meanFrequency} is taken out and each run begins at 0.
   */
  readonly runs: readonly Float64Array[];
  /** Dimensionless; 0 where phase was given. */
  readonly meanFrequency: number;
  /** Spacings from the first value given to each run's first point. */
  readonly starts: readonly number[];
  /** Phase points from the first to the last that is present, holes included. */
  readonly points: number;
  /** Values given as NaN. */
  readonly missing: number;
  /** What forbids any statistic; null where there is nothing. */
  readonly issue: StabilityIssue | null;
}

/**
 * Checks a record and brings it to phase.
 *
 * Not a number is a gap; an infinite value, a spacing that is not positive, and a record without any value are issues
 * (returned, never thrown). The arrays given are neither changed nor kept where they have to be converted.
 */
export function prepare(samples: Samples | PreparedSamples): PreparedSamples {
  if ("runs" in samples) return samples;
  const { tau0Seconds } = samples;
  const kind = "phaseSeconds" in samples ? "phase" : "frequency";
  const values = "phaseSeconds" in samples ? samples.phaseSeconds : samples.fractionalFrequency;
  const refused = (issue: StabilityIssue): PreparedSamples => {
    return { tau0Seconds, kind, runs: [], starts: [], meanFrequency: 0, points: 0, missing: 0, issue };
  };
  if (!(tau0Seconds > 0 && Number.isFinite(tau0Seconds)))
    return refused({
      kind: "spacing",
      expected: "a spacing tau0 above 0 s",
      received: String(tau0Seconds),
      remedy: "give the time between two values in seconds",
    });
  let missing = 0;
  let infinite = -1;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (Number.isNaN(value)) missing++;
    else if (infinite < 0 && !Number.isFinite(value)) infinite = i;
  }
  if (infinite >= 0)
    return refused({
      kind: "not-finite",
      expected: "finite values, or NaN where none was measured",
      received: `${values[infinite]} at index ${infinite}`,
      remedy: "leave that value out as NaN",
    });
  if (missing === values.length)
    return refused({
      kind: "empty",
      expected: "at least one value",
      received: values.length === 0 ? "no values" : `${values.length} values, all NaN`,
      remedy: "give a record of phase or frequency",
    });
  return kind === "phase" ? preparePhase(values, tau0Seconds, missing) : prepareFrequency(values, tau0Seconds, missing);
}

function preparePhase(phase: Float64Array, tau0Seconds: number, missing: number): PreparedSamples {
  let first = 0;
  while (Number.isNaN(phase[first])) first++;
  let end = phase.length;
  while (Number.isNaN(phase[end - 1])) end--;
  const runs = [phase.subarray(first, end)];
  return {
    tau0Seconds,
    kind: "phase",
    runs,
    starts: [first],
    meanFrequency: 0,
    points: end - first,
    missing,
    issue: null,
  };
}

function prepareFrequency(frequency: Float64Array, tau0Seconds: number, missing: number): PreparedSamples {
  let sum = 0;
  for (const y of frequency) if (!Number.isNaN(y)) sum += y;
  const meanFrequency = sum / (frequency.length - missing);
  const runs: Float64Array[] = [];
  const starts: number[] = [];
  let from = 0;
  let first = -1;
  let last = 0;
  while (from < frequency.length) {
    if (Number.isNaN(frequency[from])) {
      from++;
      continue;
    }
    let end = from;
    while (end < frequency.length && !Number.isNaN(frequency[end])) end++;
    const phase = new Float64Array(end - from + 1);
    for (let i = from; i < end; i++)
      phase[i - from + 1] = (phase[i - from] as number) + ((frequency[i] as number) - meanFrequency) * tau0Seconds;
    runs.push(phase);
    starts.push(from);
    if (first < 0) first = from;
    last = end;
    from = end;
  }
  const points = last - first + 1;
  return { tau0Seconds, kind: "frequency", runs, starts, meanFrequency, points, missing, issue: null };
}

/** A run's phase with the mean frequency in it, in seconds; the run itself where phase was given. */
export function wholePhase(prepared: PreparedSamples, run: Float64Array): Float64Array {
  if (prepared.meanFrequency === 0) return run;
  const slope = prepared.meanFrequency * prepared.tau0Seconds;
  return run.map((x, i) => x + slope * i);
}

/**
 * The averaging times of a table: tau0 · 1, 2, 4, … as long as one interval fits between the first value and the last.
 * Empty where the record has an issue.
 */
export function octaveTaus(samples: Samples | PreparedSamples): number[] {
  const { tau0Seconds, runs } = prepare(samples);
  const longest = runs.reduce((most, run) => Math.max(most, run.length), 0);
  const taus: number[] = [];
  for (let m = 1; m <= longest - 1; m *= 2) taus.push(m * tau0Seconds);
  return taus;
}

/**
 * How near to a whole number of spacings an averaging time must be: a millionth of itself (far below any interval of
 * confidence) and a thousandth of a spacing (else every long time would do).
 */
const TAU_TOLERANCE = 1e-6;
const SPACING_TOLERANCE = 1e-3;

/** The averaging factor m of tau = m · tau0, or what is wrong with tau. */
export function averagingFactorOf(tauSeconds: number, tau0Seconds: number): number | StabilityIssue {
  const ratio = tauSeconds / tau0Seconds;
  const m = Math.round(ratio);
  if (m >= 1 && Math.abs(ratio - m) <= Math.min(TAU_TOLERANCE * m, SPACING_TOLERANCE)) return m;
  const below = Math.max(1, Math.floor(ratio));
  return {
    kind: "tau",
    expected: `a whole number of spacings of ${tau0Seconds} s`,
    received: `${tauSeconds} s`,
    remedy:
      ratio > 0 && ratio < Number.MAX_SAFE_INTEGER
        ? `the nearest are ${below * tau0Seconds} s and ${(below + 1) * tau0Seconds} s`
        : `the least is ${tau0Seconds} s`,
  };
}
