/**
 * A leader that announces and sends no sync. In 802.1AS its announcements are dropped with its sync, and bring it back
 * each time; elsewhere nobody elects.
 */
import { describe, expect, test } from "vitest";
import type { PtpProfileName } from "../../shared/plan.ts";
import { electionNumbers } from "../../sim/election/numbers.ts";
import type { HandNode } from "./hand-network.ts";
import { playByHand } from "./hand-network.ts";
import { announcing, BEGINS_AFTER_SECONDS, heardBy, linesOf, three } from "./reading.ts";

describe("a leader that announces and sends no sync", () => {
  test.each<PtpProfileName>(["default", "aes67", "st2059-2"])(
    "%s: no election; followers hear nothing more",
    (profile) => {
      const run = playByHand({
        profile,
        nodes: three,
        seconds: 60,
        events: [
          { at: 20, syncOff: "foh" },
          { at: 40, syncOn: "foh" },
        ],
      });
      for (const id of ["foh", "mon", "pa"]) expect(linesOf(run, id)).toEqual([]);
      const [first, missed, again] = heardBy(run, "mon");
      const sync = electionNumbers(profile).syncNs / 1e9;
      expect(first?.[1]).toBe("nothing yet");
      expect(first?.[0]).toBeCloseTo(20, 4);
      expect(missed?.[1]).toBe("no sync comes from foh");
      expect(missed?.[0]).toBeCloseTo(announcing("foh", profile).lastSync(20) + 3 * sync, 6);
      expect(again?.[1]).toBe("foh");
      expect(again?.[0]).toBeCloseTo(40, 4);
    },
  );

  test("802.1AS: its announcements are dropped with it, and bring it back each time", () => {
    const nodes = three.slice(0, 2);
    const run = playByHand({ profile: "802.1as", nodes, seconds: 10.5, events: [{ at: 4, syncOff: "foh" }] });
    const lines = linesOf(run, "mon");
    const foh = announcing("foh", "802.1as");
    const roles = lines.map(({ role }) => role);
    expect(roles).toEqual(roles.map((_, i) => (i % 2 === 0 ? "leads" : "follows")));
    // Lost three sync intervals after the last sync; back with each announcement; lost three intervals after that.
    expect(lines[0]?.at).toBeGreaterThan(4.25);
    expect(lines[0]?.at).toBeLessThanOrEqual(4.375 + 1e-5);
    for (const [i, { at, reason }] of lines.entries()) {
      if (i === 0) continue;
      const back = foh.before(at);
      expect(at).toBeCloseTo(i % 2 === 1 ? back : back + 0.375, 4);
      expect(reason).toBe(i % 2 === 1 ? "foh has the better priority1" : "no sync came from foh");
    }
    expect(lines.length).toBeGreaterThanOrEqual(11);
    expect(linesOf(run, "foh")).toEqual([]);
  });
});

test("802.1AS: a port that drops its leader remembers nobody else, and leads until somebody announces", () => {
  const run = playByHand({ profile: "802.1as", nodes: three, seconds: 12, events: [{ at: 4, syncOff: "foh" }] });
  const lost = linesOf(run, "pa").filter(({ reason }) => reason === "no sync came from foh");
  expect(lost.length).toBeGreaterThan(5);
  for (const { role } of lost) expect(role).toBe("leads");
  // In between it has followed mon, who led as well.
  expect(linesOf(run, "pa").some(({ role, leader }) => role === "follows" && leader === "mon")).toBe(true);
});

const AS = "802.1as";
/** Three sync intervals of an eighth of a second. */
const MISSED_AFTER_SECONDS = 0.375;

describe("802.1AS: roles flap, whatever the phases", () => {
  const nodes: readonly HandNode[] = [...three, { id: "rec", on: ["x"], ptp: { followerOnly: true } }];

  test("all drop the old leader together, follow the next in between, and are back with each announcement", () => {
    // Where foh's announcements fall against mon's grid from before the show, and against the stop, in eighths.
    const reached = { gaps: new Set<number>(), stops: new Set<number>(), rounds: 0 };
    for (let i = 0; i < 60; i++) {
      const seed = `phases ${i}`;
      const foh = announcing("foh", AS, seed);
      const stopAt = 4 + i / 60;
      const run = playByHand({ profile: AS, seed, nodes, seconds: 10, events: [{ at: stopAt, syncOff: "foh" }] });
      const eighth = (seconds: number) => Math.floor(seconds * 8);
      reached.gaps.add(eighth(announcing("mon", AS, seed).after(foh.before(4)) - foh.before(4)));
      reached.stops.add(eighth(stopAt - foh.before(stopAt)));

      const expected: Record<"mon" | "pa" | "rec", (readonly [number, string, string | null])[]> = {
        mon: [],
        pa: [],
        rec: [],
      };
      for (let lostAt = foh.lastSync(stopAt) + MISSED_AFTER_SECONDS; lostAt < 10; ) {
        expected.mon.push([lostAt, "leads", "mon"]);
        expected.pa.push([lostAt, "leads", "pa"], [lostAt + BEGINS_AFTER_SECONDS, "follows", "mon"]);
        expected.rec.push([lostAt, "listening", null], [lostAt + BEGINS_AFTER_SECONDS, "follows", "mon"]);
        // One that comes as the old leader is dropped came before that.
        const back = foh.after(lostAt + 1e-6);
        for (const each of Object.values(expected)) each.push([back, "follows", "foh"]);
        lostAt = back + MISSED_AFTER_SECONDS;
        reached.rounds += 1;
      }
      for (const id of ["mon", "pa", "rec"] as const) {
        // What falls on the end of the run is left out.
        const inside = ([at]: readonly [number, ...unknown[]]) => at < 9.99;
        const said = linesOf(run, id).map(({ at, role, leader }) => [at, role, leader] as const);
        expect(said.filter(inside), `${seed}: ${id}`).toEqual(
          expected[id].filter(inside).map(([at, ...what]) => [expect.closeTo(at, 4), ...what]),
        );
      }
      expect(linesOf(run, "foh"), seed).toEqual([]);
    }
    expect(reached.gaps.size).toBe(8);
    expect(reached.stops.size).toBe(8);
    expect(reached.rounds).toBeGreaterThanOrEqual(5 * 60);
  });

  test("what counts is the next announcement: neither what was heard before nor sync that is back", () => {
    const foh = announcing("foh", AS);
    const stopAt = foh.before(5) + 0.3;
    const lostAt = foh.lastSync(stopAt) + MISSED_AFTER_SECONDS;
    const back = foh.after(lostAt);
    // Dropped in the middle between two announcements: both the last and the next are well apart from it.
    expect(lostAt - foh.before(lostAt)).toBeCloseTo(0.625, 6);
    const events = [
      { at: stopAt, syncOff: "foh" },
      { at: lostAt + 0.05, syncOn: "foh" },
      { at: lostAt + 0.1, bend: "foh" },
    ];
    const run = playByHand({ profile: AS, nodes, seconds: 20, events });
    for (const id of ["mon", "pa", "rec"]) {
      const lines = linesOf(run, id);
      expect(lines[0], id).toMatchObject({ at: expect.closeTo(lostAt, 4), reason: "no sync came from foh" });
      const last = lines.at(-1);
      expect(last, id).toMatchObject({ at: expect.closeTo(back, 4), role: "follows", leader: "foh" });
      expect(
        lines.filter(({ leader }) => leader === "foh"),
        id,
      ).toEqual([last]);
    }
    expect(heardBy(run, "rec").map(([, what]) => what)).toEqual([
      "nothing yet",
      "nobody leads its network",
      "mon",
      "foh",
    ]);
  });

  test("an announcement that comes as its sync is missed is dropped with it: the one after that counts", () => {
    const foh = announcing("foh", AS);
    const next = foh.after(5);
    const run = playByHand({ profile: AS, nodes, seconds: 8, events: [{ at: next - 0.3, syncOff: "foh" }] });
    const [lost, ...more] = linesOf(run, "rec");
    expect(lost).toMatchObject({ at: expect.closeTo(next, 6), role: "listening" });
    const back = more.find(({ leader }) => leader === "foh");
    expect(back?.at).toBeCloseTo(next + 1, 4);
  });
});
