/**
 * Published times of clocks that are left alone: slips at a constant difference of frequency, AES11's allowances, the
 * holdover of G.813; each by the closed form, and the ones at 48 kHz by a run as well.
 *
 * Status: READ, seen in the document itself; READ-2, only in a text that quotes it; READ-AI, only in a machine-assisted
 * public requirements file that cites the clause; CALC, worked out from the formula.
 */
import { describe, expect, test } from "vitest";
import { leavesAfter } from "../../sim/holding/departure.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { sec1HoldoverSeconds } from "../../sim/stability/index.ts";
import { device, link, planOf, unplug } from "../helpers/plan.ts";

const FOR_GOOD = Number.POSITIVE_INFINITY;
const DAY = 86_400;
const SAMPLE_SECONDS = 1 / 48_000;

/** Both ways alike. */
const within = (seconds: number) => ({ ahead: seconds, behind: seconds });

describe("time to a slip at a constant difference of frequency", () => {
  // Interval = size of a slip in seconds / |difference|.
  test.each([
    // CALC; 1728 samples an hour at 10 ppm and 172.8 at 1 ppm as quoted for AES11-2009 (READ-AI).
    { what: "a sample at 48 kHz, 10 ppm", slipSeconds: SAMPLE_SECONDS, rate: 10e-6, seconds: 2.083_333 },
    { what: "a sample at 48 kHz, 1 ppm", slipSeconds: SAMPLE_SECONDS, rate: 1e-6, seconds: 3600 / 172.8 },
    // A service manual of telephone exchanges (READ) prints these rounded: 2.4 s, 12.5 s, 2 min, 1 day.
    { what: "a frame of 125 µs, 50 ppm", slipSeconds: 125e-6, rate: 50e-6, seconds: 2.5 },
    { what: "a frame of 125 µs, 10 ppm", slipSeconds: 125e-6, rate: 10e-6, seconds: 12.5 },
    { what: "a frame of 125 µs, 1 ppm", slipSeconds: 125e-6, rate: 1e-6, seconds: 125 },
    { what: "a frame of 125 µs, 1e-9", slipSeconds: 125e-6, rate: 1e-9, seconds: 125_000 },
    // G.822 (11/88) scope (READ) says 70 days for two clocks of 1e-11 each; the arithmetic gives 72.338.
    { what: "a frame of 125 µs, two G.811 clocks", slipSeconds: 125e-6, rate: 2e-11, seconds: 72.338 * DAY },
    // Stratum 3E, 1e-8: 3.5 hours (READ), 3.472 by the arithmetic.
    { what: "a frame of 125 µs, stratum 3E", slipSeconds: 125e-6, rate: 1e-8, seconds: 3.472_22 * 3600 },
  ])("$what", ({ slipSeconds, rate, seconds }) => {
    for (const side of [1, -1]) {
      const found = leavesAfter([{ rate: side * rate, perSecond: 0, seconds: FOR_GOOD }], within(slipSeconds));
      expect(found! / seconds).toBeCloseTo(1, 5);
    }
  });

  test("one clock of 1e-11 against a perfect one takes longer than time holds here: never", () => {
    // "every four to five months" (READ): 144.7 days, and an instant is at most 104 days here.
    expect(125e-6 / 1e-11 / DAY).toBeCloseTo(144.68, 2);
    expect(leavesAfter([{ rate: 1e-11, perSecond: 0, seconds: FOR_GOOD }], within(125e-6))).toBeNull();
  });
});

describe("AES11's allowances at 48 kHz", () => {
  // 5.3.1.1 output ±5 %, 5.3.1.2 input ±25 % of the frame (READ-AI, agrees with memory): 1.0417 and 5.2083 µs.
  test.each([
    [1e-6, 1.041_667, 5.208_333],
    [10e-6, 0.104_166_7, 0.520_833_3],
    [50e-6, 0.020_833_3, 0.104_166_7],
  ])("at a difference of %d", (rate, output, input) => {
    const alone = [{ rate, perSecond: 0, seconds: FOR_GOOD }];
    expect(leavesAfter(alone, within(0.05 * SAMPLE_SECONDS))).toBeCloseTo(output, 6);
    expect(leavesAfter(alone, within(0.25 * SAMPLE_SECONDS))).toBeCloseTo(input, 6);
  });
});

describe("holdover of an option 1 clock, G.813 and G.8262", () => {
  // ΔT(S) = (a1 + a2)·S + ½·b·S² + c: 2,050 ns/s, 1.16e-4 ns/s², c = 120 ns (READ-2); check points CALC.
  const alone = [{ rate: 2050e-9, perSecond: 1.16e-13, seconds: FOR_GOOD }];
  test.each([
    [1, 2170.000_058],
    [10, 20_620.0058],
    [60, 123_120.2088],
  ])("is at its limit after %d s, and the limit is %d ns", (seconds, limit) => {
    const gathered = limit * 1e-9 - 120e-9;
    expect(leavesAfter(alone, within(gathered))).toBeCloseTo(seconds, 7);
    expect(sec1HoldoverSeconds(leavesAfter(alone, within(gathered))!) * 1e9).toBeCloseTo(limit, 4);
  });

  test("over a day and more, where its ageing shows", () => {
    // A day: 2,050·86,400 ns + ½·1.16e-4·86,400² ns = 177.12 ms + 0.43297 ms.
    expect(leavesAfter(alone, within(sec1HoldoverSeconds(DAY) - 120e-9))).toBeCloseTo(DAY, 3);
    expect(leavesAfter(alone, within(177.12e-3))! / DAY).toBeLessThan(0.998);
  });
});

describe("a follower at 10 ppm that loses its clock, in a run", () => {
  // The link notices at once: the whole time is on its own oscillator. A sample of room either side: 2.083 s.
  test.each([0, 60])("with %d s of holdover", (holdoverSeconds) => {
    const rig = planOf({
      seconds: 120,
      devices: [
        device("house", ["internal"], { offsetPpm: 2 }),
        device("box", ["1"], { offsetPpm: 12, holdoverSeconds }),
      ],
      links: [
        link("house.1", "box.1", { id: "clock", type: "word-clock", noticeSeconds: 0 }),
        link("house.2", "box.2", { id: "main" }),
      ],
      events: [unplug(30, "clock")],
    });
    const { holdovers } = rehearse(rig).summary;
    expect(holdovers).toHaveLength(1);
    const [{ allowances, links, ownOffsetPpm, keptErrorPpb }] = holdovers as [(typeof holdovers)[number]];
    expect([ownOffsetPpm, keptErrorPpb]).toEqual([expect.closeTo(10, 9), 0]);
    const expected = [0.104_166_7, 0.520_833_3, 2.083_333].map((seconds) => seconds + holdoverSeconds);
    const found = [...allowances, ...links];
    for (const [index, seconds] of expected.entries()) {
      expect(found[index]?.predictedSeconds).toBeCloseTo(seconds, 5);
      // The run is told to 1e-4 of a sample period, at 0.48 samples a second: 0.2 ms.
      expect(Math.abs(found[index]!.ranSeconds! - seconds)).toBeLessThan(1e-3);
    }
  });
});
