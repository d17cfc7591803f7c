/** What a spare group in a file may say in each mode, what is filled in, and what is refused. */
import { describe, expect, it, test } from "vitest";
import { read } from "../helpers/rig.ts";
import { spareFile, spareRig, type Words } from "./spare-rig.ts";

const issuesOf = (pair: Words) =>
  read(spareFile([], { pair })).issues.map(({ path, expected, received, remedy }) => ({
    at: path.at(-1),
    expected,
    received,
    remedy,
  }));

describe("a mode", () => {
  test.each([
    [{}, { mode: "standby", switchSeconds: 0.3, revertive: true, waitToRestoreSeconds: 0 }],
    [
      { mode: "duplicate" },
      { mode: "duplicate", switchSeconds: 0, revertive: false, waitToRestoreSeconds: 0, windowSeconds: 0.01 },
    ],
    [
      { mode: "duplicate", windowMilliseconds: 450 },
      { mode: "duplicate", switchSeconds: 0, revertive: false, waitToRestoreSeconds: 0, windowSeconds: 0.45 },
    ],
    [{ mode: "manual" }, { mode: "manual", switchSeconds: 60, revertive: false, waitToRestoreSeconds: 0 }],
    [
      { mode: "manual", switchSeconds: 20, revertive: false },
      { mode: "manual", switchSeconds: 20, revertive: false, waitToRestoreSeconds: 0 },
    ],
  ])("%j is read as %j", (pair, expected) => {
    expect(spareRig([], { pair }).spares).toEqual([{ id: "pair", links: ["main", "spare"], ...expected }]);
  });

  it("lists what it assumes, and nothing that it does not use", () => {
    const spareLines = (pair: Words) => spareRig([], { pair }).assumed.filter((line) => line.includes("pair"));
    expect(spareLines({ mode: "duplicate" })).toEqual(["spare windowMilliseconds 10 ms: pair"]);
    expect(spareLines({ mode: "manual" })).toEqual(["spare manual.switchSeconds 60 s: pair"]);
    expect(spareLines({ mode: "manual", switchSeconds: 5 })).toEqual([]);
    expect(spareLines({}).map((line) => line.split(":")[0])).toEqual([
      "spare switchSeconds 0.3 s",
      "spare revertive true",
      "spare waitToRestoreSeconds 0 s",
    ]);
  });
});

describe("what a mode has no use for is refused, all of it at once", () => {
  it("with duplicates", () => {
    expect(issuesOf({ mode: "duplicate", switchSeconds: 1, revertive: true, waitToRestoreSeconds: 3 })).toEqual([
      {
        at: "switchSeconds",
        expected: 'nothing: all links carry, so nothing is switched (mode is "duplicate")',
        received: "1",
        remedy: 'take it away, or make the mode "standby"',
      },
      {
        at: "revertive",
        expected: 'nothing: all links carry, so nothing goes back (mode is "duplicate")',
        received: "true",
        remedy: 'take it away, or make the mode "standby"',
      },
      {
        at: "waitToRestoreSeconds",
        expected: 'nothing: it does not go back by itself (mode is "duplicate")',
        received: "3",
        remedy: 'take it away, or make the mode "standby"',
      },
    ]);
  });

  it("by hand: going back by itself, and a wait before that", () => {
    expect(issuesOf({ mode: "manual", revertive: true, waitToRestoreSeconds: 0 })).toEqual([
      {
        at: "revertive",
        expected: 'false: what a person has moved stays (mode is "manual")',
        received: "true",
        remedy: 'take it away, or make the mode "standby"',
      },
      {
        at: "waitToRestoreSeconds",
        expected: 'nothing: it does not go back by itself (mode is "manual")',
        received: "0",
        remedy: 'take it away, or make the mode "standby"',
      },
    ]);
  });

  it("and a window where nothing is merged, said or by default", () => {
    for (const pair of [{ windowMilliseconds: 10 }, { mode: "manual", windowMilliseconds: 10 }])
      expect(issuesOf(pair)).toMatchObject([{ at: "windowMilliseconds", remedy: 'make the mode "duplicate"' }]);
  });
});
