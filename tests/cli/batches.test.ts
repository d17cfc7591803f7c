import fc from "fast-check";
import { expect, test } from "vitest";
import { Batches } from "../../cli/trials/batches.ts";
import { tries } from "../helpers/laws.ts";

/** Plays all, each thread one batch after another, on a clock of its own. */
function played(wanted: readonly number[], workers: number, trialMs: number): { from: number; to: number }[] {
  let nowMs = 0;
  const batches = new Batches(wanted, workers, () => nowMs);
  const taken: { from: number; to: number }[] = [];
  for (let batch = batches.next(); batch !== null; batch = batches.next()) {
    taken.push(batch);
    nowMs += ((batch.to - batch.from) * trialMs) / workers;
    batches.ended(batch);
  }
  return taken;
}

const all = (count: number) => Array.from({ length: count }, (_, index) => index);

test("each trial that is wanted is in one batch, and no other, in order", () => {
  let withGaps = 0;
  fc.assert(
    fc.property(
      fc.uniqueArray(fc.nat(400), { maxLength: 300 }),
      fc.integer({ min: 1, max: 8 }),
      fc.double({ min: 0.01, max: 5000, noNaN: true }),
      (some, workers, trialMs) => {
        const wanted = some.sort((a, b) => a - b);
        const batches = played(wanted, workers, trialMs);
        if (wanted.some((index, place) => place > 0 && index > wanted[place - 1]! + 1)) withGaps += 1;
        expect(batches.flatMap(({ from, to }) => all(to - from).map((place) => from + place))).toEqual(wanted);
      },
    ),
    tries(200),
  );
  expect(withGaps).toBeGreaterThan(100);
});

test("a batch takes about a tenth of a second once it is known what a trial takes, and less towards the end", () => {
  const batches = played(all(10_000), 2, 2);
  expect(batches[0]).toEqual({ from: 0, to: 4 });
  expect(batches[1]).toEqual({ from: 4, to: 54 });
  const last = batches.at(-1)!;
  expect(last.to - last.from).toBe(1);
  expect(batches.length).toBeLessThan(250);
});

test("trials that take long go one by one, so that an interrupt is heard", () => {
  const sizes = played(all(100), 2, 1500).map(({ from, to }) => to - from);
  expect(sizes.slice(1).every((size) => size === 1)).toBe(true);
});
