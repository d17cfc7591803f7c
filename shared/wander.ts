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
import { motionAt, ringShrink } from "./motion.ts";
import type { Limits, OwnWander } from "./own-wander.ts";
import { BLOCK, ownBlock, ownLimits, ownPart, ownSummary, PART, STEADY } from "./own-wander.ts";
import type { Ns } from "./time.ts";
import { earliest, later, NEVER, nsFromSeconds, secondsBetween, ZERO } from "./time.ts";

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

// ---- a loop

/** Time constants of a loop after which nothing is left of how it began: e^−28 is 7e-13. */
const REMEMBERED = 28;

/** Norms that bound what a loop makes of wander; all derived from the impulse response r of 1/(s² + 2ζωs + ω²). */
interface LoopNorms {
  /** Of the loop's own impulse response. */
  readonly l1Norm: number;
  /** Greatest value of r, in seconds. */
  readonly impulsePeakSeconds: number;
}

/**
 * A loop's wander from `fromNs` on; null where nothing wanders. `before`: what the same loop put out until now, with
 * which it goes on; null: it stands on what arrives and is as fast.
 */
export function loopWander(
  loop: Ringing & LoopNorms,
  reference: Wander | null,
  own: OwnWander | null,
  fromNs: Ns,
  before: LoopWander | null,
  control: LoopWander["control"],
): LoopWander | null {
  const gridNs = reference?.gridNs ?? own?.gridNs;
  if (gridNs === undefined) return null;
  if (reference?.kind === "loop" && reference.fromNs > fromNs)
    throw new RangeError(`a loop cannot follow from ${fromNs} ns what begins at ${reference.fromNs} ns`);
  const { omega, zeta, omega2, twoZetaOmega, split } = loop;
  const grid = gridNs / 1e9;
  const theirs = reference === null ? STEADY : reference.kind === "own" ? ownLimits(reference) : reference.limits;
  const ours = own === null ? STEADY : ownLimits(own);
  const bounds = loopBounds(loop, grid, theirs, ours);
  const wander: LoopWander = {
    kind: "loop",
    gridNs,
    loop: { omega, zeta, omega2, twoZetaOmega, split },
    reference,
    own,
    fromNs,
    before,
    control,
    errorBound: control === "closed" ? bounds.error : Number.POSITIVE_INFINITY,
    // What leaves an open loop is its own oscillator's, from where it stood.
    limits: control === "closed" ? bounds.limits : ours,
    l1Norm: loop.l1Norm,
    left: NOTHING_LEFT,
    chordBound: bounds.chord,
  };
  if (control !== "closed") return wander;
  const untilNs = later(fromNs, nsFromSeconds(REMEMBERED / slowestOf(loop)));
  const upstream = reference?.kind === "loop" ? reference.left : NOTHING_LEFT;
  // What is left in what arrives passes the loop as any phase does.
  const arrives = upstream.untilNs > fromNs ? (1 + loop.l1Norm) * upstream.seconds : 0;
  const seconds = arrives + (before === null ? 0 : beganOff(loop, wander, before));
  if (seconds === 0) return wander;
  const lastNs = arrives === 0 ? untilNs : later(upstream.untilNs, (untilNs - fromNs) as Ns);
  return { ...wander, left: { seconds, untilNs: lastNs } };
}

/** What a loop that goes on may be off by more than by its own bound, in seconds. */
function beganOff(loop: LoopNorms, wander: LoopWander, before: LoopWander): number {
  const { fromNs, reference, errorBound } = wander;
  if (before.control === "closed")
    return Math.max(0, errorBoundAt(before, fromNs) - errorBound) + jumpOf(before.reference, reference, fromNs);
  // What an open loop has gathered is not bounded beforehand, but it is known now, and dies away.
  const { error, rate } = beginning(wander);
  return Math.abs(error) + Math.abs(rate + wander.loop.zeta * wander.loop.omega * error) * loop.impulsePeakSeconds;
}

const NOTHING_LEFT = { seconds: 0, untilNs: ZERO };

/** No |e| of a loop is greater from an instant on, in seconds. */
export function errorBoundAt({ errorBound, left }: LoopWander, at: Ns): number {
  return at < left.untilNs ? errorBound + left.seconds : errorBound;
}

/** Rate at which the slowest part of a loop's motion dies away, per second. */
function slowestOf({ omega, zeta, split }: Ringing): number {
  return zeta > 1 ? zeta * omega - split : zeta * omega;
}

/** Phase by which what arrives jumps in being replaced: none where the new one goes on from the old. */
function jumpOf(old: Wander | null, next: Wander | null, at: Ns): number {
  // A device may have changed several things in one instant.
  for (let each = next; each !== null; each = each.kind === "loop" ? each.before : null) {
    if (each === old) return 0;
    if (each.kind === "loop" && old?.kind === "loop" && each.fromNs < old.fromNs) break;
  }
  return Math.abs(wanderAt(next, at) - wanderAt(old, at));
}

function loopBounds(
  loop: Ringing & LoopNorms,
  grid: number,
  theirs: Limits,
  ours: Limits,
): { error: number; limits: Limits; chord: number } {
  const { zeta, omega2, twoZetaOmega, l1Norm, impulsePeakSeconds: peak } = loop;
  const shrink = ringShrink(zeta);
  const area = (1 + shrink) / ((1 - shrink) * omega2); // ∫|r|
  const variation = (2 * peak) / (1 - shrink); // ∫|r'|
  const slope = theirs.slope + ours.slope;
  const kink = theirs.kink + ours.kink;
  // e answers a slope with r', and a kink with r: a sum of |r| over knots is at most its integral plus its variation.
  const error = slope * variation + kink * (area / grid + variation);
  const rate = slope * (1 + l1Norm) + kink * (variation / grid + 1 + 2 / (1 - shrink));
  return {
    error,
    limits: {
      slope: l1Norm * theirs.slope + (1 + l1Norm) * ours.slope,
      kink: l1Norm * theirs.kink + (1 + l1Norm) * ours.kink,
    },
    // |e''| ≤ 2ζω·|e'| + ω²·|e|; a chord over T leaves out at most max|e''|·T²/8, and never more than twice the whole.
    chord: Math.min(2 * error, ((twoZetaOmega * rate + omega2 * error) * grid * grid) / 8),
  };
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
function beginning(wander: LoopWander): Motion {
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
function chunkAt(wander: LoopWander, knot: number): Chunk {
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
const scratches: Float64Array[] = [];

function scratch(length: number): Float64Array {
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

function blockOf(knot: number): number {
  return Math.floor(knot / BLOCK);
}

/** Writes the phases at the knots `first … last` to the head of an array. None of a loop's may lie before it begins. */
function knotPhases(wander: Wander | null, first: number, last: number, to: Float64Array): void {
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
function slopesIn(wander: Wander | null, index: number, memory: number): Slopes {
  if (wander === null) return { middle: 0, spread: 0 };
  if (wander.kind === "own") {
    const first = Math.max(0, index - Math.ceil(memory / BLOCK));
    let lowest = Number.POSITIVE_INFINITY;
    let highest = Number.NEGATIVE_INFINITY;
    for (let block = first; block <= index; block++) {
      const of = ownSummary(wander, block);
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

/** A straight line from an instant until another, and how far what is meant can go from it, in seconds. */
interface Band {
  readonly phase: number;
  readonly slope: number;
  /** At most 0, and at least 0. */
  readonly below: number;
  readonly above: number;
  readonly toNs: Ns;
}

/**
 * How far one wander is ahead of another, from an instant on: for the rest of a block of their oscillators' knots, judged
 * without running a loop, or more closely for the rest of a part of it.
 */
export function aheadFrom(one: Wander | null, other: Wander | null, at: Ns, over: "block" | "part"): Band {
  const reach = apartBound(one, other, at);
  if (reach < Number.POSITIVE_INFINITY) {
    if (over === "part") {
      const { seconds, toNs } = apartFrom(one, other, at);
      return { phase: 0, slope: 0, below: -seconds, above: seconds, toNs };
    }
    const toNs = earliest(leftUntil(one, at), leftUntil(other, at));
    return { phase: 0, slope: 0, below: -reach, above: reach, toNs };
  }
  const first = bandFrom(one, at, over);
  const second = bandFrom(other, at, over);
  return {
    phase: first.phase - second.phase,
    slope: first.slope - second.slope,
    below: first.below - second.above,
    above: first.above - second.below,
    toNs: earliest(first.toNs, second.toNs),
  };
}

/** When the next of the loops that a wander comes through has forgotten how it began; NEVER if all have. */
function leftUntil(wander: Wander | null, at: Ns): Ns {
  let untilNs = NEVER;
  for (let of = wander; of?.kind === "loop"; of = of.reference)
    if (at < of.left.untilNs) untilNs = earliest(untilNs, of.left.untilNs);
  return untilNs;
}

function bandFrom(wander: Wander | null, at: Ns, over: "block" | "part"): Band {
  let loose = 0;
  let shift = 0;
  let of = wander;
  while (of?.kind === "loop") {
    if (of.control === "closed") {
      loose += errorBoundAt(of, at);
      of = of.reference;
    } else {
      shift += aheadOfOwn(of);
      of = of.own;
    }
  }
  if (of === null) return { phase: shift, slope: 0, below: -loose, above: loose, toNs: NEVER };
  const { gridNs } = of;
  const knot = Math.floor(at / gridNs);
  const index = blockOf(knot);
  const length = over === "block" ? BLOCK : PART;
  const first = Math.floor(knot / length) * length;
  const { phase, slope, below, above } =
    over === "block" ? ownSummary(of, index) : ownPart(of, index, (first - index * BLOCK) / PART);
  return {
    phase: shift + phase + (slope * (at - first * gridNs)) / 1e9,
    slope,
    below: below - loose,
    above: above + loose,
    toNs: ((first + length) * gridNs) as Ns,
  };
}

const aheads = new WeakMap<LoopWander, number>();

/** What an open loop puts out is its own oscillator's wander, from where it stood. */
function aheadOfOwn(wander: LoopWander): number {
  const known = aheads.get(wander);
  if (known !== undefined) return known;
  const { fromNs, own } = wander;
  const ahead = wanderAt(wander, fromNs) - wanderAt(own, fromNs);
  aheads.set(wander, ahead);
  return ahead;
}

/** Writes how far one wander is ahead of another at the knots `first … last` to an array; none before either begins. */
export function aheadAtKnots(
  one: Wander | null,
  other: Wander | null,
  first: number,
  last: number,
  to: Float64Array,
): void {
  const count = last - first + 1;
  const others = scratch(count);
  knotPhases(one, first, last, to);
  knotPhases(other, first, last, others);
  for (let k = 0; k < count; k++) to[k] = (to[k] as number) - (others[k] as number);
  scratches.push(others);
}

/**
 * How far two wanders can ever be apart from an instant on, in seconds: finite where both come from one oscillator
 * through loops, since then only what the loops leave over counts.
 */
export function apartBound(one: Wander | null, other: Wander | null, at: Ns): number {
  return sumToRoot(one, other, (loop) => errorBoundAt(loop, at));
}

/** How far two wanders are apart from an instant until another, in seconds: closer, at the price of running the loops. */
export function apartFrom(
  one: Wander | null,
  other: Wander | null,
  at: Ns,
): { readonly seconds: number; readonly toNs: Ns } {
  let toNs = NEVER;
  const seconds = sumToRoot(one, other, (loop) => {
    const knot = Math.max(Math.floor(at / loop.gridNs), Math.ceil(loop.fromNs / loop.gridNs));
    const { first, length, largest } = chunkAt(loop, knot);
    const endNs = ((first + length) * loop.gridNs) as Ns;
    if (endNs < toNs) toNs = endNs;
    return largest;
  });
  return { seconds, toNs };
}

/** Adds up what each loop on the ways to a common root leaves over; Infinity if there is none. */
function sumToRoot(one: Wander | null, other: Wander | null, leftOver: (loop: LoopWander) => number): number {
  // The common case: a device and what it follows.
  if (other?.kind === "loop" && other.reference === one) return leftOver(other);
  if (one?.kind === "loop" && one.reference === other) return leftOver(one);
  if (!isSameWander(rootOf(one), rootOf(other))) return Number.POSITIVE_INFINITY;
  const passed: Wander[] = [];
  for (let at = one; at?.kind === "loop"; at = at.reference) passed.push(at);
  let sum = 0;
  let met = passed.length;
  for (let at = other; at?.kind === "loop"; at = at.reference) {
    const index = passed.indexOf(at);
    if (index >= 0) {
      met = index;
      break;
    }
    sum += leftOver(at);
  }
  for (const each of passed.slice(0, met)) sum += leftOver(each as LoopWander);
  return sum;
}

/** Of a moment that was copied, an oscillator's wander is another object, though it is the same. */
export function isSameWander(one: Wander | null, other: Wander | null): boolean {
  if (one === other) return true;
  return one?.kind === "own" && other?.kind === "own" && one.device === other.device && one.seed === other.seed;
}

function rootOf(wander: Wander | null): OwnWander | null {
  let at = wander;
  while (at?.kind === "loop") at = at.reference;
  return at;
}
