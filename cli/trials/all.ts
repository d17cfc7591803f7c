/** All trials of a sweep, from beginning to end. */
import { type Sweep, type TrialResult, trialCount } from "../../sim/trials/trial.ts";
import { oneLine } from "../print/plain.ts";
import type { Io } from "../terminal.ts";
import { playTrials, threadsFor } from "./pool.ts";
import { progressOf } from "./progress.ts";

/**
 * By index.
 *
 * @param threads null: as many as there are cores
 * @param what in words, for whoever waits: "trials of layout 2"
 */
export async function playAll(sweep: Sweep, threads: number | null, io: Io, what = "trials"): Promise<TrialResult[]> {
  const all = Array.from({ length: trialCount(sweep) }, (_, index) => index);
  const found: TrialResult[] = [];
  const progress = progressOf(io, what);
  await playTrials(sweep, all, {
    workers: threads ?? threadsFor(all.length),
    isStopped: () => false,
    onLost: (why) => io.err(`A thread was lost (${oneLine(why)}); its trials are played anew.\n`),
    onResults: (results) => {
      for (const result of results) found.push(result);
      progress.at(found.length, all.length);
    },
  });
  progress.end();
  return found.sort((one, other) => one.index - other.index);
}
