import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import { earliest, later, NEVER, nsFromSeconds, secondsBetween, secondsFromNs, ZERO } from "../../shared/time.ts";
import { tries } from "../helpers/laws.ts";

const instant = fc.integer({ min: 0, max: NEVER }).map((ns) => ns as Ns);

describe("whole nanoseconds", () => {
  test("never is the last whole number that a double can count to: 104 days and 6 hours", () => {
    expect(Number.isSafeInteger(NEVER)).toBe(true);
    expect(NEVER / 86_400e9).toBeCloseTo(104.25, 2);
  });

  test.each([
    [0, 0],
    [1, 1_000_000_000],
    [1.0000000005, 1_000_000_001],
    [0.1 + 0.2, 300_000_000],
    [2.083333333333, 2_083_333_333],
    [6_250_000, 6_250_000_000_000_000],
  ])("%d s is %d ns", (seconds, ns) => {
    expect(nsFromSeconds(seconds)).toBe(ns);
  });

  test("what is too long, or has no end, is never", () => {
    for (const seconds of [9.1e6, 1e300, Number.POSITIVE_INFINITY]) expect(nsFromSeconds(seconds)).toBe(NEVER);
    expect(later(NEVER, 1 as Ns)).toBe(NEVER);
    expect(later((NEVER - 5) as Ns, NEVER)).toBe(NEVER);
    expect(later(5 as Ns, 7 as Ns)).toBe(12);
  });

  test("adding never goes back, saturates, and stays whole", () => {
    let saturated = 0;
    fc.assert(
      fc.property(instant, instant, (at, by) => {
        const sum = later(at, by);
        expect(Number.isSafeInteger(sum)).toBe(true);
        expect(sum).toBeGreaterThanOrEqual(at);
        // Exact in whole numbers of any size, so that the rule is not tested with itself.
        expect(BigInt(sum)).toBe(BigInt(at) + BigInt(by) < BigInt(NEVER) ? BigInt(at) + BigInt(by) : BigInt(NEVER));
        if (sum === NEVER) saturated += 1;
      }),
      tries(100),
    );
    expect(saturated).toBeGreaterThan(0);
  });

  test("elapsed seconds come from one exact difference, whatever the instants", () => {
    // Two instants at the far end of show time, 1 ns apart: as seconds they are the same double.
    const late = (104 * 86_400 * 1e9) as Ns;
    const next = (late + 1) as Ns;
    expect(secondsFromNs(next) - secondsFromNs(late)).not.toBe(1e-9);
    expect(secondsBetween(late, next)).toBe(1e-9);
    fc.assert(
      fc.property(
        instant,
        instant,
        (a, b) => secondsBetween(a, b) === -secondsBetween(b, a) && secondsBetween(a, a) === 0,
      ),
      tries(100),
    );
  });

  test("the earlier of two", () => {
    fc.assert(
      fc.property(instant, instant, (a, b) => earliest(a, b) === Math.min(a, b)),
      tries(100),
    );
    expect(earliest(ZERO, NEVER)).toBe(ZERO);
  });
});
