/** How short a break must be: the closed form against real runs, searched by halving down to a microsecond. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { HopPlan, Plan, SparePlan } from "../../shared/plan.ts";
import type { RunRecord } from "../../shared/record.ts";
import type { RidesOutSummary } from "../../shared/summary.ts";
import type { Ns } from "../../shared/time.ts";
import { carrierLine } from "../../sim/hearing/carriers.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { ridesOut } from "../../sim/rides-out.ts";
import { looksOf } from "../../sim/timeline.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import { plans } from "../helpers/random-rig.ts";

const BREAK_NS = 5e9;
const MICROSECOND = 1000;
/** No threshold in these rigs is longer: hold-off 3 s, by hand 6 s, noticing 0.4 s. */
const LONGEST_NS = 8e9;

function brokenFor(plan: Plan, link: string, forNs: number): Plan {
  const whole = { end: null, way: null, into: null, link } as const;
  const events: Plan["events"] = [
    { atNs: BREAK_NS as Ns, undoes: null, do: "unplug", ...whole },
    { atNs: (BREAK_NS + forNs) as Ns, undoes: 0, do: "plug", ...whole },
  ];
  return { ...plan, events, lengthNs: 30e9 as Ns };
}

/** The shortest break that brings something about, to a microsecond; what it brings about must not depend on more. */
function threshold(plan: Plan, link: string, isBeyond: (record: RunRecord) => boolean): number {
  let [ridden, beyond] = [0, LONGEST_NS];
  expect(isBeyond(rehearse(brokenFor(plan, link, beyond)).record)).toBe(true);
  while (beyond - ridden > MICROSECOND) {
    const middle = Math.round((ridden + beyond) / 2);
    if (isBeyond(rehearse(brokenFor(plan, link, middle)).record)) beyond = middle;
    else ridden = middle;
  }
  return beyond / 1e9;
}

const rigs = plans({
  devices: [2, 4],
  seconds: [60, 60],
  spares: true,
  secondSources: true,
  eventCount: [0, 0],
  wideRanges: true,
});

interface SpareCase {
  readonly plan: Plan;
  readonly hop: HopPlan;
  readonly row: RidesOutSummary;
}

const spareCases: fc.Arbitrary<SpareCase | null> = fc
  .record({
    plan: rigs,
    which: fc.nat(),
    mode: fc.constantFrom("standby", "duplicate", "manual"),
    byHandMs: fc.integer({ min: 1, max: 6000 }),
    skewMs: fc.oneof(fc.integer({ min: 11, max: 600 }), fc.integer({ min: -600, max: -11 })),
  })
  .map(({ plan: bare, which, mode, byHandMs, skewMs }) => {
    const pair = bare.spares[which % Math.max(1, bare.spares.length)];
    const hop = bare.feeds.flatMap(({ hops }) => hops).find(({ spare }) => spare === pair?.id);
    if (pair === undefined || hop === undefined) return null;
    const group: SparePlan =
      mode === "standby"
        ? pair
        : mode === "manual"
          ? { ...pair, mode: "manual", switchSeconds: byHandMs / 1000, revertive: false, waitToRestoreSeconds: 0 }
          : {
              ...pair,
              mode: "duplicate",
              switchSeconds: 0,
              revertive: false,
              waitToRestoreSeconds: 0,
              windowSeconds: 0.01,
            };
    const links = bare.links.map((link) =>
      pair.links.includes(link.id)
        ? { ...link, latencySeconds: 0.7 + (mode === "duplicate" && link.id === pair.links[1] ? skewMs / 1000 : 0) }
        : link,
    );
    const plan = { ...bare, links, spares: bare.spares.map((each) => (each.id === pair.id ? group : each)) };
    const row = ridesOut(plan).find(({ kind, id }) => kind === "spare" && id === pair.id) as RidesOutSummary;
    return { plan, hop, row };
  });

const isSwitched =
  ({ plan, hop }: SpareCase) =>
  (record: RunRecord) =>
    carrierLine(plan, hop, looksOf(record)).changes.length > 1;

describe("a spare group", () => {
  test("keeps its main through breaks shorter than it says, in every mode", { timeout: PATIENCE_MS }, () => {
    const seen: Record<string, number> = {};
    fc.assert(
      fc.property(spareCases, (each) => {
        fc.pre(each !== null);
        if (each === null) return;
        const { row } = each;
        expect(threshold(each.plan, row.link, isSwitched(each))).toBeCloseTo(row.seconds as number, 5);
        const isLong = (row.seconds as number) > row.unnoticedSeconds + 1e-6;
        const key = `${row.beyond} ${isLong ? "noticed" : "unnoticed"}`;
        seen[key] = (seen[key] ?? 0) + 1;
      }),
      tries(30),
    );
    for (const key of ["spare noticed", "spare unnoticed", "by-hand noticed", "gap noticed", "gap unnoticed"])
      expect(seen[key] ?? 0, key).toBeGreaterThan(0);
  });

  test("which catches a claim that leaves out the time to come up", { timeout: PATIENCE_MS }, () => {
    const law = fc.property(spareCases, (each) => {
      fc.pre(each !== null && each.row.beyond === "by-hand");
      if (each === null) return;
      expect(threshold(each.plan, each.row.link, isSwitched(each))).toBeCloseTo(
        each.row.beyondAfterSeconds as number,
        5,
      );
    });
    expect(isCaught(fc.check, law, 10)).toBe(true);
  });

  test("that has nothing else plugged in says that nothing takes over", { timeout: PATIENCE_MS }, () => {
    let dead = 0;
    fc.assert(
      fc.property(spareCases, (each) => {
        fc.pre(each !== null);
        if (each === null) return;
        const { plan, hop, row } = each;
        const links = plan.links.map((link) =>
          link.id === hop.over[1]?.link ? { ...link, atStart: "unplugged" as const } : link,
        );
        const bare = { ...plan, links };
        expect(ridesOut(bare).find(({ id, kind }) => kind === "spare" && id === row.id)).toMatchObject({
          beyond: "none",
          seconds: null,
        });
        const { record } = rehearse(brokenFor(bare, row.link, LONGEST_NS));
        expect(carrierLine(bare, hop, looksOf(record)).changes).toHaveLength(1);
        dead += 1;
      }),
      tries(15),
    );
    expect(dead).toBeGreaterThan(8);
  });
});

interface ClockCase {
  readonly plan: Plan;
  readonly row: RidesOutSummary;
}

const clockCases: fc.Arbitrary<ClockCase | null> = fc.record({ plan: rigs, which: fc.nat() }).map(({ plan, which }) => {
  const rows = ridesOut(plan).filter(({ kind }) => kind === "clock");
  const row = rows[which % Math.max(1, rows.length)];
  return row === undefined ? null : { plan, row };
});

/** Beyond: it chose anew, or, where there is nothing to choose, it is on its own. */
const isBeyondFor =
  ({ id, beyond, beyondAfterSeconds, unnoticedSeconds }: RidesOutSummary) =>
  (record: RunRecord) => {
    const chooses = beyond === "next-source" || (beyondAfterSeconds ?? 0) > unnoticedSeconds;
    return record.rows.some(
      ({ subject, atNs, fact }) =>
        subject === `device ${id}` &&
        atNs >= BREAK_NS &&
        fact.kind === "clock" &&
        (chooses ? fact.reason === "a source was chosen" : fact.state === beyondState(beyond)),
    );
  };

const beyondState = (beyond: RidesOutSummary["beyond"]) => (beyond === "holdover" ? "holdover" : "free-run");

describe("a follower", () => {
  test("keeps its source through breaks shorter than it says", { timeout: PATIENCE_MS }, () => {
    const seen: Record<string, number> = {};
    fc.assert(
      fc.property(clockCases, (each) => {
        fc.pre(each !== null);
        if (each === null) return;
        const { plan, row } = each;
        const start = rehearse({ ...plan, lengthNs: 1e9 as Ns }).summary.devices.find(({ id }) => id === row.id);
        fc.pre(start?.states.length === 1 && start.states[0]?.state === "locked");
        expect(threshold(plan, row.link, isBeyondFor(row))).toBeCloseTo(row.seconds as number, 5);
        const key = `${row.beyond} ${(row.seconds as number) > row.unnoticedSeconds + 1e-6 ? "noticed" : "unnoticed"}`;
        seen[key] = (seen[key] ?? 0) + 1;
      }),
      tries(45),
    );
    for (const key of [
      "next-source noticed",
      "next-source unnoticed",
      "own-clock noticed",
      "own-clock unnoticed",
      "holdover unnoticed",
    ])
      expect(seen[key] ?? 0, key).toBeGreaterThan(0);
  });

  test("and no end of the cable notices a break shorter than noticing", { timeout: PATIENCE_MS }, () => {
    let seen = 0;
    fc.assert(
      fc.property(clockCases, (each) => {
        fc.pre(each !== null && each.row.unnoticedSeconds > 0);
        if (each === null) return;
        const { plan, row } = each;
        const isNoticed = (record: RunRecord) =>
          record.rows.some(
            ({ subject, fact }) => subject.startsWith(`link ${row.link} `) && fact.kind === "link" && fact.noticed,
          );
        expect(threshold(plan, row.link, isNoticed)).toBeCloseTo(row.unnoticedSeconds, 5);
        seen += 1;
      }),
      tries(10),
    );
    expect(seen).toBeGreaterThan(5);
  });
});
