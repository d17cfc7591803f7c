/** A thread that dies in the middle of its work: it is told, and what it was at is played all the same. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { playTrials } from "../../cli/trials/pool.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { type TrialResult, Trier, trialCount } from "../../sim/trials/trial.ts";
import { scratchFolder } from "../cli/command.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const folder = scratchFolder();

test("nothing is lost with it, and the results are the same", async () => {
  const { sweep } = singleFaults(shippedPlan("two-clocks.json"), { ...WANTED, draws: 2 });
  const all = Array.from({ length: trialCount(sweep) }, (_, index) => index);
  const worker = join(folder, "dies.cjs");
  // As one that runs out of memory: what it was asked for is never answered.
  writeFileSync(
    worker,
    "exports.playBatch = () => new Promise(() => setImmediate(() => { throw new Error('no memory'); }));\n",
  );
  const found: TrialResult[] = [];
  const told: string[] = [];
  await playTrials(sweep, all, {
    workers: 2,
    worker,
    isStopped: () => false,
    onLost: (why) => told.push(why),
    onResults: (results) => {
      found.push(...results);
    },
  });
  const trier = new Trier(sweep);
  const expected = all.map((index) => trier.play(index));
  expect(found.sort((one, other) => one.index - other.index)).toEqual(expected);
  expect(expected.length).toBeGreaterThan(30);
  expect(told).toEqual(["no memory"]);
});
