/**
 * What a run says of a clock's stability must not be the work of its announcements: the tenth box of a chain has the same
 * Allan deviation when clocks are told to a thousandth of the quantum. Wander itself is never announced. What is: a
 * transient until its rest is below half a quantum, after which the deviations are taken; and what temperature does, which
 * goes on all the while, and leaves errors up to the quantum in what is told: those are seen below some seconds.
 */
import { describe, expect, test } from "vitest";
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { phaseSeries } from "../../sim/phase-series.ts";
import { DEFAULT_QUANTUM_SAMPLES } from "../../sim/quantum.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { adev } from "../../sim/stability/index.ts";
import { at, device, link, planOf } from "../helpers/plan.ts";

const BOXES = 10;
const SECONDS = 1200;
/** By then a step of 1 ppm at 20 s has come to rest in the tenth box of 0.05 Hz. */
const FROM_SECONDS = 400;
const QUANTUM_SECONDS = DEFAULT_QUANTUM_SAMPLES / 48_000;

const boxName = (index: number): string => `box-${String(index).padStart(2, "0")}`;
const ids = Array.from({ length: BOXES + 1 }, (_, n) => (n === 0 ? "leader" : boxName(n)));

interface Chain {
  readonly loopHz: number;
  readonly gridSeconds: number;
}

/** A leader and ten boxes, all of crystals that wander and feel heat. */
function chainOf({ loopHz, gridSeconds }: Chain, events: readonly EventPlan[]): Plan {
  const oscillator: Partial<DevicePlan["oscillator"]> = {
    wander: { sigma1: 3e-10, sigma2: 6e-11, sigma3: 0, hMinus1: 7e-21 },
    tempcoPpmPerCelsius: 0.04,
  };
  const loop = { naturalFrequencyHz: loopHz, damping: 1 };
  const devices = ids.map((id, n) =>
    device(id, [n === 0 ? "internal" : "1"], { offsetPpm: (n % 3) - 1, oscillator, loop, capturePpm: 100 }),
  );
  const links = ids
    .slice(1)
    .map((id, n) => link(`${ids[n]}.2`, `${id}.1`, { id: `to-${id}`, lengthMetres: 20 + 7 * n }));
  return { ...planOf({ seconds: SECONDS, devices, links, events }), wanderGridSeconds: gridSeconds };
}

const step = [at(20, { do: "step-frequency", device: "leader", offsetPpm: 0 })];
const weather = ids.flatMap((id, n) =>
  Array.from({ length: Math.floor(SECONDS / 40) }, (_, turn) =>
    at(3 + n + 40 * turn, { do: "temperature", device: id, toCelsius: 25 + (turn % 2) * 0.5, overSeconds: 20 }),
  ),
);

function tenth(plan: Plan, quantumSamples: number) {
  const { record } = rehearse(plan, { quantumSamples });
  const options = { stepSeconds: 1, fromNs: (FROM_SECONDS * 1e9) as Ns };
  const series = phaseSeries(plan, record, buildRig(plan, quantumSamples).timebases, boxName(BOXES), options);
  const told = record.rows.filter(
    ({ fact, subject }) => fact.kind === "flow" && subject === `device ${boxName(BOXES)}`,
  );
  return { series, told: told.length };
}

function deviations({ phaseSeconds }: { phaseSeconds: Float64Array }, taus: readonly number[]): number[] {
  return adev({ phaseSeconds, tau0Seconds: 1 }, taus).map((each) => {
    if ("issue" in each) throw new Error(each.issue.expected);
    return each.value;
  });
}

/** Largest ratio between two curves, less 1. */
function largestDifference(one: readonly number[], other: readonly number[]): number {
  return Math.max(...one.map((value, n) => Math.abs(value / (other[n] as number) - 1)));
}

describe.each([
  { loopHz: 0.05, gridSeconds: 1 },
  { loopHz: 1, gridSeconds: 0.05 },
  { loopHz: 1, gridSeconds: 1 },
])("the tenth of ten boxes of $loopHz Hz, knots every $gridSeconds s", (chain) => {
  const plan = chainOf(chain, step);
  const taus = [1, 2, 4, 8, 16, 32, 64, 128];
  const fine = tenth(plan, DEFAULT_QUANTUM_SAMPLES / 1000);
  const exact = deviations(fine.series, taus);

  test("has the same Allan deviation within 5 % with the quantum and with a thousandth of it", () => {
    const usual = tenth(plan, DEFAULT_QUANTUM_SAMPLES);
    expect(usual.told).toBeGreaterThan(10);
    expect(fine.told).toBeGreaterThan(3 * usual.told);
    expect(largestDifference(deviations(usual.series, taus), exact)).toBeLessThan(0.05);
  });

  test("which a clock that is told in steps of the quantum has not", () => {
    const phaseSeconds = fine.series.phaseSeconds.map((x) => QUANTUM_SECONDS * Math.round(x / QUANTUM_SECONDS));
    expect(largestDifference(deviations({ phaseSeconds }, taus), exact)).toBeGreaterThan(0.05);
  });
});

test("with temperature at work in every box, the same from 4 s on; below, the quantum is seen", () => {
  const plan = chainOf({ loopHz: 0.05, gridSeconds: 1 }, weather);
  const [usual, fine] = [tenth(plan, DEFAULT_QUANTUM_SAMPLES), tenth(plan, DEFAULT_QUANTUM_SAMPLES / 1000)];
  expect(usual.told).toBeGreaterThan(300);
  const slow = [4, 8, 16, 32, 64, 128];
  expect(largestDifference(deviations(usual.series, slow), deviations(fine.series, slow))).toBeLessThan(0.05);
  // Told to the quantum, the errors at two instants a second apart are not alike: at most this much, and it adds.
  const [seen] = deviations(usual.series, [1]) as [number];
  const [exact] = deviations(fine.series, [1]) as [number];
  expect(Math.sqrt(Math.abs(seen * seen - exact * exact))).toBeLessThan(2 * QUANTUM_SECONDS);
});
