/**
 * Wander: the noise of an oscillator, as it leaves the oscillator and as it comes out of the loops behind it.
 *
 * Phase is drawn at the knots of one grid common to all devices, and is a straight line between them. Knots are counted
 * in show time, so a power cut shifts no draw. Between knots nothing is announced: what a flow carries is a *wander*,
 * plain data that says where it comes from, and whoever needs a value computes it. So the cost grows with what is asked,
 * and only as much of the past is kept as the loops remember.
 *
 * A loop takes the exact step of its free motion over the grid, since what it is to follow is a straight line there:
 * own phase = what arrives − e, e'' + 2ζω·e' + ω²·e = 0 between knots, e' stepping at each knot with the slopes.
 */
import type { Ringing } from "./motion.ts";
import { motionAt } from "./motion.ts";
import type { Limits, OwnWander } from "./own-wander.ts";
import { BLOCK, ownBlock, ownSteepness } from "./own-wander.ts";
import type { Ns } from "./time.ts";
import { NEVER, secondsBetween } from "./time.ts";

export type { OwnWander };

export type Wander = OwnWander | LoopWander;

/** Of a device that follows: what arrives, through its loop. */
export interface LoopWander {
  readonly kind: "loop";
  readonly gridNs: Ns;
  readonly loop: Ringing;
  /** What arrives; null: steady. */
  readonly reference: Wander | null;
  /** Of its own oscillator. */
  readonly own: OwnWander | null;
  readonly fromNs: Ns;
  /** What went before; null: at rest at `fromNs`, on what arrives and as fast. Own phase goes on where that left it. */
  readonly before: LoopWander | null;
  /**
   * With the control at a stop the loop is open and the error goes its own way. The integrator goes on learning
   * ("clipped") or stands at the stop as well ("pinned").
   */
  readonly control: "closed" | "clipped" | "pinned";
  /** No |e| is greater once how it began is forgotten, seconds; Infinity if there is no such bound. */
  readonly errorBound: number;
  /** What its slopes cannot exceed then. */
  readonly limits: Limits;
  /** How much steeper it may be than what arrives and its own oscillator are at their steepest: L1 norm of the loop. */
  readonly l1Norm: number;
  /** What may be left of how it began, in seconds, and when nothing is. */
  readonly left: { readonly seconds: number; readonly untilNs: Ns };
  /** What a straight line between knots may leave out of the loop's true course, seconds. */
  readonly chordBound: number;
}

/** Time constants of a loop after which nothing is left of how it began: e^−28 is 7e-13. */
export const REMEMBERED = 28;

/** Rate at which the slowest part of a loop's motion dies away, per second. */
export function slowestOf({ omega, zeta, split }: Ringing): number {
  return zeta > 1 ? zeta * omega - split : zeta * omega;
}

/** A loop's part in wander at an instant: error (s), its rate, and what the control has beyond the integrator. */
interface Motion {
  readonly error: number;
  readonly rate: number;
  /** 2ζω·e while the loop is closed; with the control at a stop, where it adds nothing: less what is learnt there. */
  readonly gap: number;
}

const AT_REST: Motion = { error: 0, rate: 0, gap: 0 };

const beginnings = new WeakMap<LoopWander, Motion>();

/** How a loop's wander begins: own phase and integrator go on from what went before. */
export function beginning(wander: LoopWander): Motion {
  const { before, fromNs, reference, own, control, loop } = wander;
  if (before === null && control === "closed") return AT_REST;
  const known = beginnings.get(wander);
  if (known !== undefined) return known;
  const need = slopeAt(reference, fromNs) - slopeAt(own, fromNs);
  const last = before === null ? AT_REST : loopMotionAt(before, fromNs);
  const error = before === null ? 0 : wanderAt(reference, fromNs) - wanderAt(before, fromNs);
  const was = before === null ? need : slopeAt(before.reference, fromNs) - slopeAt(before.own, fromNs);
  const learnt = was - last.rate - last.gap;
  // Control is need − rate: in a closed loop the integrator and 2ζω·e; at a stop the course has all of it, and the
  // integrator as well.
  const motion =
    control === "closed"
      ? { error, rate: need - learnt - loop.twoZetaOmega * error, gap: loop.twoZetaOmega * error }
      : { error, rate: need, gap: before === null || before.control === "closed" ? 0 : last.gap };
  beginnings.set(wander, motion);
  return motion;
}

/** Goes on for a time within one interval of the grid, in which what is needed is steady. */
function carried(wander: LoopWander, from: Motion, seconds: number): Motion {
  const { loop, control } = wander;
  if (control === "closed") {
    const { z, v } = motionAt(loop, from.error, from.rate, seconds);
    return { error: z, rate: v, gap: loop.twoZetaOmega * z };
  }
  const learnt = control === "clipped" ? loop.omega2 * seconds * (from.error + 0.5 * from.rate * seconds) : 0;
  return { error: from.error + from.rate * seconds, rate: from.rate, gap: from.gap - learnt };
}

/** The last motion that was asked for: a device that wakes asks several times. */
let asked: { readonly of: LoopWander; readonly at: Ns; readonly motion: Motion } | null = null;

/** A loop's motion at an instant at or after its beginning. */
export function loopMotionAt(wander: LoopWander, at: Ns): Motion {
  if (at === wander.fromNs) return beginning(wander);
  if (asked?.of === wander && asked.at === at) return asked.motion;
  const motion = laterMotion(wander, at);
  asked = { of: wander, at, motion };
  return motion;
}

function laterMotion(wander: LoopWander, at: Ns): Motion {
  const knot = Math.floor(at / wander.gridNs);
  const knotNs = (knot * wander.gridNs) as Ns;
  if (knotNs < wander.fromNs) return carried(wander, beginning(wander), secondsBetween(wander.fromNs, at));
  const { first, length, motions, gaps } = chunkAt(wander, knot);
  const error = motions[knot - first] as number;
  const here = {
    error,
    rate: motions[length + knot - first] as number,
    gap: gaps === null ? wander.loop.twoZetaOmega * error : (gaps[knot - first] as number),
  };
  return at === knotNs ? here : carried(wander, here, secondsBetween(knotNs, at));
}

/** First of the knots `first … last`, none before it begins, at which a loop's |error| is above a level; null if none. */
export function firstKnotBeyond(wander: LoopWander, level: number, first: number, last: number): number | null {
  for (let knot = first; knot <= last; ) {
    const { first: from, length, largest, motions } = chunkAt(wander, knot);
    const end = Math.min(last, from + length - 1);
    if (largest <= level) knot = end + 1;
    for (; knot <= end; knot++) {
      const error = motions[knot - from] as number;
      if (error > level || error < -level) return knot;
    }
  }
  return null;
}

/** Frequency that the integrator of a loop holds for wander's sake. */
export function learntAt(wander: LoopWander, at: Ns): number {
  const { rate, gap } = loopMotionAt(wander, at);
  return slopeAt(wander.reference, at) - slopeAt(wander.own, at) - rate - gap;
}

/** A loop over some of its knots. */
interface Chunk {
  /** Whose it is at present. */
  of: LoopWander | null;
  /** Its first knot, and how many there are. */
  first: number;
  length: number;
  /** Greatest |error| in it, to its very end. */
  largest: number;
  /** Phase that leaves, the first knot of the next chunk included; flat before the loop begins. */
  phase: Float64Array;
  /** Errors, then rates (with the slopes of the interval that begins at the knot). */
  motions: Float64Array;
  /** Not of a closed loop, where a gap follows from the error. */
  gaps: Float64Array | null;
}

/** Chunks that are kept, of all loops together: whoever runs one takes the place of the oldest. */
const CHUNKS = 512;
const chunks: Chunk[] = [];
let oldest = 0;

/** Room for a chunk, to be filled before anything else is asked. */
function takeChunk(length: number): Chunk {
  let chunk = chunks[oldest];
  if (chunk === undefined) {
    const none = new Float64Array(0);
    chunk = { of: null, first: 0, length: 0, largest: 0, phase: none, motions: none, gaps: null };
    chunks.push(chunk);
  }
  oldest = (oldest + 1) % CHUNKS;
  if (chunk.length !== length) {
    chunk.length = length;
    chunk.phase = new Float64Array(length + 1);
    chunk.motions = new Float64Array(2 * length);
    chunk.gaps = null;
  }
  return chunk;
}

/** What is computed of a loop once: its step over the grid, the length of its chunks, and the last of them. */
interface LoopCourse {
  readonly fromError: { readonly z: number; readonly v: number };
  readonly fromRate: { readonly z: number; readonly v: number };
  /** Knots after which it has forgotten how it began. */
  readonly memory: number;
  /** Of a chunk: no shorter. */
  readonly length: number;
  readonly recent: Chunk[];
}

const loopCourses = new WeakMap<LoopWander, LoopCourse>();

/** Shortest chunk of a loop, in knots. */
const CHUNK = 32;
/** Of one loop no more are found again. */
const RECENT = 4;

function courseOf(wander: LoopWander): LoopCourse {
  const known = loopCourses.get(wander);
  if (known !== undefined) return known;
  const { loop, gridNs } = wander;
  const grid = gridNs / 1e9;
  const memory = Math.ceil(REMEMBERED / (slowestOf(loop) * grid));
  let length = CHUNK;
  while (length < memory) length *= 2;
  const fromError = motionAt(loop, 1, 0, grid);
  const fromRate = motionAt(loop, 0, 1, grid);
  const course: LoopCourse = { fromError, fromRate, memory, length, recent: [] };
  loopCourses.set(wander, course);
  return course;
}

/** The chunk with a knot, which must not lie before the loop begins. To be read at once: it serves again. */
export function chunkAt(wander: LoopWander, knot: number): Chunk {
  const course = courseOf(wander);
  const { recent, length } = course;
  const first = Math.floor(knot / length) * length;
  for (const each of recent) if (each.first === first && each.of === wander) return each;
  const chunk = runChunk(wander, course, first);
  if (recent.length === RECENT) recent.pop();
  recent.unshift(chunk);
  return chunk;
}

/**
 * Runs a loop over one chunk. How far back it starts is a function of the chunk alone, never of what was asked before:
 * as many knots as the loop remembers. So a value is the same whoever asks, in whatever order.
 */
function runChunk(wander: LoopWander, course: LoopCourse, first: number): Chunk {
  const { gridNs, loop, reference, own, control } = wander;
  const { fromError, fromRate, memory, length } = course;
  const grid = gridNs / 1e9;
  const isClosed = control === "closed";
  const begins = Math.ceil(wander.fromNs / gridNs);
  const anchor = isClosed ? Math.max(begins, first - memory) : begins;
  const last = first + length;
  const theirs = scratch(last + 1 - anchor);
  const ours = scratch(last + 1 - anchor);
  knotPhases(reference, anchor, last, theirs);
  knotPhases(own, anchor, last, ours);
  // Far from its beginning it starts on what arrives, and as fast.
  let { error, rate, gap } = anchor === begins ? atFirstKnot(wander, anchor) : AT_REST;
  let largest = anchor === begins && begins >= first ? Math.abs(beginning(wander).error) : 0;
  const chunk = takeChunk(length);
  const { phase, motions } = chunk;
  if (isClosed) chunk.gaps = null;
  else chunk.gaps ??= new Float64Array(length);
  const { gaps } = chunk;
  if (begins > first) {
    const flat = (theirs[0] as number) - error;
    for (let knot = first; knot < begins; knot++) phase[knot - first] = flat;
  }
  let need = 0;
  for (let k = 0; ; k++) {
    const at = anchor + k - first;
    if (at >= 0) {
      phase[at] = (theirs[k] as number) - error;
      if (error > largest) largest = error;
      else if (-error > largest) largest = -error;
      if (at === length) break;
    }
    const following =
      ((theirs[k + 1] as number) - (theirs[k] as number) - ((ours[k + 1] as number) - (ours[k] as number))) / grid;
    if (k > 0) rate += following - need;
    need = following;
    if (at >= 0) {
      motions[at] = error;
      motions[length + at] = rate;
      if (gaps !== null) gaps[at] = gap;
    }
    if (isClosed) {
      const next = error * fromError.z + rate * fromRate.z;
      rate = error * fromError.v + rate * fromRate.v;
      error = next;
      gap = loop.twoZetaOmega * error;
    } else ({ error, rate, gap } = carried(wander, { error, rate, gap }, grid));
  }
  scratches.push(theirs, ours);
  chunk.of = wander;
  chunk.first = first;
  chunk.largest = largest;
  return chunk;
}

/** Room for the knots that a chunk looks at: taken and given back, since a loop may ask a loop. */
export const scratches: Float64Array[] = [];

export function scratch(length: number): Float64Array {
  const kept = scratches.pop();
  return kept !== undefined && kept.length >= length ? kept : new Float64Array(length);
}

/** Motion at the first knot at or after a loop's beginning, the slopes of the interval that begins there included. */
function atFirstKnot(wander: LoopWander, knot: number): Motion {
  const { fromNs, gridNs, reference, own } = wander;
  const start = beginning(wander);
  const knotNs = (knot * gridNs) as Ns;
  if (knotNs === fromNs) return start;
  const { error, rate, gap } = carried(wander, start, secondsBetween(fromNs, knotNs));
  const before = slopeAt(reference, fromNs) - slopeAt(own, fromNs);
  return { error, rate: rate + slopeAt(reference, knotNs) - slopeAt(own, knotNs) - before, gap };
}

// ---- what is asked of either

export function blockOf(knot: number): number {
  return Math.floor(knot / BLOCK);
}

/** Writes the phases at the knots `first … last` to the head of an array. None of a loop's may lie before it begins. */
export function knotPhases(wander: Wander | null, first: number, last: number, to: Float64Array): void {
  if (wander === null) {
    to.fill(0, 0, last - first + 1);
    return;
  }
  for (let knot = first; knot <= last; ) {
    let from = 0;
    let phase: Float64Array;
    if (wander.kind === "own") {
      const index = blockOf(knot);
      from = index * BLOCK;
      phase = ownBlock(wander, index);
    } else ({ first: from, phase } = chunkAt(wander, knot));
    // The first knot of the next block or chunk stands in this one as well: what ends there needs no other.
    const end = Math.min(last, from + phase.length - (last === from + phase.length - 1 ? 1 : 2));
    for (; knot <= end; knot++) to[knot - first] = phase[knot - from] as number;
  }
}

function phaseAtKnot(wander: LoopWander, knot: number): number {
  const { first, phase } = chunkAt(wander, knot);
  return phase[knot - first] as number;
}

/** The straight line that a wander is on at an instant: from here on, until the next knot. */
interface Line {
  readonly phase: number;
  readonly slope: number;
}

function lineAt(wander: Wander, at: Ns): Line {
  const { gridNs } = wander;
  const knot = Math.floor(at / gridNs);
  const knotNs = knot * gridNs;
  if (wander.kind === "own") {
    return lineIn(ownBlock(wander, blockOf(knot)), knot % BLOCK, at - knotNs, gridNs);
  }
  const { fromNs } = wander;
  if (knotNs < fromNs) {
    // It begins between two knots: a straight line from there.
    const from = wanderAt(wander.reference, fromNs) - beginning(wander).error;
    const rise = phaseAtKnot(wander, knot + 1) - from;
    const length = knotNs + gridNs - fromNs;
    return { phase: from + (rise * (at - fromNs)) / length, slope: (rise * 1e9) / length };
  }
  const { first, phase } = chunkAt(wander, knot);
  return lineIn(phase, knot - first, at - knotNs, gridNs);
}

function lineIn(phase: Float64Array, knot: number, pastNs: number, gridNs: Ns): Line {
  const from = phase[knot] as number;
  const rise = (phase[knot + 1] as number) - from;
  return { phase: from + (rise * pastNs) / gridNs, slope: (rise * 1e9) / gridNs };
}

/** Seconds that wander has put a clock ahead; 0 for null. */
export function wanderAt(wander: Wander | null, at: Ns): number {
  if (wander === null || (at === 0 && wander.kind === "own")) return 0;
  // As it begins: no need to run the loop.
  if (wander.kind === "loop" && at === wander.fromNs) return wanderAt(wander.reference, at) - beginning(wander).error;
  return lineAt(wander, at).phase;
}

/** Fractional frequency of wander, from this instant on until the next knot. */
export function slopeAt(wander: Wander | null, at: Ns): number {
  return wander === null ? 0 : lineAt(wander, at).slope;
}

/** Slopes that a wander can have: `middle` ± `spread`. */
interface Slopes {
  readonly middle: number;
  readonly spread: number;
}

/** The slopes of a wander from an instant until another: judged by its oscillators, without running its loops. */
export function slopesFrom(wander: Wander | null, at: Ns): Slopes & { readonly toNs: Ns } {
  if (wander === null) return { middle: 0, spread: 0, toNs: NEVER };
  const index = blockOf(Math.floor(at / wander.gridNs));
  const { middle, spread } = slopesIn(wander, index, 0);
  return { middle, spread, toNs: ((index + 1) * BLOCK * wander.gridNs) as Ns };
}

/** In a block of knots, and as many knots before it as the loops behind may remember. */
export function slopesIn(wander: Wander | null, index: number, memory: number): Slopes {
  if (wander === null) return { middle: 0, spread: 0 };
  if (wander.kind === "own") {
    const first = Math.max(0, index - Math.ceil(memory / BLOCK));
    let lowest = Number.POSITIVE_INFINITY;
    let highest = Number.NEGATIVE_INFINITY;
    for (let block = first; block <= index; block++) {
      const of = ownSteepness(wander, block);
      lowest = Math.min(lowest, of.lowest);
      highest = Math.max(highest, of.highest);
    }
    return { middle: (lowest + highest) / 2, spread: (highest - lowest) / 2 };
  }
  const { reference, own, l1Norm, left, control } = wander;
  if (control !== "closed") return slopesIn(own, index, memory);
  // A loop passes on what is steady in what arrives, and nothing of what is steady in its own oscillator.
  const remembered = memory + courseOf(wander).length;
  const { middle, spread } = slopesIn(reference, index, remembered);
  const ofLeft = index * BLOCK * wander.gridNs < left.untilNs ? (2 * left.seconds) / (wander.gridNs / 1e9) : 0;
  return { middle, spread: l1Norm * spread + (1 + l1Norm) * slopesIn(own, index, remembered).spread + ofLeft };
}

/** Of a moment that was copied, an oscillator's wander is another object, though it is the same. */
export function isSameWander(one: Wander | null, other: Wander | null): boolean {
  if (one === other) return true;
  return one?.kind === "own" && other?.kind === "own" && one.device === other.device && one.seed === other.seed;
}
