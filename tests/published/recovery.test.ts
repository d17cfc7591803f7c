/**
 * How long a network is cut in two, by the numbers of its recovery protocol, through the real engine. Times count from
 * the instant at which the ends of a broken cable know it; a device without power is missed from the instant itself.
 */
import { describe, expect, test } from "vitest";
import type { RecoveryName } from "../../shared/plan.ts";
import { RECOVERIES } from "../../shared/plan.ts";
import type { RingRecovery } from "../../shared/recoveries.ts";
import { recovery } from "../../shared/recoveries.ts";
import type { BridgeRig, Happening } from "../network/bridge-rig.ts";
import { bridgeRig, NOTICE_SECONDS } from "../network/bridge-rig.ts";
import { COMING_UP_SECONDS } from "../network/bridge-table.ts";

/** Longer than any packet is under way here, shorter than any time of a protocol. */
const SOON = 1e-4;

/** Not there just before an instant of the show, there just after it. */
function expectReached(rig: BridgeRig, at: string, from: string, seconds: number): void {
  rig.playTo(seconds - SOON);
  expect(rig.heardAt(at), `${at} before ${seconds} s`).not.toContain(from);
  rig.playTo(seconds + SOON);
  expect(rig.heardAt(at), `${at} after ${seconds} s`).toContain(from);
}

const unplug = (at: number, what: string): Happening => ({ at, do: "unplug", what });
const plug = (at: number, what: string): Happening => ({ at, do: "plug", what });

describe("the table", () => {
  test("spanning tree: the defaults of several equipment manuals, and the constraint between them (READ)", () => {
    const row = recovery("spanning-tree");
    if (row.protocol !== "spanning-tree") throw new Error(row.protocol);
    const [delay, age, hello] = [row.forwardDelaySeconds, row.maxAgeSeconds, row.helloSeconds].map(
      ({ value }) => value,
    ) as [number, number, number];
    expect([delay, age, hello]).toEqual([15, 20, 2]);
    expect(2 * (delay - 1)).toBeGreaterThanOrEqual(age);
    expect(age).toBeGreaterThanOrEqual(2 * (hello + 1));
  });

  test("rings: the profiles of IEC 62439-2 as in an open-source state machine and two articles (READ)", () => {
    const rings = RECOVERIES.map(recovery).filter((row): row is RingRecovery => row.protocol === "ring");
    expect(rings.map(({ recoverySeconds }) => recoverySeconds.value)).toEqual([0.5, 0.2, 0.03, 0.01]);
    // At most 50 nodes for 30 ms, 14 for 10 ms (READ-2).
    expect(rings.map(({ bridgesMax }) => bridgesMax?.value ?? null)).toEqual([null, null, 50, 14]);
  });

  test("500 ms: what its timers come to stays inside (READ: test packets every 50 ms, 5 missed, then 3 × 20 ms)", () => {
    const row = recovery("ring-500ms");
    expect(row.protocol === "ring" && row.recoverySeconds.value).toBeGreaterThanOrEqual(5 * 0.05 + 3 * 0.02);
  });

  test("rapid spanning tree: three hellos of 2 s (from memory)", () => {
    const row = recovery("rapid-spanning-tree");
    expect(row.protocol === "rapid-spanning-tree" && row.silentSeconds.value).toBe(3 * 2);
  });

  test("every row says what it is, and every number where it comes from", () => {
    for (const name of RECOVERIES) {
      const row = recovery(name);
      expect(row.name).toBe(name);
      expect(row.words.length).toBeGreaterThan(3);
      for (const number of Object.values(row))
        if (typeof number === "object" && number !== null) expect(number.source).not.toBe("");
    }
  });
});

describe("two bridges, two cables", () => {
  const pair = (name: RecoveryName, happenings: readonly Happening[]) =>
    bridgeRig({
      recovery: name,
      bridges: [{ id: "foh" }, { id: "stage" }],
      cables: [
        { id: "main", a: "foh", b: "stage" },
        { id: "spare", a: "foh", b: "stage" },
      ],
      happenings,
    });
  const handshake = recovery("rapid-spanning-tree");
  const handshakeSeconds = handshake.protocol === "rapid-spanning-tree" ? handshake.handshakeSeconds.value : Number.NaN;

  test.each([
    ["spanning-tree", 30],
    ["rapid-spanning-tree", handshakeSeconds],
  ] as const)("%s: one cable is held back, and carries %f s after the break is noticed", (name, seconds) => {
    const rig = pair(name, [unplug(10, "main")]);
    rig.playTo(9);
    expect(rig.heardAt("foh")).toEqual(["stage"]);
    expect(rig.heardAt("stage")).toEqual(["foh"]);
    expect(rig.decisions()).toMatchObject([{ seconds: 0, forwards: "main", blocked: "spare" }]);
    expectReached(rig, "stage", "foh", 10 + NOTICE_SECONDS + seconds);
    expect(rig.heardAt("foh")).toEqual(["stage"]);
    expect(rig.decisions().slice(1)).toMatchObject([
      { seconds: 10 + NOTICE_SECONDS, forwards: "", blocked: "spare" },
      { seconds: 10 + NOTICE_SECONDS + seconds, forwards: "spare", blocked: "" },
    ]);
  });

  test("spanning tree: the cable that comes back costs as much again, and from the instant that it is up", () => {
    const rig = pair("spanning-tree", [unplug(10, "main"), plug(100, "main")]);
    rig.playTo(100 + COMING_UP_SECONDS - SOON);
    expect(rig.heardAt("stage")).toEqual(["foh"]);
    rig.playTo(100 + COMING_UP_SECONDS + SOON);
    expect(rig.heardAt("stage")).toEqual([]);
    expectReached(rig, "stage", "foh", 100 + COMING_UP_SECONDS + 30);
  });

  test("no recovery: nothing passes while the two make a loop, all of it at once when one is out", () => {
    const rig = pair("none", [unplug(10, "main"), plug(20, "main")]);
    expect(rig.decisions()).toMatchObject([{ forwards: "", row: { fact: { storm: true } } }]);
    expectReached(rig, "stage", "foh", 10 + NOTICE_SECONDS);
    expect(rig.decisions()[1]).toMatchObject({ forwards: "spare", blocked: "", row: { fact: { storm: false } } });
    rig.playTo(20 + COMING_UP_SECONDS + SOON);
    expect(rig.heardAt("stage")).toEqual([]);
    expect(rig.decisions()[2]?.row.fact).toMatchObject({ storm: true });
  });

  test("a break shorter than noticing changes nothing that bridges agree", () => {
    const rig = pair("spanning-tree", [unplug(10, "main"), plug(10 + NOTICE_SECONDS / 2, "main")]);
    rig.playTo(10 + SOON);
    expect(rig.heardAt("stage")).toEqual([]);
    expectReached(rig, "stage", "foh", 10 + NOTICE_SECONDS / 2);
    rig.playTo(60);
    expect(rig.decisions()).toHaveLength(1);
  });
});

describe("three bridges in a triangle", () => {
  /** The root is foh; the cable between mon and stage is held back at stage, the higher of the two. */
  const triangle = (name: RecoveryName, happenings: readonly Happening[], noticeSeconds = NOTICE_SECONDS) =>
    bridgeRig({
      recovery: name,
      bridges: [{ id: "foh", priority: 4096 }, { id: "mon" }, { id: "stage" }],
      cables: [
        { id: "foh-mon", a: "foh", b: "mon" },
        { id: "foh-stage", a: "foh", b: "stage" },
        { id: "mon-stage", a: "mon", b: "stage" },
      ],
      happenings,
      noticeSeconds,
    });

  test("30 s where the bridge that must open its port sees the break itself (READ: 2 × 15 s)", () => {
    const rig = triangle("spanning-tree", [unplug(10, "foh-stage")]);
    expectReached(rig, "stage", "foh", 10 + NOTICE_SECONDS + 30);
  });

  test("50 s where it does not (READ: 20 s until what it has heard is too old, then 2 × 15 s)", () => {
    const rig = triangle("spanning-tree", [unplug(10, "foh-mon")]);
    rig.playTo(45);
    expect(rig.heardAt("stage")).toEqual(["foh"]);
    expectReached(rig, "mon", "foh", 10 + NOTICE_SECONDS + 50);
    expect(rig.heardAt("mon")).toEqual(["foh", "stage"]);
  });

  test("the root dies: each neighbour sees that itself, from the instant that its cable says so", () => {
    const rig = triangle("spanning-tree", [{ at: 10, do: "off", what: "foh" }]);
    expectReached(rig, "stage", "mon", 10 + NOTICE_SECONDS + 30);
    expect(rig.heardAt("mon")).toEqual(["stage"]);
    // And back: the root's cables begin to wait when they are up.
    const back = triangle("spanning-tree", [
      { at: 10, do: "off", what: "foh" },
      { at: 100, do: "on", what: "foh" },
    ]);
    expectReached(back, "stage", "foh", 100 + COMING_UP_SECONDS + 30);
  });

  test("waiting for what was heard to age ends when the bridge sees a break itself", () => {
    const rig = triangle("spanning-tree", [
      { at: 10, do: "unplug", what: "foh-mon" },
      { at: 15, do: "unplug", what: "foh-stage" },
    ]);
    expectReached(rig, "stage", "mon", 15 + NOTICE_SECONDS + 30);
    const opened = rig.decisions().at(-1);
    expect(rig.engine.moment().rows[opened?.row.cause ?? -1]?.atNs).toBe(15e9);
  });

  test("rapid spanning tree: whoever sees the break, all hear of it", () => {
    const row = recovery("rapid-spanning-tree");
    if (row.protocol !== "rapid-spanning-tree") throw new Error(row.protocol);
    const { handshakeSeconds, silentSeconds } = row;
    for (const cable of ["foh-mon", "foh-stage"]) {
      const rig = triangle("rapid-spanning-tree", [unplug(10, cable)]);
      expectReached(rig, cable.slice(4), "foh", 10 + NOTICE_SECONDS + handshakeSeconds.value);
    }
    // Where no cable says that a neighbour is dead, three hellos do (from memory).
    const rig = triangle("rapid-spanning-tree", [{ at: 10, do: "off", what: "foh" }], 20);
    expectReached(rig, "stage", "mon", 10 + silentSeconds.value + handshakeSeconds.value);
  });
});

describe("a ring of four", () => {
  const ids = ["foh", "mon", "rec", "stage"];
  /** foh is the manager; its higher port, towards stage, is held back. */
  const ring = (name: RecoveryName, happenings: readonly Happening[]) =>
    bridgeRig({
      recovery: name,
      bridges: ids.map((id) => ({ id })),
      cables: [
        { id: "foh-mon", a: "foh", b: "mon" },
        { id: "mon-rec", a: "mon", b: "rec" },
        { id: "rec-stage", a: "rec", b: "stage" },
        { id: "stage-foh", a: "stage", b: "foh" },
      ],
      happenings,
    });
  const profiles = RECOVERIES.map(recovery).filter((row): row is RingRecovery => row.protocol === "ring");

  test.each(profiles)("$words: whole again so long after a break is noticed, and mended without a gap", (row) => {
    const { value } = row.recoverySeconds;
    const rig = ring(row.name, [unplug(10, "mon-rec"), plug(20, "mon-rec")]);
    rig.playTo(9);
    for (const id of ids) expect(rig.heardAt(id)).toEqual(ids.filter((other) => other !== id));
    expect(rig.frameAt("stage", "foh")?.path.bridges).toBe(4); // all four on the long way round
    rig.playTo(10 + SOON);
    expect(rig.heardAt("stage")).toEqual(["rec"]);
    expectReached(rig, "stage", "foh", 10 + NOTICE_SECONDS + value);
    expect(rig.frameAt("stage", "foh")?.path.bridges).toBe(2);
    const mended = 20 + COMING_UP_SECONDS + value;
    for (const seconds of [20 + COMING_UP_SECONDS, mended - SOON, mended + SOON]) {
      rig.playTo(seconds);
      for (const id of ids) expect(rig.heardAt(id), `${id} at ${seconds}`).toHaveLength(3);
    }
    expect(rig.decisions().map(({ seconds, forwards }) => [seconds, forwards])).toEqual([
      [0, "foh-mon mon-rec rec-stage"],
      [10 + NOTICE_SECONDS, "foh-mon rec-stage"],
      [10 + NOTICE_SECONDS + value, "foh-mon rec-stage stage-foh"],
      [20 + COMING_UP_SECONDS, "foh-mon rec-stage stage-foh"], // back, and held back so far
      [mended, "foh-mon mon-rec rec-stage"],
    ]);
  });

  test("cut twice: two parts, and each goes on inside", () => {
    const rig = ring("ring-200ms", [unplug(10, "mon-rec"), unplug(20, "stage-foh"), plug(30, "mon-rec")]);
    rig.playTo(29);
    expect(ids.map((id) => rig.heardAt(id))).toEqual([["mon"], ["foh"], ["stage"], ["rec"]]);
    // One of them back closes nothing: it waits as long, and nothing is held back.
    expectReached(rig, "rec", "mon", 30 + COMING_UP_SECONDS + 0.2);
    expect(rig.decisions().at(-1)).toMatchObject({ forwards: "foh-mon mon-rec rec-stage", blocked: "" });
  });

  test("a bridge of the ring dies, the manager or another: the rest is whole again", () => {
    const other = ring("ring-30ms", [{ at: 10, do: "off", what: "rec" }]);
    expectReached(other, "stage", "foh", 10 + 0.03);
    const manager = ring("ring-30ms", [{ at: 10, do: "off", what: "foh" }]);
    manager.playTo(11);
    expect(manager.heardAt("stage")).toEqual(["mon", "rec"]);
  });

  test("cables that are no single ring: a tree, in the ring's time", () => {
    const rig = bridgeRig({
      recovery: "ring-200ms",
      bridges: ids.map((id) => ({ id })),
      cables: [
        { id: "foh-mon", a: "foh", b: "mon" },
        { id: "mon-rec", a: "mon", b: "rec" },
        { id: "rec-foh", a: "rec", b: "foh" },
        { id: "rec-stage", a: "rec", b: "stage" },
      ],
      happenings: [unplug(10, "foh-mon")],
    });
    expect(rig.decisions()).toMatchObject([{ forwards: "foh-mon rec-foh rec-stage", blocked: "mon-rec" }]);
    expectReached(rig, "mon", "foh", 10 + NOTICE_SECONDS + 0.2);
  });
});
