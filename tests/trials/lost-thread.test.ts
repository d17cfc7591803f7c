/** A thread that dies or ends in the middle of its work: it is told, and what it was at is played all the same. */
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { expect, test } from "vitest";
import { playTrials } from "../../cli/trials/pool.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { type TrialResult, Trier, trialCount } from "../../sim/trials/trial.ts";
import { scratchFolder } from "../cli/command.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const folder = scratchFolder();

/** A thread that answers nothing any more has to be noticed: where it is not, the test ends by its time, not by itself. */
const TIME_LIMIT_MS = 20_000;

test.each([
  // As one that runs out of memory: what it was asked for is never answered.
  [
    "dies of an error",
    "exports.playBatch = () => new Promise(() => setImmediate(() => { throw new Error('no memory'); }));",
    "no memory",
  ],
  ["ends in the middle", "exports.playBatch = () => process.exit(3);", "it ended with code 3"],
  [
    "ends in the middle without a code",
    "exports.playBatch = () => new Promise(() => setTimeout(() => process.exit(), 5));",
    "it ended with code 0",
  ],
  ["ends before it is ready", "process.exit(4);", "it ended with code 4"],
  ["cannot be read", "throw new Error('no such file');", "no such file"],
  [
    "plays what it is asked until one batch ends it",
    `const { playBatch } = require(${JSON.stringify(resolve("cli/dist/trial-worker.cjs"))});
exports.playBatch = (batch) => (batch.from <= 20 && batch.to > 20 ? process.exit(5) : playBatch(batch));`,
    "it ended with code 5",
  ],
])(
  "one that %s: nothing is lost with it, and the results are the same",
  async (name, text, why) => {
    const { sweep } = singleFaults(shippedPlan("two-clocks.json"), { ...WANTED, draws: 2 });
    const all = Array.from({ length: trialCount(sweep) }, (_, index) => index);
    const worker = join(folder, `${name}.cjs`);
    writeFileSync(worker, `${text}\n`);
    const found: TrialResult[] = [];
    const told: string[] = [];
    await playTrials(sweep, all, {
      workers: 2,
      worker,
      isStopped: () => false,
      onLost: (problem) => told.push(problem),
      onResults: (results) => {
        found.push(...results);
      },
    });
    const trier = new Trier(sweep);
    const expected = all.map((index) => trier.play(index));
    expect(found.sort((one, other) => one.index - other.index)).toEqual(expected);
    expect(expected.length).toBeGreaterThan(30);
    expect(told).toEqual([why]);
  },
  TIME_LIMIT_MS,
);
