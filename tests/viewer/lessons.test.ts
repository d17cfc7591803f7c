/** What lessons keep, and what the player refuses: both without a browser. */
import { describe, expect, test } from "vitest";
import { createPlayer, FIRST_VOLUME } from "../../viewer/lessons/player.ts";
import { progressKeeper } from "../../viewer/lessons/progress.ts";
import { loopSamples } from "../../viewer/lessons/sound.ts";

describe("progress", () => {
  const storageWith = (given: string | null) => {
    const kept = new Map(given === null ? [] : [["pulltest-lessons", given]]);
    return {
      kept,
      storage: () =>
        ({
          getItem: (key: string) => kept.get(key) ?? null,
          setItem: (key: string, value: string) => void kept.set(key, value),
        }) as unknown as Storage,
    };
  };

  test("is there for the next who asks", () => {
    const { storage } = storageWith(null);
    const keeper = progressKeeper(storage);
    expect(keeper.of("ring")).toBeNull();
    keeper.keep("ring", { step: 2, isDone: false });
    keeper.keep("toString", { step: 6, isDone: true });
    const next = progressKeeper(storage);
    expect(next.of("ring")).toEqual({ step: 2, isDone: false });
    expect(next.of("toString")).toEqual({ step: 6, isDone: true });
    expect(next.of("valueOf")).toBeNull();
  });

  test.each([
    "",
    "{",
    "null",
    "[]",
    "3",
    '{"ring":{"step":-1,"isDone":true}}',
    '{"ring":{"step":1.5,"isDone":true}}',
    '{"ring":{"step":1}}',
    '{"ring":null}',
  ])("what is no progress counts as none: %s", (text) => {
    expect(progressKeeper(storageWith(text).storage).of("ring")).toBeNull();
  });

  test("goes on without a store", () => {
    const keeper = progressKeeper(() => {
      throw new Error("refused");
    });
    keeper.keep("ring", { step: 1, isDone: false });
    expect(keeper.of("ring")).toEqual({ step: 1, isDone: false });
  });
});

describe("the player", () => {
  test("refuses what would be louder than it may be, before it asks for any sound", async () => {
    const player = createPlayer(() => {
      throw new Error("nothing played");
    });
    const loud = "It would be louder than it may be, so it is not played.";
    expect(await player.play(Float32Array.of(0, 0.6, 0, 0, 0, 0, 0, 0), 48_000)).toBe(loud);
    expect(await player.play(new Float32Array(100).fill(0.2), 48_000)).toBe(loud);
    expect(await player.play(new Float32Array(loopSamples("tone", 48_000)), 48_000)).toContain("plays no sound here");
    player.stop();
  });

  test("begins well below what it may be", () => {
    expect(20 * Math.log10(FIRST_VOLUME * FIRST_VOLUME)).toBeLessThan(-20);
  });
});
