/**
 * Nodes in time: when a leader counts, when it no longer does, who leads then, and what their devices get to hear.
 * Instants are worked out from each leader's announcements: its own grid from before the show, and a new one when it
 * begins to lead.
 */
import { describe, expect, test } from "vitest";
import type { HandNode, HandRun } from "./hand-network.ts";
import { electionLines, playByHand } from "./hand-network.ts";
import type { Line } from "./reading.ts";
import { announcing, announcingSince, heardBy, linesOf, three } from "./reading.ts";

describe("from cold", () => {
  test("all listen, the first to give up leads, and the best of all in the end", () => {
    const run = playByHand({ nodes: three, seconds: 60, begin: "cold" });
    for (const id of ["foh", "mon", "pa"]) {
      const [first] = linesOf(run, id) as [Line];
      expect(first.at).toBeGreaterThanOrEqual(3);
      expect(first.at).toBeLessThan(8);
      if (first.role === "leads" && first.at >= 6)
        expect(first.reason).toBe(`nobody announced for ${Math.round(first.at * 10) / 10} s`);
    }
    expect(linesOf(run, "pa").at(-1)).toMatchObject({
      role: "follows",
      leader: "foh",
      reason: "foh has the better priority1",
    });
    expect(heardBy(run, "pa").at(-1)?.[1]).toBe("foh");
  });

  test("802.1AS: the first announcement counts; elsewhere the second", () => {
    for (const profile of ["802.1as", "aes67"] as const) {
      const nodes = [
        { id: "foh", on: ["x"], ptp: { priority1: 100 } },
        { id: "rec", on: ["x"], ptp: { followerOnly: true } },
      ];
      const run = playByHand({ profile, nodes, seconds: 30, begin: "cold" });
      const [leads] = linesOf(run, "foh") as [Line];
      const first = announcingSince(leads.at, profile).after(leads.at);
      const lines = linesOf(run, "rec");
      expect(lines).toHaveLength(1);
      expect(lines[0]).toMatchObject({ role: "follows", leader: "foh", reason: "foh announces" });
      expect(lines[0]?.at).toBeCloseTo(profile === "802.1as" ? first : first + 2, 4);
    }
  });

  test("who never leads only listens, also when the leader is gone", () => {
    const nodes = [
      { id: "foh", on: ["x"] },
      { id: "rec", on: ["x"], ptp: { followerOnly: true, priority1: 1 } },
    ];
    const run = playByHand({ nodes, seconds: 60, events: [{ at: 20, off: "foh" }] });
    expect(electionLines(run, "rec")[0]).toBe("0.000 follows foh");
    expect(linesOf(run, "rec").map(({ role }) => role)).toEqual(["listening"]);
    expect(heardBy(run, "rec").at(-1)?.[1]).toBe("no sync comes from foh");
  });

  test("whose device does not take the network's time leads or keeps quiet, and hears nothing", () => {
    const nodes = [
      { id: "foh", on: ["x"], ptp: { priority1: 1 } },
      { id: "mon", on: ["x"], takes: false },
    ];
    const run = playByHand({ nodes, seconds: 60, events: [{ at: 20, off: "foh" }] });
    expect(electionLines(run, "mon")[0]).toBe("0.000 passive foh");
    expect(linesOf(run, "mon")).toMatchObject([{ role: "leads", leader: "mon" }]);
    expect(heardBy(run, "mon")).toEqual([]);
  });
});

describe("a class that changes", () => {
  const withHouse = (clockClass: number): HandNode[] => [
    { id: "house", on: ["x"], ptp: { clockClass } },
    { id: "spare", on: ["x"], ptp: { clockClass: 13 } },
    { id: "mon", on: ["x"] },
  ];
  test("6 to 7 in holdover: it goes on leading before a 13, and does not follow it", () => {
    const run = playByHand({ nodes: withHouse(6), seconds: 60, events: [{ at: 20, of: "house", clockClass: 7 }] });
    for (const id of ["house", "spare", "mon"]) expect(linesOf(run, id)).toEqual([]);
    expect(electionLines(run, "spare")).toEqual(["0.000 passive house"]);
  });

  test("6 to 187 when that is over: the 13 hears it at its next announcement and leads; it follows", () => {
    const run = playByHand({ nodes: withHouse(6), seconds: 60, events: [{ at: 20, of: "house", clockClass: 187 }] });
    const spare = linesOf(run, "spare") as [Line];
    expect(spare).toMatchObject([{ role: "leads", leader: "spare", reason: "it has the better clock class" }]);
    expect(spare[0].at).toBeCloseTo(announcing("house").after(20), 4);
    const counts = announcingSince(spare[0].at).after(spare[0].at) + 2;
    for (const id of ["house", "mon"]) {
      const last = linesOf(run, id).at(-1) as Line;
      expect(last, id).toMatchObject({ role: "follows", leader: "spare", reason: "spare has the better clock class" });
      expect(last.at, id).toBeCloseTo(counts, 4);
    }
    expect(heardBy(run, "house")).toEqual([[expect.closeTo(counts, 4), "spare"]]);
  });

  test("there and back before the next announcement: nobody hears of it", () => {
    const next = announcing("house").after(20);
    const events = [
      { at: next - 0.2, of: "house", clockClass: 187 },
      { at: next - 0.1, of: "house", clockClass: 6 },
    ];
    const run = playByHand({ nodes: withHouse(6), seconds: 60, events });
    for (const id of ["house", "spare", "mon"]) expect(linesOf(run, id)).toEqual([]);
  });

  test("nobody else: a 248 leads on, whatever its class was", () => {
    const run = playByHand({
      nodes: withHouse(6).slice(0, 1),
      seconds: 60,
      events: [{ at: 20, of: "house", clockClass: 187 }],
    });
    expect(linesOf(run, "house")).toEqual([]);
  });
});

describe("what its device hears", () => {
  test("a follower lags by half of what the two ways differ", () => {
    const nodes = three.slice(0, 2);
    const run = playByHand({
      nodes,
      seconds: 20,
      forthSeconds: 3e-6,
      backSeconds: 1e-6,
      events: [{ at: 10, bend: "foh" }],
    });
    const first = run.first.get("mon");
    expect(first).toMatchObject({ link: "a", way: "there", up: true, signal: { gives: true, rateHz: 48_000 } });
    expect(first?.signal?.flow.phaseSeconds).toBeCloseTo(-1e-6, 15);
    // foh's clock bends: heard as soon as the frame is here.
    const [bent] = run.heard.get("mon") ?? [];
    expect(run.heard.get("mon")).toHaveLength(1);
    expect(bent?.arrival.signal?.flow.rate).toBeCloseTo(1e-6, 15);
    expect(bent?.atNs).toBe(10e9 + 1000);
  });

  test("nothing comes twice, and what others announce is not its business", () => {
    const run = playByHand({
      nodes: three,
      seconds: 20,
      events: [
        { at: 10, bend: "mon" },
        { at: 12, bend: "pa" },
      ],
    });
    for (const id of ["foh", "mon", "pa"]) expect(heardBy(run, id)).toEqual([]);
  });

  test("a leader hears why it gets no time", () => {
    const run = playByHand({ nodes: three, seconds: 60, events: [{ at: 20, off: "foh" }] });
    expect(run.first.get("foh")).toEqual({
      link: "a",
      way: "there",
      up: false,
      signal: null,
      reason: "it leads its network itself",
    });
  });
});

describe("streams", () => {
  test("reach whom they are for, while the sender is alive and the cable carries", () => {
    const nodes: HandNode[] = [
      { id: "foh", on: ["x"], streamsOut: ["foh-pa"] },
      { id: "pa", on: ["x"], streamsIn: ["foh-pa"] },
    ];
    const events = [
      { at: 10, cut: "pa.1" },
      { at: 12, mend: "pa.1" },
      { at: 20, off: "foh" },
      { at: 25, on: "foh" },
    ] as const;
    const said = (run: HandRun) => run.reached.map(({ atNs, reached }) => [Math.round(atNs / 1e6) / 1e3, reached]);
    const changes = [
      [10, false],
      [12, true],
      [20, false],
      [25, true],
    ];
    expect(said(playByHand({ nodes, seconds: 30, events }))).toEqual(changes);
    expect(said(playByHand({ nodes, seconds: 30, events, begin: "cold" }))).toEqual([[0, true], ...changes]);
  });
});

test("a run can be cut at any instant and goes on from a copy", () => {
  const events = [
    { at: 20, off: "foh" },
    { at: 40, on: "foh" },
    { at: 55, syncOff: "foh" },
  ] as const;
  for (const profile of ["default", "802.1as"] as const) {
    const words = { profile, nodes: three, seconds: 80, events };
    const whole = playByHand(words);
    expect(whole.rows.length).toBeGreaterThan(10);
    for (const cutAt of [0.5, 20.1, 23.5, 40.7, 56]) {
      const { rows, heard } = playByHand({ ...words, cutAt });
      expect(rows).toEqual(whole.rows);
      expect(heard).toEqual(whole.heard);
    }
  }
});

test("a run by hand can be repeated", () => {
  const words = { nodes: three, seconds: 60, events: [{ at: 20, off: "foh" }] } as const;
  expect(playByHand(words).rows).toEqual(playByHand(words).rows);
  const other = linesOf(playByHand({ ...words, seed: "2" }), "mon")[0]?.at as number;
  expect(other).not.toBe(linesOf(playByHand(words), "mon")[0]?.at as number);
});
