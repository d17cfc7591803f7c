/**
 * Law 6: with every offset negated, drops become repeats and repeats drops, at the same instants. True for buffers that
 * start in their middle and cables without delay: a delay does not change its sign with the clocks (a follower is late
 * by it in both worlds), so it is left out here. With wander all draws are turned round as well.
 */
import fc from "fast-check";
import { afterEach, expect, test, vi } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Played } from "../helpers/play.ts";
import { play, withFacts, wrapMachines } from "../helpers/play.ts";
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

const wish: Wish = {
  secondSources: true,
  spares: true,
  loners: true,
  bending: true,
  noDelay: true,
  centredBuffers: true,
  seconds: [60, 300],
};
const rigs = plans(wish);

function mirrored(plan: Plan): Plan {
  const negated = (value: number | null): number | null => (value === null ? null : -value);
  return {
    ...plan,
    devices: plan.devices.map((device) => {
      const { offsetPpm, ageingPpbPerDay, tempcoPpmPerCelsius, tempcoTable, warmUpPpm } = device.oscillator;
      return {
        ...device,
        holdoverErrorPpb: -device.holdoverErrorPpb,
        oscillator: {
          ...device.oscillator,
          offsetPpm: negated(offsetPpm),
          ageingPpbPerDay: -ageingPpbPerDay,
          tempcoPpmPerCelsius: -tempcoPpmPerCelsius,
          tempcoTable: tempcoTable?.map(({ celsius, ppm }) => ({ celsius, ppm: -ppm })) ?? null,
          warmUpPpm: -warmUpPpm,
        },
      };
    }),
    events: plan.events.map((event) =>
      event.do === "step-frequency" ? { ...event, offsetPpm: negated(event.offsetPpm) } : event,
    ),
  };
}

/** What a row says, with signs turned if asked; instants apart. */
function saying({ subject, fact }: Row, sign: 1 | -1): string {
  switch (fact.kind) {
    case "event":
      return `${subject} ${fact.event.do}`;
    case "flow":
      return `${subject} ${fact.flow === null ? "silent" : `${fact.flow.timebase} ${(fact.flow.rate * sign * 1e6).toFixed(6)}`.replace("-0.000000", "0.000000")}`;
    case "re-aligned":
      return `${subject} re-aligned ${(fact.bySeconds * sign * 48_000).toFixed(6)}`;
    case "wrapped":
      return `${subject} wrapped ${fact.samples * sign}`;
    case "slips":
      return `${subject} ${fact.link} ${fact.way} ${fact.count * fact.sign * sign} slips`;
    default:
      return `${subject} ${JSON.stringify(fact)}`;
  }
}

function expectMirrored(one: Played, other: Played): void {
  expect(other.rows.map((row) => saying(row, -1))).toEqual(one.rows.map((row) => saying(row, 1)));
  for (const [index, row] of one.rows.entries()) {
    // A fill of 1 + δ is rounded otherwise than one of 1 − δ, so the whole nanosecond of a crossing may be the next.
    expect(Math.abs((other.rows[index] as Row).atNs - row.atNs)).toBeLessThanOrEqual(1);
    const [a, b] = [row.fact, (other.rows[index] as Row).fact];
    if (a.kind === "slips" && b.kind === "slips") {
      expect(Math.abs(a.fromNs - b.fromNs)).toBeLessThanOrEqual(1);
      expect(Math.abs(a.toNs - b.toNs)).toBeLessThanOrEqual(1);
    }
  }
}

test("negating all offsets swaps drops and repeats", { timeout: PATIENCE_MS }, () => {
  const seen = { drops: 0, repeats: 0, jumps: 0 };
  fc.assert(
    fc.property(rigs, (plan) => {
      const one = play(plan);
      expectMirrored(one, play(mirrored(plan)));
      for (const { fact } of one.rows) {
        if (fact.kind === "slips" && fact.sign === 1) seen.drops += fact.count;
        if (fact.kind === "slips" && fact.sign === -1) seen.repeats += fact.count;
        if (fact.kind === "re-aligned") seen.jumps += 1;
      }
    }),
    tries(40),
  );
  expect(seen.drops).toBeGreaterThan(500);
  expect(seen.repeats).toBeGreaterThan(500);
  expect(seen.jumps).toBeGreaterThan(5);
});

/** What one subject did, in order: with wander two rows at almost the same instant may change places. */
function bySubject({ rows }: Played): Map<string, Row[]> {
  const found = new Map<string, Row[]>();
  for (const row of rows) found.set(row.subject, [...(found.get(row.subject) ?? []), row]);
  return found;
}

/**
 * A deviate and its mirror differ by some 1e-9 of their size, in the part of the distribution that is taken from a table:
 * 1e-16 s of phase after a second, which moves a crossing at a slope of 1e-9 by a tenth of a microsecond.
 */
const CHANCE_NS = 2000;

test("negating all offsets and all draws swaps drops and repeats, with wander", { timeout: PATIENCE_MS }, () => {
  const seen = { drops: 0, repeats: 0, jumps: 0, byWander: 0, wandering: 0 };
  const wandering = plans({ ...wish, heatTables: true, wandering: true, averaging: true, seconds: [60, 200] });
  fc.assert(
    fc.property(wandering, (plan) => {
      streams.uniform = null;
      const one = play(plan);
      // Uniforms stand for the middles of 2^32 steps: the mirror of the first is the last.
      streams.uniform = (_address, place, realAt) => 1 - 2 ** -32 - realAt(place);
      const other = play(mirrored(plan));
      const [mine, theirs] = [bySubject(one), bySubject(other)];
      expect([...theirs.keys()].sort()).toEqual([...mine.keys()].sort());
      for (const [subject, rows] of mine) {
        const facing = theirs.get(subject) as Row[];
        expect(facing.map((row) => saying(row, -1))).toEqual(rows.map((row) => saying(row, 1)));
        for (const [n, row] of rows.entries())
          expect(Math.abs((facing[n] as Row).atNs - row.atNs)).toBeLessThanOrEqual(CHANCE_NS);
      }
      for (const { fact } of one.rows) {
        if (fact.kind === "slips" && fact.sign === 1) seen.drops += fact.count;
        if (fact.kind === "slips" && fact.sign === -1) seen.repeats += fact.count;
        if (fact.kind === "slips" && fact.curve.wander !== null) seen.byWander += fact.count;
        if (fact.kind === "re-aligned") seen.jumps += 1;
        if (fact.kind === "flow" && fact.flow?.wander?.kind === "loop") seen.wandering += 1;
      }
    }),
    { ...tries<[Plan]>(30), endOnFailure: true },
  );
  expect(seen.drops).toBeGreaterThan(300);
  expect(seen.repeats).toBeGreaterThan(300);
  expect(seen.byWander).toBeGreaterThan(300);
  expect(seen.jumps).toBeGreaterThan(5);
  expect(seen.wandering).toBeGreaterThan(200);
});

test("which catches draws that are not turned round", { timeout: PATIENCE_MS }, () => {
  const law = fc.property(plans({ ...wish, wandering: true }), (plan) => {
    const [mine, theirs] = [bySubject(play(plan)), bySubject(play(mirrored(plan)))];
    for (const [subject, rows] of mine)
      expect((theirs.get(subject) ?? []).map((row) => saying(row, -1))).toEqual(rows.map((row) => saying(row, 1)));
  });
  expect(isCaught(fc.check, law, 20)).toBe(true);
});

test("which catches a receiver that counts only drops", { timeout: PATIENCE_MS }, () => {
  const oneSided = (plan: Plan): Played =>
    play(plan, (rig) =>
      wrapMachines(rig, (machine) =>
        withFacts(machine, (fact) => (fact.kind === "slips" && fact.sign === -1 ? { ...fact, count: 0 } : fact)),
      ),
    );
  const law = fc.property(rigs, (plan) => expectMirrored(oneSided(plan), oneSided(mirrored(plan))));
  expect(isCaught(fc.check, law, 20)).toBe(true);
});
