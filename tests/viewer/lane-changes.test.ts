import fc from "fast-check";
import { expect, test } from "vitest";
import { changesOf, type Lane, lanesOf } from "../../sim/lanes/lane.ts";
import { blocksOf, worstByColumn } from "../../viewer/lanes/busy.ts";
import { type Change, changesOfAll, changesWithin, nearestChange, passedWords } from "../../viewer/lanes/changes.ts";
import { busyRun, RUN_SECONDS } from "../browser/fixture.ts";

const lanes = lanesOf(busyRun()).all;

test("from the beginning to the end and back the next change is met once each, of one lane as of all", () => {
  const foh = lanes.find(({ key }) => key === "device foh")!;
  for (const instants of [changesOf(foh), changesOfAll(lanes)]) {
    const walk = (from: number, later: boolean) => {
      const met: number[] = [];
      for (let at = nearestChange(instants, from, later); at !== undefined; at = nearestChange(instants, at, later))
        met.push(at);
      return met;
    };
    expect(walk(-1, true)).toEqual(instants);
    expect(walk(RUN_SECONDS + 1, false)).toEqual(instants.toReversed());
    expect(instants.length).toBeGreaterThan(3);
  }
  expect(changesOfAll(lanes).length).toBeGreaterThan(changesOf(foh).length);
});

/** Every change of every lane by looking at each of them. */
const all = lanes
  .flatMap((lane): Change[] => [
    ...[...lane.stretches, ...lane.lines.flat(), ...lane.strips].map((each) => ({
      ...{ atSeconds: each.fromSeconds, lane, says: each.says, concern: each.look.concern },
    })),
    ...lane.strips.map(({ toSeconds }) => {
      const until = lane.stretches.findLast(({ fromSeconds }) => fromSeconds <= toSeconds);
      return { atSeconds: toSeconds, lane, says: until?.says ?? "", concern: 0 };
    }),
    ...lane.marks.map(({ atSeconds, says, look }) => ({ atSeconds, lane, says, concern: look.concern })),
  ])
  .filter(({ atSeconds, says }) => atSeconds > 0 && says !== "");
const inOrder = (changes: readonly Change[]) =>
  changes.map(({ atSeconds, lane, says, concern }) => `${atSeconds} ${lane.key} ${says} ${concern}`).sort();

test("whatever the steps of a cursor that goes through the show, every change is told once", () => {
  const borders = new Set(changesOfAll(lanes).filter((at) => at > 0));
  expect(new Set(all.map(({ atSeconds }) => atSeconds))).toEqual(borders);
  for (const step of [0.04, 33.3, 1000]) {
    const met: Change[] = [];
    for (let at = 0; at < RUN_SECONDS; at += step) met.push(...changesWithin(lanes, at, at + step));
    expect(inOrder(met)).toEqual(inOrder(all));
  }
});

test("between any two instants the changes are those that a look at each of them finds", () => {
  const borders = all.map(({ atSeconds }) => atSeconds);
  let found = 0;
  const instant = fc.oneof(fc.constantFrom(...borders), fc.double({ min: -1, max: RUN_SECONDS + 1, noNaN: true }));
  fc.assert(
    fc.property(instant, instant, (one, other) => {
      const [from, to] = [Math.min(one, other), Math.max(one, other)];
      const plain = all.filter(({ atSeconds }) => atSeconds > from && atSeconds <= to);
      found += plain.length;
      expect(inOrder(changesWithin(lanes, from, to))).toEqual(inOrder(plain));
    }),
  );
  expect(found).toBeGreaterThan(100);
});

test("of many changes the weightiest three are read out, and how many more there were", () => {
  expect(all.length).toBeGreaterThan(10);
  const words = passedWords(all);
  expect(words).toMatch(new RegExp(`And ${all.length - 3} more\\.$`));
  const heaviest = Math.max(...all.map(({ concern }) => concern));
  const heavy = all.filter(({ concern }) => concern === heaviest);
  const first = heavy.reduce((one, other) => (other.atSeconds < one.atSeconds ? other : one));
  expect(words).toContain(`${first.lane.name}: ${first.says}.`);
  const times = [...words.matchAll(/\d\d:\d\d:\d\d\.\d{3}/g)].map(([time]) => time);
  expect(times).toHaveLength(3);
  expect(times).toEqual(times.toSorted());
  expect(passedWords(all.slice(0, 2))).not.toContain("more");
});

test("however short a trouble is, it has its column in the overview, and what is calm has none", () => {
  const look = (concern: 0 | 3) => ({ ...lanes[0]!.stretches[0]!.look, concern });
  const stretch = (fromSeconds: number, toSeconds: number, concern: 0 | 3) => ({
    ...{ fromSeconds, toSeconds, key: "x", look: look(concern), says: "" },
  });
  const lane = (stretches: Lane["stretches"]): Lane => ({ ...lanes[0]!, stretches, strips: [], lines: [], marks: [] });
  const at = (from: number, to: number) =>
    blocksOf(worstByColumn([lane([stretch(0, from, 0), stretch(from, to, 3), stretch(to, 100, 0)])], 100, 50));
  expect(at(40, 40.001)).toEqual([{ from: 20, to: 21, concern: 3 }]);
  expect(at(99.9999, 100)).toEqual([{ from: 49, to: 50, concern: 3 }]);
  expect(at(40, 60)).toEqual([{ from: 20, to: 30, concern: 3 }]);
  expect(blocksOf(worstByColumn([lane([stretch(0, 100, 0)])], 100, 50))).toEqual([]);
});
