/**
 * Shares of variance of a function whose shares are known: T. Ishigami and T. Homma, 1990, f = sin x1 + 7 sin² x2 +
 * 0.1 x3⁴ sin x1 over −π to π. Closed forms as in A. Saltelli et al., "Sensitivity Analysis", 2000 (from memory): first
 * 0.3139, 0.4424, 0; total 0.5576, 0.4424, 0.2437.
 */
import { expect, test } from "vitest";
import { stream } from "../../shared/random.ts";
import { sobolIndices } from "../../sim/chance/sobol.ts";

const ishigami = (inputs: readonly number[]): number => {
  const [x1, x2, x3] = inputs.map((share) => Math.PI * (2 * share - 1)) as [number, number, number];
  return Math.sin(x1) + 7 * Math.sin(x2) ** 2 + 0.1 * x3 ** 4 * Math.sin(x1);
};

test("Ishigami's function", () => {
  const { first, total, mean, variance } = sobolIndices(ishigami, 3, 1 << 16, stream("ishigami", "", "", 0));
  expect(mean).toBeCloseTo(3.5, 1);
  expect(variance).toBeCloseTo(13.845, 0);
  for (const [place, expected] of [0.3139, 0.4424, 0].entries())
    expect(Math.abs(first[place]! - expected)).toBeLessThan(0.02);
  for (const [place, expected] of [0.5576, 0.4424, 0.2437].entries())
    expect(Math.abs(total[place]! - expected)).toBeLessThan(0.01);
});

test("a sum has no interactions, a constant no variance", () => {
  const sum = sobolIndices(([a = 0, b = 0]) => 3 * a + b, 2, 20_000, stream("sum", "", "", 0));
  expect(sum.total[0]).toBeCloseTo(0.9, 1);
  expect(sum.total[1]).toBeCloseTo(0.1, 1);
  expect(sobolIndices(() => 7, 2, 10, stream("flat", "", "", 0))).toEqual({
    first: [0, 0],
    total: [0, 0],
    mean: 7,
    variance: 0,
  });
});
