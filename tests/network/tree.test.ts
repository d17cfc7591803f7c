/** The spanning tree against its definition, looked at the slow way; and what is a loop, a part, a ring. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { TreeCable } from "../../sim/network/tree.ts";
import { componentsOf, loopsOf, ringsOf, spanningTree } from "../../sim/network/tree.ts";
import { tries } from "../helpers/laws.ts";

interface Graph {
  readonly bridges: readonly { readonly id: string; readonly priority: number }[];
  readonly cables: readonly TreeCable[];
  readonly isUp: readonly boolean[];
}

const graphs: fc.Arbitrary<Graph> = fc.integer({ min: 1, max: 7 }).chain((count) =>
  fc
    .record({
      priorities: fc.array(fc.constantFrom(4096, 32768), { minLength: count, maxLength: count }),
      ends: fc.array(
        fc.record({
          a: fc.integer({ min: 0, max: count - 1 }),
          b: fc.integer({ min: 0, max: count - 1 }),
          up: fc.integer({ min: 0, max: 4 }).map((n) => n > 0),
        }),
        { maxLength: 12 },
      ),
      // Ids in another order than indices, or one would hide behind the other.
      shift: fc.integer({ min: 0, max: 6 }),
    })
    .map(({ priorities, ends, shift }) => {
      const next = new Array<number>(count).fill(0);
      const end = (bridge: number) => {
        next[bridge] = (next[bridge] as number) + 1;
        return { bridge, port: next[bridge] as number };
      };
      return {
        bridges: priorities.map((priority, i) => ({ id: `b${(i + shift) % 7}`, priority })),
        cables: ends.map(({ a, b }, c) => ({ id: `c${(c * 5) % 13}`, a: end(a), b: end(b) })),
        isUp: ends.map(({ up }) => up),
      };
    }),
);

/** Hops between any two bridges, by relaxing until nothing changes. */
function distances({ bridges, cables, isUp }: Graph): number[][] {
  const far = bridges.map((_, i) => bridges.map((_, j) => (i === j ? 0 : Number.POSITIVE_INFINITY)));
  const at = (i: number, j: number): number => far[i]?.[j] as number;
  for (let round = 0; round < bridges.length; round++) {
    for (const [c, { a, b }] of cables.entries()) {
      if (!isUp[c]) continue;
      for (const [j] of bridges.entries()) {
        const [left, right] = [at(a.bridge, j), at(b.bridge, j)];
        (far[a.bridge] as number[])[j] = Math.min(left, right + 1);
        (far[b.bridge] as number[])[j] = Math.min(right, left + 1);
      }
    }
  }
  return far;
}

test("root, hops and ways are those of the definition", () => {
  const seen = { blocked: 0, ties: 0, parts: 0, circles: 0 };
  fc.assert(
    fc.property(graphs, (graph) => {
      const { bridges, cables, isUp } = graph;
      const far = distances(graph);
      const isLower = (i: number, j: number): boolean => {
        const [a, b] = [bridges[i], bridges[j]] as [Graph["bridges"][number], Graph["bridges"][number]];
        return a.priority < b.priority || (a.priority === b.priority && a.id < b.id);
      };
      const tree = spanningTree(bridges, cables, isUp);
      const used = new Set<number>();
      for (const [i] of bridges.entries()) {
        const reached = bridges.map((_, j) => j).filter((j) => far[i]?.[j] !== Number.POSITIVE_INFINITY);
        if (reached.length < bridges.length) seen.parts += 1;
        const root = reached.reduce((best, j) => (isLower(j, best) ? j : best));
        expect(tree.root[i]).toBe(root);
        const hops = far[i]?.[root] as number;
        expect(tree.hops[i]).toBe(hops);
        const ways = cables
          .map((cable, c) => ({ c, id: cable.id, to: cable.a.bridge === i ? cable.b.bridge : cable.a.bridge, cable }))
          .filter(
            ({ c, to, cable }) =>
              isUp[c] && (cable.a.bridge === i || cable.b.bridge === i) && far[to]?.[root] === hops - 1,
          );
        if (ways.length > 1) seen.ties += 1;
        const best = ways.reduce<(typeof ways)[number] | null>((lead, way) => {
          if (lead === null) return way;
          if (way.to !== lead.to) return isLower(way.to, lead.to) ? way : lead;
          return way.id < lead.id ? way : lead;
        }, null);
        expect(tree.upstream[i]).toBe(best?.c ?? null);
        if (best !== null) used.add(best.c);
      }
      for (const [c, cable] of cables.entries()) {
        const role = tree.roles[c];
        if (!isUp[c]) expect(role).toBe("down");
        else if (used.has(c)) expect(role).toBe("carries");
        else {
          seen.blocked += 1;
          const { a, b } = cable;
          if (a.bridge === b.bridge) {
            seen.circles += 1;
            expect(role).toBe(a.port < b.port ? "blocked-at-b" : "blocked-at-a");
            continue;
          }
          const [ha, hb] = [tree.hops[a.bridge] as number, tree.hops[b.bridge] as number];
          const isANearer = ha < hb || (ha === hb && isLower(a.bridge, b.bridge));
          expect(role).toBe(isANearer ? "blocked-at-b" : "blocked-at-a");
        }
      }
    }),
    tries(400),
  );
  for (const count of Object.values(seen)) expect(count).toBeGreaterThan(20);
});

test("what carries has no loop and connects all that is connected; a loop is where a cable can be spared", () => {
  const seen = { loops: 0, none: 0 };
  fc.assert(
    fc.property(graphs, (graph) => {
      const { bridges, cables, isUp } = graph;
      const count = bridges.length;
      const carries = spanningTree(bridges, cables, isUp).roles.map((role) => role === "carries");
      const parts = componentsOf(count, cables, isUp);
      expect(componentsOf(count, cables, carries)).toEqual(parts);
      expect(loopsOf(count, cables, carries)).not.toContain(true);
      // A cable can be spared if nothing falls apart without it.
      const spared = cables.map(
        (_, c) => isUp[c] === true && String(componentsOf(count, cables, isUp.with(c, false))) === String(parts),
      );
      const loops = parts.map((part) => cables.some(({ a }, c) => spared[c] && parts[a.bridge] === part));
      expect(loopsOf(count, cables, isUp)).toEqual(loops);
      if (loops.includes(true)) seen.loops += 1;
      else seen.none += 1;
    }),
    tries(400),
  );
  expect(seen.loops).toBeGreaterThan(50);
  expect(seen.none).toBeGreaterThan(50);
});

describe("rings", () => {
  const cable = (id: string, a: number, b: number, port = 1): TreeCable => ({
    id,
    a: { bridge: a, port },
    b: { bridge: b, port: port + 1 },
  });
  test.each([
    ["four in a circle", 4, [cable("p", 0, 1), cable("q", 1, 2), cable("r", 2, 3), cable("s", 3, 0)], [[0, 1, 2, 3]]],
    ["two with two cables", 2, [cable("p", 0, 1), cable("q", 1, 0)], [[0, 1]]],
    ["a chain", 3, [cable("p", 0, 1), cable("q", 1, 2)], []],
    ["a circle with a tail", 4, [cable("p", 0, 1), cable("q", 1, 2), cable("r", 2, 0), cable("s", 2, 3)], []],
    ["a circle with a chord", 3, [cable("p", 0, 1), cable("q", 1, 2), cable("r", 2, 0), cable("s", 0, 1)], []],
    [
      "two circles, and one alone",
      5,
      [0, 3, 0, 3].map((a, c) => cable(`${c}`, a, a + 1)),
      [
        [0, 2],
        [1, 3],
      ],
    ],
    ["a cable from a bridge to itself", 1, [cable("p", 0, 0)], []],
    ["no bridge", 0, [], []],
  ])("%s", (_, count, cables, rings) => {
    expect(ringsOf(count, cables)).toEqual(rings);
  });
});
