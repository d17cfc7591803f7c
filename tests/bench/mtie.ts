/** What the maximum time interval error costs, against sorting the same numbers. */
import { mtie, octaveTaus } from "../../sim/stability/index.ts";
import { inTurns } from "./measure.ts";

export interface StabilityBench {
  readonly windows: number;
  readonly mtieMs: number;
  readonly sortsMs: number;
}

/**
 * MTIE of a random walk at all octave windows, and three sorts of the same array: medians of runs taken in turn, so
 * that a busy machine slows both.
 */
export function stabilityBench({ points = 1_000_000, rounds = 5 } = {}): StabilityBench {
  const phaseSeconds = randomWalk(points);
  const samples = { phaseSeconds, tau0Seconds: 1 };
  const taus = octaveTaus(samples);
  const sorted = new Float64Array(points);
  const sortThrice = (): void => {
    for (let time = 0; time < 3; time++) {
      sorted.set(phaseSeconds);
      sorted.sort();
    }
  };
  const [mtieMs, sortsMs] = inTurns(rounds, [() => mtie(samples, taus), sortThrice]) as [number, number];
  return { windows: taus.length, mtieMs, sortsMs };
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
