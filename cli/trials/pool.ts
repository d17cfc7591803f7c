/** Plays trials on all cores. Which core plays what makes no difference: a result is a function of its trial alone. */
import { availableParallelism } from "node:os";
import { fileURLToPath } from "node:url";
import { type Batch, type Sweep, type TrialResult, Trier } from "../../sim/trials/trial.ts";
import { Batches } from "./batches.ts";

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

/** On its way to each thread while it plays another: none waits for this one, which hands over. */
const BATCHES_AHEAD = 2;
/** Two threads are ready after some 50 ms and slow until they are warm: below this it is done sooner without. */
const TRIALS_ALONE_MAX = 64;

export function threadsFor(trials: number): number {
  return trials <= TRIALS_ALONE_MAX ? 1 : availableParallelism();
}

/** @param wanted indices of trials, rising */
export async function playTrials(sweep: Sweep, wanted: readonly number[], playing: Playing): Promise<void> {
  const batches = new Batches(wanted, Math.max(1, playing.workers));
  const here = new Trier(sweep);
  const next = () => (playing.isStopped() ? null : batches.next());
  const keep = async (batch: Batch, results: readonly TrialResult[]) => {
    batches.ended(batch);
    await playing.onResults(results);
  };
  const playHere = async (batch: Batch) => {
    await keep(batch, here.playAll(batch));
    // So that an interrupt is heard.
    await new Promise((done) => setImmediate(done));
  };
  if (playing.workers <= 1) {
    for (let batch = next(); batch !== null; batch = next()) await playHere(batch);
    return;
  }
  const { Tinypool } = await import("tinypool");
  const pool = new Tinypool({
    filename: playing.worker ?? fileURLToPath(new URL("trial-worker.cjs", import.meta.url)),
    name: "playBatch",
    workerData: sweep,
    minThreads: playing.workers,
    maxThreads: playing.workers,
    concurrentTasksPerWorker: BATCHES_AHEAD,
  });
  try {
    let isLostTold = false;
    let isOver = false;
    const watched = new WeakSet<object>();
    // The pool hears an error of a thread, but not that it has ended (process.exit), and would wait for its answer for ever.
    // So it is given an error then, as it does itself for processes. Threads that it has let go ended on its own word.
    const watchEnds = () => {
      for (const thread of pool.threads) {
        if (watched.has(thread)) continue;
        watched.add(thread);
        thread.once("exit", (code: number) => {
          if (pool.threads.includes(thread)) thread.emit("error", new Error(`it ended with code ${code}`));
        });
      }
    };
    const lost = (error: unknown) => {
      // One that cannot start cannot start again: once is enough.
      if (!isLostTold) playing.onLost(error instanceof Error ? error.message : "it ended");
      isLostTold = true;
      watchEnds();
      // One that ends before it is ready is not replaced, and what waits for it would wait for ever.
      isOver = pool.threads.length === 0;
      if (isOver) pool.cancelPendingTasks();
    };
    // Of threads that had nothing to do.
    pool.on("error", lost);
    const feed = async () => {
      for (let batch = next(); batch !== null; batch = next()) {
        const running: Promise<TrialResult[]> | undefined = isOver ? undefined : pool.run(batch);
        watchEnds();
        const results = await running?.catch(lost);
        if (results === undefined) await playHere(batch);
        else await keep(batch, results);
      }
    };
    await Promise.all(Array.from({ length: BATCHES_AHEAD * playing.workers }, feed));
  } finally {
    await pool.destroy();
  }
}
