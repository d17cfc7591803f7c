/** From points of Allan deviation to noise: what is put in comes out, and nothing comes nearer. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { AllanPoint } from "../../shared/noise-numbers.ts";
import { allanDeviationOf, fitAllanPoints, flickerFromFloor, wanderFromPowerLaw } from "../../shared/noise-numbers.ts";
import type { WanderPlan } from "../../shared/plan.ts";
import { tries } from "../helpers/laws.ts";
import { even, evenInDecades } from "../helpers/numbers.ts";

const none: WanderPlan = { sigma1: 0, sigma2: 0, sigma3: 0, hMinus1: 0 };

function pointsOf(wander: WanderPlan, taus: readonly number[]): AllanPoint[] {
  return taus.map((seconds) => ({ seconds, deviation: allanDeviationOf(wander, seconds) }));
}

/** τ from ms to hours, rising, each at least a tenth above the last. */
const taus = (minLength: number) =>
  fc
    .array(evenInDecades(0.1, 1e5), { minLength, maxLength: 20 })
    .map((all) => all.sort((a, b) => a - b).filter((tau, n) => n === 0 || tau > 1.1 * (all[n - 1] as number)))
    .filter((all) => all.length >= minLength);

describe("noise from points of Allan deviation", () => {
  test.each([
    ["white FM", { ...none, sigma1: 3e-11 }],
    ["flicker FM", { ...none, hMinus1: flickerFromFloor(2e-12) }],
    ["random-walk FM", { ...none, sigma2: 5e-12 }],
  ])("%s alone comes back alone, and to rounding", (_, wander) => {
    for (const at of [
      [1, 10],
      [0.1, 1, 10, 100, 1000, 1e4],
    ]) {
      const fit = fitAllanPoints(pointsOf(wander, at)).wander;
      for (const key of ["sigma1", "sigma2", "sigma3", "hMinus1"] as const) {
        if (wander[key] === 0) expect(fit[key]).toBe(0);
        else expect(fit[key] / wander[key]).toBeCloseTo(1, 13);
      }
    }
  });

  test("one point is a floor", () => {
    expect(fitAllanPoints([{ seconds: 1, deviation: 1e-9 }])).toEqual({
      wander: { ...none, hMinus1: flickerFromFloor(1e-9) },
      furthest: { index: 0, deviation: expect.closeTo(1e-9, 22) },
    });
    // √(2·ln 2·h−1) = 1e-9.
    expect(flickerFromFloor(1e-9)).toBeCloseTo(1e-18 / Math.log(4), 32);
  });

  test("coefficients are recovered wherever they can be seen", () => {
    const mixes = new Map<string, number>();
    fc.assert(
      fc.property(
        taus(3),
        fc.record({
          h0: evenInDecades(1e-26, 1e-18),
          hMinus1: evenInDecades(1e-27, 1e-19),
          hMinus2: evenInDecades(1e-30, 1e-20),
        }),
        fc.subarray(["h0", "hMinus1", "hMinus2"] as const, { minLength: 1 }),
        (at, coefficients, kept) => {
          const law = { h0: 0, hMinus1: 0, hMinus2: 0 };
          for (const key of kept) law[key] = coefficients[key];
          const truth = wanderFromPowerLaw(law);
          const points = pointsOf(truth, at);
          const { wander, furthest } = fitAllanPoints(points);
          const given = points[furthest.index] as AllanPoint;
          expect(Math.abs(furthest.deviation / given.deviation - 1)).toBeLessThan(1e-9);
          const parts = { sigma1: { ...none, sigma1: truth.sigma1 }, sigma2: { ...none, sigma2: truth.sigma2 } };
          const flicker = { ...none, hMinus1: truth.hMinus1 };
          const seen: string[] = [];
          for (const [key, part] of [...Object.entries(parts), ["hMinus1", flicker] as const]) {
            const shares = points.map(({ seconds, deviation }) => (allanDeviationOf(part, seconds) / deviation) ** 2);
            if (Math.max(...shares) < 1e-3) continue;
            seen.push(key);
            const name = key as keyof WanderPlan;
            // A share of 1e-3 that stands on sums of 1 has lost three digits, and near neighbours a few more.
            expect(Math.abs(wander[name] / truth[name] - 1)).toBeLessThan(1e-6);
          }
          const mix = seen.sort().join(" ");
          mixes.set(mix, (mixes.get(mix) ?? 0) + 1);
        },
      ),
      tries(400),
    );
    expect(mixes.size).toBe(7);
    expect(mixes.get("hMinus1 sigma1 sigma2")).toBeGreaterThan(10);
  });

  test("whatever the points, nothing is negative and no other noise lies nearer", () => {
    let bound = 0;
    const relative = ({ sigma1, sigma2, hMinus1 }: WanderPlan, points: readonly AllanPoint[]) =>
      points.reduce((sum, { seconds, deviation }) => {
        const ratio = allanDeviationOf({ sigma1, sigma2, sigma3: 0, hMinus1 }, seconds) / deviation;
        return sum + (ratio * ratio - 1) ** 2;
      }, 0);
    const factor = fc.oneof(fc.constantFrom(0, 0.999, 1, 1.001), even(0.5, 2));
    fc.assert(
      fc.property(
        taus(2),
        fc.array(evenInDecades(1e-13, 1e-10), { minLength: 20, maxLength: 20 }),
        fc.array(fc.tuple(factor, factor, factor, even(0, 1)), { minLength: 20, maxLength: 20 }),
        (at, deviations, others) => {
          const points = at.map((seconds, n) => ({ seconds, deviation: deviations[n] as number }));
          const { wander } = fitAllanPoints(points);
          const shares = [wander.sigma1, wander.sigma2, wander.hMinus1];
          expect(Math.min(...shares)).toBeGreaterThanOrEqual(0);
          if (shares.includes(0)) bound += 1;
          const rest = relative(wander, points);
          for (const [white, walk, flicker, added] of others) {
            // A shape that the fit leaves out is tried as well, at up to the size of the points.
            const little = added * (points[0] as AllanPoint).deviation;
            const other = {
              ...none,
              sigma1: wander.sigma1 * white + (wander.sigma1 === 0 ? little * Math.sqrt(at[0] as number) : 0),
              sigma2: wander.sigma2 * walk + (wander.sigma2 === 0 ? little / Math.sqrt(at[0] as number) : 0),
              hMinus1: wander.hMinus1 * flicker + (wander.hMinus1 === 0 ? little * little : 0),
            };
            expect(relative(other, points)).toBeGreaterThanOrEqual(rest * (1 - 1e-9));
          }
        },
      ),
      tries(200),
    );
    expect(bound).toBeGreaterThan(50);
  });

  test("a curve that falls as 1/τ is no such noise, and the point furthest off is named", () => {
    const steep = [1, 10, 100].map((seconds) => ({ seconds, deviation: 1e-9 / seconds }));
    const { wander, furthest } = fitAllanPoints(steep);
    expect(wander.sigma1).toBeGreaterThan(0);
    const given = steep[furthest.index] as AllanPoint;
    expect(Math.abs(Math.log(furthest.deviation / given.deviation))).toBeGreaterThan(Math.log(1.25));
    for (const { seconds, deviation } of steep) {
      const ratio = allanDeviationOf(wander, seconds) / deviation;
      expect(Math.abs(Math.log(ratio))).toBeLessThanOrEqual(
        Math.abs(Math.log(furthest.deviation / given.deviation)) + 1e-12,
      );
    }
  });
});
