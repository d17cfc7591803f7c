/**
 * Chains through whole runs: the leader of ten boxes steps its frequency, and what each box does is read from the flows of
 * the record and held against the cascade of ten loops, CALC from the loop's closed form (its first box is the published
 * row of each damping). Everything agrees within the bound that the run itself gives.
 */
import { describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import { chainsOver } from "../../sim/chain/followers.ts";
import { stepThroughChain } from "../../sim/chain/step.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { at, device, link, planOf } from "../helpers/plan.ts";
import { play } from "../helpers/play.ts";
import { readClocks } from "../helpers/reading.ts";

const SAMPLE_SECONDS = 1 / 48_000;
const STEP_SECONDS = 2;

interface Box {
  readonly naturalFrequencyHz: number;
  readonly damping: number;
}

const boxName = (index: number): string => `box-${String(index + 1).padStart(2, "0")}`;

/** A leader and boxes behind it, each on a cable of its own length; windows so wide that nothing unlocks. */
function chainOf(boxes: readonly Box[], stepPpm: number, seconds: number) {
  const wide = { capturePpm: 1000, steeringPpm: 1000, lockWindowPercent: 90, unlockWindowPercent: 95 };
  return planOf({
    seconds,
    devices: [
      device("leader", ["internal"], { offsetPpm: 1 }),
      ...boxes.map((loop, index) => device(boxName(index), ["1"], { ...wide, loop, offsetPpm: 3 * ((index % 3) - 1) })),
    ],
    links: boxes.map((_, index) =>
      link(index === 0 ? "leader.2" : `${boxName(index - 1)}.2`, `${boxName(index)}.1`, {
        id: `to-${boxName(index)}`,
        lengthMetres: 10 + 7 * index,
      }),
    ),
    events: [at(STEP_SECONDS, { do: "step-frequency", device: "leader", offsetPpm: 1 + stepPpm })],
  });
}

/** What arrives minus the own clock, seconds, and the own clock's frequency beyond what it was, of each box. */
function reader(boxes: readonly Box[], stepPpm: number, seconds: number, quantumSamples: number) {
  const rig = chainOf(boxes, stepPpm, seconds);
  const { rows, timebases } = play(rig, undefined, quantumSamples);
  const clocks = readClocks(rows, timebases);
  const phase = (id: string, now: Ns) => clocks.phaseSecondsAt(id, now) as number;
  const bounds = new Map<string, number>();
  for (const { subject, fact } of rows)
    if (fact.kind === "flow" && fact.flow !== null)
      bounds.set(subject, Math.max(bounds.get(subject) ?? 0, fact.flow.withinSeconds));
  return {
    rows,
    /** Bound of a box's error: its own flow's and that of the box before. */
    boundOf: (index: number) =>
      (bounds.get(`device ${boxName(index)}`) ?? Number.NaN) +
      (bounds.get(`device ${index === 0 ? "leader" : boxName(index - 1)}`) ?? Number.NaN),
    errorAt(index: number, after: number): number {
      const now = Math.round((STEP_SECONDS + after) * 1e9) as Ns;
      const cable = (10 + 7 * index) * 5.05e-9;
      return phase(index === 0 ? "leader" : boxName(index - 1), now) - phase(boxName(index), now) - cable;
    },
    frequencyAt: (index: number, after: number) =>
      ((clocks.fractionalOffsetAt(boxName(index), Math.round((STEP_SECONDS + after) * 1e9) as Ns) as number) - 1e-6) *
      1e6,
  };
}

describe("ten boxes after their leader's step", () => {
  test.each([
    {
      what: "1 Hz, ζ = 1",
      stepPpm: 25,
      boxes: Array.from({ length: 10 }, () => ({ naturalFrequencyHz: 1, damping: 1 })),
    },
    {
      what: "0.5 Hz, ζ = 0.7071",
      stepPpm: 25,
      boxes: Array.from({ length: 10 }, () => ({ naturalFrequencyHz: 0.5, damping: 0.7071 })),
    },
    {
      what: "no two alike",
      stepPpm: 100,
      boxes: Array.from({ length: 10 }, (_, n) => ({ naturalFrequencyHz: 0.6 + 0.2 * n, damping: 1.6 - 0.1 * n })),
    },
  ])("are each off by what the cascade says: $what", ({ boxes, stepPpm }) => {
    const expected = stepThroughChain(boxes);
    const slowest = Math.min(...boxes.map(({ naturalFrequencyHz }) => naturalFrequencyHz));
    const run = reader(boxes, stepPpm, STEP_SECONDS + 6 / slowest, 1e-6);
    for (const [index, box] of expected.entries()) {
      let peak = 0;
      let top = 0;
      for (let after = 0; after < 5 / slowest; after += 1e-3 / slowest) {
        const error = run.errorAt(index, after);
        if (Math.abs(error) > Math.abs(peak)) peak = error;
        top = Math.max(top, run.frequencyAt(index, after));
      }
      const bound = run.boundOf(index);
      expect(Math.abs(peak - box.peakErrorSeconds * stepPpm * 1e-6)).toBeLessThan(bound);
      expect(Math.abs(run.errorAt(index, box.atSeconds) - box.peakErrorSeconds * stepPpm * 1e-6)).toBeLessThan(bound);
      // That says something: the bound, grown tenfold through ten loops, is two thousandths of what it bounds, or less.
      expect(bound).toBeLessThan(2e-3 * Math.abs(peak));
      // Frequency has no bound of its own: what is told are slopes of quadratics that are fitted to a quantum of phase.
      expect(Math.abs(top / stepPpm - 1 - box.frequencyOvershoot)).toBeLessThan(0.001);
    }
    // Nobody lost lock on the way, so that it was the linear loop all along.
    expect(run.rows.filter(({ fact, atNs }) => fact.kind === "clock" && atNs > 0)).toEqual([]);
  });

  test("with the usual quantum it is the same within the bound that the run prints", () => {
    const boxes = Array.from({ length: 10 }, () => ({ naturalFrequencyHz: 1, damping: 1 }));
    const run = reader(boxes, 10, STEP_SECONDS + 6, 1e-4);
    const tenth = stepThroughChain(boxes)[9];
    const error = run.errorAt(9, tenth?.atSeconds ?? 0);
    expect(Math.abs(error - (tenth?.peakErrorSeconds ?? 0) * 10e-6)).toBeLessThan(run.boundOf(9));
    // 1.057 µs, 5.07 % of a sample period; the first box of the same chain stays at 0.585 µs (published: 1/(e·ωn) per unit).
    expect((error / SAMPLE_SECONDS) * 100).toBeCloseTo(5.07, 1);
  });

  test("1.80 times the first box's error decides who loses lock: of 1 Hz boxes from 50 ppm on the last, from 89 the first", () => {
    const boxes = Array.from({ length: 10 }, () => ({ naturalFrequencyHz: 1, damping: 1 }));
    const expected = stepThroughChain(boxes);
    const window = 0.25 * SAMPLE_SECONDS * 1e6;
    const unlocked = (stepPpm: number) => {
      const plan = chainOf(boxes, stepPpm, STEP_SECONDS + 8);
      const usual = { lockWindowPercent: 5, unlockWindowPercent: 25 };
      const { rows } = play({ ...plan, devices: plan.devices.map((each) => ({ ...each, ...usual })) }, undefined, 1e-5);
      const lost = rows.filter(({ fact }) => fact.kind === "clock" && fact.state === "acquiring");
      return new Set(lost.map(({ subject }) => subject.slice("device ".length)));
    };
    for (const index of [0, 4, 9]) {
      const edge = window / (expected[index]?.peakErrorSeconds ?? Number.NaN);
      expect(unlocked(edge * 0.998).has(boxName(index))).toBe(false);
      expect(unlocked(edge * 1.002).has(boxName(index))).toBe(true);
    }
    expect(window / (expected[9]?.peakErrorSeconds ?? 1)).toBeCloseTo(49.29, 1);
    expect(window / (expected[0]?.peakErrorSeconds ?? 1)).toBeCloseTo(88.96, 1);
  });
});

describe("near-critical loops in a run", () => {
  test("ζ = 1 ± 1e-9 are ζ = 1 to within the quantum, through lock lost and found again", () => {
    const runs = [1 - 1e-9, 1, 1 + 1e-9].map((damping) =>
      reader(
        Array.from({ length: 3 }, () => ({ naturalFrequencyHz: 0.7, damping })),
        300,
        STEP_SECONDS + 12,
        1e-6,
      ),
    );
    const [below, critical, above] = runs as [(typeof runs)[0], (typeof runs)[0], (typeof runs)[0]];
    let largest = 0;
    for (let after = 0.01; after < 11; after += 0.0137) {
      for (const index of [0, 1, 2]) {
        const error = critical.errorAt(index, after);
        largest = Math.max(largest, Math.abs(error));
        for (const other of [below, above])
          expect(Math.abs(other.errorAt(index, after) - error)).toBeLessThan(
            critical.boundOf(index) + other.boundOf(index),
          );
      }
    }
    // Whole periods were taken off on the way, and the states are the same rows at the same microsecond.
    expect(largest).toBeGreaterThan(0.9 * SAMPLE_SECONDS);
    const events = (run: (typeof runs)[0]) =>
      run.rows.flatMap(({ subject, fact, atNs }) =>
        fact.kind === "wrapped" || fact.kind === "clock" ? [`${(atNs / 1e9).toFixed(4)} ${subject} ${fact.kind}`] : [],
      );
    expect(events(below)).toEqual(events(critical));
    expect(events(above)).toEqual(events(critical));
    expect(events(critical).some((text) => text.endsWith("wrapped"))).toBe(true);
  });
});

describe("what the summary says of chains", () => {
  test("the tenth box, per part per million", () => {
    const boxes = Array.from({ length: 10 }, () => ({ naturalFrequencyHz: 0.05, damping: 1 }));
    const { summary } = rehearse(chainOf(boxes, 1, 60));
    const chain = summary.chains.worst?.highest;
    expect(chain?.devices.length).toBe(11);
    expect(chain?.depth).toBe(10);
    expect(chain?.fromSeconds).toBe(0);
    // 1.249387 dB a loop at 0.707107 of its frequency (published).
    expect(chain?.peakDecibels).toBeCloseTo(12.49387, 4);
    expect(chain?.peakHz).toBeCloseTo(0.05 * Math.SQRT1_2, 9);
    expect(chain?.afterOnePpm.errorMicroseconds).toBeCloseTo(0.663965 / (2 * Math.PI * 0.05), 5);
    expect(chain?.afterOnePpm.overshootPercent).toBeCloseTo(162.4746, 3);
    expect(summary.chains.atStart).toEqual(summary.chains.worst);
    expect(chainsOver(chainOf(boxes, 1, 60), { ...rehearse(chainOf(boxes, 1, 60)).record, rows: [] })).toEqual({
      atStart: null,
      worst: null,
    });
  });
});
