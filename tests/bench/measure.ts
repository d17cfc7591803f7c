/** Taking turns, so that whatever else the machine does falls on both sides alike. */
import { performance } from "node:perf_hooks";

/** Runs each in turn, so many rounds after one to warm up; milliseconds for each, the median of its rounds. */
export function inTurns(rounds: number, jobs: readonly (() => void)[]): number[] {
  const times: number[][] = jobs.map(() => []);
  for (let round = 0; round <= rounds; round++) {
    for (const [i, job] of jobs.entries()) {
      const begin = performance.now();
      job();
      if (round > 0) times[i]!.push(performance.now() - begin);
    }
  }
  return times.map(median);
}

/** The same for what has to be waited for and says itself how long it took. */
export async function inTurnsAwaited(rounds: number, jobs: readonly (() => Promise<number>)[]): Promise<number[]> {
  const times: number[][] = jobs.map(() => []);
  for (let round = 0; round <= rounds; round++) {
    for (const [i, job] of jobs.entries()) {
      const took = await job();
      if (round > 0) times[i]!.push(took);
    }
  }
  return times.map(median);
}

export function median(numbers: readonly number[]): number {
  const inOrder = [...numbers].sort((a, b) => a - b);
  const middle = inOrder.length >> 1;
  return inOrder.length % 2 === 1 ? inOrder[middle]! : (inOrder[middle - 1]! + inOrder[middle]!) / 2;
}
