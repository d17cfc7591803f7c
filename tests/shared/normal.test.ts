/**
 * Normal deviates: the inverse of the distribution against others' programs and printed values, the deviates themselves
 * against the law that they are to have.
 */
// @ts-expect-error: the package brings no types
import jstat from "jstat";
import { describe, expect, test } from "vitest";
import { inverseNormal, LARGEST_NORMAL, makeNormal } from "../../shared/normal.ts";
import { stream } from "../../shared/random.ts";

const judge = jstat as { readonly normal: { inv(p: number, mean: number, deviation: number): number } };
const STEP = 2 ** -32;

function deviateOf(uniform: number): number {
  const one = Float64Array.of(uniform);
  makeNormal(one);
  return one[0] as number;
}

const density = (x: number): number => Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI);

/** Probability of more than x > 0, to all digits: Laplace's continued fraction far out, the series of erf near 0. */
function upperTail(x: number): number {
  if (x > 1) {
    let fraction = x;
    for (let k = 400; k >= 1; k--) fraction = x + k / fraction;
    return density(x) / fraction;
  }
  let term = x;
  let sum = x;
  for (let k = 1; k < 80; k++) {
    term *= (x * x) / (2 * k + 1);
    sum += term;
  }
  return 0.5 - density(x) * sum;
}

describe("the inverse of the normal distribution", () => {
  // The first two of the three test values printed in Wichura's paper, as R's own tests quote them (READ-2); the third,
  // p = 1e-20, is out of reach of a stream. Further down as public tables have them (READ-2).
  test.each([
    [0.25, -0.6744897501960817],
    [0.001, -3.090232306167814],
    [1e-6, -4.753424308822899],
    [1e-7, -5.199337582192817],
    [1e-8, -5.612001244174789],
    [1e-9, -5.997807015007687],
    [1e-10, -6.361340902404056],
  ])("at %d is %d", (p, published) => {
    expect(Math.abs(inverseNormal(p) / published - 1)).toBeLessThan(1e-15);
  });

  // CALC: Python 3, statistics.NormalDist().inv_cdf, an AS 241 of its own. Both sides of where the branches meet (0.075).
  test.each([
    [2 ** -34, -6.4439345265385635],
    [2 ** -33, -6.337957754553789],
    [1e-5, -4.2648907939228256],
    [1e-4, -3.71901648545568],
    [0.01, -2.3263478740408408],
    [0.024, -1.9773684281819468],
    [0.074, -1.4466320671589785],
    [0.076, -1.4325027208258114],
    [0.1, -1.2815515655446008],
    [0.4, -0.2533471031357998],
    [0.499999, -2.5066282745665597e-6],
    [0.5 + 2 ** -33, 2.9180993729166234e-10],
    [0.75, 0.6744897501960817],
    [0.9, 1.2815515655446008],
    [0.975, 1.9599639845400536],
    [0.999999, 4.753424308817089],
    [1 - 2 ** -33, 6.337957754553789],
  ])("at %d is what another program of the same method finds", (p, found) => {
    expect(Math.abs(inverseNormal(p) / found - 1)).toBeLessThan(1e-15);
  });

  test("has the given probability below it, from one end of what is drawn to the other", () => {
    for (let octave = 2; octave <= 33; octave++) {
      for (let n = 0; n < 16; n++) {
        const p = 2 ** -octave * (1 + n / 16);
        const x = inverseNormal(p);
        expect(x).toBeLessThan(0);
        // One unit in the last place of x is |x|·φ/p of them in p.
        expect(Math.abs(upperTail(-x) / p - 1)).toBeLessThan(4 * 2 ** -53 * (8 + (x * x * density(x)) / p));
        expect(inverseNormal(1 - p)).toBeCloseTo(-x, octave < 20 ? 9 : 4);
      }
    }
    expect(Math.abs(inverseNormal(2 ** -33))).toBeLessThan(LARGEST_NORMAL);
  });

  test("agrees with an independent library wherever that one has the digits", () => {
    let compared = 0;
    for (let p = 0.5 / 4096; p < 1; p += 1 / 4096) {
      const x = judge.normal.inv(p, 0, 1);
      // It goes by erfc = 1 − erf, so what it knows of p is to 2^−53, that is 2^−53/φ of x.
      expect(Math.abs(inverseNormal(p) - x)).toBeLessThan((8 * 2 ** -53) / density(x));
      compared += 1;
    }
    expect(compared).toBe(4096);
    expect((8 * 2 ** -53) / density(3.7)).toBeLessThan(3e-12);
  });
});

describe("a deviate", () => {
  /** Where cells begin, in steps from the end: 32 to an octave, and the middle of all. */
  const cells: number[] = [];
  for (let octave = 0; octave <= 30; octave++)
    for (let part = 0; part < 32; part++) cells.push(Math.floor(2 ** octave * (1 + part / 32)));
  cells.push(2 ** 31 - 1);

  test("is the inverse at the middle of its step, within 1e-8, in every cell of the table and at both ends", () => {
    let worst = 0;
    const compare = (step: number): void => {
      for (const steps of [step, 2 ** 32 - 1 - step])
        worst = Math.max(worst, Math.abs(deviateOf(steps * STEP) - inverseNormal((steps + 0.5) * STEP)));
    };
    for (const [n, begin] of cells.entries()) {
      const width = (cells[n + 1] ?? 2 ** 31) - begin;
      for (const part of [0, 0.1, 0.211, 0.5, 0.789, 0.9]) compare(begin + Math.floor(part * width));
      compare(begin + Math.max(0, width - 1));
    }
    for (let step = 0; step < 1000; step++) compare(step);
    for (let at = 0; at < 2 ** 31; at += 2 ** 31 / 65_536) compare(at);
    expect(worst).toBeLessThan(1e-8);
    expect(worst).toBeGreaterThan(1e-9);
    expect(Math.abs(deviateOf(0))).toBeLessThan(LARGEST_NORMAL);
    expect(Math.abs(deviateOf(1 - STEP))).toBeLessThan(LARGEST_NORMAL);
    expect(deviateOf(0)).toBe(inverseNormal(STEP / 2));
  });

  test("is the other's mirror image at the same distance from the other end", () => {
    for (const step of cells) expect(deviateOf(1 - (step + 1) * STEP)).toBe(-deviateOf(step * STEP));
  });

  test("grows with its uniform, also from one cell of the table to the next", () => {
    for (const cell of cells) {
      for (const at of [cell * STEP, 1 - (cell + 1) * STEP]) {
        const steps = [-2, -1, 0, 1, 2].map((n) => at + n * STEP).filter((u) => u >= 0 && u < 1);
        const near = steps.map(deviateOf);
        for (const [n, value] of near.entries()) if (n > 0) expect(value).toBeGreaterThan(near[n - 1] as number);
      }
    }
  });

  test("is the same drawn with others as alone", () => {
    const draw = stream("quay-1", "house", "wander", 3);
    const uniforms = Float64Array.from({ length: 2048 }, draw);
    const together = uniforms.slice();
    makeNormal(together);
    expect([...uniforms].map(deviateOf)).toEqual([...together]);
  });
});

describe("two million deviates, drawn in streams of their own, of which each is drawn a while", () => {
  const BLOCKS = 1000;
  const PER_BLOCK = 2048;
  const all = new Float64Array(BLOCKS * PER_BLOCK);
  for (let block = 0; block < BLOCKS; block++) {
    const draw = stream("quay-1", "house", "wander", block);
    for (let n = 0; n < PER_BLOCK; n++) all[block * PER_BLOCK + n] = draw();
  }
  makeNormal(all);
  const count = all.length;
  const mean = (value: (x: number, index: number) => number): number => {
    let sum = 0;
    for (let n = 0; n < count; n++) sum += value(all[n] as number, n);
    return sum / count;
  };
  /** Of a sample mean of something of that variance: four of its deviations. */
  const within = (variance: number): number => 4 * Math.sqrt(variance / count);

  test("have the moments 0, 1, 0, 3, 0, 15", () => {
    // Moments of a normal deviate are 1, 3, 15, 105, 945, 10,395; the variance of x^k is that of 2k less the square of k's.
    expect(Math.abs(mean((x) => x))).toBeLessThan(within(1));
    expect(Math.abs(mean((x) => x ** 2) - 1)).toBeLessThan(within(3 - 1));
    expect(Math.abs(mean((x) => x ** 3))).toBeLessThan(within(15));
    expect(Math.abs(mean((x) => x ** 4) - 3)).toBeLessThan(within(105 - 9));
    expect(Math.abs(mean((x) => x ** 5))).toBeLessThan(within(945));
    expect(Math.abs(mean((x) => x ** 6) - 15)).toBeLessThan(within(10_395 - 225));
  });

  test("lie beyond 1, 2, 3, 4 and 5 deviations as often as they should, on either side", () => {
    for (const side of [-1, 1]) {
      for (const at of [0.5, 1, 2, 3, 4, 5]) {
        const p = upperTail(at);
        const found = mean((x) => (side * x > at ? 1 : 0));
        expect(Math.abs(found - p)).toBeLessThan(within(p * (1 - p)));
      }
    }
    // Two sides of three deviations: 0.27 %, as every table has it.
    expect(2 * upperTail(3)).toBeCloseTo(0.0026998, 7);
    expect(mean((x) => (Math.abs(x) > 4 ? 1 : 0)) * count).toBeGreaterThan(80);
  });

  test("fill the line evenly by their own distribution: no bin of 256 is far from its share", () => {
    const bins = new Float64Array(256);
    for (const x of all) {
      const p = x < 0 ? upperTail(-x) : 1 - upperTail(x);
      const bin = Math.min(255, Math.floor(p * 256));
      bins[bin] = (bins[bin] as number) + 1;
    }
    const share = count / 256;
    const square = bins.reduce((sum, found) => sum + (found - share) ** 2 / share, 0);
    // Chi-squared of 255 degrees: mean 255, deviation √510.
    expect(Math.abs(square - 255)).toBeLessThan(4 * Math.sqrt(510));
  });

  test("have nothing to do with those before them, nor with those of another block or another device", () => {
    for (const lag of [1, 2, 3, PER_BLOCK])
      expect(Math.abs(mean((x, n) => x * (all[(n + lag) % count] as number)))).toBeLessThan(within(1));
    let sum = 0;
    for (let block = 0; block < BLOCKS; block++) {
      const other = Float64Array.from({ length: PER_BLOCK }, stream("quay-1", "stage", "wander", block));
      makeNormal(other);
      for (let n = 0; n < PER_BLOCK; n++) sum += (other[n] as number) * (all[block * PER_BLOCK + n] as number);
    }
    expect(Math.abs(sum / count)).toBeLessThan(within(1));
  });
});
