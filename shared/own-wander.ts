/**
 * Wander as it leaves an oscillator: phase at the knots of the common grid, straight lines between them.
 *
 * The exact step of the clock model of C. Zucca and P. Tavella (IEEE Trans. UFFC 52(2), 2005) over the grid T: phase x,
 * frequency y, drift d,
 *
 *   X(t + T) = Φ·X(t) + w,  Φ = [[1, T, T²/2], [0, 1, T], [0, 0, 1]],  w ~ N(0, Q),
 *   Q11 = σ1²T + σ2²T³/3 + σ3²T⁵/20, Q12 = σ2²T²/2 + σ3²T⁴/8, Q13 = σ3²T³/6, Q22 = σ2²T + σ3²T³/3, Q23 = σ3²T²/2, Q33 = σ3²T,
 *
 * from two uniforms a knot (three with drift noise), block by block of knots, each block from a stream of its own. Kept
 * are the states at the beginnings of blocks and the few blocks that were looked at last.
 */
import { exp, log } from "./maths.ts";
import { floorFromFlicker } from "./noise-numbers.ts";
import { LARGEST_NORMAL, makeNormal } from "./normal.ts";
import type { WanderPlan } from "./plan.ts";
import { stream } from "./random.ts";
import type { Ns } from "./time.ts";

/** Of one oscillator, from the start of the show. */
export interface OwnWander extends WanderPlan {
  readonly kind: "own";
  readonly seed: string;
  readonly device: string;
  readonly gridNs: Ns;
}

/** Knots that are computed and kept together. */
export const BLOCK = 1024;

/**
 * Flicker FM: white noise and processes that decay and hold their value, each four times as long as the one before. The
 * five numbers are fitted so that the Allan deviation of the sum stays within 1.1 % of level from 1 to 10,000 knots (the
 * test integrates their covariance).
 */
const HOLD_KNOTS = 2;
const HOLD_RATIO = 4;
/** What is left of a value after its hold. */
const HOLD_DECAY = exp(-1 / 0.7);
/** Variance of the first process and of the white noise, that of every other process being 1. */
const FIRST_WEIGHT = 1.2;
const WHITE_WEIGHT = 0.4;
/** Middle of the band of the Allan deviation. */
const FLICKER_LEVEL = 0.99413;
/** Nine reach 10,000 knots; a finer grid has more knots in 10,000 s. */
const FLICKER_PROCESSES = 9;
/** An even deviate of variance 1 is this times one between −½ and ½. */
const SQRT_12 = Math.sqrt(12);

function flickerProcesses(own: OwnWander): number {
  if (own.hMinus1 === 0) return 0;
  const finer = -log(own.gridNs / 1e9) / log(HOLD_RATIO);
  return FLICKER_PROCESSES + Math.max(0, Math.ceil(finer - 1e-9));
}

/** Standard deviation of each process of flicker. */
function flickerSigma(own: OwnWander): number {
  return floorFromFlicker(own.hMinus1) / FLICKER_LEVEL;
}

/** Standard deviation of what phase gains from knot to knot beside the rest: white FM, and the white part of flicker. */
function phaseSigma(own: OwnWander): number {
  const { sigma1, sigma2, sigma3 } = own;
  const grid = own.gridNs / 1e9;
  const white = grid * flickerSigma(own);
  return Math.sqrt(
    sigma1 * sigma1 * grid +
      (sigma2 * sigma2 * grid * grid * grid) / 12 +
      (sigma3 * sigma3 * grid * grid * grid * grid * grid) / 720 +
      WHITE_WEIGHT * white * white,
  );
}

/** State of an oscillator at a knot: phase, frequency, drift, then its processes of flicker. */
const OF_PHASE = 3;

/** The draws of one oscillator. Blocks are drawn in order, once each; the few that were looked at last are kept. */
interface OwnCourse {
  /** State at the beginning of each block that was reached. */
  readonly starts: (readonly number[])[];
  /** Least and greatest slope in each block that was drawn. */
  readonly lowest: number[];
  readonly highest: number[];
  readonly recent: { readonly index: number; readonly phase: Float64Array }[];
}

const ownCourses = new WeakMap<OwnWander, OwnCourse>();

/** Blocks that are kept of one oscillator: what is looked at goes forward, from a few places. */
const RECENT = 4;

function courseOf(own: OwnWander): OwnCourse {
  const known = ownCourses.get(own);
  if (known !== undefined) return known;
  const start = new Array<number>(OF_PHASE + flickerProcesses(own)).fill(0);
  const course: OwnCourse = { starts: [start], lowest: [], highest: [], recent: [] };
  ownCourses.set(own, course);
  return course;
}

/** Phase at the knots of a block, the first of the next included. To be read at once: the array serves again. */
export function ownBlock(own: OwnWander, index: number): Float64Array {
  const course = courseOf(own);
  const { recent, starts } = course;
  for (const each of recent) if (each.index === index) return each.phase;
  // The array of the block that is given up serves again; so does it for those on the way to the block asked for.
  const room = recent.length < RECENT ? undefined : recent.pop()?.phase;
  const phase = room ?? new Float64Array(BLOCK + 1);
  for (let at = Math.min(index, starts.length - 1); at <= index; at++) drawBlock(own, course, at, phase);
  recent.unshift({ index, phase });
  return phase;
}

/** Least and greatest slope in the blocks `first … last`. */
export function ownSlopes(own: OwnWander, first: number, last: number): { lowest: number; highest: number } {
  const course = courseOf(own);
  if (course.lowest.length <= last) ownBlock(own, last);
  let lowest = Number.POSITIVE_INFINITY;
  let highest = Number.NEGATIVE_INFINITY;
  for (let index = first; index <= last; index++) {
    lowest = Math.min(lowest, course.lowest[index] as number);
    highest = Math.max(highest, course.highest[index] as number);
  }
  return { lowest, highest };
}

/** Where deviates are made, block after block. */
const TWO_A_KNOT = new Float64Array(2 * BLOCK);
const THREE_A_KNOT = new Float64Array(3 * BLOCK);

/**
 * Draws one block into `phase`; two uniforms a knot in knot order, three with drift noise, from the block's own stream.
 */
function drawBlock(own: OwnWander, course: OwnCourse, index: number, phase: Float64Array): void {
  const start = course.starts[index] as readonly number[];
  const { sigma2, sigma3 } = own;
  const grid = own.gridNs / 1e9;
  const draw = stream(own.seed, own.device, "wander", index);
  const perKnot = sigma3 === 0 ? 2 : 3;
  const normals = perKnot === 2 ? TWO_A_KNOT : THREE_A_KNOT;
  for (let k = 0; k < normals.length; k++) normals[k] = draw();
  makeNormal(normals);
  // Factors of Q, the same law in the order drift, frequency, phase.
  const ofDrift = sigma3 * Math.sqrt(grid);
  const ofRate = Math.sqrt(sigma2 * sigma2 * grid + (sigma3 * sigma3 * grid * grid * grid) / 12);
  const ofPhase = phaseSigma(own);
  const flicker = flickerOf(own, index, start);
  let x = start[0] as number;
  let y = start[1] as number;
  let d = start[2] as number;
  let lowest = Number.POSITIVE_INFINITY;
  let highest = Number.NEGATIVE_INFINITY;
  phase[0] = x;
  for (let knot = 0; knot < BLOCK; knot++) {
    const first = normals[perKnot * knot] as number;
    const rate = ofRate * (normals[perKnot * knot + 1] as number);
    const drift = perKnot === 3 ? ofDrift * (normals[perKnot * knot + 2] as number) : 0;
    const rise =
      grid * (y + 0.5 * grid * d) +
      ofPhase * first +
      0.5 * grid * rate +
      (grid * grid * drift) / 6 +
      (flicker === null ? 0 : grid * (flicker.frequency[knot] as number));
    x += rise;
    y += grid * d + rate + 0.5 * grid * drift;
    d += drift;
    phase[knot + 1] = x;
    if (rise < lowest) lowest = rise;
    if (rise > highest) highest = rise;
  }
  if (course.starts.length === index + 1) {
    const next = [x, y, d];
    if (flicker !== null) for (const value of flicker.values) next.push(value);
    course.starts.push(next);
    course.lowest.push(lowest / grid);
    course.highest.push(highest / grid);
  }
}

interface Flicker {
  /** Frequency over each interval of the block, its white part left out. */
  readonly frequency: Float64Array;
  /** The processes as they stand at its end. */
  readonly values: readonly number[];
}

/** Where the flicker of one block is made: read before the next is begun. */
const FLICKER = new Float64Array(BLOCK);

/**
 * Flicker is driven by even deviates, not normal ones: nine processes of it are added to normal noise, and only their
 * variance counts.
 */
function flickerOf(own: OwnWander, index: number, start: readonly number[]): Flicker | null {
  const processes = start.length - OF_PHASE;
  if (processes === 0) return null;
  const draw = stream(own.seed, own.device, "flicker", index);
  const sigma = flickerSigma(own);
  const kick = sigma * Math.sqrt(1 - HOLD_DECAY * HOLD_DECAY);
  const values = start.slice(OF_PHASE);
  const first = Math.sqrt(FIRST_WEIGHT);
  let slow = 0;
  for (let knot = 0; knot < BLOCK; knot += HOLD_KNOTS) {
    for (let process = 0, hold = HOLD_KNOTS; process < processes; process++, hold *= HOLD_RATIO) {
      // Who goes on holding does so with all that hold longer.
      if ((knot === 0 ? index * BLOCK : knot) % hold !== 0) break;
      const even = SQRT_12 * (draw() - 0.5);
      // The first value of all is drawn with the variance that all later ones have.
      const isFirst = index === 0 && knot === 0;
      values[process] = isFirst ? sigma * even : HOLD_DECAY * (values[process] as number) + kick * even;
    }
    if (knot % (HOLD_KNOTS * HOLD_RATIO) === 0) {
      slow = 0;
      for (let process = 1; process < processes; process++) slow += values[process] as number;
    }
    const sum = first * (values[0] as number) + slow;
    FLICKER[knot] = sum;
    FLICKER[knot + 1] = sum;
  }
  return { frequency: FLICKER, values };
}

/**
 * What no slope can exceed, in two parts, since loops answer them differently: one that stays within `slope` (white FM and
 * flicker), and one that goes anywhere but changes by no more than `kink` from knot to knot (random-walk FM).
 */
export interface Limits {
  readonly slope: number;
  readonly kink: number;
}

export const STEADY: Limits = { slope: 0, kink: 0 };

/** Of an oscillator: no deviate is greater than 6.34. Infinity with drift noise. */
export function ownLimits(own: OwnWander): Limits {
  if (own.sigma3 !== 0) return { slope: Number.POSITIVE_INFINITY, kink: Number.POSITIVE_INFINITY };
  const grid = own.gridNs / 1e9;
  // A process driven by even deviates never leaves √3·√(1 − a²)/(1 − a) of its deviation.
  const largest = (SQRT_12 / 2) * Math.sqrt((1 + HOLD_DECAY) / (1 - HOLD_DECAY));
  const processes = own.hMinus1 === 0 ? 0 : flickerProcesses(own) - 1 + Math.sqrt(FIRST_WEIGHT);
  return {
    slope: (LARGEST_NORMAL * phaseSigma(own)) / grid + processes * largest * flickerSigma(own),
    kink: LARGEST_NORMAL * own.sigma2 * Math.sqrt(grid),
  };
}
