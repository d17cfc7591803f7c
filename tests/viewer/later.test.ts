/** What waits for the first frame: all of it comes, in order, and nothing of a run that has been replaced. */
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { createLater } from "../../viewer/room/later.ts";

beforeEach(() => {
  vi.useFakeTimers();
  vi.stubGlobal("requestAnimationFrame", (act: () => void) => setTimeout(act, 16));
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

function tasks(...names: string[]) {
  const done: string[] = [];
  return { done, all: names.map((name) => () => void done.push(name)) };
}

test("nothing before the second frame, then one by one, and it says when all is done", () => {
  const told: boolean[] = [];
  const later = createLater((isWaiting) => told.push(isWaiting));
  const { done, all } = tasks("map", "events", "foot");
  later.put(all);
  vi.advanceTimersByTime(31);
  expect(done).toEqual([]);
  vi.advanceTimersToNextTimer();
  vi.advanceTimersToNextTimer();
  expect(done).toEqual(["map"]);
  expect(told).toEqual([true]);
  vi.runAllTimers();
  expect(done).toEqual(["map", "events", "foot"]);
  expect(told).toEqual([true, false]);
});

test("where no frame comes, all the same", () => {
  vi.stubGlobal("requestAnimationFrame", () => 0);
  const { done, all } = tasks("map", "foot");
  createLater(() => {}).put(all);
  vi.runAllTimers();
  expect(done).toEqual(["map", "foot"]);
});

test("on paper at once, and no second time", () => {
  const later = createLater(() => {});
  const { done, all } = tasks("map", "events", "foot");
  later.put(all);
  vi.advanceTimersByTime(33);
  later.finish();
  expect(done).toEqual(["map", "events", "foot"]);
  vi.runAllTimers();
  expect(done).toHaveLength(3);
});

test("another run takes the place of what still waits", () => {
  const later = createLater(() => {});
  const [old, fresh] = [tasks("map", "foot"), tasks("map", "foot")];
  later.put(old.all);
  vi.advanceTimersByTime(33);
  expect(old.done).toEqual(["map"]);
  later.put(fresh.all);
  vi.runAllTimers();
  expect(old.done).toEqual(["map"]);
  expect(fresh.done).toEqual(["map", "foot"]);
});

test("a part that fails keeps none of the others", () => {
  const { done, all } = tasks("map", "foot");
  const told: boolean[] = [];
  const fails = () => {
    throw new Error("no map");
  };
  const later = createLater((isWaiting) => told.push(isWaiting));
  later.put([fails, ...all]);
  expect(() => vi.runAllTimers()).toThrow("no map");
  vi.runAllTimers();
  expect(done).toEqual(["map", "foot"]);
  expect(told.at(-1)).toBe(false);
});
