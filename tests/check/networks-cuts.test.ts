/** Cut sets of feeds over networks against every set of risks tried one by one, on the rig as it is drawn. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { clockNet, feedCuts } from "../../sim/check/risks.ts";
import { clockGraph } from "../../sim/clock-graph.ts";
import { minimalCuts } from "../../sim/cut-sets.ts";
import { tries } from "../helpers/laws.ts";
import type { Item, Rig } from "./network-rigs.ts";
import { bridge, cable, planOf, soundFile, stream } from "./network-rigs.ts";

const PATHS = ["wall", "roof", "pier"];
const SUPPLIES = ["left", "right"];

interface Drawn {
  readonly bridges: readonly { readonly power: readonly string[] }[];
  readonly cables: readonly { readonly a: number; readonly b: number; readonly along: string | null }[];
  /** At which bridge the desk and the box are, with as many cables as there are entries. */
  readonly desk: readonly number[];
  readonly box: readonly number[];
}

const fabric: fc.Arbitrary<Drawn> = fc.record({
  bridges: fc.array(fc.record({ power: fc.subarray(SUPPLIES, { minLength: 1 }) }), { minLength: 1, maxLength: 4 }),
  cables: fc.array(fc.record({ a: fc.nat(3), b: fc.nat(3), along: fc.option(fc.constantFrom(...PATHS)) }), {
    minLength: 2,
    maxLength: 7,
  }),
  desk: fc.array(fc.nat(3), { minLength: 1, maxLength: 2 }),
  box: fc.array(fc.nat(3), { minLength: 1, maxLength: 2 }),
});

/** One network, or two that a spare goes over. */
function fileOf(drawn: readonly Drawn[]): Rig {
  const devices: Item[] = [
    { id: "desk", clockSources: ["internal"], power: ["desk"], ptp: { priority1: 1 } },
    { id: "box", clockSources: drawn.map((_, at) => String(10 * at + 1)), power: ["box"], ptp: { followerOnly: true } },
  ];
  const links: Item[] = [];
  drawn.forEach(({ bridges, cables, desk, box }, at) => {
    const net = `n${at}`;
    const place = (index: number) => `${net}-${index % bridges.length}`;
    bridges.forEach(({ power }, index) => {
      devices.push(bridge(place(index), { power }));
    });
    cables.forEach(({ a, b, along }, index) => {
      if (a % bridges.length === b % bridges.length) return;
      const laid = along === null ? {} : { laidAlong: [along] };
      links.push(cable(`${net}-c${index}`, net, `${place(a)}.${10 + index}`, `${place(b)}.${30 + index}`, laid));
    });
    desk.forEach((to, index) => {
      links.push(cable(`${net}-desk${index}`, net, `desk.${10 * at + 1 + index}`, `${place(to)}.${1 + index}`));
    });
    box.forEach((to, index) => {
      links.push(cable(`${net}-box${index}`, net, `box.${10 * at + 1 + index}`, `${place(to)}.${5 + index}`));
    });
    links.push(stream(`s${at}`, `box.${10 * at + 1}`, `desk.${10 * at + 1}`));
  });
  const streams = drawn.map((_, at) => `s${at}`);
  return {
    leaders: ["desk"],
    networks: drawn.map((_, at) => ({ id: `n${at}`, recovery: "rapid-spanning-tree" })),
    devices,
    links,
    spares: streams.length > 1 ? [{ id: "pair", links: streams, mode: "standby" }] : [],
    feeds: [{ id: "mix", through: ["box", "desk"], channels: 8, over: [streams[0]], heardBy: ["pa"] }],
  };
}

/** Whether packets find a way from the box to the desk over cables and switches that are left. */
function isHeard({ devices, links }: Plan, gone: ReadonlySet<string>, cablesGone: ReadonlySet<string> = gone): boolean {
  const isUp = (id: string) => {
    const { power } = devices.find((device) => device.id === id)!;
    const counts = id !== "box" && id !== "desk";
    return !counts || !(gone.has(`device ${id}`) || power.every((supply) => gone.has(`supply ${supply}`)));
  };
  const reached = new Set(["box"]);
  for (let before = -1; before < reached.size; ) {
    before = reached.size;
    for (const { id, ethernet, a, b, laidAlong } of links) {
      if (ethernet === undefined || cablesGone.has(`cable ${id}`)) continue;
      if (laidAlong.some((along) => gone.has(`path ${along}`)) || !isUp(a.device) || !isUp(b.device)) continue;
      for (const [from, to] of [
        [a.device, b.device],
        [b.device, a.device],
      ] as const)
        if (reached.has(from) && from !== "desk") reached.add(to);
    }
  }
  return reached.has("desk");
}

function risksOf({ devices, links }: Plan): readonly string[] {
  const cables = links.filter(({ ethernet }) => ethernet !== undefined);
  const switches = devices.filter(({ kind }) => kind === "switch");
  const all = [
    ...cables.map(({ id }) => `cable ${id}`),
    ...cables.flatMap(({ laidAlong }) => laidAlong.map((along) => `path ${along}`)),
    ...switches.map(({ id }) => `device ${id}`),
    ...switches.flatMap(({ power }) => power.map((supply) => `supply ${supply}`)),
  ];
  return [...new Set(all)].sort();
}

function subsets(items: readonly string[], most: number): readonly (readonly string[])[] {
  if (most === 0 || items.length === 0) return [[]];
  const [first, ...rest] = items as readonly [string, ...string[]];
  return [...subsets(rest, most), ...subsets(rest, most - 1).map((set) => [first, ...set])];
}

function minimalByTrying(plan: Plan, order: number): readonly string[] {
  const cutting = subsets(risksOf(plan), order).filter((set) => !isHeard(plan, new Set(set)));
  return cutting
    .filter((set) => !cutting.some((other) => other.length < set.length && other.every((risk) => set.includes(risk))))
    .map((set) => [...set].sort().join(", "))
    .sort();
}

const rigs = fc.array(fabric, { minLength: 1, maxLength: 2 }).map((drawn) => planOf(fileOf(drawn)));

describe("cut sets of a feed over networks", () => {
  it("are those that trying every set of cables, paths, switches and supplies finds", () => {
    const sizes = new Map<number, number>();
    fc.assert(
      fc.property(rigs, (plan) => {
        const order = risksOf(plan).length > 18 ? 2 : 3;
        const [found] = feedCuts(plan, order);
        expect(found!.cuts.map((set) => [...set].sort().join(", ")).sort()).toEqual(minimalByTrying(plan, order));
        for (const { length } of found!.cuts) sizes.set(length, (sizes.get(length) ?? 0) + 1);
      }),
      tries(80),
    );
    for (const size of [1, 2, 3]) expect(sizes.get(size) ?? 0, `of size ${size}`).toBeGreaterThan(20);
  });

  it("the box's clock has the same ones: it comes from the desk by the same ways", () => {
    let some = 0;
    fc.assert(
      fc.property(rigs, (plan) => {
        const graph = clockGraph(plan);
        // It lists every network, and hears on each that joins it to the desk.
        const heard = graph.choices("box").filter((choice) => choice.heard.kind === "device");
        fc.pre(heard.length === graph.choices("box").length);
        const cuts = minimalCuts(clockNet(plan, graph, "box"), 2).map((set) => [...set].sort().join(", "));
        expect([...cuts].sort()).toEqual(minimalByTrying(plan, 2));
        some += 1;
      }),
      tries(60),
    );
    expect(some).toBeGreaterThan(20);
  });

  it("ways that share no cable are as many as cables have to go", () => {
    const counts = new Map<number, number>();
    fc.assert(
      fc.property(rigs, (plan) => {
        const { disjointWays } = feedCuts(plan, 1)[0]!;
        const cables = risksOf(plan).filter((risk) => risk.startsWith("cable "));
        const cuts = (most: number) => subsets(cables, most).some((set) => !isHeard(plan, new Set(), new Set(set)));
        expect(cuts(disjointWays)).toBe(true);
        if (disjointWays > 0) expect(cuts(disjointWays - 1)).toBe(false);
        counts.set(disjointWays, (counts.get(disjointWays) ?? 0) + 1);
      }),
      tries(80),
    );
    for (const count of [0, 1, 2]) expect(counts.get(count) ?? 0, `${count} ways`).toBeGreaterThan(3);
  });

  it("count a second cable between switches only where the network has a recovery", () => {
    const file = soundFile();
    const cuts = (recovery: string) =>
      feedCuts(planOf({ ...file, spares: [], networks: file.networks.map((one) => ({ ...one, recovery })) }), 1).find(
        ({ feed }) => feed === "pa-mix",
      )!.cuts;
    const alone = [["cable red-foh"], ["cable red-stage"], ["device red-1"], ["device red-2"], ["supply red-1"]];
    expect(cuts("rapid-spanning-tree")).toEqual([...alone, ["supply red-2"]]);
    expect(cuts("none")).toContainEqual(["cable red-second"]);
  });

  it("are found for a network of 60 switches and 200 cables", () => {
    const switches = Array.from({ length: 60 }, (_, at) => bridge(`b${at}`, { power: [`supply ${at % 7}`] }));
    const between = Array.from({ length: 196 }, (_, at) => {
      const [from, to] = [at % 59, at < 59 ? (at % 59) + 1 : (7 * at + 11) % 60];
      return from === to ? null : cable(`t${at}`, "n", `b${from}.${10 + at}`, `b${to}.${300 + at}`);
    }).filter((one) => one !== null);
    const plan = planOf({
      leaders: ["desk"],
      networks: [{ id: "n", recovery: "rapid-spanning-tree" }],
      devices: [
        { id: "desk", clockSources: ["internal"] },
        { id: "box", clockSources: ["1"], ptp: { followerOnly: true } },
        ...switches,
      ],
      links: [
        ...between,
        cable("desk-0", "n", "desk.1", "b0.1"),
        cable("desk-1", "n", "desk.2", "b20.1"),
        cable("box-0", "n", "box.1", "b59.1"),
        cable("box-1", "n", "box.2", "b40.1"),
        stream("main", "box.1", "desk.1"),
      ],
      spares: [],
      feeds: [{ id: "mix", through: ["box", "desk"], channels: 8, heardBy: ["pa"] }],
    });
    const [found] = feedCuts(plan, 2);
    expect(found!.disjointWays).toBe(2);
    expect(found!.cuts).toContainEqual(["cable box-0", "cable box-1"]);
    expect(found!.cuts.every(({ length }) => length === 2)).toBe(true);
  });
});
