/**
 * The stability of one clock of the run, as the page draws it: worked out when somebody asks, and kept. No drawing here;
 * the numbers are those that `pulltest stability FILE --device ID` prints.
 */
import { type Ns, secondsFromNs } from "../shared/time.ts";
import { timebasesOf } from "../sim/lives.ts";
import {
  type ClockStretch,
  isStraight,
  jumpsWithin,
  lessWholePeriods,
  longestInLock,
  meanFrequency,
  type PhaseSeries,
  phaseSeries,
} from "../sim/phase-series.ts";
import { type Mask, maskLimitSeconds, stabilityTable, type TableRow } from "../sim/stability/index.ts";
import type { Run } from "./run.ts";
import type { Point } from "./slips.ts";

/** More samples than this make nobody wiser and a phone slow. */
const SAMPLES_MAX = 20_000;

export interface ClockFacts {
  readonly series: PhaseSeries;
  readonly stretch: ClockStretch;
  readonly isStraight: boolean;
  readonly meanFrequency: number | null;
  readonly jumps: number;
  /** Octaves of averaging times, with intervals of 95 %. */
  readonly rows: readonly TableRow[];
  /** Over the whole show; against another clock without whole sample periods, as AES11 limits it; against true time whole. */
  readonly timeError: PhaseSeries;
}

export interface Clocks {
  /** Whether any oscillator of the run wanders. */
  readonly oscillatorsWander: boolean;
  /** In their longest stretch locked or leading together; null where they never put out clocks at the same time. */
  of(device: string, against: string | null): ClockFacts | null;
}

export function clocksOf({ plan, record }: Run): Clocks {
  const known = new Map<string, ClockFacts | null>();
  const find = (device: string, against: string | null): ClockFacts | null => {
    const devices = against === null ? [device] : [device, against];
    const stretch = longestInLock(record, devices);
    if (stretch === null) return null;
    const stepSeconds = stepFor(plan.wanderGridSeconds, secondsFromNs((stretch.toNs - stretch.fromNs) as Ns));
    const series = phaseSeries(plan, record, timebasesOf(plan), device, { ...stretch, stepSeconds, against });
    if (series.phaseSeconds.every(Number.isNaN)) return null;
    const whole = phaseSeries(plan, record, timebasesOf(plan), device, {
      stepSeconds: stepFor(plan.wanderGridSeconds, secondsFromNs(record.endNs)),
      against,
    });
    return {
      ...{ series, stretch },
      isStraight: isStraight(series),
      meanFrequency: meanFrequency(series),
      jumps: jumpsWithin(record, devices, stretch),
      rows: stabilityTable(series),
      timeError: against === null ? whole : lessWholePeriods(whole, 1 / plan.sampleRateHz),
    };
  };
  return {
    oscillatorsWander: plan.devices.some(({ oscillator }) => oscillator.wander !== null),
    of(device, against) {
      const key = JSON.stringify([device, against]);
      let facts = known.get(key);
      if (facts === undefined) {
        facts = find(device, against);
        known.set(key, facts);
      }
      return facts;
    },
  };
}

/** The wander grid, or as many times of it, by twos, as keep the samples few enough. */
export function stepFor(gridSeconds: number, seconds: number): number {
  let step = gridSeconds;
  while (seconds / step > SAMPLES_MAX) step *= 2;
  return step;
}

/** Powers of ten from `low` to `high`, both included where they are ones. */
export function decades(low: number, high: number): number[] {
  const found: number[] = [];
  // By the written number: a product of tens would drift from what it is called.
  for (let power = Math.floor(Math.log10(low)); power <= Math.ceil(Math.log10(high)); power += 1) {
    const value = Number(`1e${power}`);
    if (value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)) found.push(value);
  }
  return found;
}

/** A mask as a line over averaging times: every corner, and enough between for curved pieces. */
export function maskLine(mask: Mask, fromSeconds: number, toSeconds: number): Point[] {
  const corners = mask.pieces.flatMap((piece) => [piece.fromSeconds, piece.toSeconds]);
  const steps = 48;
  const even = Array.from({ length: steps + 1 }, (_, index) => {
    return fromSeconds * (toSeconds / fromSeconds) ** (index / steps);
  });
  const inside = [...even, ...corners].filter((tau) => tau >= fromSeconds && tau <= toSeconds);
  return [...new Set(inside)]
    .sort((one, other) => one - other)
    .flatMap((x) => {
      const y = maskLimitSeconds(mask, x);
      return y === null ? [] : [{ x, y }];
    });
}

/** The greatest size of the samples within a stretch of show time; 0 where there is none. */
export function furthestWithin(
  { phaseSeconds, tau0Seconds, startNs }: PhaseSeries,
  { fromNs, toNs }: ClockStretch,
): number {
  const start = secondsFromNs(startNs);
  const [from, to] = [secondsFromNs(fromNs), secondsFromNs(toNs)].map((at) => (at - start) / tau0Seconds) as [
    number,
    number,
  ];
  return phaseSeconds
    .subarray(Math.max(0, Math.ceil(from)), Math.floor(to) + 1)
    .reduce((most, x) => (Math.abs(x) > most ? Math.abs(x) : most), 0);
}

/** Least and greatest per column where there are more samples than columns: nothing that shows is left out. */
export function outline({ phaseSeconds, tau0Seconds, startNs }: PhaseSeries, columns: number): Point[] {
  const start = secondsFromNs(startNs);
  const at = (index: number): Point => ({ x: start + index * tau0Seconds, y: phaseSeconds[index] as number });
  const count = phaseSeconds.length;
  if (count <= 2 * columns) return Array.from({ length: count }, (_, index) => at(index));
  const points: Point[] = [];
  for (let column = 0; column < columns; column += 1) {
    const from = Math.floor((column * count) / columns);
    const to = Math.floor(((column + 1) * count) / columns);
    let low = from;
    let high = from;
    for (let index = from; index < to; index += 1) {
      const y = at(index).y;
      // A missing sample gives way to any other; a column of nothing else stays a gap.
      if (y < at(low).y || Number.isNaN(at(low).y)) low = index;
      if (y > at(high).y || Number.isNaN(at(high).y)) high = index;
    }
    points.push(at(Math.min(low, high)), at(Math.max(low, high)));
  }
  return points;
}

export interface Span {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly leastSeconds: number;
  readonly greatestSeconds: number;
}

/** Least and greatest of each of so many equal stretches; those without a sample left out. */
export function spans({ phaseSeconds, tau0Seconds, startNs }: PhaseSeries, count: number): Span[] {
  const start = secondsFromNs(startNs);
  const length = phaseSeconds.length;
  const parts = Math.min(count, length);
  return Array.from({ length: parts }, (_, part) => {
    const [from, to] = [Math.floor((part * length) / parts), Math.floor(((part + 1) * length) / parts)];
    const present = phaseSeconds.subarray(from, to).filter((x) => !Number.isNaN(x));
    return {
      fromSeconds: start + from * tau0Seconds,
      toSeconds: start + (to - 1) * tau0Seconds,
      leastSeconds: present.reduce((least, x) => Math.min(least, x), Number.POSITIVE_INFINITY),
      greatestSeconds: present.reduce((most, x) => Math.max(most, x), Number.NEGATIVE_INFINITY),
    };
  }).filter(({ leastSeconds }) => Number.isFinite(leastSeconds));
}
