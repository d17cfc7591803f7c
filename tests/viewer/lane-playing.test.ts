import fc from "fast-check";
import { expect, test } from "vitest";
import { betweenWords } from "../../viewer/lanes/between.ts";
import { moveStep } from "../../viewer/lanes/move-step.ts";
import { played, SPEEDS, speedFor } from "../../viewer/lanes/playing.ts";

test("the window passes in some twenty seconds, as near as four speeds allow", () => {
  expect(speedFor(20)).toBe(1);
  expect(speedFor(300)).toBe(10);
  expect(speedFor(1800)).toBe(100);
  expect(speedFor(3 * 3600)).toBe(1000);
  for (const windowSeconds of [7, 20, 63, 64, 600, 5400, 40_000, 63_000]) {
    const passes = windowSeconds / speedFor(windowSeconds);
    // Half a decade to either side.
    expect(passes).toBeGreaterThan(20 / 10 ** 0.51);
    expect(passes).toBeLessThan(20 * 10 ** 0.51);
  }
  expect(speedFor(1e-3)).toBe(SPEEDS[0]);
  expect(speedFor(1e7)).toBe(SPEEDS.at(-1));
});

test("played to the end, sliding or in pages: the cursor goes on by what it was told, in sight, and the window keeps its width", () => {
  let [moved, ended] = [0, 0];
  fc.assert(
    fc.property(
      fc.constantFrom(60, 5400, 86_400),
      fc.double({ min: 0.01, max: 1, noNaN: true }),
      fc.double({ min: 0, max: 1, noNaN: true }),
      fc.double({ min: 1e-3, max: 0.3, noNaN: true }),
      fc.boolean(),
      (length, widthShare, at, step, slides) => {
        const width = length * widthShare;
        let look = { fromSeconds: 0, toSeconds: width, cursorSeconds: at * length };
        for (let index = 0; index < 40; index += 1) {
          const next = played(look, step * width, length, slides);
          expect(next.cursorSeconds).toBe(Math.min(look.cursorSeconds + step * width, length));
          expect(next.toSeconds - next.fromSeconds).toBeCloseTo(width, 6);
          expect(next.fromSeconds).toBeGreaterThanOrEqual(0);
          expect(next.toSeconds).toBeLessThanOrEqual(length + 1e-6);
          expect(next.cursorSeconds).toBeGreaterThanOrEqual(next.fromSeconds - 1e-6);
          expect(next.cursorSeconds).toBeLessThanOrEqual(next.toSeconds + 1e-6);
          if (next.fromSeconds !== look.fromSeconds) moved += 1;
          if (next.cursorSeconds === length) ended += 1;
          look = next;
        }
      },
    ),
    { seed: 11 },
  );
  expect(moved).toBeGreaterThan(100);
  expect(ended).toBeGreaterThan(100);
});

test("in pages the window stands until the cursor leaves it; sliding, it moves at most as far as the cursor", () => {
  const look = { fromSeconds: 0, toSeconds: 100, cursorSeconds: 90 };
  expect(played(look, 5, 1000, false)).toEqual({ fromSeconds: 0, toSeconds: 100, cursorSeconds: 95 });
  expect(played(look, 20, 1000, false)).toEqual({ fromSeconds: 100, toSeconds: 200, cursorSeconds: 110 });
  const at80 = { fromSeconds: 0, toSeconds: 100, cursorSeconds: 80 };
  expect(played(at80, 5, 1000, true)).toEqual({ fromSeconds: 5, toSeconds: 105, cursorSeconds: 85 });
});

test("from cursor to cursor in seconds, milliseconds and samples, to the nanosecond's last digit that matters", () => {
  expect(betweenWords(1275.31, 1275, 48_000)).toBe("0.31 s later: 310 ms, 14,880 samples at 48 kHz");
  expect(betweenWords(1200, 1275, 48_000)).toBe("75 s earlier: 75,000 ms, 3,600,000 samples at 48 kHz");
  expect(betweenWords(1 / 96_000, 0, 96_000)).toBe("0.00001 s later: 0.01 ms, 1 sample at 96 kHz");
  expect(betweenWords(7e-9, 0, 48_000)).toBe(
    "less than 0.000001 s later: less than 0.001 ms, less than 0.1 samples at 48 kHz",
  );
  expect(betweenWords(5, 5, 48_000)).toBe("at the same instant");
  // A figure that rounds up to the next whole one.
  expect(betweenWords(0.9999999, 0, 1000)).toBe("1 s later: 1,000 ms, 1,000 samples at 1 kHz");
});

test("an event moves by what a file can write, and by a few pixels of a wide window", () => {
  expect([0.02, 1, 300, 5400, 4 * 3600, 70 * 86_400].map(moveStep)).toEqual([0.001, 0.001, 0.1, 10, 10, 3600]);
});
