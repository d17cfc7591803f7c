/** A thread that plays trials: it has the sweep from its start on, and is told which of them. */
import { type Batch, type Sweep, type TrialResult, Trier } from "../../sim/trials/trial.ts";

let trier: Trier | null = null;

export async function playBatch(batch: Batch): Promise<TrialResult[]> {
  trier ??= new Trier(await sweepOfThread());
  return trier.playAll(batch);
}

async function sweepOfThread(): Promise<Sweep> {
  const { Tinypool } = await import("tinypool");
  return Tinypool.workerData as Sweep;
}
