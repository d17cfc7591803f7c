import { describe, expect, test } from "vitest";
import type { View } from "../../sim/choice.ts";
import { INTERNAL, wantedSource } from "../../sim/choice.ts";

interface Sight {
  readonly sources: readonly string[];
  readonly current?: string | null;
  readonly good?: boolean;
  readonly revertive?: boolean;
  readonly byHand?: string | null;
  readonly heldOff?: boolean;
  readonly available?: readonly string[];
}

function view({
  sources,
  current = null,
  good = true,
  revertive = true,
  byHand = null,
  heldOff = false,
  available = [],
}: Sight): View {
  return {
    sources,
    current,
    isCurrentGood: current !== null && good,
    isRevertive: revertive,
    byHand,
    isHeldOff: heldOff,
    isAvailable: (source) => source === INTERNAL || available.includes(source),
  };
}

const wants = (sight: Sight) => wantedSource(view(sight));

describe("which source a device wants, row by row", () => {
  const sources = ["1", "2", "3"];

  test("told by hand to use one that is available: that one, whatever it is on", () => {
    for (const revertive of [true, false])
      for (const current of [null, "1", "2"])
        expect(wants({ sources, current, revertive, byHand: "3", available: ["1", "2", "3"] })).toBe("3");
    // Not available: as if nobody had said anything.
    expect(wants({ sources, current: "2", byHand: "3", available: ["1", "2"] })).toBe("1");
    expect(wants({ sources, current: "2", revertive: false, byHand: "3", available: ["1", "2"] })).toBe("2");
    // A command does not wait for hold-off.
    expect(wants({ sources, byHand: "3", heldOff: true, available: ["2", "3"] })).toBe("3");
  });

  test("on a source that is good, revertive: the best available, if better; else it stays", () => {
    expect(wants({ sources, current: "2", available: ["1", "2", "3"] })).toBe("1");
    expect(wants({ sources, current: "2", available: ["2", "3"] })).toBe("2");
    // The source in use needs not be available: it is tested against the capture range only when it is chosen.
    expect(wants({ sources, current: "2", available: ["3"] })).toBe("2");
  });

  test("on a source that is good, not revertive: it stays", () => {
    expect(wants({ sources, current: "3", revertive: false, available: ["1", "2", "3"] })).toBe("3");
    expect(wants({ sources: ["1", INTERNAL], current: INTERNAL, revertive: false, available: ["1"] })).toBe(INTERNAL);
  });

  test("on none, hold-off of the lost one running: nothing yet", () => {
    expect(wants({ sources, heldOff: true, available: ["2", "3"] })).toBeNull();
    expect(wants({ sources: ["1", INTERNAL], heldOff: true })).toBeNull();
  });

  test("on none: the best available, if any", () => {
    expect(wants({ sources, available: ["3", "2"] })).toBe("2");
    expect(wants({ sources, available: [] })).toBeNull();
    expect(wants({ sources: [], available: ["1"] })).toBeNull();
  });

  test("a source that has gone bad is no better than none", () => {
    expect(wants({ sources, current: "1", good: false, available: ["2"] })).toBe("2");
    expect(wants({ sources, current: "1", good: false, revertive: false, available: ["2"] })).toBe("2");
    expect(wants({ sources, current: "1", good: false, available: [] })).toBeNull();
  });

  test("a source taken off the list is left, good as it may be", () => {
    expect(wants({ sources: ["2", "3"], current: "1", revertive: false, available: ["1", "3"] })).toBe("3");
    expect(wants({ sources: ["2"], current: "1", available: ["1"] })).toBeNull();
  });

  test("its own clock is always there, where the list has it", () => {
    expect(wants({ sources: ["1", INTERNAL, "2"], available: ["2"] })).toBe(INTERNAL);
    expect(wants({ sources: ["1", INTERNAL, "2"], current: "2", available: ["2"] })).toBe(INTERNAL);
    expect(wants({ sources: [INTERNAL], available: [] })).toBe(INTERNAL);
  });
});

test("in every view: what is wanted is in use or available, in the list or told by hand, and never worse than what is in use", () => {
  const lists = [[], ["1"], ["1", "2"], ["2", "1", INTERNAL], [INTERNAL, "1"]];
  const subsets = [[], ["1"], ["2"], ["1", "2"]];
  const yesNo = [true, false];
  let moves = 0;
  let looks = 0;
  for (const sources of lists)
    for (const current of [null, "1", "2", INTERNAL])
      for (const good of yesNo)
        for (const revertive of yesNo)
          for (const byHand of [null, "1", "2"])
            for (const heldOff of yesNo)
              for (const available of subsets) {
                const seen = view({ sources, current, good, revertive, byHand, heldOff, available });
                const before = JSON.stringify(seen);
                const wanted = wantedSource(seen);
                expect(JSON.stringify(seen)).toBe(before);
                looks += 1;
                const isSettled = current !== null && good && sources.includes(current);
                if (wanted === null) {
                  expect(isSettled).toBe(false);
                  continue;
                }
                if (wanted === current) continue;
                moves += 1;
                expect(seen.isAvailable(wanted)).toBe(true);
                expect(sources.includes(wanted) || wanted === byHand).toBe(true);
                if (wanted === byHand) continue;
                if (isSettled) expect(sources.indexOf(wanted)).toBeLessThan(sources.indexOf(current));
                // The first of the list that can be had.
                for (const better of sources.slice(0, sources.indexOf(wanted)))
                  expect(seen.isAvailable(better)).toBe(false);
              }
  expect(looks).toBe(5 * 4 * 2 * 2 * 3 * 2 * 4);
  expect(moves).toBeGreaterThan(200);
});
