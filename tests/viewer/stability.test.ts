import { describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import type { PhaseSeries } from "../../sim/phase-series.ts";
import { MASKS, maskLimitSeconds } from "../../sim/stability/index.ts";
import { decades, furthestWithin, maskLine, outline, spans, stepFor } from "../../viewer/stability.ts";

const { NaN: gap } = Number;

function series(phase: readonly number[], startNs = 0): PhaseSeries {
  return {
    ...{ phaseSeconds: Float64Array.from(phase), tau0Seconds: 1, startNs: startNs as Ns },
    ...{ withinSeconds: 0, roundingSeconds: 0 },
  };
}

describe("axes", () => {
  test("decades are the written powers of ten, the ends included where they are ones", () => {
    expect(decades(1e-10, 1e-8)).toEqual([1e-10, 1e-9, 1e-8]);
    expect(decades(0.7, 1500)).toEqual([1, 10, 100, 1000]);
    expect(decades(2, 9)).toEqual([]);
  });

  test("a mask is drawn with all of its corners, on its limit everywhere, and nowhere else", () => {
    const mask = MASKS.find(({ id }) => id === "sec1-tolerance-mtie")!;
    const line = maskLine(mask, 0.5, 4096);
    for (const corner of [2.5, 20, 400, 1000]) expect(line.map(({ x }) => x)).toContain(corner);
    expect(line.at(-1)).toEqual({ x: 1000, y: 5e-6 });
    expect(line.length).toBeGreaterThan(30);
    for (const { x, y } of line) expect(y).toBe(maskLimitSeconds(mask, x));
    expect(line.map(({ x }) => x)).toEqual(line.map(({ x }) => x).sort((one, other) => one - other));
  });

  test("the step is the wander grid as long as samples are few, then by twos", () => {
    expect(stepFor(1, 5400)).toBe(1);
    expect(stepFor(1, 20_000)).toBe(1);
    expect(stepFor(1, 20_001)).toBe(2);
    expect(stepFor(0.1, 86_400)).toBeCloseTo(6.4, 12);
  });
});

describe("time error over the show", () => {
  test("is each sample where there is room, else the least and the greatest of each column, in order of time", () => {
    expect(outline(series([3, 1, 2], 5e9), 10)).toEqual([
      { x: 5, y: 3 },
      { x: 6, y: 1 },
      { x: 7, y: 2 },
    ]);
    const many = Array.from({ length: 1000 }, (_, index) => (index === 777 ? 9 : index === 400 ? -9 : index % 3));
    const points = outline(series(many), 10);
    expect(points).toHaveLength(20);
    expect(points).toContainEqual({ x: 777, y: 9 });
    expect(points).toContainEqual({ x: 400, y: -9 });
    expect(points.map(({ x }) => x)).toEqual(points.map(({ x }) => x).sort((one, other) => one - other));
  });

  test("a sample that is missing hides none beside it, and a column of nothing else is a gap", () => {
    const points = outline(series([gap, 1, 5, gap, gap, gap, gap, gap, gap, 2, 2, 2]), 3);
    expect(points.slice(0, 2)).toEqual([
      { x: 1, y: 1 },
      { x: 2, y: 5 },
    ]);
    expect(points.slice(2, 4).every(({ y }) => Number.isNaN(y))).toBe(true);
    expect(points.slice(4).map(({ y }) => y)).toEqual([2, 2]);
  });

  test("as a table: least and greatest per part, those without a sample left out", () => {
    expect(spans(series([1, 4, gap, gap, -2, gap]), 3)).toEqual([
      { fromSeconds: 0, toSeconds: 1, leastSeconds: 1, greatestSeconds: 4 },
      { fromSeconds: 4, toSeconds: 5, leastSeconds: -2, greatestSeconds: -2 },
    ]);
    expect(spans(series([1, 2]), 10)).toHaveLength(2);
  });

  test("at its furthest, either side, inside a stretch only; gaps count for nothing", () => {
    const error = series([9, 1, -4, gap, 2, -8], 5e9);
    const within = (from: number, to: number) =>
      furthestWithin(error, { fromNs: (from * 1e9) as Ns, toNs: (to * 1e9) as Ns, isInLock: true });
    expect(within(6, 9)).toBe(4);
    expect(within(0, 100)).toBe(9);
    expect(within(5.5, 9.9)).toBe(4);
    expect(within(8, 8.5)).toBe(0);
  });
});
