/**
 * Elections of IEEE 1588 as published: intervals, defaults, who is better than whom, who may follow.
 *
 * Status: READ, seen in a public text or in public code that carries the numbers; the standards themselves are sold and
 * could not be read. [linuxptp] github.com/richardcochran/linuxptp, configs/default.cfg, configs/gPTP.cfg, bmc.c, port.c;
 * [statime] github.com/pendulum-project/statime, statime/src/bmc; [manual] a network-equipment manual's table of media
 * profiles; [table 5] the wording of IEEE 1588-2008 table 5 in a public API reference and two manuals.
 */
import { describe, expect, test } from "vitest";
import type { PtpProfileName } from "../../shared/plan.ts";
import { PTP_PROFILES } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import type { DeviceState } from "../../shared/record.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { clockClassOf } from "../../sim/election/clock-class.ts";
import type { Candidate } from "../../sim/election/compare.ts";
import { compare } from "../../sim/election/compare.ts";
import { decide } from "../../sim/election/decide.ts";
import { announcementBeforeStart } from "../../sim/election/numbers.ts";
import { ownCandidate } from "../../sim/election/own-data.ts";
import type { DataSet } from "../../sim/election/train.ts";
import { gridAtOrBefore } from "../../sim/election/train.ts";
import { electionLines, playByHand, ptpOf } from "../election/hand-network.ts";

// READ [linuxptp] default.cfg and gPTP.cfg; [manual] for AES67 and ST 2059-2. Seconds, and counts of intervals.
test.each([
  { profile: "default", announce: 2, timeout: 3, sync: 1 },
  { profile: "aes67", announce: 2, timeout: 3, sync: 0.125 },
  { profile: "st2059-2", announce: 0.25, timeout: 3, sync: 0.125 },
  { profile: "802.1as", announce: 1, timeout: 3, sync: 0.125 },
] as const)("intervals of $profile", ({ profile, announce, timeout, sync }) => {
  const row = ptpProfile(profile);
  expect(row.announceSeconds.value).toBe(announce);
  expect(row.receiptTimeoutCount.value).toBe(timeout);
  expect(row.syncSeconds.value).toBe(sync);
});

test("what a device says of itself by default", () => {
  // READ [linuxptp] default.cfg: 128, 248, 0xFE, 0xFFFF, 128; gPTP.cfg: priorities 248.
  for (const profile of PTP_PROFILES) {
    const priority = profile === "802.1as" ? 248 : 128;
    const { priority1, clockClass, clockAccuracy, offsetScaledLogVariance, priority2 } = ptpProfile(profile);
    expect(
      [priority1, clockClass, clockAccuracy, offsetScaledLogVariance, priority2].map(({ value }) => value),
    ).toEqual([priority, 248, 0xfe, 0xffff, priority]);
  }
  // READ [linuxptp] gPTP.cfg: syncReceiptTimeout 3.
  expect(ptpProfile("802.1as").syncTimeoutCount).toMatchObject({ value: 3, origin: "standard" });
});

test("every number has a source, or says that it has none", () => {
  for (const profile of PTP_PROFILES)
    for (const [name, cell] of Object.entries(ptpProfile(profile)))
      if (typeof cell === "object") expect(cell.source.length, `${profile} ${name}`).toBeGreaterThan(5);
});

// A leader that falls silent is missed three intervals after its last announcement, READ [linuxptp] default.cfg; up to
// one interval more by chance, READ [linuxptp] port.c, but not in 802.1AS (from memory).
test.each<{ profile: PtpProfileName; from: number; to: number }>([
  { profile: "default", from: 6, to: 8 },
  { profile: "aes67", from: 6, to: 8 },
  { profile: "st2059-2", from: 0.75, to: 1 },
])("$profile: the loss of a leader is noticed $from to $to s after its last announcement", ({ profile, from, to }) => {
  const waits: number[] = [];
  const announceNs = nsFromSeconds(ptpProfile(profile).announceSeconds.value);
  for (let seed = 0; seed < 40; seed++) {
    const nodes = [{ id: "foh", on: ["x"], ptp: { priority1: 1 } }, ...["mon", "pa"].map((id) => ({ id, on: ["x"] }))];
    const run = playByHand({ profile, seed: String(seed), seconds: 40, nodes, events: [{ at: 20, off: "foh" }] });
    const address = { seed: String(seed), device: "foh", network: "a" };
    const last = gridAtOrBefore(announcementBeforeStart(address, announceNs), announceNs, nsFromSeconds(20));
    for (const id of ["mon", "pa"]) {
      const lost = run.rows.find(
        ({ atNs, subject, fact }) => atNs > 20e9 && subject === `node ${id} a` && fact.kind === "election",
      );
      if (lost?.fact.kind !== "election") throw new Error(`${id} has not noticed`);
      waits.push((lost.atNs - last) / 1e9);
      expect(lost.fact.reason).toMatch(/^foh announced nothing for [\d.]+ s$/);
    }
  }
  expect(Math.min(...waits)).toBeGreaterThanOrEqual(from);
  expect(Math.max(...waits)).toBeLessThanOrEqual(to);
  // By chance: all of the range.
  expect(Math.max(...waits) - Math.min(...waits)).toBeGreaterThan(0.9 * (to - from));
});

describe("who is better: figures 34 and 35, the vectors of [statime] dataset_comparison.rs", () => {
  const same: DataSet = {
    priority1: 0,
    clockClass: 0,
    clockAccuracy: 0xfe,
    offsetScaledLogVariance: 0,
    priority2: 0,
    leader: "0000000000000000",
    stepsRemoved: 0,
    sender: { clock: "0000000000000000", port: 0 },
  };
  const of = (words: Partial<DataSet>, receiver = { clock: "0000000000000000", port: 0 }): Candidate => ({
    data: { ...same, ...words },
    receiver,
  });
  const A = "0101010101010101";
  const B = "0202020202020202";
  // READ. From the last field to the first, each set against the verdict of the one before.
  const fields: readonly (readonly [Partial<DataSet>, Partial<DataSet>, string])[] = [
    [{ leader: A }, { leader: B }, "better"],
    [{ priority2: 1 }, { priority2: 0 }, "worse"],
    [{ offsetScaledLogVariance: 0 }, { offsetScaledLogVariance: 1 }, "better"],
    [{ clockAccuracy: 0x23 }, { clockAccuracy: 0x20 }, "worse"], // 1 us against 25 ns
    [{ clockClass: 0 }, { clockClass: 1 }, "better"],
    [{ priority1: 1 }, { priority1: 0 }, "worse"],
  ];
  test.each(fields.map((_, i) => ({ upTo: i + 1 })))("different leaders, $upTo fields", ({ upTo }) => {
    const a = of(Object.assign({}, ...fields.slice(0, upTo).map(([words]) => words)));
    const b = of(Object.assign({}, ...fields.slice(0, upTo).map(([, words]) => words)));
    expect(compare(a, b)).toBe(fields[upTo - 1]?.[2]);
  });

  test("one leader", () => {
    expect(compare(of({}), of({}))).toBe("error-2");
    const heardBy = (port: number) => ({ clock: "0000000000000000", port });
    expect(compare(of({}, heardBy(1)), of({}, heardBy(0)))).toBe("worse-by-topology");
    const sentBy = (clock: string) => ({ sender: { clock, port: 0 } });
    expect(compare(of(sentBy(A), heardBy(1)), of(sentBy(B), heardBy(0)))).toBe("better-by-topology");
    // Heard where it was sent: the longer way's receiver and sender are one.
    const loop = of({ ...sentBy(B), stepsRemoved: 1 }, { clock: B, port: 0 });
    expect(compare(of(sentBy(A)), loop)).toBe("error-1");
    expect(compare(of(sentBy(A)), of({ ...sentBy(B), stepsRemoved: 2 }))).toBe("better");
    // READ [linuxptp] bmc.c, steps one apart: the shorter way is preferred. [statime]'s vector calls it the worse one;
    // of the two readings this is the one by which a way does not get better by getting longer.
    const longer = (receiver: string) => of({ ...sentBy(B), stepsRemoved: 1 }, { clock: receiver, port: 0 });
    expect(compare(of(sentBy(A)), longer(A))).toBe("better");
    expect(compare(of(sentBy(A)), longer("0303030303030303"))).toBe("better-by-topology");
  });
});

describe("who may follow: figure 33, READ [linuxptp] bmc.c, [statime] bmca.rs", () => {
  const heard: Candidate = {
    data: { ...ownCandidate(ptpOf("default", 0, { priority1: 1 }), 248).data, sender: { clock: "00", port: 1 } },
    receiver: { clock: "ff", port: 1 },
  };
  test.each([6, 7, 13, 14, 52, 58, 127])("class %i never follows", (clockClass) => {
    const own = ownCandidate(ptpOf("default", 1), clockClass);
    expect(decide(own, clockClass <= 127, heard, heard)).toBe("P1");
  });
  test.each([128, 187, 193, 248])("class %i may follow", (clockClass) => {
    const own = ownCandidate(ptpOf("default", 1), clockClass);
    expect(decide(own, clockClass <= 127, heard, heard)).toBe("S1");
  });
  test("so it goes with nodes: class 127 against 128", () => {
    const pair = (clockClass: number) => [
      { id: "foh", on: ["x"], ptp: { priority1: 1, clockClass: 6 } },
      { id: "mon", on: ["x"], ptp: { clockClass } },
    ];
    expect(electionLines(playByHand({ nodes: pair(127), seconds: 20, begin: "cold" }), "mon").at(-1)).toMatch(
      / passive foh$/,
    );
    expect(electionLines(playByHand({ nodes: pair(128), seconds: 20, begin: "cold" }), "mon").at(-1)).toMatch(
      / follows foh$/,
    );
  });
});

describe("clockClass by state: READ [table 5]", () => {
  const configured = (clockClass: number) => ptpOf("default", 0, { clockClass });
  const states: readonly (readonly [DeviceState, string | null, ofSix: number, ofThirteen: number])[] = [
    ["locked", "1", 6, 13],
    ["free-run", "internal", 6, 13], // its own oscillator is the reference, by choice
    ["holdover", null, 7, 14],
    ["free-run", null, 187, 193],
    ["acquiring", "1", 187, 193],
    ["starting", null, 187, 193],
    ["off", null, 187, 193],
  ];
  test.each(states)("%s on %s", (state, source, ofSix, ofThirteen) => {
    expect(clockClassOf(configured(6), state, source, false)).toBe(ofSix);
    expect(clockClassOf(configured(13), state, source, false)).toBe(ofThirteen);
    expect(clockClassOf(configured(248), state, source, false)).toBe(248);
    const never = ptpOf("default", 0, { clockClass: 6, followerOnly: true });
    expect(clockClassOf(never, state, source, false)).toBe(255);
  });
  test("what it took from an election makes no reference of it, then or in holdover", () => {
    expect(clockClassOf(configured(6), "locked", "1", true)).toBe(187);
    expect(clockClassOf(configured(6), "holdover", null, true)).toBe(187);
    expect(clockClassOf(configured(248), "locked", "1", true)).toBe(248);
  });
});
