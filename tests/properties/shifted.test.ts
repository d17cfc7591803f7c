/**
 * Law 5: shifting every event of the world shifts the record. A rig that stands settled has no memory of how long it
 * has stood: true while nothing ages and nobody is out of step before the first event. The leader is exact here, so that
 * a clock that is born at x = 0 finds the others where they would have been.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Played } from "../helpers/play.ts";
import { play, wrapMachines } from "../helpers/play.ts";
import { plans } from "../helpers/random-rig.ts";

/**
 * The phases of free oscillators are sums over another time, so their last bits differ: some 1e-17 s, which moves a
 * crossing by 1e-17 s over its slope, under a nanosecond down to slopes of 1e-8. The whole nanosecond then found may be
 * the next one, and what follows from it as well.
 */
const SHIFT_NS = 4;

const settled = plans({
  secondSources: true,
  spares: true,
  wideRanges: true,
  eventCount: [2, 8],
  seconds: [60, 240],
}).map(
  (plan): Plan => ({
    ...plan,
    devices: plan.devices.map((device) =>
      plan.leaders.includes(device.id) ? { ...device, oscillator: { ...device.oscillator, offsetPpm: 0 } } : device,
    ),
  }),
);

function later(plan: Plan, byNs: number): Plan {
  return {
    ...plan,
    lengthNs: (plan.lengthNs + byNs) as Ns,
    events: plan.events.map((event) => ({ ...event, atNs: (event.atNs + byNs) as Ns })),
  };
}

/** A row without what depends on when: instants, and phases against oscillators that have run for longer. */
function outline({ fact, subject, cause }: Row): string {
  const place = cause < 0 ? "start" : "caused";
  switch (fact.kind) {
    case "event":
      return `${subject} ${fact.event.do} ${place}`;
    case "flow":
      return `${subject} ${fact.flow === null ? "silent" : `flow of ${fact.flow.timebase}`} ${place}`;
    case "re-aligned":
      return `${subject} re-aligned ${(fact.bySeconds * 48_000).toFixed(6)} ${place}`;
    case "slips":
      return `${subject} ${fact.link} ${fact.way} ${fact.sign * fact.count} slips ${place}`;
    default:
      return `${subject} ${JSON.stringify(fact)} ${place}`;
  }
}

function afterStart({ rows }: Played): Row[] {
  return rows
    .filter(({ atNs }) => atNs > 0)
    .sort((a, b) => a.atNs - b.atNs || (a.subject < b.subject ? -1 : a.subject > b.subject ? 1 : 0));
}

function expectShifted(early: Played, late: Played, byNs: number): void {
  const subjects = new Set(early.rows.map(({ subject }) => subject));
  for (const subject of subjects) {
    const a = afterStart(early).filter((row) => row.subject === subject);
    const b = afterStart(late).filter((row) => row.subject === subject);
    expect(b.map(outline)).toEqual(a.map(outline));
    for (const [index, row] of a.entries()) {
      expect(Math.abs((b[index] as Row).atNs - row.atNs - byNs)).toBeLessThanOrEqual(SHIFT_NS);
    }
  }
}

test("shifting every event shifts the record", { timeout: PATIENCE_MS }, () => {
  const seen = { rows: 0, slips: 0, states: 0 };
  fc.assert(
    fc.property(settled, fc.noBias(fc.integer({ min: 1, max: 100_000_000_000 })), (plan, byNs) => {
      const early = play(plan);
      expect(
        early.rows.filter(({ atNs, fact }) => atNs < (plan.events[0]?.atNs ?? 0) && atNs > 0 && fact.kind !== "event"),
      ).toEqual([]);
      expectShifted(early, play(later(plan, byNs)), byNs);
      seen.rows += early.rows.length;
      for (const { atNs, fact } of early.rows) {
        if (fact.kind === "slips") seen.slips += fact.count;
        if (fact.kind === "clock" && atNs > 0) seen.states += 1;
      }
    }),
    tries(30),
  );
  expect(seen.rows).toBeGreaterThan(1500);
  expect(seen.slips).toBeGreaterThan(20);
  expect(seen.states).toBeGreaterThan(60);
});

test("which catches a machine that knows what time it is", { timeout: PATIENCE_MS }, () => {
  // After ninety seconds of show its links take a millisecond longer: a wake that is early or late by the clock.
  const clockWatcher = (plan: Plan): Played =>
    play(plan, (rig) =>
      wrapMachines(rig, (machine) => ({
        ...machine,
        due: (state) => {
          const due = machine.due(state);
          const isLate =
            machine.id.startsWith("link") &&
            due.atNs > 90e9 &&
            due.atNs < Number.MAX_SAFE_INTEGER &&
            due.atNs % 1_000_000 === 0;
          return isLate ? { ...due, atNs: (due.atNs + 1_000_000) as Ns } : due;
        },
      })),
    );
  const law = fc.property(settled, (plan) => expectShifted(clockWatcher(plan), clockWatcher(later(plan, 60e9)), 60e9));
  expect(isCaught(fc.check, law, 30)).toBe(true);
});
