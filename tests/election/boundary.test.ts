/** Boundary devices in time: how the time of a leader is passed on, by which of several ways, and what dies out in a ring. */
import { describe, expect, test } from "vitest";
import type { PtpProfileName } from "../../shared/plan.ts";
import { electionNumbers } from "../../sim/election/numbers.ts";
import type { HandNode } from "./hand-network.ts";
import { electionLines, playByHand } from "./hand-network.ts";
import type { Line } from "./reading.ts";
import { announcing, announcingSince, linesOf } from "./reading.ts";

describe("boundary devices", () => {
  const chain: readonly HandNode[] = [
    { id: "foh", on: ["x"], ptp: { priority1: 100 } },
    { id: "sw1", on: ["x", "y"] },
    { id: "sw2", on: ["y", "z"] },
    { id: "pa", on: ["z"] },
  ];
  test("pass the time on, a step each", () => {
    const run = playByHand({ nodes: chain, seconds: 20 });
    expect(electionLines(run, "sw1")).toEqual(["0.000 1 follows foh", "0.000 2 leads foh"]);
    expect(electionLines(run, "sw2")).toEqual(["0.000 1 follows foh via sw1", "0.000 2 leads foh via sw1"]);
    expect(electionLines(run, "pa")).toEqual(["0.000 follows foh via sw2"]);
    const { fact } = run.rows.find(({ subject }) => subject === "node pa a") ?? {};
    expect(fact).toMatchObject({ leader: "foh", parent: "sw2", steps: 2 });
    // Its time is that of the device before it.
    expect(run.first.get("pa")?.signal?.seen.through).toEqual(["sw2"]);
  });

  test("a new leader goes down the chain with one announcement a hop", () => {
    const nodes = chain.map((node) => (node.id === "pa" ? { ...node, on: ["z"] } : node));
    const withBetter: HandNode[] = [...nodes, { id: "house", on: ["x"], ptp: { priority1: 1 } }];
    const run = playByHand({ nodes: withBetter, seconds: 60, events: [{ at: 20, off: "house" }] });
    const heardAt = (id: string, port: number | null) =>
      linesOf(run, id, port).find(({ leader }) => leader === "foh")?.at as number;
    const sw1 = heardAt("sw1", 1);
    const sw2 = heardAt("sw2", 1);
    const fohLeads = heardAt("foh", null);
    // foh begins to lead, and its second announcement counts; the others have announced all along, and go on in time.
    expect(sw1).toBeCloseTo(announcingSince(fohLeads).after(fohLeads) + 2, 4);
    expect(sw2).toBeCloseTo(announcing("sw1").after(sw1), 4);
    expect(heardAt("pa", null)).toBeCloseTo(announcing("sw2").after(sw2), 4);
  });

  test("a port that is to pass on waits an interval for each step and one more, but not in 802.1AS", () => {
    // sw hears the far side's leader, who is worse, before it passes the near one's time on there.
    for (const profile of ["default", "802.1as"] as const) {
      const nodes = [
        { id: "foh", on: ["x"], ptp: { priority1: 100 } },
        { id: "sw", on: ["x", "y"], ptp: { priority1: 120 } },
        { id: "pa", on: ["y"], ptp: { priority1: 110 } },
      ];
      const run = playByHand({
        profile,
        nodes,
        seconds: 80,
        events: [
          { at: 20, cut: "sw.2" },
          { at: 40, mend: "sw.2" },
        ],
      });
      const lines = linesOf(run, "sw", 2).filter(({ at }) => at > 40);
      const waits = lines.find(({ role }) => role === "about-to-lead");
      const leads = lines.at(-1) as Line;
      expect(leads).toMatchObject({
        role: "leads",
        leader: "foh",
        parent: "foh",
        reason: "it passes on the time of foh",
      });
      if (profile === "802.1as") expect(waits).toBeUndefined();
      else {
        expect(waits?.reason).toBe("it waits before it passes on the time of foh");
        expect(leads.at).toBeCloseTo((waits?.at as number) + 4, 6); // one step to foh: two intervals
      }
      expect(linesOf(run, "pa").at(-1)).toMatchObject({ role: "follows", leader: "foh", parent: "sw", steps: 1 });
    }
  });

  test("of two ways to one leader the longer is passive, and takes over when the shorter is lost", () => {
    const nodes: HandNode[] = [
      { id: "foh", on: ["x"], ptp: { priority1: 100 } },
      { id: "sw1", on: ["x", "y"] },
      { id: "sw2", on: ["x", "y"] },
      { id: "pa", on: ["y"] },
    ];
    const run = playByHand({ nodes, seconds: 60, events: [{ at: 20, off: "sw1" }] });
    expect(electionLines(run, "sw2")[1]).toBe("0.000 2 passive foh");
    expect(electionLines(run, "pa")[0]).toBe("0.000 follows foh via sw1");
    expect(linesOf(run, "sw2", 2).at(-1)).toMatchObject({ role: "leads", leader: "foh", parent: "foh" });
    expect(linesOf(run, "pa").at(-1)).toMatchObject({ role: "follows", leader: "foh", parent: "sw2", steps: 1 });
  });

  test.each<PtpProfileName>(["default", "st2059-2", "802.1as"])(
    "%s: in a ring of them what a lost leader said goes round at most once, and dies out",
    (profile) => {
      // In 802.1AS by the trace of the path, elsewhere by the wait before passing on. Without the trace it would go round
      // to 254 steps at the last two seeds.
      const { announceNs } = electionNumbers(profile);
      let most = 0;
      for (const [count, seed] of [3, 4, 6, 8].flatMap((n) =>
        ["1", "2", "3", "6", "9"].map((each) => [n, each] as const),
      )) {
        const ring = Array.from({ length: count }, (_, i) => ({ id: `sw${i}`, on: [`s${i}`, `s${(i + 1) % count}`] }));
        const nodes = [{ id: "foh", on: ["s0"], ptp: { priority1: 1 } }, ...ring];
        const run = playByHand({ profile, seed, nodes, seconds: 300, events: [{ at: 20, off: "foh" }] });
        for (const { id } of ring) {
          const all = [...linesOf(run, id, 1), ...linesOf(run, id, 2)];
          for (const { leader, steps, at } of all) {
            if (leader !== "foh") continue;
            expect(steps).toBeLessThan(count);
            expect(at).toBeLessThan(20 + (2 * count * announceNs) / 1e9);
            most = Math.max(most, steps);
          }
          expect(all.at(-1)?.leader, id).toBe("sw0"); // the lowest identity of those left
        }
      }
      expect(most).toBeGreaterThan(1);
    },
  );
});
