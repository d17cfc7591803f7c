/** Sampling against flows worked out by hand, and against runs whose clocks are known. */
import { describe, expect, it } from "vitest";
import { clockPhaseAt } from "../../shared/clock-phase.ts";
import type { Flow } from "../../shared/flow.ts";
import type { Plan } from "../../shared/plan.ts";
import type { DeviceState, Fact, Row, RunRecord } from "../../shared/record.ts";
import { type Ns, nsFromSeconds } from "../../shared/time.ts";
import { makeTimebases } from "../../sim/lives.ts";
import {
  isStraight,
  jumpsWithin,
  lessWholePeriods,
  longestInLock,
  meanFrequency,
  phaseSeries,
} from "../../sim/phase-series.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { oadev } from "../../sim/stability/index.ts";
import { device, planOf } from "../helpers/plan.ts";
import { plan as planFrom } from "../helpers/rig.ts";

const ns = nsFromSeconds;

function flow(atSeconds: number, rest: Partial<Flow>): Flow {
  return {
    ...{ timebase: 0, atNs: ns(atSeconds), phaseSeconds: 0, rate: 0, ageingPerSecond: 0, wander: null },
    withinSeconds: 0,
    ...rest,
  };
}

function row(atSeconds: number, id: string, fact: Fact): Row {
  return { atNs: ns(atSeconds), subject: `device ${id}`, cause: -1, fact };
}

const is = (atSeconds: number, id: string, state: DeviceState, source: string | null = null): Row =>
  row(atSeconds, id, { kind: "clock", state, source, reason: "" });

function recordOf(seconds: number, rows: readonly Row[]): RunRecord {
  return {
    ...{ format: 1, scenarioSha256: "", seed: "1", endNs: ns(seconds), worstErrorSamples: 0, assumed: [] },
    rows: [...rows].sort((a, b) => a.atNs - b.atNs),
  };
}

/** Two clocks that are off by nothing, so that all there is comes from the flows. */
const plan: Plan = planOf({ seconds: 10, devices: [device("a", ["internal"]), device("b", ["1"])] });
const { timebases } = makeTimebases(plan);

describe("phaseSeries", () => {
  const bent = flow(0, { phaseSeconds: 1e-6, rate: 2e-6, ageingPerSecond: 1e-7 });
  const record = recordOf(10, [
    row(0, "a", { kind: "flow", flow: bent }),
    row(0, "b", { kind: "flow", flow: flow(0, { timebase: 1, rate: 1e-6 }) }),
    row(4, "b", { kind: "flow", flow: flow(4, { timebase: 1, phaseSeconds: 5e-6 }) }),
    // Two at one instant: the later row holds.
    row(6, "b", { kind: "flow", flow: flow(6, { timebase: 1, phaseSeconds: 9 }) }),
    row(6, "b", { kind: "flow", flow: null }),
    row(8, "b", { kind: "flow", flow: flow(8, { timebase: 1, phaseSeconds: -1e-6 }) }),
  ]);
  const series = (...args: [string, Parameters<typeof phaseSeries>[4]]) =>
    phaseSeries(plan, record, timebases, ...args);
  const rounded = (found: { readonly phaseSeconds: Float64Array }) =>
    [...found.phaseSeconds].map((x) => Number((x * 1e6).toFixed(6)));
  const { NaN: gap } = Number;

  it("is the flow's quadratic at every step, the ends included", () => {
    // In µs: 1 + 2t + 0.05t².
    const found = series("a", { stepSeconds: 2.5 });
    expect(rounded(found)).toEqual([1, 6.3125, 12.25, 18.8125, 26]);
    expect(found).toMatchObject({ tau0Seconds: 2.5, startNs: 0 });
  });

  it("follows the clock where it jumps, is not there, and comes back", () => {
    expect(rounded(series("b", { stepSeconds: 1 }))).toEqual([0, 1, 2, 3, 5, 5, gap, gap, -1, -1, -1]);
  });

  it("subtracts another clock, and has a gap where either has", () => {
    const found = rounded(series("b", { stepSeconds: 2, against: "a" }));
    expect(found).toEqual([-1, -3.2, -4.8, gap, -21.2, -27]);
  });

  it("falls on whole multiples of the step, wherever the stretch begins and ends", () => {
    const found = series("a", { stepSeconds: 2, fromNs: ns(2.0001), toNs: ns(7.9999) });
    expect(found.startNs).toBe(ns(4));
    expect(rounded(found)).toEqual([9.8, 14.8]);
    expect(rounded(series("a", { stepSeconds: 2, fromNs: ns(4), toNs: ns(6) }))).toEqual([9.8, 14.8]);
    expect(series("a", { stepSeconds: 2, fromNs: ns(4.1), toNs: ns(5.9) }).phaseSeconds).toHaveLength(0);
    // Steps that no nanosecond and no double holds.
    for (const stepSeconds of [1 / 3, 0.1, 0.7]) {
      const all = series("a", { stepSeconds });
      expect(all.phaseSeconds).toHaveLength(Math.floor(10 / stepSeconds + 1e-9) + 1);
    }
  });

  it("takes the wander grid and the whole show where nothing is said", () => {
    expect(phaseSeries(plan, record, timebases, "a").phaseSeconds).toHaveLength(11);
  });

  it("knows its bound and its rounding from both clocks", () => {
    const within = recordOf(10, [
      row(0, "a", { kind: "flow", flow: flow(0, { withinSeconds: 1e-9, phaseSeconds: 1 }) }),
      row(0, "b", { kind: "flow", flow: flow(0, { timebase: 1, withinSeconds: 2e-9 }) }),
      row(5, "b", { kind: "flow", flow: flow(5, { timebase: 1, withinSeconds: Number.POSITIVE_INFINITY }) }),
    ]);
    const until = (seconds: number) => phaseSeries(plan, within, timebases, "b", { against: "a", toNs: ns(seconds) });
    expect(until(4).withinSeconds).toBeCloseTo(3e-9, 15);
    expect(until(4).roundingSeconds).toBe(1 / 70_368_744_177_664);
    expect(until(5).withinSeconds).toBe(Number.POSITIVE_INFINITY);
  });

  it("refuses what no caller may ask", () => {
    expect(() => series("c", {})).toThrow("no device c");
    expect(() => series("a", { against: "c" })).toThrow("no device c");
    for (const stepSeconds of [0, -1, Number.NaN, 1e-10])
      expect(() => series("a", { stepSeconds })).toThrow(RangeError);
  });
});

describe("the stretch to look at", () => {
  it("is the longest locked to one source or on its own clock by choice, up to the instant before it ends", () => {
    const record = recordOf(100, [
      is(0, "a", "locked", "1"),
      is(20, "a", "acquiring", "2"),
      is(22, "a", "locked", "2"),
      is(60, "a", "locked", "1"),
      is(80, "a", "free-run", null),
    ]);
    expect(longestInLock(record, ["a"])).toEqual({ fromNs: ns(22), toNs: ns(60) - 1, isInLock: true });
  });

  it("is cut where the device jumped", () => {
    const record = recordOf(100, [
      is(0, "a", "free-run", "internal"),
      row(30, "a", { kind: "re-aligned", bySeconds: 1 }),
    ]);
    expect(longestInLock(record, ["a"])).toEqual({ fromNs: ns(30), toNs: ns(100), isInLock: true });
    const whole = { fromNs: 0 as Ns, toNs: ns(100) };
    expect(jumpsWithin(record, ["a"], whole)).toBe(1);
    expect(jumpsWithin(record, ["b"], whole)).toBe(0);
    expect(jumpsWithin(record, ["a"], { ...whole, fromNs: ns(30) })).toBe(0);
  });

  it("is one that all of the devices share", () => {
    const record = recordOf(100, [
      is(0, "a", "free-run", "internal"),
      is(50, "a", "off"),
      is(60, "a", "free-run", "internal"),
      is(0, "b", "acquiring", "1"),
      is(10, "b", "locked", "1"),
      is(90, "b", "holdover"),
    ]);
    expect(longestInLock(record, ["b", "a"])).toEqual({ fromNs: ns(10), toNs: ns(50) - 1, isInLock: true });
  });

  it("is the longest with a clock where none was locked, and says so; none where there is no clock", () => {
    const record = recordOf(100, [
      is(0, "a", "off"),
      is(5, "a", "starting"),
      is(10, "a", "free-run"),
      is(90, "a", "off"),
    ]);
    expect(longestInLock(record, ["a"])).toEqual({ fromNs: ns(10), toNs: ns(90) - 1, isInLock: false });
    expect(longestInLock(recordOf(100, [is(0, "a", "off")]), ["a"])).toBeNull();
    expect(longestInLock(record, ["a", "b"])).toBeNull();
  });
});

describe("phase on its own", () => {
  const series = (phase: readonly number[], roundingSeconds = 0) => {
    return {
      ...{ phaseSeconds: Float64Array.from(phase), tau0Seconds: 2, startNs: 0 as Ns, withinSeconds: 0 },
      roundingSeconds,
    };
  };

  it("without whole periods lies within half of one", () => {
    const period = 1 / 48_000;
    const given = [0, 0.3, -0.3, 26.1, -26.1, 0.6].map((periods) => periods * period);
    const found = lessWholePeriods(series(given), period).phaseSeconds;
    for (const [index, expected] of [0, 0.3, -0.3, 0.1, -0.1, -0.4].entries())
      expect(found[index]! / period).toBeCloseTo(expected, 9);
  });

  it("has a mean frequency between the first and the last that are there", () => {
    const { NaN: gap } = Number;
    expect(meanFrequency(series([gap, 1, 5, gap, 7, gap]))).toBe(1);
    expect(meanFrequency(series([gap, 1]))).toBeNull();
    expect(meanFrequency(series([]))).toBeNull();
  });

  it("is straight within its rounding, gaps or not", () => {
    expect(isStraight(series([0, 1, 2, Number.NaN, 9, 10, 11]))).toBe(true);
    expect(isStraight(series([0, 1, 2.5]))).toBe(false);
    expect(isStraight(series([0, 1, 2.5], 0.5))).toBe(true);
  });
});

describe("clocks of a run", () => {
  const rig = (run: object, foh: object = {}) =>
    planFrom({
      format: 1,
      title: "two desks",
      run: { length: "01:00:00", ...run },
      rig: {
        sampleRateHz: 48000,
        leaders: ["foh"],
        devices: [
          { id: "foh", clockSources: ["internal"], oscillator: { offsetPpm: 4, ...foh } },
          { id: "stage", clockSources: ["1"], oscillator: { offsetPpm: -3 } },
        ],
        links: [{ id: "main", type: "madi", from: "foh.1", to: "stage.1", lengthMetres: 100 }],
      },
      events: [{ at: "00:10:00", do: "reboot", device: "stage" }],
    });
  const sampled = (made: Plan, id: string, against: string | null = null) => {
    const { record } = rehearse(made);
    const stretch = longestInLock(record, against === null ? [id] : [id, against])!;
    const bases = makeTimebases(made).timebases;
    return { record, bases, stretch, series: phaseSeries(made, record, bases, id, { ...stretch, against }) };
  };

  it("steady: a straight line of the leader's frequency, and the follower behind by its cable", () => {
    const made = rig({});
    const foh = sampled(made, "foh").series;
    expect(isStraight(foh)).toBe(true);
    expect(foh.phaseSeconds).toHaveLength(3601);
    expect(meanFrequency(foh)).toBeCloseTo(4e-6, 15);
    const { record, bases, series, stretch } = sampled(made, "stage", "foh");
    // It boots for a minute and is locked a little later, with the rest of its pulling in still to come.
    expect(stretch.fromNs).toBeGreaterThan(ns(660));
    expect(stretch.fromNs).toBeLessThan(ns(670));
    expect(isStraight(series)).toBe(false);
    const settled = phaseSeries(made, record, bases, "stage", { against: "foh", fromNs: ns(1200) });
    expect(isStraight(settled)).toBe(true);
    // 100 m of coax at 5.05 ns/m, behind; whole samples are what the jump left.
    const [first] = lessWholePeriods(settled, 1 / 48_000).phaseSeconds;
    expect(first! * 1e9).toBeCloseTo(-505, 2);
  });

  it("drifting: the parabola of ageing, whose Allan deviation is D·τ/√2", () => {
    // The second difference of D·t²/2 over τ is D·τ², so the variance is D²τ²/2.
    const { series } = sampled(rig({}, { ageingPpbPerDay: 86.4 }), "foh");
    expect(isStraight(series)).toBe(false);
    const [atHundred] = oadev(series, [100]);
    const drift = 86.4e-9 / 86_400;
    expect("value" in atHundred! && atHundred.value / ((drift * 100) / Math.sqrt(2))).toBeCloseTo(1, 5);
  });

  it("wandering: each sample is what an observer reads from the flow in force", () => {
    const made = rig({ wander: true });
    const { record, bases, series } = sampled(made, "stage");
    expect(isStraight(series)).toBe(false);
    const flows = record.rows.flatMap(({ subject, atNs, fact }) =>
      fact.kind === "flow" && subject === "device stage" ? [{ atNs, flow: fact.flow }] : [],
    );
    for (const index of [0, 1, 500, series.phaseSeconds.length - 1]) {
      const at = (series.startNs + index * 1e9) as Ns;
      const { flow } = flows.findLast((each) => each.atNs <= at)!;
      expect(series.phaseSeconds[index]).toBe(clockPhaseAt(bases, flow!, at));
    }
  });

  it("are the same again from timebases made anew, as the page makes them", () => {
    const made = rig({ wander: true });
    const { record, series, stretch } = sampled(made, "stage", "foh");
    const again = phaseSeries(made, JSON.parse(JSON.stringify(record)), makeTimebases(made).timebases, "stage", {
      ...{ ...stretch, against: "foh" },
    });
    expect(again).toEqual(series);
  });
});
