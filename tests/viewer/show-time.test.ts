import { expect, test } from "vitest";
import { decimalsFor, fineTime, timeTicks } from "../../viewer/show-time.ts";

test.each([
  [0, 0, "00:00:00"],
  [1200.31, 3, "00:20:00.310"],
  [59.9996, 3, "00:01:00.000"],
  [1199.999, 3, "00:19:59.999"],
  [70 * 86_400, 0, "1680:00:00"],
])("%d s with %d decimals is %s", (seconds, decimals, text) => {
  expect(fineTime(seconds, decimals)).toBe(text);
});

test("ticks stand on round steps, fit, and are told apart by their labels, from a millisecond to seventy days", () => {
  for (const length of [0.001, 0.03, 1, 7, 60, 600, 5400, 10_800, 86_400, 70 * 86_400]) {
    const from = length * 0.37;
    const { values, decimals } = timeTicks(from, from + length, 8);
    expect(values.length, `${length} s`).toBeGreaterThanOrEqual(1);
    expect(values.length, `${length} s`).toBeLessThanOrEqual(9);
    const labels = values.map((value) => fineTime(value, decimals));
    expect(new Set(labels).size, `${length} s`).toBe(labels.length);
  }
});

test("the closer the window, the finer the time", () => {
  const decimals = [10_800, 5400, 1, 0.1, 0.001].map(decimalsFor);
  expect(decimals).toEqual([...decimals].sort((one, other) => one - other));
  expect(decimals[0]).toBe(0);
  expect(decimals.at(-1)).toBe(6);
});
