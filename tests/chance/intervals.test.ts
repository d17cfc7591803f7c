/** Intervals against another library, and against what they promise: 95 of 100 hold the truth. */
// @ts-expect-error: it comes without types
import jstat from "jstat";
import { describe, expect, test } from "vitest";
import { stream } from "../../shared/random.ts";
import { meanOf, shareOf, tQuantile } from "../../sim/chance/intervals.ts";

const { jStat } = jstat as unknown as { jStat: { studentt: { inv(p: number, dof: number): number } } };

describe("quantiles of Student's t", () => {
  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t, two-sided 95 % and 99 %.
  test.each([
    [1, 0.975, 12.706],
    [2, 0.975, 4.303],
    [5, 0.975, 2.571],
    [9, 0.975, 2.262],
    [30, 0.975, 2.042],
    [5, 0.995, 4.032],
    [30, 0.995, 2.75],
  ])("%d degrees, %f: %f", (degrees, probability, printed) => {
    expect(tQuantile(probability, degrees)).toBeCloseTo(printed, 3);
  });

  test("as the other library has them, on both sides", () => {
    for (const degrees of [1, 2, 3, 7, 20, 99, 1000])
      for (const probability of [0.01, 0.2, 0.5, 0.7, 0.9, 0.975, 0.999]) {
        const expected = jStat.studentt.inv(probability, degrees);
        expect(tQuantile(probability, degrees)).toBeCloseTo(
          expected,
          5 - Math.max(0, Math.log10(Math.abs(expected) + 1)),
        );
      }
  });
});

describe("shares", () => {
  // The same handbook, 7.2.4.1: Wilson's limits are the shares at which the test of section 7.2.4 just rejects.
  test("each end is where the test just rejects", () => {
    for (const [hits, count] of [
      [4, 20],
      [1, 7],
      [50, 51],
    ] as const) {
      const { low, high } = shareOf(hits, count, 0.9);
      for (const end of [low, high]) {
        const z = Math.abs(hits / count - end) / Math.sqrt((end * (1 - end)) / count);
        // Of the normal distribution, 95 % (the same handbook, 1.3.6.7.1: 1.645).
        expect(z).toBeCloseTo(1.644854, 5);
      }
    }
  });

  test("nothing seen is not nothing possible", () => {
    expect(shareOf(0, 10, 0.95).low).toBe(0);
    // z²/(n + z²)
    expect(shareOf(0, 10, 0.95).high).toBeCloseTo(3.8415 / 13.8415, 4);
    expect(shareOf(0, 0, 0.95)).toEqual({ low: 0, high: 1 });
  });
});

describe("what an interval promises", () => {
  const rounds = 4000;

  test("95 % of them hold the mean", () => {
    const draw = stream("coverage", "", "mean", 0);
    let hits = 0;
    for (let round = 0; round < rounds; round += 1) {
      // Sums of twelve uniforms are normal for this purpose.
      const values = Array.from({ length: 8 }, () =>
        Array.from({ length: 12 }, () => draw()).reduce((sum, one) => sum + one, -6),
      );
      const { low, high } = meanOf(values, 0.95);
      if (low <= 0 && 0 <= high) hits += 1;
    }
    // Three standard errors of a share of 0.95.
    expect(Math.abs(hits / rounds - 0.95)).toBeLessThan(3 * Math.sqrt((0.95 * 0.05) / rounds));
  });

  test("95 % of them hold the share, on average over shares", () => {
    const draw = stream("coverage", "", "share", 0);
    let hits = 0;
    for (let round = 0; round < rounds; round += 1) {
      const truth = 0.02 + 0.96 * draw();
      let seen = 0;
      for (let trial = 0; trial < 50; trial += 1) if (draw() < truth) seen += 1;
      const { low, high } = shareOf(seen, 50, 0.95);
      if (low <= truth && truth <= high) hits += 1;
    }
    expect(Math.abs(hits / rounds - 0.95)).toBeLessThan(0.015);
  });

  test("one value says nothing", () => {
    expect(meanOf([3], 0.95)).toEqual({
      mean: 3,
      count: 1,
      low: Number.NEGATIVE_INFINITY,
      high: Number.POSITIVE_INFINITY,
    });
  });
});
