/**
 * Law 5: shifting every event of the world shifts the record. A rig that stands settled has no memory of how long it
 * has stood: true while nothing ages and nobody is out of step before the first event. The leader is exact here, so that
 * a clock that is born at x = 0 finds the others where they would have been. Chance has an address in show time, so with
 * wander the law holds where the draws shift along: by whole blocks of them, with nothing drawn before.
 */
import fc from "fast-check";
import { afterEach, expect, test, vi } from "vitest";
import { BLOCK } from "../../shared/own-wander.ts";
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { wanderAt } from "../../shared/wander.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Played } from "../helpers/play.ts";
import { play, wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";
import { streams } from "../helpers/scripted-streams.ts";

vi.mock("../../shared/random.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofRandom(await original()),
);
vi.mock("../../shared/uniforms.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofUniforms(await original()),
);
afterEach(() => {
  streams.uniform = null;
});

/** A deviate of some 1e-10, and so a clock that stands still. */
const MIDDLE = 0.5;

/** No draw in the first interval of the show, nor in as many blocks before it as it says: each stream has one a knot. */
function shiftWander(blocks: number): void {
  const first = blocks * BLOCK;
  streams.uniform = ({ purpose }, place, realAt) => {
    if (!purpose.startsWith("wander of")) return realAt(place);
    return place <= first ? MIDDLE : realAt(place - first);
  };
}

/**
 * The phases of free oscillators are sums over another time, so their last bits differ: some 1e-17 s, which moves a
 * crossing by 1e-17 s over its slope, under a nanosecond down to slopes of 1e-8. The whole nanosecond then found may be
 * the next one, and what follows from it as well.
 */
const SHIFT_NS = 4;

const wish: Wish = { secondSources: true, spares: true, wideRanges: true, eventCount: [2, 8], seconds: [60, 240] };

function withExactLeader(plan: Plan): Plan {
  return {
    ...plan,
    devices: plan.devices.map((device) =>
      plan.leaders.includes(device.id) ? { ...device, oscillator: { ...device.oscillator, offsetPpm: 0 } } : device,
    ),
  };
}

const settled = plans(wish).map(withExactLeader);

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

function expectShifted(early: Played, late: Played, byNs: number, withinNs = SHIFT_NS): void {
  const subjects = new Set(early.rows.map(({ subject }) => subject));
  for (const subject of subjects) {
    const a = afterStart(early).filter((row) => row.subject === subject);
    const b = afterStart(late).filter((row) => row.subject === subject);
    expect(b.map(outline)).toEqual(a.map(outline));
    for (const [index, row] of a.entries()) {
      expect(Math.abs((b[index] as Row).atNs - row.atNs - byNs)).toBeLessThanOrEqual(withinNs);
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

/**
 * With wander two clocks may meet a level at a slope of 1e-9 or less, and the bits of 1e-17 s are then tens of
 * nanoseconds; what a standing clock's tiny deviates add up to is less.
 */
const CHANCE_NS = 2000;

test("shifting every event and all of chance shifts the record", { timeout: PATIENCE_MS }, () => {
  const seen = { rows: 0, slips: 0, states: 0, wandering: 0 };
  const gridSeconds = 0.25;
  // Flicker begins as if it had gone on for ever: it is left out.
  const wandering = [
    { sigma1: 3e-10, sigma2: 6e-10, sigma3: 0, hMinus1: 0 },
    { sigma1: 1e-7, sigma2: 0, sigma3: 0, hMinus1: 0 },
    { sigma1: 0, sigma2: 2e-8, sigma3: 0, hMinus1: 0 },
  ];
  // No loss before a whole averaging time has passed: from the start on there is less to average.
  const kind: Wish = {
    quietSeconds: 13,
    seconds: [60, 160],
    averaging: true,
    wandering,
    wanderGridSeconds: gridSeconds,
  };
  const rigs = plans({ ...wish, ...kind });
  fc.assert(
    fc.property(rigs.map(withExactLeader), fc.constantFrom(1, 2), (plan, blocks) => {
      const byNs = blocks * BLOCK * gridSeconds * 1e9;
      shiftWander(0);
      const early = play(plan);
      shiftWander(blocks);
      expectShifted(early, play(later(plan, byNs)), byNs, CHANCE_NS);
      seen.rows += early.rows.length;
      for (const { atNs, fact } of early.rows) {
        if (fact.kind === "slips") seen.slips += fact.count;
        if (fact.kind === "clock" && atNs > 0) seen.states += 1;
        if (fact.kind === "flow" && fact.flow?.wander?.kind === "loop") seen.wandering += 1;
      }
    }),
    { ...tries<[Plan, number]>(25), endOnFailure: true },
  );
  expect(seen.rows).toBeGreaterThan(1000);
  expect(seen.slips).toBeGreaterThan(20);
  expect(seen.states).toBeGreaterThan(40);
  expect(seen.wandering).toBeGreaterThan(200);
});

test("a power cut shifts no draw", { timeout: PATIENCE_MS }, () => {
  const seen = { cuts: 0, differing: 0 };
  const rigs = plans({ ...wish, events: ["power", "supply"], eventCount: [1, 4], wandering: true, seconds: [60, 120] });
  fc.assert(
    fc.property(rigs, (plan) => {
      const cut = play(plan);
      const whole = play({ ...plan, events: [] });
      const own = (played: Played, id: string, at: Ns) =>
        wanderAt(played.timebases.findLast(({ device }) => device === id)?.wander ?? null, at);
      for (const { id, oscillator } of plan.devices) {
        if (oscillator.wander === null) continue;
        if (cut.timebases.filter(({ device }) => device === id).length > 1) seen.cuts += 1;
        for (let n = 1; n <= 20; n++) {
          const at = Math.floor((plan.lengthNs * n) / 20) as Ns;
          expect(own(cut, id, at)).toBe(own(whole, id, at));
          if (own(cut, id, at) !== 0) seen.differing += 1;
        }
      }
      // Of the clocks that a cut device puts out on its own, chance is that of its oscillator, not of its new life.
      for (const { fact, subject, atNs } of cut.rows) {
        if (fact.kind !== "flow" || fact.flow?.wander?.kind !== "own") continue;
        expect(wanderAt(fact.flow.wander, atNs)).toBe(own(whole, fact.flow.wander.device, atNs));
        expect(subject).toBe(`device ${fact.flow.wander.device}`);
      }
    }),
    tries(20),
  );
  expect(seen.cuts).toBeGreaterThan(5);
  expect(seen.differing).toBeGreaterThan(200);
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
