import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import { NEVER } from "../../shared/time.ts";
import { firstHolding, safeSeconds, settleGuess } from "../../sim/crossing.ts";
import { tries } from "../helpers/laws.ts";
import { even, evenInDecades } from "../helpers/numbers.ts";

/** A stretch of show time, the instant at which a condition begins to hold in it, and somebody's guess of that. */
const crossing = fc
  .tuple(fc.integer({ min: 0, max: NEVER - 2 }), fc.integer({ min: 1, max: 2 ** 50 }), even(0, 1), even(-2, 2))
  .map(([low, length, share, miss]) => {
    const high = Math.min(low + length, NEVER - 1);
    const from = low + Math.max(1, Math.ceil(share * (high - low)));
    return { low: low as Ns, high: high as Ns, from: from as Ns, guess: from + miss * (high - low) };
  });

describe("a crossing", () => {
  test("is the first whole nanosecond at which the condition holds, anywhere in show time", () => {
    fc.assert(
      fc.property(crossing, ({ low, high, from }) => {
        expect(firstHolding((t) => t >= from, low, high)).toBe(from);
      }),
      tries(1000),
    );
  });

  test("takes no more looks than halving needs", () => {
    let looks = 0;
    firstHolding(
      (t) => {
        looks += 1;
        return t >= 123_456_789;
      },
      0 as Ns,
      NEVER,
    );
    expect(looks).toBeLessThanOrEqual(53);
  });

  test("is found from any guess, in the stretch, outside it, or no number at all", () => {
    let outside = 0;
    fc.assert(
      fc.property(crossing, fc.integer({ min: -3, max: 3 }), ({ low, high, from, guess }, near) => {
        if (guess <= low || guess > high) outside += 1;
        for (const each of [guess, from + near, low, high, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])
          expect(settleGuess((t) => t >= from, each, low, high)).toBe(from);
      }),
      tries(1000),
    );
    expect(outside).toBeGreaterThan(100);
  });

  test("next to a good guess it is settled in a handful of looks, and never looked for outside its stretch", () => {
    fc.assert(
      fc.property(crossing, fc.integer({ min: -3, max: 3 }), ({ low, high, from }, near) => {
        let looks = 0;
        settleGuess(
          (t) => {
            looks += 1;
            expect(t).toBeGreaterThan(low);
            expect(t).toBeLessThanOrEqual(high);
            return t >= from;
          },
          from + near,
          low,
          high,
        );
        expect(looks).toBeLessThanOrEqual(8);
      }),
      tries(1000),
    );
  });
});

describe("how long a cubic can stay below a level", () => {
  const coefficient = fc.tuple(fc.constantFrom(-1, 0, 1), evenInDecades(1e-15, 1e3)).map(([sign, size]) => sign * size);

  test("it does stay below", () => {
    let finite = 0;
    fc.assert(
      fc.property(
        evenInDecades(1e-12, 1e3),
        even(-0.999, 0.999),
        coefficient,
        coefficient,
        coefficient,
        (room, share, b, c, d) => {
          const a = share * room;
          const seconds = safeSeconds(room, a, b, c, d, Math.cbrt);
          expect(seconds).toBeGreaterThan(0);
          if (seconds === Number.POSITIVE_INFINITY) {
            expect([b, c, d].every((each) => each === 0)).toBe(true);
            return;
          }
          finite += 1;
          for (let part = 0; part <= 1; part += 0.125) {
            const tau = part * seconds;
            expect(Math.abs(a + tau * (b + tau * (c / 2 + (tau * d) / 6)))).toBeLessThanOrEqual(room * (1 + 1e-12));
          }
          // Not needlessly short either: one of the three terms has used up its third.
          const used = Math.max(
            Math.abs(b) * seconds,
            0.5 * Math.abs(c) * seconds ** 2,
            (Math.abs(d) * seconds ** 3) / 6,
          );
          expect(used / ((room - Math.abs(a)) / 3)).toBeCloseTo(1, 9);
        },
      ),
      tries(1000),
    );
    expect(finite).toBeGreaterThan(500);
  });

  test("no room, no time; nothing that grows, for ever", () => {
    expect(safeSeconds(1, 1, 1, 0, 0, Math.cbrt)).toBe(0);
    expect(safeSeconds(1, -2, 0, 0, 0, Math.cbrt)).toBe(0);
    expect(safeSeconds(1, 0.5, 0, 0, 0, Math.cbrt)).toBe(Number.POSITIVE_INFINITY);
  });

  test("by hand: a third of a microsecond of room at 10 ppm is 33 ms", () => {
    expect(safeSeconds(1e-6, 0, 10e-6, 0, 0, Math.cbrt)).toBeCloseTo(1 / 30, 12);
    expect(safeSeconds(1e-6, 0, 0, 6e-6, 0, Math.cbrt)).toBeCloseTo(1 / 3, 12);
    expect(safeSeconds(1e-6, 0, 0, 0, 2e-6, Math.cbrt)).toBeCloseTo(1, 12);
  });
});
