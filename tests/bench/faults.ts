/** Every fault of the show: what one costs against a run from the beginning, and what a second core brings. */
import { spawn } from "node:child_process";
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

export interface Cores {
  readonly oneMs: number;
  readonly bothMs: number;
  /** Of two processes at once, each with all of the work on one thread: the most that two cores can do. */
  readonly ceilingMs: number;
}

/** The whole command each time, its start included. */
export async function secondCore(command: string, { rounds = 3 } = {}): Promise<Cores> {
  const asked = (threads: number) =>
    new Promise<void>((done, failed) => {
      const args = [command, "faults", SHOW_FILE, "--draws", "4", "--json", "--threads", String(threads)];
      const child = spawn(process.execPath, args, { stdio: "ignore" });
      child.on("error", failed);
      child.on("close", (status) => (status === 0 ? done() : failed(new Error(`ended with status ${status}`))));
    });
  const timed = async (job: () => Promise<unknown>): Promise<number> => {
    const began = performance.now();
    await job();
    return performance.now() - began;
  };
  const [oneMs, bothMs, ceilingMs] = (await inTurnsAwaited(rounds, [
    () => timed(() => asked(1)),
    () => timed(() => asked(2)),
    () => timed(() => Promise.all([asked(1), asked(1)])),
  ])) as [number, number, number];
  return { oneMs, bothMs, ceilingMs };
}
