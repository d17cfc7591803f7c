/**
 * What the causes in a record are worth. States are those of devices, links, port ends and converters, and whether a
 * device hangs or its surface works; a row stays if one with the same instant, subject and fact is in the other run.
 *
 * - Blamed, so needed: take the blamed event away, with what undoes it, and the row is gone. With one fault and with
 *   several, at rest, after a cold start and in rings. With several, others may be needed as well; a set of one event is
 *   minimal all the same. Left out is the loss of step at a port end: it names what last moved one of its two clocks,
 *   and clocks that drift apart would have come as far without that, sometimes at the same nanosecond.
 * - Not blamed, so not needed: in a rig that is at rest as the show begins (settled, no ring) and suffers one fault, every
 *   row that is not blamed on it stands without it. After a cold start, in a ring or with a second fault a row may need
 *   two things, and names the later.
 */
import { readdirSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { EventPlan, Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import { chainFrom } from "../../sim/why.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import { play } from "../helpers/play.ts";
import { networkPlans } from "../helpers/random-network.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";
import { told } from "../tell/stories.ts";

const STATES = ["clock", "link", "hung", "surface", "input", "converter", "election", "bridging"];
const atRest: Wish = {
  seconds: [60, 240],
  secondSources: true,
  spares: true,
  loners: true,
  averaging: true,
  bending: true,
  wandering: true,
};

/** States that change while the show goes on, with their places in the record. */
function changesIn(rows: readonly Row[]): [number, Row][] {
  return [...rows.entries()].filter(([, { atNs, fact }]) => atNs > 0 && STATES.includes(fact.kind));
}

/** Index of the event that a row is blamed on; null: the start, or chance. */
function blamedOn(rows: readonly Row[], index: number): number | null {
  const { fact } = chainFrom(rows, index).at(-1) as { fact: Row["fact"] };
  return fact.kind === "event" ? fact.index : null;
}

const asText = ({ atNs, subject, fact }: Row): string => `${atNs} ${subject} ${JSON.stringify(fact)}`;

/** Without one event and what undoes it. */
function without({ events, ...plan }: Plan, index: number): Plan {
  const places = new Map<number, number>();
  const kept: EventPlan[] = [];
  for (const [place, event] of events.entries()) {
    if (place === index || event.undoes === index) continue;
    places.set(place, kept.length);
    kept.push({ ...event, undoes: event.undoes === null ? null : (places.get(event.undoes) ?? null) });
  }
  return { ...plan, events: kept };
}

/** A chain goes back in the record and in time, and ends where nothing came before. */
function flawsIn(rows: readonly Row[]): string[] {
  return changesIn(rows).flatMap(([index]) => {
    const chain = chainFrom(rows, index);
    const flaws = chain.flatMap(({ row, atNs }, place) => {
      const next = chain[place + 1];
      return next !== undefined && (next.row >= row || next.atNs > atNs) ? [`${row} before its cause ${next.row}`] : [];
    });
    const last = chain.at(-1);
    const isFirst = last?.fact.kind === "event" || last?.by === "beginning" || last?.by === "chance";
    return isFirst ? flaws : [...flaws, `${index} ends at ${last?.subject} ${last?.fact.kind}`];
  });
}

describe("every state of a record has a chain of causes that ends at an event, at the start, or at chance", () => {
  test("in the shipped scenarios", () => {
    expect(readdirSync("scenarios").length).toBeGreaterThan(10);
    let changes = 0;
    for (const { run } of told()) {
      expect(flawsIn(run.record.rows), run.plan.title).toEqual([]);
      changes += changesIn(run.record.rows).length;
    }
    expect(changes).toBeGreaterThan(500);
  });

  test.each<[string, Wish, number]>([
    ["in rigs at rest", { ...atRest, eventCount: [1, 8] }, 30],
    ["after a cold start", { ...atRest, cold: true, eventCount: [0, 6] }, 15],
    ["in rings", { ...atRest, ring: true, seconds: [20, 60], eventCount: [0, 3] }, 5],
  ])("%s", { timeout: PATIENCE_MS }, (_, wish, count) => {
    const seen = { event: 0, beginning: 0, timeout: 0, message: 0 };
    fc.assert(
      fc.property(plans(wish), (plan) => {
        const { rows } = play(plan);
        expect(flawsIn(rows)).toEqual([]);
        for (const [index] of changesIn(rows))
          for (const { by } of chainFrom(rows, index)) if (by in seen) seen[by as keyof typeof seen] += 1;
      }),
      tries(count),
    );
    expect(Math.min(seen.event, seen.timeout, seen.message)).toBeGreaterThan(20);
    expect(seen.beginning).toBeGreaterThan(0);
  });
});

const isLossOfStep = ({ fact }: Row): boolean => fact.kind === "input" && fact.decodes && !fact.inStep;

/** What is blamed on the fault and stays without it. */
function blamedInVain(rows: readonly Row[], clean: ReadonlySet<string>): string[] {
  return changesIn(rows)
    .filter(([index, row]) => !isLossOfStep(row) && blamedOn(rows, index) !== null && clean.has(asText(row)))
    .map(([, row]) => asText(row));
}

/** What is not blamed on the fault and is gone without it. */
function notBlamed(rows: readonly Row[], clean: ReadonlySet<string>): string[] {
  return changesIn(rows)
    .filter(([index, row]) => blamedOn(rows, index) === null && !clean.has(asText(row)))
    .map(([, row]) => asText(row));
}

const cleanOf = (plan: Plan): Set<string> => new Set(play({ ...plan, events: [] }).rows.map(asText));

describe("in a run with one fault", () => {
  const one: Wish = { ...atRest, eventCount: [1, 1] };
  // Where clocks are nearly alike, some lose step only after the fault, and not by it.
  const alike: Wish = { ...one, offsetPpmMax: 0.2, wandering: false, bending: false };
  const cold: Wish = { ...one, cold: true, seconds: [20, 60] };
  const ring: Wish = { ...one, ring: true, seconds: [20, 60] };

  test.each<[string, Wish, number]>([
    ["at rest", one, 100],
    ["at rest, clocks nearly alike", alike, 50],
    ["after a cold start", cold, 50],
    ["in a ring", ring, 8],
  ])("what is blamed on it is gone without it: %s", { timeout: PATIENCE_MS }, (_, wish, count) => {
    const seen = { blamed: 0, kinds: new Set<string>(), deeds: new Set<string>() };
    fc.assert(
      fc.property(plans(wish), (plan) => {
        const { rows } = play(plan);
        expect(blamedInVain(rows, cleanOf(plan)), plan.events[0]?.do).toEqual([]);
        for (const [index, { fact }] of changesIn(rows)) {
          if (blamedOn(rows, index) === null) continue;
          seen.blamed += 1;
          seen.kinds.add(fact.kind);
          seen.deeds.add(plan.events[0]?.do ?? "");
        }
      }),
      tries(count),
    );
    expect(seen.blamed).toBeGreaterThan(5 * count);
    expect([...seen.kinds]).toEqual(expect.arrayContaining(["clock", "input", "link"]));
    if (count >= 50) expect(seen.deeds.size).toBeGreaterThan(6);
  });

  test.each<[string, Wish, number]>([
    ["at rest", one, 100],
    ["at rest, clocks nearly alike", alike, 100],
  ])("what is not blamed on it stands without it: %s", { timeout: PATIENCE_MS }, (_, wish, count) => {
    const seen = { standing: 0, late: 0 };
    fc.assert(
      fc.property(plans(wish), (plan) => {
        const { rows } = play(plan);
        expect(notBlamed(rows, cleanOf(plan)), plan.events[0]?.do).toEqual([]);
        for (const [index, { atNs }] of changesIn(rows)) {
          if (blamedOn(rows, index) !== null) continue;
          seen.standing += 1;
          if (atNs > (plan.events[0]?.atNs ?? 0)) seen.late += 1;
        }
      }),
      tries(count),
    );
    expect(seen.standing).toBeGreaterThan(100);
    if (wish === alike) expect(seen.late).toBeGreaterThan(20);
  });

  test("a record that blames too little, or too much, is caught", { timeout: PATIENCE_MS }, () => {
    const forgetful = fc.property(plans(one), (plan) => {
      const rows = play(plan).rows.map((row) =>
        row.fact.kind === "clock" && row.fact.state === "acquiring" ? { ...row, cause: -1 } : row,
      );
      return notBlamed(rows, cleanOf(plan)).length === 0;
    });
    expect(isCaught(fc.check, forgetful, 60)).toBe(true);
    const eager = fc.property(plans(cold), (plan) => {
      const { rows } = play(plan);
      const event = rows.findIndex(({ fact }) => fact.kind === "event");
      const blaming = rows.map((row, index) =>
        row.fact.kind === "clock" && event >= 0 && index > event ? { ...row, cause: event } : row,
      );
      return blamedInVain(blaming, cleanOf(plan)).length === 0;
    });
    expect(isCaught(fc.check, eager, 60)).toBe(true);
  });
});

describe("over networks, with one fault", () => {
  test("blamed is needed, and not blamed is not", { timeout: PATIENCE_MS }, () => {
    const seen = { blamed: 0, standing: 0, kinds: new Set<string>(), deeds: new Set<string>() };
    fc.assert(
      fc.property(networkPlans({ events: [1, 1] }), ({ plan }) => {
        const { rows } = play(plan);
        expect(flawsIn(rows)).toEqual([]);
        const clean = cleanOf(plan);
        expect(blamedInVain(rows, clean), plan.events[0]?.do).toEqual([]);
        expect(notBlamed(rows, clean), plan.events[0]?.do).toEqual([]);
        for (const [index, { fact }] of changesIn(rows)) {
          if (blamedOn(rows, index) === null) seen.standing += 1;
          else seen.blamed += 1;
          seen.kinds.add(fact.kind);
          seen.deeds.add(plan.events[0]?.do ?? "");
        }
      }),
      tries(150),
    );
    expect(seen.blamed).toBeGreaterThan(1000);
    expect(seen.standing).toBeGreaterThan(50);
    expect([...seen.kinds]).toEqual(expect.arrayContaining(["bridging", "clock", "election", "input", "link"]));
    expect(seen.deeds.size).toBe(5);
  });
});

describe("in a run with several faults", () => {
  test("the one that is blamed cannot be left out", { timeout: PATIENCE_MS }, () => {
    const seen = { blamed: 0, runs: 0 };
    fc.assert(
      fc.property(plans({ ...atRest, eventCount: [2, 5] }), (plan) => {
        const { rows } = play(plan);
        const changes = changesIn(rows)
          .filter(([, row]) => !isLossOfStep(row))
          .map(([index, row]) => ({ row, event: blamedOn(rows, index) }));
        for (const event of new Set(changes.map((change) => change.event))) {
          if (event === null) continue;
          const left = new Set(play(without(plan, event)).rows.map(asText));
          const blamed = changes.filter((change) => change.event === event);
          expect(blamed.map(({ row }) => asText(row)).filter((text) => left.has(text))).toEqual([]);
          seen.blamed += blamed.length;
          seen.runs += 1;
        }
      }),
      tries(25),
    );
    expect(seen.blamed).toBeGreaterThan(300);
    expect(seen.runs).toBeGreaterThan(60);
  });
});
