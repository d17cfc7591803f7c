/**
 * The clock of one device of a finished run, written down at equal steps: what the statistics of `sim/stability` take.
 *
 *     const stretch = longestInLock(record, ["stage"]);
 *     const series = phaseSeries(plan, record, timebasesOf(plan), "stage", { ...stretch, stepSeconds: 1 });
 *     oadev(series, [1, 10, 100]);
 *
 * Samples follow the clock, whatever it does: where a device is re-aligned they jump with it, and after a power cut a
 * new life of the oscillator begins at phase 0. A statistic over such a stretch is one of the jump, so choose a stretch
 * without any ({@link longestInLock}), or say that it has one ({@link jumpsWithin}).
 */
import { clockPhaseAt } from "../shared/clock-phase.ts";
import type { Plan } from "../shared/plan.ts";
import type { RunRecord } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { NEVER, nsFromSeconds, ZERO } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import { type DeviceLook, type Looks, looksOf, stretches } from "./timeline.ts";

/** Fits where `Samples` are asked for. */
export interface PhaseSeries {
  /** Seconds ahead of true time, or of the clock it is taken against; NaN where one of them puts out no clock. */
  readonly phaseSeconds: Float64Array;
  readonly tau0Seconds: number;
  /** Instant of the first sample. */
  readonly startNs: Ns;
  /** How far a sample may be from the exact model, by what the flows left out; Infinity in a ring. */
  readonly withinSeconds: number;
  /** Bends of the phase smaller than this are rounding of its arithmetic. */
  readonly roundingSeconds: number;
}

export interface PhaseSeriesOptions {
  /** Spacing, at least 1e-9; the wander grid where left out. */
  readonly stepSeconds?: number;
  /** First and last instant that may be sampled; the whole show where left out. */
  readonly fromNs?: Ns;
  readonly toNs?: Ns;
  /** Id of the device whose phase is subtracted; null: true time. */
  readonly against?: string | null;
}

/**
 * Samples at every whole multiple of the step in show time from `fromNs` to `toNs`, both included, so that series of one
 * step fall on the same instants, and on the knots of the wander grid where the step is a multiple of it. (Between knots
 * wander runs straight; samples there would show less of it than there is.)
 *
 * @param timebases those of the run: `timebasesOf(plan)` gives the same ones again
 * @param device id of a device of the plan
 * @returns seconds; no samples at all where no multiple of the step lies in the stretch
 * @throws RangeError for a device that the plan does not have, or a step below a nanosecond
 */
export function phaseSeries(
  plan: Plan,
  record: RunRecord,
  timebases: readonly Timebase[],
  device: string,
  { stepSeconds = plan.wanderGridSeconds, fromNs = ZERO, toNs = record.endNs, against = null }: PhaseSeriesOptions = {},
): PhaseSeries {
  for (const id of against === null ? [device] : [device, against]) {
    if (!plan.devices.some((each) => each.id === id)) throw new RangeError(`no device ${id} in this plan`);
  }
  if (!(stepSeconds >= 1e-9)) throw new RangeError(`a step of ${stepSeconds} s; expected at least a nanosecond`);
  const instant = (index: number): Ns => nsFromSeconds(index * stepSeconds);
  // The quotient may be a rounding off; the instants themselves decide.
  let first = Math.floor(fromNs / (stepSeconds * 1e9));
  while (instant(first) < fromNs) first++;
  let last = Math.ceil(toNs / (stepSeconds * 1e9));
  while (last >= first && instant(last) > toNs) last--;

  const own = clockOf(record, timebases, device);
  const other = against === null ? null : clockOf(record, timebases, against);
  const phaseSeconds = new Float64Array(Math.max(0, last - first + 1));
  for (let index = 0; index < phaseSeconds.length; index++) {
    const at = instant(first + index);
    phaseSeconds[index] = other === null ? own.phaseAt(at) : own.phaseAt(at) - other.phaseAt(at);
  }
  return {
    phaseSeconds,
    tau0Seconds: stepSeconds,
    startNs: instant(first),
    withinSeconds: own.withinSeconds() + (other?.withinSeconds() ?? 0),
    roundingSeconds: ROUNDING * (own.largestSeconds() + (other?.largestSeconds() ?? 0)),
  };
}

/** 2^-46: a hundred units in the last place, since a phase is a sum of several products. */
const ROUNDING = 1 / 70_368_744_177_664;

interface Clock {
  /** At instants that only grow: one pass over the flows. */
  phaseAt(at: Ns): number;
  /** Of what has been asked for so far: the largest bound, and the largest size of the phase. */
  withinSeconds(): number;
  largestSeconds(): number;
}

function clockOf(record: RunRecord, timebases: readonly Timebase[], device: string): Clock {
  const { changes } = looksOf(record).flows.get(device) ?? { changes: [] };
  let next = 0;
  let withinSeconds = 0;
  let largestSeconds = 0;
  return {
    phaseAt(at) {
      while ((changes[next]?.atNs ?? NEVER) <= at) next++;
      const flow = changes[next - 1]?.value ?? null;
      if (flow === null) return Number.NaN;
      const seconds = clockPhaseAt(timebases, flow, at);
      withinSeconds = Math.max(withinSeconds, flow.withinSeconds);
      largestSeconds = Math.max(largestSeconds, Math.abs(seconds));
      return seconds;
    },
    withinSeconds: () => withinSeconds,
    largestSeconds: () => largestSeconds,
  };
}

/** A stretch of show time, both ends included. */
export interface ClockStretch {
  readonly fromNs: Ns;
  readonly toNs: Ns;
  /** False: none of the devices' time together was spent locked or leading, so this is the longest with a clock at all. */
  readonly isInLock: boolean;
}

/**
 * The longest stretch in which all of the devices were, without a break, locked to one source or running on their own
 * clock by choice, as a leader does. A change of source and a re-alignment are breaks. The earliest of equal ones.
 *
 * @returns null where they never put out clocks at the same time
 */
export function longestInLock(record: RunRecord, devices: readonly string[]): ClockStretch | null {
  const looks = looksOf(record);
  const inLock = longestOf(looks, devices, ({ state, source }) => {
    return state === "locked" || (state === "free-run" && source === "internal");
  });
  if (inLock !== null) return { ...inLock, isInLock: true };
  const running = longestOf(looks, devices, ({ state }) => state !== "off" && state !== "starting");
  return running === null ? null : { ...running, isInLock: false };
}

interface Span {
  readonly fromNs: Ns;
  readonly toNs: Ns;
}

function longestOf(looks: Looks, devices: readonly string[], isWanted: (look: DeviceLook) => boolean): Span | null {
  let shared: Span[] = [{ fromNs: ZERO, toNs: looks.endNs }];
  for (const device of devices) {
    const own = unbroken(looks, device, isWanted);
    shared = shared.flatMap((one) =>
      own.flatMap((other) => {
        const fromNs = one.fromNs > other.fromNs ? one.fromNs : other.fromNs;
        const toNs = one.toNs < other.toNs ? one.toNs : other.toNs;
        return fromNs < toNs ? [{ fromNs, toNs }] : [];
      }),
    );
  }
  let longest: Span | null = null;
  for (const span of shared) {
    if (longest === null || span.toNs - span.fromNs > longest.toNs - longest.fromNs) longest = span;
  }
  return longest;
}

function unbroken(looks: Looks, device: string, isWanted: (look: DeviceLook) => boolean): Span[] {
  const { endNs } = looks;
  const jumps = looks.realigned.get(device) ?? [];
  const line = looks.devices.get(device) ?? { changes: [] };
  const same = (a: DeviceLook, b: DeviceLook) => a.state === b.state && a.source === b.source;
  return stretches(line, endNs, same)
    .filter(({ value }) => isWanted(value))
    .flatMap(({ fromNs, toNs }) => {
      const cuts = [fromNs, ...jumps.filter((at) => at > fromNs && at < toNs), toNs];
      return cuts.slice(1).map((end, index) => {
        // What changes at an instant holds from it on, so the last that belongs to the stretch is the one before.
        return { fromNs: cuts[index] as Ns, toNs: (end === endNs ? end : end - 1) as Ns };
      });
    });
}

/** How often the devices were re-aligned after `fromNs`, up to `toNs`. */
export function jumpsWithin(record: RunRecord, devices: readonly string[], { fromNs, toNs }: Span): number {
  const subjects = devices.map((device) => `device ${device}`);
  const isJump = ({ fact, atNs, subject }: RunRecord["rows"][number]) =>
    fact.kind === "re-aligned" && atNs > fromNs && atNs <= toNs && subjects.includes(subject);
  return record.rows.filter(isJump).length;
}

/**
 * The same without whole periods, each sample between half a period behind and half a period ahead: what AES11 limits.
 * A device that jumps to its source may come to rest any number of whole samples away from it, and no receiver can tell.
 *
 * @param periodSeconds of a sample, above 0
 */
export function lessWholePeriods(series: PhaseSeries, periodSeconds: number): PhaseSeries {
  const phaseSeconds = series.phaseSeconds.map((x) => x - periodSeconds * Math.round(x / periodSeconds));
  return { ...series, phaseSeconds };
}

/** Mean frequency from the first sample present to the last, fractional; null where there are not two. */
export function meanFrequency({ phaseSeconds, tau0Seconds }: PhaseSeries): number | null {
  let first = 0;
  let last = phaseSeconds.length - 1;
  while (first < last && Number.isNaN(phaseSeconds[first])) first++;
  while (last > first && Number.isNaN(phaseSeconds[last])) last--;
  if (first >= last) return null;
  return ((phaseSeconds[last] as number) - (phaseSeconds[first] as number)) / ((last - first) * tau0Seconds);
}

/** Whether a series is one straight line within its rounding: a clock without noise, ageing, drift or settling. */
export function isStraight({ phaseSeconds, roundingSeconds }: PhaseSeries): boolean {
  const at = (index: number): number => phaseSeconds[index] as number;
  for (let index = 1; index < phaseSeconds.length - 1; index++) {
    // A comparison with NaN is false: gaps say nothing.
    if (Math.abs(at(index + 1) - 2 * at(index) + at(index - 1)) > roundingSeconds) return false;
  }
  return true;
}
