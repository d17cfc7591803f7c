/** Who hangs behind whom: by settings, and over a run in which it changes. */
import { describe, expect, test } from "vitest";
import type { DevicePlan, LinkPlan, Plan, WanderPlan } from "../../shared/plan.ts";
import { allanRatio } from "../../sim/chain/allan.ts";
import { chainsAtRest, chainsOver } from "../../sim/chain/followers.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { at, device, link, planOf, unplug } from "../helpers/plan.ts";

const settings = (devices: readonly DevicePlan[], links: readonly LinkPlan[], rest: Partial<Plan> = {}): Plan => ({
  ...planOf({ seconds: 60, devices, links }),
  ...rest,
});

/** The FOH desk leads two boxes in a row; a monitor desk hangs on it as well, and a recorder on the monitor desk. */
const links = [
  link("foh.1", "box.1", { id: "main" }),
  link("box.2", "far.1", { id: "on" }),
  link("foh.2", "mon.1", { id: "to-mon" }),
  link("mon.2", "rec.1", { id: "to-rec" }),
  link("mon.3", "box.3", { id: "second" }),
];
const devices = [
  device("foh", ["internal"]),
  device("box", ["1", "3"]),
  device("far", ["1"]),
  device("mon", ["1", "internal"]),
  device("rec", ["1"]),
];

const summaryOf = (plan: Plan) => rehearse(plan).summary.chains;

describe("chains by settings", () => {
  test("lead from the one on its own clock to each follower", () => {
    expect(Object.fromEntries(chainsAtRest(settings(devices, links)))).toEqual({
      box: ["foh", "box"],
      far: ["foh", "box", "far"],
      mon: ["foh", "mon"],
      rec: ["foh", "mon", "rec"],
    });
  });

  test("are none in a ring, and none behind it", () => {
    const ring = [
      device("a", ["1"]),
      device("b", ["1"]),
      device("c", ["1"]),
      device("d", ["1"]),
      device("e", ["internal"]),
    ];
    const wires = [link("a.2", "b.1"), link("b.2", "a.1"), link("b.3", "c.1"), link("e.2", "d.1")];
    expect(Object.fromEntries(chainsAtRest(settings(ring, wires)))).toEqual({ d: ["e", "d"] });
  });
});

describe("chains over a run", () => {
  test("a second source that takes over makes the chain longer: the start and the worst are told apart", () => {
    const plan = settings(devices, links, { events: [unplug(20, "main")] });
    const { atStart, worst } = summaryOf(plan);
    expect(atStart?.deepest).toMatchObject({ devices: ["foh", "box", "far"], depth: 2, fromSeconds: 0 });
    // Noticed after 10 ms, held off for 0.3 s, reacted to in 10 ms.
    expect(worst?.deepest).toMatchObject({ devices: ["foh", "mon", "box", "far"], depth: 3 });
    expect(worst?.deepest.fromSeconds).toBeCloseTo(20.32, 2);
    expect(worst?.highest).toEqual(worst?.deepest);
    expect((worst?.highest.peakDecibels ?? 0) / (atStart?.highest.peakDecibels ?? 1)).toBeCloseTo(1.5, 9);
  });

  test("the deepest and the one that peaks highest may differ", () => {
    const soft = { naturalFrequencyHz: 1, damping: 8 };
    const sharp = { naturalFrequencyHz: 0.5, damping: 0.2 };
    const plan = settings(
      devices.map((each) => ({ ...each, loop: each.id === "mon" ? sharp : soft })),
      links.filter(({ id }) => id !== "to-rec"),
    );
    const { worst } = summaryOf(plan);
    expect(worst?.deepest.devices).toEqual(["foh", "box", "far"]);
    expect(worst?.highest.devices).toEqual(["foh", "mon"]);
    expect(worst?.highest.peakDecibels).toBeGreaterThan((worst?.deepest.peakDecibels ?? 99) + 3);
  });

  test("nobody follows in a cold start, and those who boot are found later; in a ring nobody ever does", () => {
    const cold = summaryOf(settings(devices, links, { begin: "cold", lengthNs: 70e9 as Plan["lengthNs"] }));
    expect(cold.atStart).toBeNull();
    expect(cold.worst?.deepest.depth).toBe(2);
    // Boots for 60 s; the cable comes up in 0.1 s, and is reacted to in 10 ms.
    expect(cold.worst?.deepest.fromSeconds).toBeCloseTo(60.11, 9);
    const ring = [device("a", ["1"]), device("b", ["1"])];
    const wires = [link("a.2", "b.1"), link("b.2", "a.1")];
    expect(summaryOf(settings(ring, wires))).toEqual({ atStart: null, worst: null });
  });

  test("a cable plugged into another port is followed there", () => {
    const rig = [device("foh", ["internal"]), device("mon", ["1"]), device("box", ["2"])];
    const wires = [link("foh.1", "mon.1", { id: "fm" }), link("mon.2", "box.5", { id: "moved" })];
    const into = at(10, { do: "plug", link: "moved", end: "b", way: null, into: 2 });
    const { atStart, worst } = summaryOf(settings(rig, wires, { events: [unplug(5, "moved", "b"), into] }));
    expect(atStart?.deepest.devices).toEqual(["foh", "mon"]);
    expect(worst?.deepest.devices).toEqual(["foh", "mon", "box"]);
    expect(worst?.deepest.fromSeconds).toBeGreaterThan(10);
  });

  test("the order in which a plan lists its devices and links does not show", () => {
    const plan = settings(devices, links, { events: [unplug(20, "main")] });
    const { record } = rehearse(plan);
    const turned = { ...plan, devices: [...devices].reverse(), links: [...links].reverse() };
    expect(chainsOver(turned, record)).toEqual(chainsOver(plan, record));
  });
});

describe("the first clock's wander", () => {
  const wander: WanderPlan = { sigma1: 1e-9, sigma2: 1e-10, sigma3: 0, hMinus1: 1e-20 };
  const withWander = (own: WanderPlan | null): Plan => {
    const plan = settings(devices, links, { wanderGridSeconds: 0.1 });
    const oscillators = plan.devices.map((each) =>
      each.id === "foh" ? { ...each, oscillator: { ...each.oscillator, wander: own } } : each,
    );
    return { ...plan, devices: oscillators };
  };
  /** What a run would have to say of it; nothing is played. */
  const told = (own: WanderPlan | null) => {
    const { record } = rehearse(withWander(null));
    return chainsOver(withWander(own), record).worst?.deepest.wander;
  };

  test("is told at the τ that listens best to the peak, in whole steps of the grid", () => {
    const loops = devices.slice(0, 2).map(({ loop }) => loop);
    // 0.371/0.7071 Hz is 0.525 s.
    expect(told(wander)).toEqual({ tauSeconds: 0.5, ratio: allanRatio(loops, wander, 0.5, 0.1) });
    expect(told(wander)?.ratio).toBeGreaterThan(1.1);
  });

  test("is not told where it is steady, or drifts by chance", () => {
    expect(told(null)).toBeNull();
    expect(told({ sigma1: 0, sigma2: 0, sigma3: 0, hMinus1: 0 })).toBeNull();
    expect(told({ ...wander, sigma3: 1e-15 })).toBeNull();
  });
});
