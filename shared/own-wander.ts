/**
 * Wander as it leaves an oscillator: phase at the knots of the common grid, straight lines between them.
 *
 * Kept are the states at the beginnings of blocks of knots, how steep each block is, and the few blocks that were looked
 * at last.
 */
import { LARGEST_NORMAL } from "./normal.ts";
import type { OwnWander } from "./wander-block.ts";
import { BLOCK, drawBlock, largestFlicker, phaseSigma, stateAtStart } from "./wander-block.ts";

export type { OwnWander };
export { BLOCK };

/** A stretch of knots in few numbers: the straight line from its first to its last, and how far it goes from that. */
interface Stretch {
  readonly phase: number;
  readonly slope: number;
  /** Seconds, at most 0. */
  readonly below: number;
  /** Seconds, at least 0. */
  readonly above: number;
}

/** Least and greatest slope from knot to knot. */
interface Steepness {
  readonly lowest: number;
  readonly highest: number;
}

/** Knots of a part of a block. */
export const PART = 64;

/** The draws of one oscillator. Blocks are drawn in order, once each; the few that were looked at last are kept. */
interface OwnCourse {
  /** State at the beginning of each block that was reached. */
  readonly starts: (readonly number[])[];
  /** Of each block that was drawn. */
  readonly blocks: Steepness[];
  /** Of the blocks that were asked for. */
  readonly stretches: (Stretch | undefined)[];
  readonly recent: KeptBlock[];
}

interface KeptBlock {
  readonly index: number;
  readonly phase: Float64Array;
  /** Of its parts, those that were asked for. */
  readonly parts: (Stretch | undefined)[];
}

const ownCourses = new WeakMap<OwnWander, OwnCourse>();

/** Blocks that are kept of one oscillator: what is looked at goes forward, from a few places. */
const RECENT = 3;

function courseOf(own: OwnWander): OwnCourse {
  const known = ownCourses.get(own);
  if (known !== undefined) return known;
  const course: OwnCourse = { starts: [stateAtStart(own)], blocks: [], stretches: [], recent: [] };
  ownCourses.set(own, course);
  return course;
}

/** Phase at the knots of a block, the first of the next included. To be read at once: the array serves again. */
export function ownBlock(own: OwnWander, index: number): Float64Array {
  return keptBlock(own, index).phase;
}

function keptBlock(own: OwnWander, index: number): KeptBlock {
  const course = courseOf(own);
  const { recent, starts } = course;
  for (const each of recent) if (each.index === index) return each;
  // The array of the block that is given up serves again; so does it for those on the way to the block asked for.
  const room = recent.length < RECENT ? undefined : recent.pop()?.phase;
  const phase = room ?? new Float64Array(BLOCK + 1);
  for (let at = Math.min(index, starts.length - 1); at <= index; at++) reach(own, course, at, phase);
  const kept = { index, phase, parts: new Array<Stretch | undefined>(BLOCK / PART) };
  recent.unshift(kept);
  return kept;
}

/** A part of a block in few numbers: the n-th, from 0. */
export function ownPart(own: OwnWander, index: number, n: number): Stretch {
  const { phase, parts } = keptBlock(own, index);
  const known = parts[n];
  if (known !== undefined) return known;
  const part = stretchOf(phase, n * PART, PART, own.gridNs / 1e9);
  parts[n] = part;
  return part;
}

/** A block in few numbers. */
export function ownSummary(own: OwnWander, index: number): Stretch {
  const { stretches } = courseOf(own);
  const known = stretches[index];
  if (known !== undefined) return known;
  const stretch = stretchOf(ownBlock(own, index), 0, BLOCK, own.gridNs / 1e9);
  stretches[index] = stretch;
  return stretch;
}

/** How steep a block is. */
export function ownSteepness(own: OwnWander, index: number): Steepness {
  const { blocks } = courseOf(own);
  if (blocks.length <= index) ownBlock(own, index);
  return blocks[index] as Steepness;
}

/** Draws one block; the first time it is kept where it ends, and how steep it is. */
function reach(own: OwnWander, course: OwnCourse, index: number, phase: Float64Array): void {
  const state = (course.starts[index] as readonly number[]).slice();
  drawBlock(own, index, state, phase);
  if (course.starts.length > index + 1) return;
  course.starts.push(state);
  course.blocks.push(steepnessOf(phase, own.gridNs / 1e9));
}

function steepnessOf(phase: Float64Array, grid: number): Steepness {
  let last = phase[0] as number;
  let lowest = (phase[1] as number) - last;
  let highest = lowest;
  for (let knot = 1; knot < phase.length; knot++) {
    const x = phase[knot] as number;
    const step = x - last;
    last = x;
    if (step < lowest) lowest = step;
    else if (step > highest) highest = step;
  }
  return { lowest: lowest / grid, highest: highest / grid };
}

function stretchOf(phase: Float64Array, first: number, knots: number, grid: number): Stretch {
  const from = phase[first] as number;
  const rise = ((phase[first + knots] as number) - from) / knots;
  let below = 0;
  let above = 0;
  // The last knot is on the line, whatever rounding makes of it.
  for (let knot = 1; knot < knots; knot++) {
    const off = (phase[first + knot] as number) - from - rise * knot;
    if (off < below) below = off;
    else if (off > above) above = off;
  }
  return { phase: from, slope: rise / grid, below, above };
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
  return {
    slope: (LARGEST_NORMAL * phaseSigma(own)) / grid + largestFlicker(own),
    kink: LARGEST_NORMAL * own.sigma2 * Math.sqrt(grid),
  };
}
