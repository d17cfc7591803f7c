/** What the maximum time interval error costs, against sorting the same numbers. */
import { mtie, octaveTaus } from "../../sim/stability/index.ts";

export interface StabilityBench {
  readonly name: string;
  /** Time of the work over the time of the yardstick, medians of runs taken in turn. */
  readonly ratio: number;
  /** At most. */
  readonly goal: number;
}

/**
 * MTIE of a random walk at all octave windows, over three sorts of the same array (the yardstick is measured right
 * beside it, so a busy machine slows both).
 */
export function stabilityBench({ points = 1_000_000, rounds = 5 } = {}): StabilityBench {
  const phaseSeconds = randomWalk(points);
  const samples = { phaseSeconds, tau0Seconds: 1 };
  const taus = octaveTaus(samples);
  const sorted = new Float64Array(points);
  const work: number[] = [];
  const yardstick: number[] = [];
  // The first round warms both up.
  for (let round = 0; round <= rounds; round++) {
    const mtieMs = timed(() => mtie(samples, taus));
    const sortsMs = timed(() => {
      for (let time = 0; time < 3; time++) {
        sorted.set(phaseSeconds);
        sorted.sort();
      }
    });
    if (round === 0) continue;
    work.push(mtieMs);
    yardstick.push(sortsMs);
  }
  return {
    name: `MTIE over ${points} points at ${taus.length} octave windows, over 3 sorts`,
    ratio: median(work) / median(yardstick),
    goal: 1,
  };
}

function timed(run: () => void): number {
  const begin = performance.now();
  run();
  return performance.now() - begin;
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
}

/** Steps of the Lehmer generator that the handbook's test data come from. */
function randomWalk(points: number): Float64Array {
  const walk = new Float64Array(points);
  let state = 1234567890;
  for (let i = 1; i < points; i++) {
    state = (16807 * state) % 2147483647;
    walk[i] = (walk[i - 1] as number) + state / 2147483647 - 0.5;
  }
  return walk;
}
