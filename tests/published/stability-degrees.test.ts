/**
 * C. A. Greenhall, W. J. Riley, "Uncertainty of stability variances based on finite differences", 35th PTTI meeting, 2003:
 * 1 / ν = (a0 − a1 / r) / r for long sums, r = terms per tau. Tables 1, 2 and 3, READ as given in allantools' ci.py
 * (`greenhall_table1` to `3`, commit 0a51f394); the paper itself was not opened. Its numbers have three digits, ours come
 * from the sums that they approximate.
 */
import { describe, expect, test } from "vitest";
import { degreesOfFreedom, type NoiseType } from "../../sim/stability/index.ts";

/** The tables are of the limit of many steps per tau. */
const STEPS = 500;
const RATIOS = [6, 20, 100];

/** r / ν, which should be a0 − a1 / r. */
function inverse(statistic: "oadev" | "mdev" | "ohdev", noise: NoiseType, ratio: number): number {
  const span = { oadev: 2 * STEPS, mdev: 3 * STEPS - 1, ohdev: 3 * STEPS }[statistic];
  const terms = ratio * STEPS;
  const degrees = degreesOfFreedom({ statistic, noise, points: terms + span, averagingFactor: STEPS });
  return ratio / degrees!;
}

describe("table 1: modified variances, d = 2", () => {
  test.each([
    ["white-pm", 7 / 9, 1 / 2],
    ["flicker-pm", 0.997, 0.616],
    ["white-fm", 1.033, 0.607],
    ["flicker-fm", 1.048, 0.534],
    ["random-walk-fm", 1.302, 0.535],
  ] as const)("%s: %d, %d", (noise, a0, a1) => {
    // Half a unit of the third decimal in both numbers, and 1e-3 for 500 steps instead of infinitely many.
    for (const r of RATIOS) expect(Math.abs(inverse("mdev", noise, r) - (a0 - a1 / r))).toBeLessThan(1.6e-3);
  });
});

describe("table 2: unmodified variances of frequency noise", () => {
  test.each([
    ["oadev", "white-fm", 2 / 3, 1 / 3],
    ["oadev", "flicker-fm", 0.852, 0.375],
    ["oadev", "random-walk-fm", 1.079, 0.368],
    ["ohdev", "white-fm", 7 / 9, 1 / 2],
    ["ohdev", "flicker-fm", 0.997, 0.617],
    ["ohdev", "random-walk-fm", 1.033, 0.607],
    ["ohdev", "flicker-walk-fm", 1.053, 0.553],
    ["ohdev", "random-run-fm", 1.302, 0.535],
  ] as const)("%s, %s: %d, %d", (statistic, noise, a0, a1) => {
    for (const r of RATIOS) expect(Math.abs(inverse(statistic, noise, r) - (a0 - a1 / r))).toBeLessThan(1.6e-3);
  });
});

describe("tables 2 and 3: unmodified variances of flicker PM, which grow with ln m", () => {
  test.each([
    ["oadev", 790, 410, 15.23, 12],
    ["ohdev", 9950, 6520, 47.8, 40],
  ] as const)("%s: (%d − %d / r) / (%d + %d ln m)²", (statistic, a0, a1, b0, b1) => {
    // The table's numerator is the limit of many steps; at 500 what a sum adds at its logarithmic peaks is some 2 %.
    for (const r of RATIOS) {
      const published = (a0 - a1 / r) / (b0 + b1 * Math.log(STEPS)) ** 2;
      expect(Math.abs(inverse(statistic, "flicker-pm", r) / published - 1)).toBeLessThan(0.03);
    }
  });
});

describe("white PM, unmodified, in closed form: terms / ν = a0 − a1 / r", () => {
  test.each([
    ["oadev", 35 / 18, 1],
    ["ohdev", 231 / 100, 3 / 2],
  ] as const)("%s: %d, %d", (statistic, a0, a1) => {
    for (const r of RATIOS) expect(STEPS * inverse(statistic, "white-pm", r)).toBeCloseTo(a0 - a1 / r, 9);
  });
});

describe("total deviation: NIST SP 1065, table 7, as quoted in allantools' ci.py (`edf_totdev`): b T / tau − c", () => {
  test.each([
    ["white-fm", 1.5, 0],
    ["flicker-fm", 1.17, 0.22],
    ["random-walk-fm", 0.93, 0.36],
  ] as const)("%s: %d, %d", (noise, b, c) => {
    // 1001 points are 1000 tau0 long.
    for (const m of [1, 10, 500])
      expect(degreesOfFreedom({ statistic: "totdev", noise, points: 1001, averagingFactor: m })).toBeCloseTo(
        (b * 1000) / m - c,
        9,
      );
  });
});
