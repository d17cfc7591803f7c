/**
 * `npm run bench`: how fast, in ratios. Each ratio is of two things measured in turn in this one run, so it says the
 * same on a slow machine and on a fast one. Times are for the reader's eye only.
 *
 *   --json            the same as JSON
 *   --profile FILE    plays the show under a profiler, writes FILE (.cpuprofile) and prints where the time went
 *   --make-show       writes show.json again
 */
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { parseArgs } from "node:util";
import type { Plan } from "../../shared/plan.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { startEngine } from "../../sim/engine.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { makeSampleStepper } from "../oracle/sample-stepper.ts";
import { campus } from "./campus.ts";
import { cutsBench } from "./cuts.ts";
import { faultCost, secondCore } from "./faults.ts";
import { holdByEngine, holdByHeap, makeIncrements } from "./hold-model.ts";
import { makeShow } from "./make-show.ts";
import { inTurns } from "./measure.ts";
import { stabilityBench } from "./mtie.ts";
import { profile } from "./profile.ts";
import { print, type Ratio } from "./ratio.ts";
import { readShow, SHOW_FILE } from "./show.ts";

/** The built command. From the folder of package.json, where npm runs its scripts. */
const command: string = JSON.parse(readFileSync("package.json", "utf8")).bin.pulltest;
/** Takes the earliest and puts it back, this often in one round. */
const HOLDS = 300_000;
const STEPPED_SECONDS = 0.25;
/** Chance that comes out otherwise in each: one alone may cost more than most. */
const DRAWS = 6;

function engineAgainstHeap(pending: number): Ratio {
  const increments = makeIncrements();
  // One event a second and machine.
  const seconds = HOLDS / pending;
  let byHeap = 0;
  let byEngine = 0;
  const [heapMs, engineMs] = inTurns(25, [
    () => {
      byHeap = holdByHeap(pending, seconds, increments);
    },
    () => {
      byEngine = holdByEngine(pending, seconds, increments);
    },
  ]) as [number, number];
  const heapNs = (heapMs * 1e6) / byHeap;
  const engineNs = (engineMs * 1e6) / byEngine;
  return {
    what: `engine's events against a bare heap's, ${pending} pending`,
    ratio: heapNs / engineNs,
    goal: { is: "at least", ratio: 0.5, aim: 0.6 },
    ours: `${engineNs.toFixed(0)} ns an event`,
    theirs: `${heapNs.toFixed(0)} ns`,
  };
}

/** Builds the machines and plays them, without hearing and judging: the stepper does not do that either. Events. */
function play(plan: Plan): number {
  const engine = startEngine(buildRig(plan));
  engine.finish(plan.lengthNs);
  return engine.eventCount;
}

function showAgainstStepper(): Ratio[] {
  const { withFaults, withoutFaults, withWander } = readShow();
  const stepper = makeSampleStepper(withFaults);
  const samples = STEPPED_SECONDS * withFaults.sampleRateHz;
  let events = 0;
  let eventsWithout = 0;
  let eventsWithWander = 0;
  // How many more times somebody has to look is chance: the show's own draw and others, each with wander and without.
  const draws = Array.from({ length: DRAWS }, (_, index) => (index === 0 ? withWander.seed : `draw ${index + 1}`));
  const steady = draws.map((seed) => ({ ...withFaults, seed }));
  const wandering = draws.map((seed) => ({ ...withWander, seed }));
  let eventsOfDraws: readonly number[] = [];
  const [faultsMs, wanderMs, calmMs, wholeMs, stepMs, steadyDrawsMs, wanderDrawsMs] = inTurns(15, [
    () => {
      events = play(withFaults);
    },
    () => {
      eventsWithWander = play(withWander);
    },
    () => {
      eventsWithout = play(withoutFaults);
    },
    () => {
      rehearse(withFaults);
    },
    () => {
      stepper.run(samples);
    },
    () => {
      for (const plan of steady) play(plan);
    },
    () => {
      eventsOfDraws = wandering.map(play);
    },
  ]) as [number, number, number, number, number, number, number];
  const stepperSeconds = (stepMs / 1000 / STEPPED_SECONDS) * secondsFromNs(withFaults.lengthNs);
  const theirs = `${stepperSeconds.toFixed(0)} s, from ${STEPPED_SECONDS} s of show at a time`;
  const faults = withFaults.events.filter((event) => event.undoes === null).length;
  const perFault = (events - eventsWithout) / faults;
  return [
    {
      what: `show with ${faults} faults against stepping its samples`,
      ratio: (stepperSeconds * 1000) / faultsMs,
      goal: { is: "at least", ratio: 1500, aim: 4000 },
      ours: `${faultsMs.toFixed(1)} ms, ${events} events, ${perFault.toFixed(0)} a fault`,
      theirs,
    },
    {
      what: `show with faults and wander everywhere against the same without wander, ${DRAWS} draws of chance`,
      ratio: wanderDrawsMs / steadyDrawsMs,
      goal: { is: "at most", ratio: 1.3 },
      ours: `${(wanderDrawsMs / DRAWS).toFixed(1)} ms, ${eventsOfDraws.join(", ")} events`,
      theirs: `${(steadyDrawsMs / DRAWS).toFixed(1)} ms`,
    },
    {
      what: "the same with the show's own draw alone",
      ratio: wanderMs / faultsMs,
      goal: null,
      ours: `${wanderMs.toFixed(1)} ms, ${eventsWithWander} events`,
      theirs: `${faultsMs.toFixed(1)} ms, ${events} events`,
    },
    {
      what: "show with faults and wander everywhere against stepping its samples",
      ratio: (stepperSeconds * 1000) / wanderMs,
      goal: { is: "at least", ratio: 1200, aim: 3000 },
      ours: `${wanderMs.toFixed(1)} ms`,
      theirs,
    },
    {
      what: "show without faults against stepping its samples",
      ratio: (stepperSeconds * 1000) / calmMs,
      goal: { is: "at least", ratio: 10_000 },
      ours: `${calmMs.toFixed(1)} ms, ${eventsWithout} events`,
      theirs,
    },
    {
      what: "whole rehearsal of the show, heard, judged and checked, against its playing",
      ratio: wholeMs / faultsMs,
      goal: null,
      ours: `${wholeMs.toFixed(1)} ms`,
      theirs: `${faultsMs.toFixed(1)} ms`,
    },
  ];
}

function faultAgainstRun(): Ratio {
  const { faults, trialMs, plainMs } = faultCost();
  return {
    what: `each of ${faults} faults of the show from its moment, against the same run from the beginning`,
    ratio: trialMs / plainMs,
    goal: { is: "at most", ratio: 0.35 },
    ours: `${trialMs.toFixed(2)} ms`,
    theirs: `${plainMs.toFixed(2)} ms`,
  };
}

/**
 * Each thread has to warm up. Two of them with twice the trials do so as often as two processes; with the same trials twice
 * as often as one.
 */
async function coresAgainstOne(): Promise<Ratio[]> {
  const { oneMs, bothMs, twiceMs, halvesMs, twoMs } = await secondCore(command);
  const ours = `${bothMs.toFixed(0)} ms, ${(oneMs / bothMs).toFixed(2)} times as fast as on one thread`;
  return [
    {
      what: "faults of the show with twice the draws on two threads, against two processes at once with the draws each",
      ratio: twoMs / twiceMs,
      goal: { is: "at least", ratio: 0.95 },
      ours: `${twiceMs.toFixed(0)} ms`,
      theirs: `${twoMs.toFixed(0)} ms`,
    },
    {
      what: "the same trials on two threads, against two processes at once with half of them each",
      ratio: halvesMs / bothMs,
      goal: { is: "at least", ratio: 0.95 },
      ours,
      theirs: `${halvesMs.toFixed(0)} ms`,
    },
    {
      what: "the same trials on two threads, against half of what two processes at once take for all of them each",
      ratio: twoMs / 2 / bothMs,
      goal: null,
      ours,
      theirs: `${(twoMs / 2).toFixed(0)} ms`,
    },
  ];
}

function startAgainstNode(): Ratio {
  const start = (...args: string[]): void => {
    const { status } = spawnSync(process.execPath, args, { stdio: "ignore" });
    if (status !== 0) throw new Error(`node ${args.join(" ")} ended with status ${status}`);
  };
  const [nodeMs, helpMs] = inTurns(25, [() => start("-e", "0"), () => start(command, "--help")]) as [number, number];
  return {
    what: "pulltest --help against node -e 0",
    ratio: helpMs / nodeMs,
    goal: { is: "at most", ratio: 1.3 },
    ours: `${helpMs.toFixed(1)} ms`,
    theirs: `${nodeMs.toFixed(1)} ms`,
  };
}

function mtieAgainstSorts(): Ratio {
  const { windows, mtieMs, sortsMs } = stabilityBench();
  return {
    what: `MTIE over a million points at ${windows} octave windows against sorting them three times`,
    ratio: mtieMs / sortsMs,
    goal: { is: "at most", ratio: 1 },
    ours: `${mtieMs.toFixed(0)} ms`,
    theirs: `${sortsMs.toFixed(0)} ms`,
  };
}

function cutsAgainstEveryPair(): Ratio {
  const { risks, cuts, searchMs, everyMs } = cutsBench();
  return {
    what: `cut sets of up to two of ${risks} risks, 60 devices and 200 links, against trying every pair`,
    ratio: everyMs / searchMs,
    goal: { is: "at least", ratio: 10 },
    ours: `${searchMs.toFixed(1)} ms, ${cuts} cuts`,
    theirs: `${everyMs.toFixed(0)} ms`,
  };
}

/** The same depth and ten times as many devices: linear growth is a ratio of 1. */
function campusGrowth(): Ratio {
  const [small, large] = [campus(200), campus(2000)];
  const [smallMs, largeMs] = inTurns(3, [() => void rehearse(small), () => void rehearse(large)]) as [number, number];
  return {
    what: "campus of 2,000 networked devices, ten minutes, one leader loss, against ten times one of 200",
    ratio: largeMs / (10 * smallMs),
    goal: { is: "at most", ratio: 1.3 },
    ours: `${(largeMs / 1000).toFixed(1)} s`,
    theirs: `10 × ${(smallMs / 1000).toFixed(2)} s`,
  };
}

const { values: asked } = parseArgs({
  options: { json: { type: "boolean" }, "make-show": { type: "boolean" }, profile: { type: "string" } },
});
if (asked["make-show"]) {
  writeFileSync(SHOW_FILE, `${JSON.stringify(makeShow(), null, 2)}\n`);
} else if (asked.profile !== undefined) {
  const { withFaults } = readShow();
  const shares = await profile(() => {
    for (let i = 0; i < 40; i++) play(withFaults);
  }, asked.profile);
  for (const { place, percent } of shares.slice(0, 40)) console.log(`${percent.toFixed(1).padStart(5)} %  ${place}`);
} else {
  const ratios = [
    engineAgainstHeap(256),
    engineAgainstHeap(1024),
    ...showAgainstStepper(),
    mtieAgainstSorts(),
    cutsAgainstEveryPair(),
    campusGrowth(),
    faultAgainstRun(),
  ];
  if (existsSync(command)) ratios.push(startAgainstNode(), ...(await coresAgainstOne()));
  else console.error("pulltest --help and faults are not measured: build the command first (npm run build).");
  print(ratios, asked.json === true);
}
