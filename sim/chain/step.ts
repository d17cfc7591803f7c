/**
 * What each box of a chain does after the leader's frequency has stepped by one unit, all loops at rest before.
 *
 * With e the loop's error, i its integrator and y = 2ζω·e + i what the box runs at, y₀ = 1 from the step on:
 *
 *   e' = y(box before) − y,  i' = ω²·e
 *
 * Counted from where all comes to rest (i = 1, e = 0) this is z' = A·z, and z moves by the matrix exponential of A: of a
 * short step by its series, of a step twice as long by squaring. So loops a thousand times as fast as others cost
 * nothing: steps grow with the time that has gone by, but not beyond what a ringing loop needs while it can still ring.
 * The steering stops are not looked at: what is said holds for steps that no control has to be clipped for.
 */
import type { ChainLoop } from "./response.ts";
import { omegaOf } from "./response.ts";

/** Of one box, per unit of the leader's step (1e-6 for one part per million). */
export interface BoxAfterStep {
  /** Greatest phase error of its loop, against what arrives from the box before: its sign is that of the step, or not. */
  readonly peakErrorSeconds: number;
  /** When that is, from the step on. */
  readonly atSeconds: number;
  /** How far beyond the leader's new frequency it goes at most, as a share of the step. */
  readonly frequencyOvershoot: number;
}

/** Steps of each length: one is at most this share of the time gone by. */
const STEPS_PER_TIME = 64;
/** Of a radian of a ringing loop. */
const STEP_OF_RINGING = 0.25;
/** Everything has come to rest. */
const AT_REST = 1e-8;
const SERIES_TERMS = 24;
const NEWTON_STEPS = 6;

/** Errors are kept as ω·e, so that all of the state is of one size. */
type State = Float64Array;

/** From the box nearest to the leader to the last. */
export function stepThroughChain(chain: readonly ChainLoop[]): readonly BoxAfterStep[] {
  if (chain.length === 0) return [];
  const cascade = makeCascade(chain);
  const watches = chain.flatMap((_, box) => [errorWatch(cascade, box), frequencyWatch(cascade, box)]);
  const finest = 0.25 / Math.max(...chain.map((loop) => omegaOf(loop) * (1 + loop.damping)));
  const powers = [exponential(cascade, finest)];
  const ringing = chain
    .filter(({ damping }) => damping < 1)
    .map((loop) => ({
      step: STEP_OF_RINGING / omegaOf(loop),
      untilSeconds: (40 + 4 * chain.length) / (loop.damping * omegaOf(loop)),
    }));
  let level = 0;
  let seconds = 0;
  let state = cascade.start();
  let before = state;
  let beforeSeconds = 0;
  for (;;) {
    let longest = seconds / STEPS_PER_TIME;
    for (const { step, untilSeconds } of ringing) if (seconds < untilSeconds) longest = Math.min(longest, step);
    if (2 * stepOf(finest, level) <= longest) {
      level += 1;
      if (powers.length === level) powers.push(squared(powers[level - 1] as Float64Array, state.length));
    }
    beforeSeconds = seconds;
    before = state;
    state = moved(powers[level] as Float64Array, state);
    seconds += stepOf(finest, level);
    for (const watch of watches) watch.see({ state, seconds, before, beforeSeconds, level });
    if (state.every((value) => Math.abs(value) < AT_REST)) break;
  }
  const tops = watches.map((watch) => watch.top(powers, finest));
  return chain.map((loop, box) => {
    const error = tops[2 * box] as Top;
    const frequency = tops[2 * box + 1] as Top;
    return {
      peakErrorSeconds: error.value / omegaOf(loop),
      atSeconds: error.seconds,
      frequencyOvershoot: frequency.value,
    };
  });
}

function stepOf(finest: number, level: number): number {
  let step = finest;
  for (let n = 0; n < level; n++) step *= 2;
  return step;
}

interface Cascade {
  readonly loops: readonly { readonly omega: number; readonly twoZeta: number }[];
  start(): State;
  /** A·z. */
  slope(state: State): State;
}

function makeCascade(chain: readonly ChainLoop[]): Cascade {
  const loops = chain.map((loop) => ({ omega: omegaOf(loop), twoZeta: 2 * loop.damping }));
  return {
    loops,
    start() {
      const state = new Float64Array(2 * loops.length);
      for (let box = 0; box < loops.length; box++) state[2 * box + 1] = -1;
      return state;
    },
    slope(state) {
      const slope = new Float64Array(state.length);
      let arriving = 0;
      for (const [box, { omega, twoZeta }] of loops.entries()) {
        const error = state[2 * box] as number;
        const rate = twoZeta * error + (state[2 * box + 1] as number);
        slope[2 * box] = omega * (arriving - rate);
        slope[2 * box + 1] = omega * error;
        arriving = rate;
      }
      return slope;
    },
  };
}

/** e^(A·h) of a short step, column by column, by its series. Row by row in one array. */
function exponential(cascade: Cascade, step: number): Float64Array {
  const size = 2 * cascade.loops.length;
  const matrix = new Float64Array(size * size);
  for (let column = 0; column < size; column++) {
    const unit = new Float64Array(size);
    unit[column] = 1;
    const moved = movedBySeries(cascade, unit, step);
    for (let row = 0; row < size; row++) matrix[row * size + column] = moved[row] as number;
  }
  return matrix;
}

function movedBySeries(cascade: Cascade, from: State, seconds: number): State {
  const sum = Float64Array.from(from);
  let term: State = from;
  for (let n = 1; n <= SERIES_TERMS; n++) {
    term = cascade.slope(term);
    for (let row = 0; row < term.length; row++) {
      const part = ((term[row] as number) * seconds) / n;
      term[row] = part;
      sum[row] = (sum[row] as number) + part;
    }
  }
  return sum;
}

/** Boxes hear only those before them: above the blocks of two on the diagonal all is 0. */
function endOfRow(row: number): number {
  return (row | 1) + 1;
}

function squared(matrix: Float64Array, size: number): Float64Array {
  const square = new Float64Array(size * size);
  for (let row = 0; row < size; row++) {
    for (let middle = 0; middle < endOfRow(row); middle++) {
      const factor = matrix[row * size + middle] as number;
      for (let column = 0; column < endOfRow(middle); column++) {
        const at = row * size + column;
        square[at] = (square[at] as number) + factor * (matrix[middle * size + column] as number);
      }
    }
  }
  return square;
}

function moved(matrix: Float64Array, state: State): State {
  const size = state.length;
  const next = new Float64Array(size);
  for (let row = 0; row < size; row++) {
    let sum = 0;
    for (let column = 0; column < endOfRow(row); column++)
      sum += (matrix[row * size + column] as number) * (state[column] as number);
    next[row] = sum;
  }
  return next;
}

interface Top {
  readonly value: number;
  readonly seconds: number;
}

interface Sight {
  readonly state: State;
  readonly seconds: number;
  readonly before: State;
  readonly beforeSeconds: number;
  readonly level: number;
}

/** Keeps the greatest that one quantity has come to, and finds the top beside it. */
interface Watch {
  see(sight: Sight): void;
  top(powers: readonly Float64Array[], finest: number): Top;
}

function errorWatch(cascade: Cascade, box: number): Watch {
  return makeWatch(cascade, (state) => state[2 * box] as number, Math.abs);
}

function frequencyWatch(cascade: Cascade, box: number): Watch {
  const { twoZeta } = cascade.loops[box] as { twoZeta: number };
  // Only what lies beyond the new frequency is an overshoot.
  return makeWatch(
    cascade,
    (state) => twoZeta * (state[2 * box] as number) + (state[2 * box + 1] as number),
    (value) => value,
  );
}

function makeWatch(cascade: Cascade, read: (state: State) => number, size: (value: number) => number): Watch {
  let best = 0;
  let from: { state: State; seconds: number; level: number; side: number } | null = null;
  const slopeOf = (state: State) => read(cascade.slope(state));
  return {
    see({ state, seconds, before, beforeSeconds, level }) {
      const value = read(state);
      if (size(value) <= best) return;
      best = size(value);
      const side = value < 0 ? -1 : 1;
      const isRising = slopeOf(state) * side > 0;
      from = isRising
        ? { state, seconds, level: level + 1, side }
        : { state: before, seconds: beforeSeconds, level, side };
    },
    top(powers, finest) {
      if (from === null) return { value: 0, seconds: 0 };
      let { state, seconds } = from;
      const { side } = from;
      // As long a step as still ends before the top, again and again: what is left is shorter than the finest.
      for (let level = Math.min(from.level, powers.length - 1); level >= 0; level--) {
        for (let tries = 0; tries < 2; tries++) {
          const next = moved(powers[level] as Float64Array, state);
          if (slopeOf(next) * side <= 0) break;
          state = next;
          seconds += stepOf(finest, level);
        }
      }
      let extra = 0;
      let there = state;
      for (let n = 0; n < NEWTON_STEPS; n++) {
        const bend = slopeOf(cascade.slope(there));
        if (bend === 0) break;
        extra = Math.min(Math.max(extra - slopeOf(there) / bend, 0), 2 * finest);
        there = movedBySeries(cascade, state, extra);
      }
      return { value: read(there), seconds: seconds + extra };
    },
  };
}
