/** Every fault of the show: what one costs against a run from the beginning, and what a second core brings. */
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { performance } from "node:perf_hooks";
import { later, nsFromSeconds } from "../../shared/time.ts";
import { startEngine } from "../../sim/engine.ts";
import { hear } from "../../sim/hear.ts";
import { buildRig } from "../../sim/rig.ts";
import { withFaults } from "../../sim/trials/list.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { inTurns, inTurnsAwaited } from "./measure.ts";
import { readShow, SHOW_FILE } from "./show.ts";

export interface FaultCost {
  readonly faults: number;
  readonly trialMs: number;
  readonly plainMs: number;
}

/** Both hear what they play; neither judges. */
export function faultCost({ rounds = 5 } = {}): FaultCost {
  const { sweep } = singleFaults(readShow().withoutFaults, { ...WANTED, draws: 1 });
  const count = trialCount(sweep);
  const [standing] = sweep.standings;
  const atNs = standing!.atNs;
  const endNs = later(atNs, nsFromSeconds(sweep.watchSeconds));
  const record = { format: 1, scenarioSha256: "", seed: "", endNs, worstErrorSamples: null, assumed: [] } as const;
  const [trialMs, plainMs] = inTurns(rounds, [
    () => {
      const trier = new Trier(sweep);
      for (let index = 0; index < count; index += 1) trier.play(index);
    },
    () => {
      for (const faults of sweep.cases) {
        const plan = withFaults(sweep.plan, faults, atNs);
        hear(plan, { ...record, rows: startEngine(buildRig(plan)).finish(endNs) });
      }
    },
  ]) as [number, number];
  return { faults: count, trialMs: trialMs / count, plainMs: plainMs / count };
}

/** Of the whole command, its start and the warming up of each thread included, ms. */
export interface Cores {
  readonly oneMs: number;
  readonly bothMs: number;
  /** On two threads with twice as many draws: each plays as many trials as one alone does with the draws. */
  readonly twiceMs: number;
  /** Of two processes at once that play half of the trials each. */
  readonly halvesMs: number;
  /** Of two processes at once that play all of them each. */
  readonly twoMs: number;
}

/** Of chance. */
const DRAWS = 10;

export async function secondCore(command: string, { rounds = 4 } = {}): Promise<Cores> {
  const folder = mkdtempSync(join(tmpdir(), "pulltest-bench-"));
  const asked = (draws: number, ...options: readonly string[]) =>
    new Promise<void>((done, failed) => {
      const args = [command, "faults", SHOW_FILE, "--draws", String(draws), ...options];
      const child = spawn(process.execPath, args, { stdio: "ignore" });
      child.on("error", failed);
      child.on("close", (status) => (status === 0 ? done() : failed(new Error(`ended with status ${status}`))));
    });
  const timed = async (job: () => Promise<unknown>): Promise<number> => {
    const began = performance.now();
    await job();
    return performance.now() - began;
  };
  const onThreads = (threads: number, draws = DRAWS) => asked(draws, "--json", "--threads", String(threads));
  const half = (part: number) => {
    const kept = join(folder, `part-${part}`);
    rmSync(kept, { force: true });
    return asked(DRAWS, "--shard", `${part}/2`, "--keep", kept, "--threads", "1");
  };
  try {
    const [oneMs, bothMs, twiceMs, halvesMs, twoMs] = (await inTurnsAwaited(rounds, [
      () => timed(() => onThreads(1)),
      () => timed(() => onThreads(2)),
      () => timed(() => onThreads(2, 2 * DRAWS)),
      () => timed(() => Promise.all([half(1), half(2)])),
      () => timed(() => Promise.all([onThreads(1), onThreads(1)])),
    ])) as [number, number, number, number, number];
    return { oneMs, bothMs, twiceMs, halvesMs, twoMs };
  } finally {
    rmSync(folder, { recursive: true });
  }
}
