import { expect, test } from "vitest";
import { type Scene, withRepeats } from "../../sim/tell/scenes.ts";

const scene = (at: number, device: string, events = 0) =>
  ({
    at,
    until: at,
    next: at + 1,
    events: Array(events).fill({}),
    boots: [],
    changes: [{ device: { id: device } }],
  }) as unknown as Scene;

const shape = (scenes: readonly Scene[]) =>
  withRepeats(scenes).map(({ scene: { at }, repeats }) => [at, repeats.length]);

test("what a device does again and again by itself is told twice and then counted", () => {
  const scenes = Array.from({ length: 1000 }, (_, at) => scene(at, "stage"));
  expect(shape(scenes)).toEqual([
    [0, 0],
    [1, 998],
  ]);
});

test("a few times, another device, or an event of the world each have a line of their own", () => {
  expect(shape([0, 1, 2, 3].map((at) => scene(at, "stage")))).toEqual([0, 1, 2, 3].map((at) => [at, 0]));
  expect(shape([0, 1, 2, 3, 4, 5].map((at) => scene(at, at % 2 === 0 ? "stage" : "foh")))).toHaveLength(6);
  expect(shape([0, 1, 2, 3, 4, 5].map((at) => scene(at, "stage", 1)))).toHaveLength(6);
});
