/** Plays trials on all cores. Which core plays what makes no difference: a result is a function of its trial alone. */
import { availableParallelism } from "node:os";
import { fileURLToPath } from "node:url";
import { type Batch, type Sweep, type TrialResult, Trier } from "../../sim/trials/trial.ts";

export interface Playing {
  /** Threads; 1: this one. */
  readonly workers: number;
  /** In whatever order they come. */
  readonly onResults: (results: readonly TrialResult[]) => Promise<void> | void;
  /** A thread was lost, and what it was at is played here. */
  readonly onLost: (problem: string) => void;
  /** Asked between batches. */
  readonly isStopped: () => boolean;
  /** The file that each thread runs; the command's own when left out. */
  readonly worker?: string;
}

/** A message costs some 30 µs, a trial some milliseconds: with so many in one, handing over is below a thousandth. */
const BATCH_TRIALS = 16;
/** Two threads are ready after some 50 ms and slow until they are warm: below this it is done sooner without. */
const TRIALS_ALONE_MAX = 64;

export function threadsFor(trials: number): number {
  return trials <= TRIALS_ALONE_MAX ? 1 : availableParallelism();
}

/** Batches of the trials that are wanted, neighbours together since they share their past. */
export function batchesOf(wanted: readonly number[]): Batch[] {
  const batches: { from: number; to: number }[] = [];
  for (const index of wanted) {
    const last = batches.at(-1);
    if (last !== undefined && last.to === index && last.to - last.from < BATCH_TRIALS) last.to = index + 1;
    else batches.push({ from: index, to: index + 1 });
  }
  return batches;
}

/** @param wanted indices of trials, rising */
export async function playTrials(sweep: Sweep, wanted: readonly number[], playing: Playing): Promise<void> {
  const batches = batchesOf(wanted);
  const here = new Trier(sweep);
  if (playing.workers <= 1) {
    for (const batch of batches) {
      if (playing.isStopped()) return;
      await playing.onResults(here.playAll(batch));
      // So that an interrupt is heard.
      await new Promise((done) => setImmediate(done));
    }
    return;
  }
  const { Tinypool } = await import("tinypool");
  const pool = new Tinypool({
    filename: playing.worker ?? fileURLToPath(new URL("trial-worker.cjs", import.meta.url)),
    name: "playBatch",
    workerData: sweep,
    minThreads: playing.workers,
    maxThreads: playing.workers,
  });
  try {
    let next = 0;
    let isLostTold = false;
    // Two for each thread are under way, so that none waits for this one; more could not be stopped.
    const feed = async () => {
      for (;;) {
        const batch = batches[next];
        if (batch === undefined || playing.isStopped()) return;
        next += 1;
        const results = await pool.run(batch).catch((error: unknown) => {
          // One that cannot start cannot start again: once is enough.
          if (!isLostTold) playing.onLost(error instanceof Error ? error.message : "it ended");
          isLostTold = true;
          return here.playAll(batch);
        });
        await playing.onResults(results as TrialResult[]);
      }
    };
    await Promise.all(Array.from({ length: 2 * playing.workers }, feed));
  } finally {
    await pool.destroy();
  }
}
