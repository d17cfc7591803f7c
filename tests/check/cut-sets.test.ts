/** Cut sets against every set tried one by one; the number of disjoint ways against the smallest cut, tried one by one. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { RiskyArc, RiskyNet } from "../../sim/cut-sets.ts";
import { disjointWays, minimalCuts, minimalCutsInSeries } from "../../sim/cut-sets.ts";
import { tries } from "../helpers/laws.ts";

const arc = (from: string, to: string, ...fails: readonly (readonly string[])[]): RiskyArc => ({ from, to, fails });

/** Whether the sink is reached when these risks are gone; by relaxing all arcs until nothing changes. */
function isReached(
  { source, sink, arcs }: RiskyNet,
  gone: readonly string[],
  without: readonly number[] = [],
): boolean {
  const there = new Set([source]);
  for (let round = 0; round <= arcs.length; round += 1)
    arcs.forEach(({ from, to, fails }, at) => {
      const isGone = without.includes(at) || fails.some((term) => term.every((risk) => gone.includes(risk)));
      if (!isGone && there.has(from)) there.add(to);
    });
  return there.has(sink);
}

/** All sets of up to so many. */
function subsets<T>(items: readonly T[], most: number): readonly (readonly T[])[] {
  if (most === 0 || items.length === 0) return [[]];
  const [first, ...rest] = items as readonly [T, ...T[]];
  return [...subsets(rest, most), ...subsets(rest, most - 1).map((set) => [first, ...set])];
}

const RISKS = ["a", "b", "c", "d", "e", "f", "g"];
const PLACES = ["s", "1", "2", "3", "t"];

const nets: fc.Arbitrary<RiskyNet> = fc
  .array(
    fc.record({
      from: fc.constantFrom("s", "s", ...PLACES),
      to: fc.constantFrom("t", "t", ...PLACES),
      fails: fc.array(fc.uniqueArray(fc.constantFrom(...RISKS), { minLength: 1, maxLength: 2 }), { maxLength: 3 }),
    }),
    { minLength: 1, maxLength: 9 },
  )
  .map((arcs) => ({ source: "s", sink: "t", arcs }));

/** Main and spares side by side. */
const besides: fc.Arbitrary<RiskyNet> = fc
  .array(fc.uniqueArray(fc.constantFrom(...RISKS), { minLength: 1, maxLength: 3 }), { minLength: 1, maxLength: 3 })
  .map((all) => ({ source: "s", sink: "t", arcs: all.map((risks) => arc("s", "t", ...risks.map((risk) => [risk]))) }));

describe("minimal cuts", () => {
  it("are those that trying every set finds, up to order 3", () => {
    const sizes = new Map<number, number>();
    fc.assert(
      fc.property(nets, (net) => {
        const cutting = subsets(RISKS, 3).filter((set) => !isReached(net, set));
        const minimal = cutting.filter(
          (set) => !cutting.some((other) => other.length < set.length && other.every((risk) => set.includes(risk))),
        );
        const found = minimalCuts(net, 3);
        expect(found.map((set) => set.join(" ")).sort()).toEqual(
          minimal.map((set) => [...set].sort().join(" ")).sort(),
        );
        for (const { length } of found) sizes.set(length, (sizes.get(length) ?? 0) + 1);
      }),
      tries(400),
    );
    for (const size of [0, 1, 2, 3]) expect(sizes.get(size) ?? 0, `of size ${size}`).toBeGreaterThan(10);
  });

  it("come smallest first, and of a lower order are the same ones", () => {
    fc.assert(
      fc.property(nets, (net) => {
        const three = minimalCuts(net, 3);
        expect(three.map(({ length }) => length)).toEqual(three.map(({ length }) => length).sort());
        expect(minimalCuts(net, 2)).toEqual(three.filter(({ length }) => length <= 2));
      }),
      tries(100),
    );
  });

  it("of nets in series are those of one net with both behind one another", () => {
    let both = 0;
    fc.assert(
      fc.property(fc.oneof(nets, besides), besides, (one, two) => {
        const behind = (id: string) => (id === "s" ? "t" : `${id}'`);
        const joined = {
          source: "s",
          sink: "t'",
          arcs: [
            ...one.arcs,
            ...two.arcs.map(({ from, to, fails }) => ({ from: behind(from), to: behind(to), fails })),
          ],
        };
        // Back into the first net there is no way: the second begins where the first ends.
        fc.pre(![...one.arcs].some(({ from }) => from === "t") && !two.arcs.some(({ to }) => to === "s"));
        const found = minimalCutsInSeries([one, two], 3);
        expect(found).toEqual(minimalCuts(joined, 3));
        if (found.some(({ length }) => length > 1)) both += 1;
      }),
      tries(150),
    );
    expect(both).toBeGreaterThan(30);
  });

  it("of a main and a spare: both cables, or the wall that both are laid along", () => {
    const pair = [arc("s", "t", ["main"], ["wall"]), arc("s", "t", ["spare"], ["wall"])];
    expect(minimalCuts({ source: "s", sink: "t", arcs: pair }, 3)).toEqual([["wall"], ["main", "spare"]]);
  });

  it("take both supplies of a device that has two", () => {
    const net = { source: "s", sink: "t", arcs: [arc("s", "m", ["in"], ["left", "right"]), arc("m", "t", ["out"])] };
    expect(minimalCuts(net, 2)).toEqual([["in"], ["out"], ["left", "right"]]);
  });

  it("are none where source and sink are one, and the empty set where there is no way", () => {
    expect(minimalCuts({ source: "s", sink: "s", arcs: [] }, 3)).toEqual([]);
    expect(minimalCuts({ source: "s", sink: "t", arcs: [] }, 3)).toEqual([[]]);
  });
});

describe("disjoint ways", () => {
  it("are as many as arcs have to be taken out, and those arcs cut", () => {
    const counts = new Map<number, number>();
    fc.assert(
      fc.property(nets, (net) => {
        const { count, cut } = disjointWays(net);
        expect(cut).toHaveLength(count);
        expect(isReached(net, [], cut)).toBe(false);
        // Nothing smaller does: the smallest cut, tried one by one.
        const all = net.arcs.map((_, at) => at);
        if (count > 0) expect(subsets(all, count - 1).every((less) => isReached(net, [], less))).toBe(true);
        counts.set(count, (counts.get(count) ?? 0) + 1);
      }),
      tries(300),
    );
    for (const count of [0, 1, 2]) expect(counts.get(count) ?? 0, `${count} ways`).toBeGreaterThan(5);
  });

  it("are found where the shortest way is the wrong one to begin with", () => {
    const names = ["s1", "s2", "12", "1t", "2t", "13", "32"];
    const arcs = names.map((name) => arc(name[0]!, name[1]!, [name]));
    expect(disjointWays({ source: "s", sink: "t", arcs }).count).toBe(2);
    const crossed = ["sa", "ab", "bt", "sc", "cb", "ad", "dt"].map((name) => arc(name[0]!, name[1]!, [name]));
    expect(disjointWays({ source: "s", sink: "t", arcs: crossed }).count).toBe(2);
  });
});
