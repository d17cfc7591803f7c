/**
 * Nodes in time: when a leader no longer counts, who leads then, and what brings the old one back. Instants are worked
 * out from each leader's announcements: its own grid from before the show, and a new one when it begins to lead.
 */
import { describe, expect, test } from "vitest";
import type { PtpProfileName } from "../../shared/plan.ts";
import { electionNumbers } from "../../sim/election/numbers.ts";
import type { HandNode } from "./hand-network.ts";
import { playByHand } from "./hand-network.ts";
import type { Line } from "./reading.ts";
import { announcing, announcingSince, heardBy, linesOf, three } from "./reading.ts";

describe("a leader that is lost", () => {
  test("is missed from its last announcement on; the next one leads, the others follow when it counts", () => {
    const run = playByHand({ nodes: three, seconds: 60, events: [{ at: 20, cut: "foh.1" }] });
    const last = announcing("foh").before(20);
    const [monLeads] = linesOf(run, "mon") as [Line];
    expect(monLeads).toMatchObject({ role: "leads", leader: "mon", parent: null, steps: 0 });
    expect(monLeads.at).toBeGreaterThanOrEqual(last + 6);
    expect(monLeads.at).toBeLessThan(last + 8);
    expect(monLeads.reason).toBe(`foh announced nothing for ${Math.round((monLeads.at - last) * 10) / 10} s`);
    // The second announcement of mon makes it count.
    const counts = announcingSince(monLeads.at).after(monLeads.at) + 2;
    expect(linesOf(run, "pa").at(-1)).toMatchObject({ role: "follows", leader: "mon", parent: "mon", steps: 0 });
    expect(linesOf(run, "pa").at(-1)?.at).toBeCloseTo(counts, 4);
    // Everything names the cut.
    const cut = run.rows.findIndex(({ subject }) => subject === "world");
    for (const { cause } of [...linesOf(run, "mon"), ...linesOf(run, "pa"), ...linesOf(run, "foh")])
      expect(cause).toBe(cut);
    // Sync stays away at once, and is missed three intervals after the last.
    const [first, missed, again] = heardBy(run, "pa");
    expect(first).toEqual([20, "nothing yet"]);
    expect(missed?.[1]).toBe("no sync comes from foh");
    expect(missed?.[0]).toBeCloseTo(announcing("foh").lastSync(20) + 3, 6);
    expect(again?.[1]).toBe("mon");
    expect(again?.[0]).toBeCloseTo(counts, 4);
  });

  test("notices its own cable at once, listens when it is back, and leads again when it has heard who is worse", () => {
    const events = [
      { at: 20, cut: "foh.1" },
      { at: 40, mend: "foh.1" },
    ] as const;
    const run = playByHand({ nodes: three, seconds: 80, events, noticeSeconds: 0.25 });
    const lines = linesOf(run, "foh");
    expect(lines.map(({ role, reason }) => [role, reason])).toEqual([
      ["down", "its cable is out"],
      ["listening", "it listens before it leads"],
      ["leads", "it has the better priority1"],
    ]);
    expect(lines[0]?.at).toBe(20.25);
    expect(lines[1]?.at).toBe(40);
    // mon's second announcement from then on; mon has led since it missed foh.
    const [monLeads] = linesOf(run, "mon") as [Line];
    expect(lines[2]?.at).toBeCloseTo(announcingSince(monLeads.at).after(40) + 2, 4);
    // It announces as one who begins to lead, and counts with mon from the second.
    const leadsAt = lines[2]?.at as number;
    const counts = announcingSince(leadsAt).after(leadsAt) + 2;
    const back = linesOf(run, "mon").at(-1) as Line;
    expect(back).toMatchObject({ role: "follows", leader: "foh", reason: "foh has the better priority1" });
    expect(back.at).toBeCloseTo(counts, 4);
  });

  test("a follower whose own cable is out, and knows it, begins anew", () => {
    const events = [
      { at: 20, cut: "pa.1" },
      { at: 22, mend: "pa.1" },
    ];
    const run = playByHand({ nodes: three, seconds: 60, events, noticeSeconds: 0.25 });
    const lines = linesOf(run, "pa");
    expect(lines.map(({ role }) => role)).toEqual(["down", "listening", "follows"]);
    expect(lines[2]?.at).toBeCloseTo(announcing("foh").after(22) + 2, 4);
    expect(heardBy(run, "pa").map(([, what]) => what)).toEqual(["nothing yet", "its cable is out", "foh"]);
  });

  test("is back before it is missed: nobody elects; a cable out for less than that costs sync alone", () => {
    const events = [
      { at: 20, cut: "foh.1" },
      { at: 24, mend: "foh.1" },
    ] as const;
    const run = playByHand({ nodes: three, seconds: 60, events, noticeSeconds: 5 });
    for (const id of ["foh", "mon", "pa"]) expect(linesOf(run, id)).toEqual([]);
    expect(heardBy(run, "pa").map(([, what]) => what)).toEqual(["nothing yet", "no sync comes from foh", "foh"]);
  });

  test("a back cable is too late if the next announcement would come after the wait", () => {
    const last = announcing("foh").before(20);
    // Waits end 6 to 8 s after the last announcement. The cable is back at 6.2 s, the fourth announcement comes at 8 s.
    const late = { kept: 0, missed: 0 };
    const from = last + 6.2;
    for (let i = 0; i < 20; i++) {
      const extra = Array.from({ length: 8 }, (_, k) => ({ id: `d${i}-${k}`, on: ["x"] }));
      const nodes = [...three.slice(0, 1), ...extra];
      const run = playByHand({
        nodes,
        seconds: 60,
        noticeSeconds: 20,
        events: [
          { at: 20, cut: "foh.1" },
          { at: from, mend: "foh.1" },
        ],
      });
      for (const { id } of extra) {
        const missed = linesOf(run, id)[0];
        if (missed === undefined) late.kept += 1;
        else {
          late.missed += 1;
          expect(missed.at).toBeLessThan(last + 8);
        }
      }
    }
    expect(late).toEqual({ kept: 0, missed: 160 });
  });

  test("what was not heard does not count: of two breaks with nothing heard between, the wait is from before the first", () => {
    const foh = announcing("foh");
    const last = foh.before(20);
    const nodes = [three[0] as HandNode, { id: "rec", on: ["x"], ptp: { followerOnly: true } }];
    const events = [
      { at: last + 0.5, cut: "rec.1" },
      { at: last + 2.5, mend: "rec.1" },
      { at: last + 3.5, cut: "rec.1" },
    ];
    const [lost] = linesOf(playByHand({ nodes, seconds: 60, noticeSeconds: 30, events }), "rec") as [Line];
    expect(lost.role).toBe("listening");
    expect(lost.at).toBeGreaterThanOrEqual(last + 6);
    expect(lost.at).toBeLessThan(last + 8);
  });

  test("two announcements within four intervals count, though the cable was out between them; no others do", () => {
    const nodes = [three[0] as HandNode, { id: "rec", on: ["x"], ptp: { followerOnly: true } }];
    const off = [
      { at: 1, off: "foh" },
      { at: 15, on: "foh" },
    ];
    const leads = linesOf(playByHand({ nodes, seconds: 60, events: off }), "foh").at(-1) as Line;
    expect(leads.role).toBe("leads");
    const first = announcingSince(leads.at).after(leads.at);
    const followsAt = (mendAt: number): number => {
      const events = [...off, { at: first + 0.5, cut: "rec.1" }, { at: mendAt, mend: "rec.1" }];
      const run = playByHand({ nodes, seconds: 60, noticeSeconds: 30, events });
      return linesOf(run, "rec").find(({ role, at }) => role === "follows" && at > 15)?.at as number;
    };
    expect(followsAt(first + 1)).toBeCloseTo(first + 2, 4);
    expect(followsAt(first + 9)).toBeCloseTo(first + 12, 4);
  });

  test("a follower that has been off knows nobody, though announcements come all the time", () => {
    const events = [
      { at: 20, off: "pa" },
      { at: 25, on: "pa" },
    ];
    const run = playByHand({ nodes: three, seconds: 60, events });
    const lines = linesOf(run, "pa");
    expect(lines.map(({ role }) => role)).toEqual(["down", "listening", "follows"]);
    expect(lines[1]?.at).toBe(25);
    expect(lines[2]?.at).toBeCloseTo(announcing("foh").after(25) + 2, 4);
    expect(heardBy(run, "pa")).toEqual([
      [20, "it is off, or starting"],
      [lines[2]?.at, "foh"],
    ]);
  });

  test.each<PtpProfileName>(["default", "aes67", "st2059-2", "802.1as"])(
    "%s: of a device that goes off, everything is withdrawn, and it begins by listening",
    (profile) => {
      const events = [
        { at: 20, off: "foh" },
        { at: 40, on: "foh" },
      ] as const;
      const run = playByHand({ profile, nodes: three, seconds: 80, events });
      expect(linesOf(run, "foh").map(({ at, role, reason }) => [at, role, reason])).toEqual([
        [20, "down", "it is off, or starting"],
        [40, "listening", "it listens before it leads"],
        [expect.any(Number), "leads", "it has the better priority1"],
      ]);
      expect(linesOf(run, "pa").at(-1)).toMatchObject({ role: "follows", leader: "foh" });
      const numbers = electionNumbers(profile);
      const lost = linesOf(run, "mon")[0] as Line;
      if (profile === "802.1as") {
        // Sync is missed before announcements are.
        expect(lost.at).toBeGreaterThan(20 + 0.25);
        expect(lost.at).toBeLessThanOrEqual(20 + 0.375 + 1e-5);
        expect(lost.reason).toBe("no sync came from foh");
      } else {
        const last = announcing("foh", profile).before(20);
        expect(lost.at).toBeGreaterThanOrEqual(last + numbers.receiptNs / 1e9);
        expect(lost.at).toBeLessThan(last + (numbers.receiptNs + numbers.receiptSpreadNs) / 1e9);
      }
    },
  );
});
