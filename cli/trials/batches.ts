/** What each thread is handed at a time. How trials are cut into batches makes no difference to what they find. */
import type { Batch } from "../../sim/trials/trial.ts";

/** So long is a batch: handing it over costs a thousandth of that, and an interrupt is heard soon, ms. */
const BATCH_MS = 100;
/** While nobody knows yet how long a trial takes. */
const FIRST_TRIALS = 4;
/** Towards the end they get smaller, so that no thread is left with a long one: at least so many are still to come for each. */
const BATCHES_TO_COME = 4;

/** Cuts what is wanted into batches of neighbours, which share their past. */
export class Batches {
  private readonly wanted: readonly number[];
  private readonly workers: number;
  private readonly now: () => number;
  private readonly beganMs: number;
  private taken = 0;
  private played = 0;

  /**
   * @param wanted indices of trials, rising
   * @param now a clock, ms
   */
  constructor(wanted: readonly number[], workers: number, now: () => number = () => performance.now()) {
    this.wanted = wanted;
    this.workers = workers;
    this.now = now;
    this.beganMs = now();
  }

  next(): Batch | null {
    const from = this.wanted[this.taken];
    if (from === undefined) return null;
    const atMost = this.trialsOfBatch();
    let to = from;
    while (this.wanted[this.taken] === to && to - from < atMost) {
      to += 1;
      this.taken += 1;
    }
    return { from, to };
  }

  ended(batch: Batch): void {
    this.played += batch.to - batch.from;
  }

  private trialsOfBatch(): number {
    const share = Math.ceil((this.wanted.length - this.taken) / (BATCHES_TO_COME * this.workers));
    if (this.played === 0) return Math.min(FIRST_TRIALS, share);
    const trialMs = ((this.now() - this.beganMs) * this.workers) / this.played;
    return Math.max(1, Math.min(Math.floor(BATCH_MS / trialMs), share));
  }
}
