/** Laws of the rig map's layout over random rigs and networks. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { clockGraph } from "../../sim/clock-graph.ts";
import { hopsOf } from "../../sim/map/hops.ts";
import { type Layout, type LayoutNode, type LayoutWish, layoutOf, type Point } from "../../sim/map/layout.ts";
import { overlap } from "../../sim/map/moved.ts";
import { crossings } from "../../sim/map/order.ts";
import { boxOf } from "../../viewer/map/spots.ts";
import { wiresOf } from "../../viewer/map/wires.ts";
import { buildRun, device, link } from "../browser/fixture.ts";
import { tries } from "../helpers/laws.ts";
import { networkPlans } from "../helpers/random-network.ts";
import { plans } from "../helpers/random-rig.ts";

const rigs: fc.Arbitrary<Plan> = fc.oneof(
  plans({ devices: [2, 12], secondSources: true, spares: true, loners: true }),
  plans({ devices: [3, 12], ring: true, spares: true }),
  networkPlans().map(({ plan }) => plan),
);
const WORD = { width: 44, isSure: false };
const directions = fc.constantFrom("across" as const, "down" as const);
const points = fc.record({ x: fc.integer({ min: -50, max: 1200 }), y: fc.integer({ min: -50, max: 700 }) });

function wishOf(plan: Plan, more: Partial<LayoutWish> = {}): LayoutWish {
  const hops = hopsOf(plan);
  return {
    nodes: plan.devices.map(({ id, kind }, index): LayoutNode => {
      const [width, height] = kind === "switch" ? [100, 40] : [150, 46 + 16 * (index % 3)];
      return { id, hops: hops.get(id)!, width, height };
    }),
    cables: plan.links.filter(({ stream }) => stream === undefined).map(({ a, b }) => ({ a: a.device, b: b.device })),
    direction: "across",
    width: 1200,
    mostInColumn: 9,
    moved: new Map(),
    ...more,
  };
}

/** Larger and more tangled than any rig. */
const tangles: fc.Arbitrary<LayoutWish> = fc
  .record({
    hops: fc.array(fc.nat(5), { minLength: 2, maxLength: 40 }),
    pairs: fc.array(fc.tuple(fc.nat(39), fc.nat(39)), { maxLength: 80 }),
    mostInColumn: fc.integer({ min: 1, max: 9 }),
    direction: directions,
  })
  .map(({ hops, pairs, mostInColumn, direction }) => ({
    nodes: hops.map((hop, index) => ({
      id: `d${index}`,
      hops: hop,
      width: 90 + (index % 4) * 20,
      height: 40 + (index % 3) * 16,
    })),
    cables: pairs.map(([a, b]) => ({ a: `d${a % hops.length}`, b: `d${b % hops.length}` })),
    direction,
    width: 1200,
    mostInColumn,
    moved: new Map(),
  }));

/** As large as rigs get: a tree of many leaves with some cables more, hops counted from its root. */
const largeRigs: fc.Arbitrary<LayoutWish> = fc
  .record({
    parents: fc.array(fc.tuple(fc.nat(1000), fc.boolean()), { minLength: 29, maxLength: 59 }),
    more: fc.array(fc.tuple(fc.nat(1000), fc.nat(1000)), { maxLength: 20 }),
    direction: directions,
  })
  .map(({ parents, more, direction }) => {
    const count = parents.length + 1;
    const hops = [0];
    const cables: { a: string; b: string }[] = [];
    for (const [index, [which, isStar]] of parents.entries()) {
      const parent = which % (isStar ? Math.min(index + 1, 6) : index + 1);
      hops.push(hops[parent]! + 1);
      cables.push({ a: `d${parent}`, b: `d${index + 1}` });
    }
    for (const [a, b] of more) if (a % count !== b % count) cables.push({ a: `d${a % count}`, b: `d${b % count}` });
    const nodes = hops.map((hop, index) => ({ id: `d${index}`, hops: hop, width: 104, height: 46 + 16 * (index % 3) }));
    const isAcross = direction === "across";
    return { nodes, cables, direction, width: isAcross ? 1219 : 378, mostInColumn: isAcross ? 9 : 3, moved: new Map() };
  });

/** @param apart how near they may come without being named */
function overlapping({ places }: Layout, apart = 0): readonly string[] {
  const all = [...places];
  return all.flatMap(([id, place], index) =>
    all.slice(index + 1).flatMap(([other, there]) => (overlap(place, there, apart) ? [`${id} ${other}`] : [])),
  );
}

function shuffled<T>(list: readonly T[], seeds: readonly number[]): readonly T[] {
  const keyed = list.map((item, index) => ({ item, key: seeds[index % seeds.length]! * 7919 + index * 104_729 }));
  return keyed.sort((one, other) => (one.key % 1009) - (other.key % 1009)).map(({ item }) => item);
}

describe("no two devices overlap", () => {
  test("as they are laid out, in either direction, in columns of any length", () => {
    let most = 0;
    fc.assert(
      fc.property(
        fc.oneof(
          rigs.map((plan) => wishOf(plan)),
          tangles,
        ),
        (wish) => {
          const layout = layoutOf(wish);
          expect(layout.places.size).toBe(wish.nodes.length);
          expect(overlapping(layout)).toEqual([]);
          most = Math.max(most, ...layout.columns.map(({ length }) => length));
        },
      ),
      tries(150),
    );
    expect(most).toBeGreaterThan(4);
  });

  test("of thirty to sixty, and their outlines do not touch; on a phone no row has more than three", () => {
    let [most, rows] = [0, 0];
    fc.assert(
      fc.property(largeRigs, (wish) => {
        const layout = layoutOf(wish);
        expect(layout.places.size).toBe(wish.nodes.length);
        // An outline stands 9 off its device.
        expect(overlapping(layout, 18)).toEqual([]);
        const boxes = [...layout.places.values()];
        for (const { x, width } of boxes) expect(x - width / 2).toBeGreaterThanOrEqual(14);
        most = Math.max(most, boxes.length);
        if (wish.direction === "across") return;
        for (const column of layout.columns) expect(column.length).toBeLessThanOrEqual(3);
        rows = Math.max(rows, layout.columns.length);
      }),
      tries(60),
    );
    expect(most).toBeGreaterThan(50);
    expect(rows).toBeGreaterThan(12);
  });

  test("wherever some of them have been moved; the first of these stands where it was put", () => {
    let madeRoom = 0;
    fc.assert(
      fc.property(
        rigs,
        directions,
        fc.array(fc.tuple(fc.nat(30), points), { minLength: 1, maxLength: 6 }),
        (plan, direction, moves) => {
          const ids = moves.map(([which, point]) => [plan.devices[which % plan.devices.length]!.id, point] as const);
          const moved = new Map<string, Point>(ids);
          const rest = layoutOf(wishOf(plan, { direction }));
          const layout = layoutOf(wishOf(plan, { direction, moved }));
          expect(overlapping(layout)).toEqual([]);
          const [first, point] = [...moved][0]!;
          const { x, y, width, height } = layout.places.get(first)!;
          expect(point.x >= x || x - width / 2 === 14).toBe(true);
          if (point.x - width / 2 >= 14) expect(x).toBe(point.x);
          if (point.y - height / 2 >= 14) expect(y).toBe(point.y);
          for (const [id, place] of layout.places) {
            const before = rest.places.get(id)!;
            if (!moved.has(id) && (place.x !== before.x || place.y !== before.y)) madeRoom += 1;
            expect(place.x - place.width / 2).toBeGreaterThanOrEqual(14);
            expect(place.y - place.height / 2).toBeGreaterThanOrEqual(14);
          }
        },
      ),
      tries(150),
    );
    expect(madeRoom).toBeGreaterThan(20);
  });
});

describe("the order", () => {
  const places = (columns: readonly (readonly string[])[]) =>
    new Map(columns.flatMap((column, at) => column.map((id, index) => [id, { at, index }] as const)));

  test("does not hang on the order in which cables are written", () => {
    fc.assert(
      fc.property(rigs, (plan) => {
        const wish = wishOf(plan);
        const turned = layoutOf({ ...wish, cables: [...wish.cables].reverse() });
        expect(turned.columns).toEqual(layoutOf(wish).columns);
      }),
      tries(100),
    );
  });

  test("and the place of each do not hang on the order in which cables of a large rig are written, nor on their ends", () => {
    let moved = 0;
    fc.assert(
      fc.property(largeRigs, fc.array(fc.nat(1000), { minLength: 5, maxLength: 20 }), (wish, seeds) => {
        const turned = wish.cables.map(({ a, b }, index) =>
          seeds[index % seeds.length]! % 2 ? { a: b, b: a } : { a, b },
        );
        const cables = shuffled(turned, seeds);
        if (cables.some(({ a }, index) => a !== wish.cables[index]!.a)) moved += 1;
        expect(layoutOf({ ...wish, cables })).toEqual(layoutOf(wish));
      }),
      tries(40),
    );
    expect(moved).toBeGreaterThan(30);
  });

  const byPlan = rigs.map((plan) => wishOf(plan, { mostInColumn: Number.POSITIVE_INFINITY }));
  const byTree = largeRigs.map((wish) => ({ ...wish, mostInColumn: Number.POSITIVE_INFINITY }));
  test.each([
    ["of any two", byPlan, 200],
    ["of any two of thirty to sixty", byTree, 25],
  ] as const)("%s stays when somebody hangs one more leaf on the rig", (_, wishes, runs) => {
    let pairs = 0;
    fc.assert(
      fc.property(wishes, fc.nat(40), fc.nat(40), (wish, which, place) => {
        const parent = wish.nodes[which % wish.nodes.length]!;
        const leaf = { ...parent, id: "leaf", hops: parent.hops + 1 };
        const at = place % (wish.nodes.length + 1);
        const nodes = [...wish.nodes.slice(0, at), leaf, ...wish.nodes.slice(at)];
        const before = places(layoutOf(wish).columns);
        const after = places(
          layoutOf({ ...wish, nodes, cables: [...wish.cables, { a: parent.id, b: "leaf" }] }).columns,
        );
        // Who had no cable before has been taken out of the row of those.
        const changed: string[] = [];
        const others = wish.nodes.filter(({ id }) => wish.cables.some(({ a, b }) => a === id || b === id));
        for (const { id: one } of others) {
          for (const { id: other } of others) {
            const [first, second] = [before.get(one)!, before.get(other)!];
            if (first.at !== second.at || first.index >= second.index) continue;
            pairs += 1;
            const [here, there] = [after.get(one)!, after.get(other)!];
            if (here.at !== there.at || here.index >= there.index) changed.push(`${one} ${other}`);
          }
        }
        expect(changed).toEqual([]);
      }),
      tries(runs),
    );
    expect(pairs).toBeGreaterThan(500);
  });

  test("of a tree has no crossing", () => {
    let deepest = 0;
    fc.assert(
      fc.property(plans({ devices: [4, 12] }), (plan) => {
        const wish = wishOf(plan, { mostInColumn: Number.POSITIVE_INFINITY });
        const pairs = new Set(wish.cables.map(({ a, b }) => [a, b].sort().join(" ")));
        fc.pre(pairs.size === plan.devices.length - 1);
        const edges = new Map(plan.devices.map(({ id }) => [id, new Set<string>()]));
        for (const { a, b } of wish.cables) {
          edges.get(a)!.add(b);
          edges.get(b)!.add(a);
        }
        const { columns } = layoutOf(wish);
        expect(crossings(columns, edges)).toBe(0);
        deepest = Math.max(deepest, columns.length);
      }),
      tries(100),
    );
    expect(deepest).toBeGreaterThan(3);
  });
});

describe("hops", () => {
  test("whoever listens to somebody over a cable stands one behind, outside rings", () => {
    let followers = 0;
    fc.assert(
      fc.property(rigs, (plan) => {
        const [hops, graph] = [hopsOf(plan), clockGraph(plan)];
        expect([...hops.keys()].sort()).toEqual(plan.devices.map(({ id }) => id).sort());
        const inRing = new Set(graph.rings.flat());
        for (const { id } of plan.devices) {
          const heard = graph.used(id)?.heard;
          if (heard?.kind !== "device" || inRing.has(id) || plan.leaders.includes(id)) continue;
          if (heard.network === null) expect(hops.get(id)).toBe(hops.get(heard.device)! + 1);
          else expect(hops.get(id)).toBeGreaterThan(hops.get(heard.device)!);
          followers += 1;
        }
        for (const ring of graph.rings) expect(new Set(ring.map((id) => hops.get(id))).size).toBe(ring.length);
      }),
      tries(150),
    );
    expect(followers).toBeGreaterThan(200);
  });

  test("what nobody's clock reaches stands behind what it is plugged to; what is alone begins anew", () => {
    const { plan } = buildRun({
      devices: [
        device("alone", "Alone", ["1"]),
        device("deaf", "Deaf", ["3"]),
        device("foh", "FOH desk", ["internal"]),
        device("stage", "Stage box", ["1"]),
      ],
      links: [link("main", ["foh", 1], ["stage", 1]), link("tie", ["stage", 2], ["deaf", 1])],
    });
    expect(Object.fromEntries(hopsOf(plan))).toEqual({ foh: 0, stage: 1, deaf: 2, alone: 0 });
  });
});

describe("lines", () => {
  const plan = buildRun({
    devices: [device("foh", "FOH desk", ["internal"]), device("stage", "Stage box", ["1"])],
    links: [link("main", ["foh", 1], ["stage", 1]), link("spare", ["foh", 2], ["stage", 2])],
  }).plan;

  test("main and spare run side by side, from side to side, and their crosses and words apart", () => {
    for (const direction of ["across", "down"] as const) {
      const layout = layoutOf(wishOf(plan, { direction }));
      const wishes = plan.links.map(({ id, a, b }) => ({
        id,
        a: a.device,
        b: b.device,
        isStream: false,
        word: WORD,
      }));
      const wires = wiresOf(layout, wishes, direction);
      const [main, spare] = [wires.get("main")!, wires.get("spare")!];
      const [foh, stage] = [layout.places.get("foh")!, layout.places.get("stage")!];
      for (const end of ["a", "b"] as const)
        expect(Math.hypot(main[end].x - spare[end].x, main[end].y - spare[end].y)).toBeCloseTo(12, 6);
      if (direction === "across") {
        expect(main.a.x).toBeCloseTo(foh.x + foh.width / 2, 6);
        expect(main.b.x).toBeCloseTo(stage.x - stage.width / 2, 6);
        expect(main.b.angle).toBeCloseTo(0, 6);
      } else {
        expect(main.a.y).toBeCloseTo(foh.y + foh.height / 2, 6);
        expect(main.b.y).toBeCloseTo(stage.y - stage.height / 2, 6);
        expect(main.b.angle).toBeCloseTo(90, 6);
      }
      expect(Math.hypot(main.middle.x - spare.middle.x, main.middle.y - spare.middle.y)).toBeGreaterThan(12);
      expect(Math.hypot(main.word.x - spare.word.x, main.word.y - spare.word.y)).toBeGreaterThan(16);
    }
  });

  test("where a word has room it stands clear of the devices and of all words that have", () => {
    let [free, crowded] = [0, 0];
    fc.assert(
      fc.property(largeRigs, (wish) => {
        const layout = layoutOf(wish);
        const wishes = wish.cables.map(({ a, b }, index) => ({
          id: `c${index}`,
          a,
          b,
          isStream: false,
          word: { width: index % 4 === 0 ? 96 : 56, isSure: index % 4 === 0 },
        }));
        const words = [...wiresOf(layout, wishes, wish.direction).values()].map(({ word }) => word);
        const boxes = words.filter(({ isFree }) => isFree).map(boxOf);
        free += boxes.length;
        crowded += words.length - boxes.length;
        for (const [index, box] of boxes.entries()) {
          expect([...layout.places.values()].filter((place) => overlap(box, place))).toEqual([]);
          expect(boxes.slice(index + 1).filter((other) => overlap(box, other))).toEqual([]);
        }
      }),
      tries(30),
    );
    expect(free).toBeGreaterThan(200);
    expect(crowded).toBeGreaterThan(20);
  });

  test("each has its middle on itself, and half of it before that", () => {
    let bent = 0;
    fc.assert(
      fc.property(rigs, directions, (plan, direction) => {
        const layout = layoutOf(wishOf(plan, { direction, mostInColumn: 4 }));
        const wishes = plan.links.map(({ id, a, b, stream }) => ({
          id,
          a: a.device,
          b: b.device,
          isStream: stream !== undefined,
          word: WORD,
        }));
        for (const wire of wiresOf(layout, wishes, direction).values()) {
          const straight = Math.hypot(wire.a.x - wire.b.x, wire.a.y - wire.b.y);
          expect(wire.length).toBeGreaterThanOrEqual(straight - 1e-6);
          if (wire.length > straight * 1.05) bent += 1;
          // A line is no longer than the way over its middle is short.
          expect(Math.hypot(wire.a.x - wire.middle.x, wire.a.y - wire.middle.y)).toBeLessThanOrEqual(
            wire.middleAt + 1e-6,
          );
          expect(Math.hypot(wire.b.x - wire.middle.x, wire.b.y - wire.middle.y)).toBeLessThanOrEqual(
            // Lengths are measured over chords.
            (wire.length - wire.middleAt) * 1.01 + 1e-6,
          );
        }
      }),
      tries(60),
    );
    expect(bent).toBeGreaterThan(50);
  });
});
