/**
 * A timebase is one life of one oscillator, from power-on to power cut (a reboot does not end it). Its whole course is
 * known beforehand, because the events that bend it are: offset, ageing, temperature, frequency steps are straight
 * lines in frequency between breaks, warm-up is one exponential. Devices pass on *which* timebase they follow, so a
 * hot afternoon travels down a rig without one message.
 *
 *   y(t) = y0 + steps + ageing·t + tempco·(T(t) − 25 °C) + w·e^(−(t − born)/τ),   x(t) = ∫ y, x(born) = 0
 *
 * Its wander is kept apart: `wander.ts` adds it to x at the knots of the common grid.
 */
import { cbrt, exp } from "./maths.ts";
import type { Ns } from "./time.ts";
import { later, NEVER, nsFromSeconds, secondsBetween, secondsFromNs } from "./time.ts";
import type { OwnWander } from "./wander.ts";

export interface Piece {
  readonly rate: number;
  readonly ageingPerSecond: number;
  readonly untilNs: Ns;
}

export interface Timebase {
  readonly id: number;
  readonly device: string;
  readonly bornNs: Ns;
  /** Greatest change of its rate within its life, up to the end of the show. */
  readonly rateSpread: number;
  /** What it adds by chance, left out of all that follows here; null: steady. */
  readonly wander: OwnWander | null;
  /** Seconds ahead of true time. */
  phaseSecondsAt(t: Ns): number;
  /** Fractional frequency against true time. */
  rateAt(t: Ns): number;
  /** The longest quadratic piece from t whose phase stays within the tolerance of the truth, less a constant. */
  pieceAt(t: Ns, withinSeconds: number): Piece;
}

/** From this instant on, frequency is `rate` and changes by `ageingPerSecond`. */
export interface Bend {
  readonly atNs: Ns;
  readonly rate: number;
  readonly ageingPerSecond: number;
}

export interface TimebaseShape {
  readonly id: number;
  readonly device: string;
  readonly bornNs: Ns;
  /** In order; the first at or before `bornNs`. */
  readonly bends: readonly Bend[];
  /** Fractional offset at birth that warming takes away, and its time constant. */
  readonly warmUp: number;
  readonly warmUpSeconds: number;
  readonly wander: OwnWander | null;
  /** End of the show: nothing is asked later. */
  readonly endNs: Ns;
}

interface Segment extends Bend {
  readonly phaseSeconds: number;
}

export function makeTimebase(shape: TimebaseShape): Timebase {
  const segments = integrate(shape);
  const { warmUp, warmUpSeconds, bornNs } = shape;
  const isWarming = warmUp !== 0 && warmUpSeconds > 0;

  function segmentIndex(t: Ns): number {
    let low = 0;
    let high = segments.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((segments[middle] as Segment).atNs <= t) low = middle;
      else high = middle - 1;
    }
    return low;
  }
  function warmth(t: Ns): number {
    return isWarming ? exp(-secondsBetween(bornNs, t) / warmUpSeconds) : 0;
  }

  return {
    id: shape.id,
    device: shape.device,
    bornNs,
    wander: shape.wander,
    rateSpread: spread(segments, shape.endNs) + Math.abs(warmUp),
    phaseSecondsAt(t) {
      const s = segments[segmentIndex(t)] as Segment;
      const tau = secondsBetween(s.atNs, t);
      const straight = s.phaseSeconds + tau * (s.rate + 0.5 * s.ageingPerSecond * tau);
      return isWarming ? straight + warmUp * warmUpSeconds * (1 - warmth(t)) : straight;
    },
    rateAt(t) {
      const s = segments[segmentIndex(t)] as Segment;
      return s.rate + s.ageingPerSecond * secondsBetween(s.atNs, t) + warmUp * warmth(t);
    },
    pieceAt(t, withinSeconds) {
      const index = segmentIndex(t);
      const s = segments[index] as Segment;
      const untilNs = segments[index + 1]?.atNs ?? NEVER;
      const rate = s.rate + s.ageingPerSecond * secondsBetween(s.atNs, t);
      const w = warmUp * warmth(t);
      // Once the rest of the warm-up cannot move the phase by the tolerance, ever, it is over.
      if (Math.abs(w) * warmUpSeconds <= withinSeconds) return { rate, ageingPerSecond: s.ageingPerSecond, untilNs };
      // Phase error of a quadratic from the Taylor rest, w/τ²·L³/6, w shrinking: see any text on Taylor's theorem.
      const longest = cbrt((6 * withinSeconds * warmUpSeconds * warmUpSeconds) / Math.abs(w));
      const end = later(t, nsFromSeconds(Math.max(longest, 1e-3)));
      return {
        rate: rate + w,
        ageingPerSecond: s.ageingPerSecond - w / warmUpSeconds,
        untilNs: end < untilNs ? end : untilNs,
      };
    },
  };
}

function integrate(shape: TimebaseShape): Segment[] {
  const segments: Segment[] = [];
  let phaseSeconds = 0;
  for (const [index, bend] of shape.bends.entries()) {
    const next = shape.bends[index + 1];
    if (next !== undefined && next.atNs <= shape.bornNs) continue;
    const from = bend.atNs > shape.bornNs ? bend.atNs : shape.bornNs;
    const rate = bend.rate + bend.ageingPerSecond * secondsBetween(bend.atNs, from);
    segments.push({ atNs: from, rate, ageingPerSecond: bend.ageingPerSecond, phaseSeconds });
    if (next !== undefined) {
      const tau = secondsBetween(from, next.atNs);
      phaseSeconds += tau * (rate + 0.5 * bend.ageingPerSecond * tau);
    }
  }
  return segments;
}

function spread(segments: readonly Segment[], endNs: Ns): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const [index, s] of segments.entries()) {
    const until = segments[index + 1]?.atNs ?? (endNs > s.atNs ? endNs : s.atNs);
    const last = s.rate + s.ageingPerSecond * secondsBetween(s.atNs, until);
    low = Math.min(low, s.rate, last);
    high = Math.max(high, s.rate, last);
  }
  return high - low;
}

/** Straight-line temperature in °C over show time. */
export interface TemperatureCourse {
  readonly turns: readonly { readonly atNs: Ns; readonly celsius: number; readonly perSecond: number }[];
}

/** Offset of an oscillator at a temperature, dimensionless, against its own at {@link REFERENCE_CELSIUS}. */
export interface HeatPoint {
  readonly celsius: number;
  readonly offset: number;
}

/** On the straight lines between points of rising temperature; level beyond the first and the last. */
export function offsetAtCelsius(points: readonly HeatPoint[], celsius: number): number {
  const above = points.findIndex((point) => point.celsius > celsius);
  const high = points[above] ?? (points[points.length - 1] as HeatPoint);
  const low = points[above - 1] ?? high;
  return low.offset + offsetPerCelsius(points, celsius) * (celsius - low.celsius);
}

/** Slope of those lines; at a point that of the line above it. */
function offsetPerCelsius(points: readonly HeatPoint[], celsius: number): number {
  const above = points.findIndex((point) => point.celsius > celsius);
  const high = points[above];
  const low = points[above - 1];
  return high && low ? (high.offset - low.offset) / (high.celsius - low.celsius) : 0;
}

/**
 * Frequency bends of an oscillator in show time from its numbers, frequency steps and temperature course: where a step
 * is, where the course turns, and where it passes a point of the table, at the nearest whole nanosecond. The frequency at
 * a bend is that of the temperature at that very instant, so nothing adds up.
 */
export function bendsOf(oscillator: {
  readonly offset: number;
  readonly ageingPerSecond: number;
  readonly tempcoPerCelsius: number;
  /** In place of the coefficient; null: linear. */
  readonly tempcoTable: readonly HeatPoint[] | null;
  readonly steps: readonly { readonly atNs: Ns; readonly offset: number }[];
  readonly temperature: TemperatureCourse;
}): Bend[] {
  const { tempcoPerCelsius, tempcoTable, temperature } = oscillator;
  const heatOffset = (celsius: number): number =>
    tempcoTable === null ? tempcoPerCelsius * (celsius - REFERENCE_CELSIUS) : offsetAtCelsius(tempcoTable, celsius);
  const instants = new Set<number>([0]);
  for (const step of oscillator.steps) instants.add(step.atNs);
  if (tempcoTable !== null || tempcoPerCelsius !== 0) for (const turn of temperature.turns) instants.add(turn.atNs);
  for (const atNs of passings(temperature, tempcoTable ?? [])) instants.add(atNs);
  const inOrder = [...instants].sort((a, b) => a - b);
  return inOrder.map((instant, index) => {
    const atNs = instant as Ns;
    let offset = oscillator.offset;
    for (const step of oscillator.steps) if (step.atNs <= atNs) offset = step.offset;
    let celsius = REFERENCE_CELSIUS;
    let perSecond = 0;
    for (const turn of temperature.turns) {
      if (turn.atNs > atNs) break;
      celsius = turn.celsius + turn.perSecond * secondsBetween(turn.atNs, atNs);
      perSecond = turn.perSecond;
    }
    // Halfway to the next bend: at the bend itself the rounded instant may lie on either side of a point of the table.
    const halfway = secondsBetween(atNs, (inOrder[index + 1] ?? instant + 2e9) as Ns) / 2;
    const slope =
      tempcoTable === null ? tempcoPerCelsius : offsetPerCelsius(tempcoTable, celsius + perSecond * halfway);
    return {
      atNs,
      rate: offset + oscillator.ageingPerSecond * secondsFromNs(atNs) + heatOffset(celsius),
      ageingPerSecond: oscillator.ageingPerSecond + slope * perSecond,
    };
  });
}

/** When the course passes the temperature of a point. */
function passings({ turns }: TemperatureCourse, points: readonly HeatPoint[]): Ns[] {
  const found: Ns[] = [];
  for (const [index, { atNs, celsius, perSecond }] of turns.entries()) {
    const untilNs = turns[index + 1]?.atNs ?? NEVER;
    for (const point of points) {
      const seconds = perSecond === 0 ? 0 : (point.celsius - celsius) / perSecond;
      const passNs = later(atNs, nsFromSeconds(seconds));
      if (passNs > atNs && passNs < untilNs) found.push(passNs);
    }
  }
  return found;
}

/** Temperature at which an oscillator has its nominal offset (common practice: data sheets refer to 25 °C). */
export const REFERENCE_CELSIUS = 25;
