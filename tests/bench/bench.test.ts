/** The bench's own parts: what a ratio is taken on must be what it says. Nothing here measures time. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { startEngine } from "../../sim/engine.ts";
import { buildRig } from "../../sim/rig.ts";
import { cutsBench, makeNet } from "./cuts.ts";
import { holdByEngine, holdByHeap, makeIncrements } from "./hold-model.ts";
import { makeShow } from "./make-show.ts";
import { holdOnBareHeap } from "./reference-heap.ts";
import { readShow, SHOW_FILE } from "./show.ts";

describe("the show", () => {
  test("is what its generator writes", () => {
    expect(JSON.parse(readFileSync(SHOW_FILE, "utf8"))).toEqual(makeShow());
  });

  test("has 40 devices, 120 links with both ways, three hours and 40 faults; some devices run free beside the leader", () => {
    const { withFaults } = readShow();
    const { devices, links, events, lengthNs } = withFaults;
    expect(devices.length).toBe(40);
    expect(links.length).toBe(120);
    expect(links.every((link) => link.twoWay || link.hasReturn)).toBe(true);
    expect(buildRig(withFaults).machines.filter((machine) => machine.id.startsWith("port ")).length).toBe(240);
    expect(events.filter((event) => event.undoes === null).length).toBe(40);
    expect(lengthNs).toBe(3 * 3600e9);
    expect(devices.filter((device) => device.clockSources[0] === "internal").length).toBeGreaterThan(3);
  });

  test("loses lock and finds it again, and slips", () => {
    const { withFaults } = readShow();
    const rows = startEngine(buildRig(withFaults)).finish(withFaults.lengthNs);
    const states = rows.flatMap(({ fact }) => (fact.kind === "clock" ? [fact.state] : []));
    expect(states.filter((state) => state === "locked").length).toBeGreaterThan(100);
    expect(rows.filter(({ fact }) => fact.kind === "slips").length).toBeGreaterThan(100);
  });
});

describe("the net of shared risks", () => {
  test("has 60 devices and 200 links, and cuts of one and of two that trying every pair finds as well", () => {
    const { arcs } = makeNet();
    const links = arcs.filter(({ from, to }) => from !== "source" && to !== "sink");
    expect(links.length).toBe(200);
    expect(new Set(links.flatMap(({ from, to }) => [from, to])).size).toBe(60);
    // Throws where the two differ.
    expect(cutsBench({ rounds: 0 }).cuts).toBeGreaterThan(5);
  });
});

describe("the hold model", () => {
  test("on the bare heap takes as many as a sorted list does", () => {
    const increments = Float64Array.of(5, 1, 4, 1, 7, 2, 6, 3);
    const until = 1000;
    const list = [...increments.subarray(0, 5)].map((time, id) => ({ time, order: id }));
    let pushed = list.length;
    let taken = 0;
    for (;;) {
      list.sort((a, b) => a.time - b.time || a.order - b.order);
      const first = list.shift()!;
      if (first.time > until) break;
      taken += 1;
      list.push({ time: first.time + increments[pushed % increments.length]!, order: pushed });
      pushed += 1;
    }
    expect(taken).toBeGreaterThan(1000);
    expect(holdOnBareHeap(5, until, increments)).toBe(taken);
  });

  test("gives both sides as much to do, within what chance allows", () => {
    const increments = makeIncrements();
    // One event a second and machine for 20 s: 5,120, give or take 1.4 % (Poisson); five times that is allowed.
    const byHeap = holdByHeap(256, 20, increments);
    const byEngine = holdByEngine(256, 20, increments);
    expect(Math.abs(byHeap - 5120)).toBeLessThan(360);
    expect(Math.abs(byEngine - 5120)).toBeLessThan(360);
  });
});
