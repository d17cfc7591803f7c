/**
 * Own exp, log, sin, cos, atan2 and cbrt against the platform's, which is itself within one unit in the last place.
 * A fixed evaluation may round otherwise here and there; it must not be off by more than a few such units anywhere that
 * the simulator goes, and must not step back where the pieces of its argument reduction meet.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { atan2, cbrt, cos, exp, log, PI, sin } from "../../shared/maths.ts";
import { tries } from "../helpers/laws.ts";
import { even } from "../helpers/numbers.ts";

const box = new Float64Array(1);
const bits = new BigInt64Array(box.buffer);

/** Doubles in a row, negative ones below zero: neighbours differ by one. */
function rank(x: number): bigint {
  box[0] = x;
  const raw = bits[0] as bigint;
  return raw < 0n ? -(raw & 0x7fff_ffff_ffff_ffffn) : raw;
}

/** Units in the last place between two doubles. */
function ulpsBetween(a: number, b: number): number {
  const apart = rank(a) - rank(b);
  return Number(apart < 0n ? -apart : apart);
}

function neighbour(x: number, steps: number): number {
  const at = rank(x) + BigInt(steps);
  bits[0] = at < 0n ? -at | (-1n << 63n) : at;
  return box[0] as number;
}

/** Spread over many powers of ten, both signs. */
const wide = (decadeMin: number, decadeMax: number) =>
  fc
    .tuple(even(1, 10), fc.integer({ min: decadeMin, max: decadeMax }), fc.boolean())
    .map(([mantissa, decade, isNegative]) => (isNegative ? -1 : 1) * mantissa * 10 ** decade);
const positive = (decadeMin: number, decadeMax: number) => wide(decadeMin, decadeMax).map(Math.abs);
const between = (min: number, max: number) => fc.oneof(even(min, max), fc.double({ min, max, noNaN: true }));
const many = tries(3000);

test("π is the double nearest to it", () => {
  expect(PI).toBe(Math.PI);
});

describe("exp", () => {
  test("within 2 units in the last place, from the smallest normal number to the largest", () => {
    fc.assert(
      fc.property(between(-708, 709.78), (x) => ulpsBetween(exp(x), Math.exp(x)) <= 2),
      many,
    );
    fc.assert(
      fc.property(wide(-20, 0), (x) => ulpsBetween(exp(x), Math.exp(x)) <= 2),
      many,
    );
  });

  test("fades out through the subnormal numbers without a jump", () => {
    fc.assert(
      fc.property(between(-745.1, -708), (x) => ulpsBetween(exp(x), Math.exp(x)) <= 2),
      many,
    );
  });

  test.each([
    [0, 1],
    [-0, 1],
    [Number.NEGATIVE_INFINITY, 0],
    [-745.3, 0],
    [-1e300, 0],
    [709.8, Number.POSITIVE_INFINITY],
    [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY],
    [Number.NaN, Number.NaN],
  ])("of %d is %d", (x, value) => {
    expect(exp(x)).toBe(value);
  });

  test("never falls where two reductions meet, at odd multiples of ½·ln 2", () => {
    for (let k = -1020; k <= 1020; k++) {
      const seam = (k + 0.5) * Math.LN2;
      let falls = 0;
      for (let step = -8; step < 8; step++)
        if (exp(neighbour(seam, step + 1)) < exp(neighbour(seam, step)) * (1 - 2 ** -51)) falls += 1;
      expect(falls).toBe(0);
      expect(exp(neighbour(seam, 16))).toBeGreaterThanOrEqual(exp(neighbour(seam, -16)));
    }
  });

  test("undoes log to the precision of its argument", () => {
    fc.assert(
      fc.property(positive(-300, 300), (x) => {
        // log rounds to |log x|·2^-53, which exp turns into a relative error of the same size; three such.
        expect(Math.abs(exp(log(x)) / x - 1)).toBeLessThanOrEqual(3 * (Math.abs(Math.log(x)) + 1) * 2 ** -52);
      }),
      many,
    );
  });
});

describe("log", () => {
  test("within 3 units in the last place over all normal numbers", () => {
    fc.assert(
      fc.property(positive(-307, 307), (x) => ulpsBetween(log(x), Math.log(x)) <= 3),
      many,
    );
    fc.assert(
      fc.property(between(0.5, 2), (x) => ulpsBetween(log(x), Math.log(x)) <= 3),
      many,
    );
  });

  test("just as close near 1, where its value vanishes", () => {
    fc.assert(
      fc.property(wide(-15, -2), (off) => ulpsBetween(log(1 + off), Math.log(1 + off)) <= 3),
      many,
    );
    expect(log(1)).toBe(0);
  });

  test.each([
    [0, Number.NEGATIVE_INFINITY],
    [-0, Number.NEGATIVE_INFINITY],
    [-1, Number.NaN],
    [Number.NEGATIVE_INFINITY, Number.NaN],
    [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY],
    [Number.NaN, Number.NaN],
    [Number.MAX_VALUE, 709.782712893384],
    [2 ** -1022, -708.3964185322641],
  ])("of %d is %d", (x, value) => {
    expect(log(x)).toBe(value);
  });

  test("powers of two are exact multiples of ln 2 but for rounding", () => {
    for (let k = -1022; k <= 1023; k++) expect(ulpsBetween(log(2 ** k), k * Math.LN2)).toBeLessThanOrEqual(1);
  });

  test("never falls where the mantissa folds, at √2 times a power of two", () => {
    for (let k = -1000; k <= 1000; k += 7) {
      const seam = Math.SQRT2 * 2 ** k;
      expect(log(neighbour(seam, 64))).toBeGreaterThanOrEqual(log(neighbour(seam, -64)));
      expect(ulpsBetween(log(neighbour(seam, 1)), log(neighbour(seam, -1)))).toBeLessThanOrEqual(3);
    }
  });
});

describe("sin and cos", () => {
  test("within 3 units in the last place up to a hundred thousand radians", () => {
    fc.assert(
      fc.property(between(-1e5, 1e5), (x) => ulpsBetween(sin(x), Math.sin(x)) <= 3),
      many,
    );
    fc.assert(
      fc.property(between(-1e5, 1e5), (x) => ulpsBetween(cos(x), Math.cos(x)) <= 3),
      many,
    );
    fc.assert(
      fc.property(wide(-12, 1), (x) => ulpsBetween(sin(x), Math.sin(x)) <= 3),
      many,
    );
    fc.assert(
      fc.property(wide(-12, 1), (x) => ulpsBetween(cos(x), Math.cos(x)) <= 3),
      many,
    );
  });

  test("just as close beside their zeros, where only the reduction of the argument counts", () => {
    fc.assert(
      fc.property(fc.integer({ min: -60_000, max: 60_000 }), fc.integer({ min: -3, max: 3 }), (k, steps) => {
        const x = neighbour(k * (Math.PI / 2), k === 0 ? 0 : steps);
        return ulpsBetween(sin(x), Math.sin(x)) <= 3 && ulpsBetween(cos(x), Math.cos(x)) <= 3;
      }),
      many,
    );
  });

  test("lie on the unit circle, and are odd and even to the last bit", () => {
    fc.assert(
      fc.property(between(-1e5, 1e5), (x) => {
        expect(Math.abs(sin(x) * sin(x) + cos(x) * cos(x) - 1)).toBeLessThanOrEqual(4 * 2 ** -52);
        expect(Object.is(sin(-x), -sin(x)) || sin(x) === 0).toBe(true);
        expect(cos(-x)).toBe(cos(x));
      }),
      many,
    );
  });

  test("no step where one quarter hands over to the next, at odd multiples of π/4", () => {
    for (let k = -2001; k <= 2001; k += 2) {
      const seam = (k * Math.PI) / 4;
      for (const f of [sin, cos]) {
        // Around π/4 both move by about their own last place per last place of x, times |x|.
        const apart = Math.abs(f(neighbour(seam, 1)) - f(neighbour(seam, -1)));
        expect(apart).toBeLessThanOrEqual((2 * Math.abs(seam) + 3) * 2 ** -52);
      }
    }
  });

  test("of 0 and of what is no number", () => {
    expect(sin(0)).toBe(0);
    expect(cos(0)).toBe(1);
    for (const x of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      expect(sin(x)).toBeNaN();
      expect(cos(x)).toBeNaN();
    }
  });
});

describe("atan2", () => {
  test("within 8 units in the last place, however long and thin the triangle", () => {
    const side = wide(-20, 20);
    fc.assert(
      fc.property(side, side, (y, x) => ulpsBetween(atan2(y, x), Math.atan2(y, x)) <= 8),
      many,
    );
    const near = between(-1, 1).filter((x) => Math.abs(x) > 1e-3);
    fc.assert(
      fc.property(near, near, (y, x) => ulpsBetween(atan2(y, x), Math.atan2(y, x)) <= 8),
      many,
    );
  });

  test("gives back the angle of a point on a circle", () => {
    fc.assert(
      fc.property(between(-3.141, 3.141), positive(-9, 9), (angle, radius) => {
        expect(Math.abs(atan2(radius * Math.sin(angle), radius * Math.cos(angle)) - angle)).toBeLessThan(4e-15);
      }),
      many,
    );
  });

  test("turns steadily through all eight octants", () => {
    let last = -Math.PI;
    for (let n = -3999; n <= 3999; n++) {
      const angle = (n * Math.PI) / 4000;
      const seen = atan2(Math.sin(angle), Math.cos(angle));
      expect(seen).toBeGreaterThan(last);
      last = seen;
    }
  });

  test.each([
    [0, 0, 0],
    [0, 1, 0],
    [0, -1, Math.PI],
    [1, 0, Math.PI / 2],
    [-1, 0, -Math.PI / 2],
    [1, 1, Math.PI / 4],
    [-1, -1, (-3 * Math.PI) / 4],
    [5e-324, 5e-324, Math.PI / 4],
    [1e308, 1e308, Math.PI / 4],
    [Number.POSITIVE_INFINITY, 1, Math.PI / 2],
    [1, Number.NEGATIVE_INFINITY, Math.PI],
    [Number.NaN, 1, Number.NaN],
    [1, Number.NaN, Number.NaN],
  ])("of (%d, %d) is %d", (y, x, angle) => {
    expect(atan2(y, x)).toBe(angle);
  });
});

describe("cbrt", () => {
  // For lengths of steps alone: six Newton steps from a power of two leave at most 1e-11, and never fall short of the root
  // by more than rounding.
  test("within 1e-11, from above, over all positive numbers", () => {
    for (const x of [positive(-307, 307), between(1, 8), between(1e-3, 1e3)])
      fc.assert(
        fc.property(x, (cube) => {
          const off = cbrt(cube) / Math.cbrt(cube) - 1;
          expect(off).toBeGreaterThan(-4e-16);
          expect(off).toBeLessThan(1e-11);
        }),
        many,
      );
  });

  test("exact where it can be: cubes of small whole numbers and powers of eight", () => {
    for (let k = -300; k <= 300; k += 1) expect(cbrt(8 ** k) / 2 ** k).toBeCloseTo(1, 14);
    for (let root = 1; root <= 100; root++) expect(cbrt(root * root * root)).toBeCloseTo(root, 9);
  });

  test("of nothing, of the endless and of what is no number", () => {
    expect(cbrt(0)).toBe(0);
    expect(cbrt(Number.POSITIVE_INFINITY)).toBe(Number.POSITIVE_INFINITY);
    expect(cbrt(Number.NaN)).toBeNaN();
    expect(cbrt(5e-324)).toBeCloseTo(1.7031839360032603e-108, 118);
  });
});
