/**
 * A block of knots of an oscillator's wander, drawn at once.
 *
 * The exact step of the clock model of C. Zucca and P. Tavella (IEEE Trans. UFFC 52(2), 2005) over the grid T: phase x,
 * frequency y, drift d,
 *
 *   X(t + T) = Φ·X(t) + w,  Φ = [[1, T, T²/2], [0, 1, T], [0, 0, 1]],  w ~ N(0, Q),
 *   Q11 = σ1²T + σ2²T³/3 + σ3²T⁵/20, Q12 = σ2²T²/2 + σ3²T⁴/8, Q13 = σ3²T³/6, Q22 = σ2²T + σ3²T³/3, Q23 = σ3²T²/2, Q33 = σ3²T,
 *
 * from two uniforms a knot (three with drift noise), each of them from a stream of its own that goes on from block to block.
 */
import { exp, log } from "./maths.ts";
import { floorFromFlicker } from "./noise-numbers.ts";
import { deviateOf, readyNormal } from "./normal.ts";
import type { WanderPlan } from "./plan.ts";
import { stream } from "./random.ts";
import type { Ns } from "./time.ts";
import { beginStream, drawTogether, drawUniforms, STREAM_NUMBERS } from "./uniforms.ts";

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
export function phaseSigma(own: OwnWander): number {
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

/**
 * State of an oscillator at a knot: phase, frequency, drift; then the streams that what they gain is drawn from, that of
 * phase and that of frequency behind it, of drift, of flicker; then its processes of flicker.
 */
const OF_PAIRS = 3;
const OF_DRIFT = OF_PAIRS + 2 * STREAM_NUMBERS;
const OF_FLICKER = OF_DRIFT + STREAM_NUMBERS;
const OF_FAST = OF_FLICKER + STREAM_NUMBERS;

/** At the first knot of all. */
export function stateAtStart(own: OwnWander): readonly number[] {
  const { seed, device } = own;
  const state = new Array<number>(OF_FAST + flickerProcesses(own)).fill(0);
  beginStream(stream(seed, device, "wander of phase", 0), state, OF_PAIRS);
  beginStream(stream(seed, device, "wander of frequency", 0), state, OF_PAIRS + STREAM_NUMBERS);
  if (own.sigma3 !== 0) beginStream(stream(seed, device, "wander of drift", 0), state, OF_DRIFT);
  if (own.hMinus1 !== 0) beginStream(stream(seed, device, "flicker", 0), state, OF_FLICKER);
  return state;
}

/** No frequency that flicker gives is greater, its white part left out. */
export function largestFlicker(own: OwnWander): number {
  if (own.hMinus1 === 0) return 0;
  // A process driven by even deviates never leaves √3·√(1 − a²)/(1 − a) of its deviation.
  const largest = (SQRT_12 / 2) * Math.sqrt((1 + HOLD_DECAY) / (1 - HOLD_DECAY));
  return (flickerProcesses(own) - 1 + Math.sqrt(FIRST_WEIGHT)) * largest * flickerSigma(own);
}

/** Knots for which all processes but the first hold. */
const SLOW_KNOTS = HOLD_KNOTS * HOLD_RATIO;
/** Such stretches in a block, and the holds of the first process in it. */
const SLOW_STEPS = BLOCK / SLOW_KNOTS;
const FAST_STEPS = BLOCK / HOLD_KNOTS;

/** How many of the slow processes begin another hold so many slow stretches after the start of the show. */
function beginAnew(processes: number, stretches: number): number {
  let count = 0;
  // Who goes on holding does so with all that hold longer.
  for (let hold = 1; count < processes && stretches % hold === 0; hold *= HOLD_RATIO) count += 1;
  return count;
}

/**
 * Draws a block into `phase`, the first knot of the next included, from the state at its first knot; two uniforms a knot in
 * knot order, three with drift noise. Leaves the state at the next block's first knot. What it works on is a constant of a
 * closure: the compiler then knows its length, and checks no place in it.
 */
export const drawBlock = ((): ((own: OwnWander, index: number, state: number[], phase: Float64Array) => void) => {
  const ofPhases = new Float64Array(BLOCK);
  const ofRates = new Float64Array(BLOCK);
  const ofDrifts = new Float64Array(BLOCK);
  const ofFlicker = new Float64Array(BLOCK);
  /** Of each process of flicker that holds for long: what it and those that hold longer add up to. */
  const sums = new Float64Array(32);
  /** Frequency over each interval, as far as flicker has a part in it beside white noise. */
  const flicker = new Float64Array(BLOCK);
  /** How many processes begin another hold at each stretch but the first: the same in all blocks. */
  const changes = Uint8Array.from({ length: SLOW_STEPS }, (_, step) =>
    step === 0 ? 0 : beginAnew(Number.POSITIVE_INFINITY, step),
  );
  const laterChanges = changes.reduce((sum, count) => sum + count, 0);

  /** Without drift noise, which hardly anybody has. */
  function stepTwoStates(own: OwnWander, state: number[], phase: Float64Array): void {
    const grid = own.gridNs / 1e9;
    const ofRate = own.sigma2 * Math.sqrt(grid);
    const ofPhase = phaseSigma(own);
    let x = state[0] as number;
    let y = state[1] as number;
    phase[0] = x;
    for (let knot = 0; knot < flicker.length; knot++) {
      const rate = ofRate * deviateOf(ofRates[knot] as number);
      x += grid * (y + 0.5 * rate + (flicker[knot] as number)) + ofPhase * deviateOf(ofPhases[knot] as number);
      y += rate;
      phase[knot + 1] = x;
    }
    state[0] = x;
    state[1] = y;
  }

  function stepThreeStates(own: OwnWander, state: number[], phase: Float64Array): void {
    const { sigma2, sigma3 } = own;
    const grid = own.gridNs / 1e9;
    // Factors of Q, the same law in the order drift, frequency, phase.
    const ofDrift = sigma3 * Math.sqrt(grid);
    const ofRate = Math.sqrt(sigma2 * sigma2 * grid + (sigma3 * sigma3 * grid * grid * grid) / 12);
    const ofPhase = phaseSigma(own);
    let x = state[0] as number;
    let y = state[1] as number;
    let d = state[2] as number;
    phase[0] = x;
    for (let knot = 0; knot < flicker.length; knot++) {
      const rate = ofRate * deviateOf(ofRates[knot] as number);
      const drift = ofDrift * deviateOf(ofDrifts[knot] as number);
      x +=
        grid * (y + 0.5 * (grid * d + rate) + (grid * drift) / 6 + (flicker[knot] as number)) +
        ofPhase * deviateOf(ofPhases[knot] as number);
      y += grid * d + rate + 0.5 * grid * drift;
      d += drift;
      phase[knot + 1] = x;
    }
    state[0] = x;
    state[1] = y;
    state[2] = d;
  }

  /**
   * Flicker is driven by even deviates, not normal ones: nine processes of it are added to normal noise, and only their
   * variance counts. They are drawn in the order of their knots, at one knot in the order of their holds.
   */
  function stepFlicker(own: OwnWander, index: number, state: number[], changesFirst: number): void {
    const slow = OF_FAST + 1;
    const slowest = state.length - slow;
    sums[slowest] = 0;
    for (let process = slowest - 1; process >= 0; process--)
      sums[process] = (sums[process + 1] as number) + (state[slow + process] as number);
    const sigma = flickerSigma(own);
    const first = Math.sqrt(FIRST_WEIGHT);
    const ofKick = SQRT_12 * sigma * Math.sqrt(1 - HOLD_DECAY * HOLD_DECAY);
    // The first value of all is drawn with the variance that all later ones have.
    const isFirst = index === 0;
    let decay = isFirst ? 0 : HOLD_DECAY;
    let kick = isFirst ? SQRT_12 * sigma : ofKick;
    let fast = state[OF_FAST] as number;
    let used = 0;
    for (let step = 0; step < changes.length; step++) {
      fast = decay * fast + kick * ((ofFlicker[used++] as number) - 0.5);
      const renewed = step === 0 ? changesFirst : (changes[step] as number);
      for (let process = 0; process < renewed; process++)
        state[slow + process] =
          decay * (state[slow + process] as number) + kick * ((ofFlicker[used++] as number) - 0.5);
      for (let process = renewed - 1; process >= 0; process--)
        sums[process] = (sums[process + 1] as number) + (state[slow + process] as number);
      const held = sums[0] as number;
      decay = HOLD_DECAY;
      kick = ofKick;
      const knot = step * SLOW_KNOTS;
      for (let at = knot; ; fast = decay * fast + kick * ((ofFlicker[used++] as number) - 0.5)) {
        const frequency = first * fast + held;
        flicker[at] = frequency;
        flicker[at + 1] = frequency;
        at += HOLD_KNOTS;
        if (at === knot + SLOW_KNOTS) break;
      }
    }
    state[OF_FAST] = fast;
  }

  return (own, index, state, phase) => {
    readyNormal();
    const hasFlicker = own.hMinus1 !== 0;
    const changesFirst = hasFlicker ? beginAnew(state.length - OF_FAST - 1, index * SLOW_STEPS) : 0;
    const forFlicker = hasFlicker ? FAST_STEPS + changesFirst + laterChanges : 0;
    drawTogether(state, OF_PAIRS, BLOCK, ofPhases, ofRates, OF_FLICKER, forFlicker, ofFlicker);
    if (hasFlicker) stepFlicker(own, index, state, changesFirst);
    else flicker.fill(0);
    if (own.sigma3 === 0) {
      stepTwoStates(own, state, phase);
      return;
    }
    drawUniforms(state, OF_DRIFT, BLOCK, ofDrifts);
    stepThreeStates(own, state, phase);
  };
})();
