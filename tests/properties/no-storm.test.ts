/**
 * Law 15: no storm. After whatever happens to a tree, a device announces its clock at most sixty times in any second
 * (a transient of a 10 Hz loop is told in some twenty pieces, one hop after another), and when nothing happens any more
 * the whole tree falls silent. A ring never does; it stays at or below thirty announcements a second and device.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Alteration } from "../helpers/play.ts";
import { play, wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { EVERY_EVENT, plans } from "../helpers/random-rig.ts";

const PER_SECOND_MAX = 60;
const RING_PER_SECOND_MAX = 30;

/** Announcements per device and whole second, from an instant on. */
function announcements(rows: readonly Row[], fromNs = 0): Map<string, number> {
  const counts = new Map<string, number>();
  for (const { atNs, subject, fact } of rows) {
    if (fact.kind !== "flow" || atNs < fromNs) continue;
    const second = `${subject} in second ${Math.floor(atNs / 1e9)}`;
    counts.set(second, (counts.get(second) ?? 0) + 1);
  }
  return counts;
}

describe("no storm", () => {
  test("in a tree, at most sixty announcements a second and device", { timeout: PATIENCE_MS }, () => {
    const seen = { busiest: 0, announcing: 0 };
    const trees = plans({
      devices: [2, 8],
      seconds: [60, 120],
      secondSources: true,
      wideRanges: true,
      bending: true,
      wandering: true,
      averaging: true,
      eventCount: [2, 8],
    });
    fc.assert(
      fc.property(trees, (plan) => {
        const counts = announcements(play(plan).rows);
        for (const [second, count] of counts) expect(count, second).toBeLessThanOrEqual(PER_SECOND_MAX);
        seen.busiest = Math.max(seen.busiest, ...counts.values());
        seen.announcing += counts.size;
      }),
      tries(40),
    );
    expect(seen.busiest).toBeGreaterThan(10);
    expect(seen.announcing).toBeGreaterThan(300);
  });

  test("a tree falls silent when nothing happens any more", { timeout: PATIENCE_MS }, () => {
    const seen = { settled: 0, rows: 0 };
    // From a 0.5 Hz loop's slowest mode, 0.27·ω: a quarter of a sample is below a ten-thousandth of one after 10 s a hop.
    const quick = plans({
      devices: [2, 6],
      seconds: [240, 300],
      loopHz: [0.5, 10],
      wideRanges: true,
      secondSources: true,
      wandering: true,
      eventCount: [1, 6],
    });
    fc.assert(
      fc.property(quick, (plan) => {
        const early = plan.events.filter(({ atNs }) => atNs < 100e9).map((event) => ({ ...event, undoes: null }));
        const rows = play({ ...plan, events: early }).rows;
        // Timers of up to 30 s of holdover and 9 s of booting follow the last event.
        expect([...announcements(rows, 220e9)]).toEqual([]);
        seen.settled += 1;
        seen.rows += [...announcements(rows, 1).values()].length;
      }),
      tries(30),
    );
    expect(seen.settled).toBeGreaterThan(20);
    expect(seen.rows).toBeGreaterThan(50);
  });

  const ring: Wish = {
    devices: [2, 6],
    seconds: [90, 150],
    ring: true,
    wideRanges: true,
    eventCount: [0, 2],
    events: ["step-frequency", "unplug"],
  };
  const rings = plans(ring);

  function expectCalm(rows: readonly Row[], lengthNs: number, devices: readonly string[]): number {
    let most = 0;
    for (const id of devices) {
      const told = rows.filter(
        ({ atNs, subject, fact }) => fact.kind === "flow" && subject === `device ${id}` && atNs >= 60e9,
      ).length;
      const perSecond = told / (lengthNs / 1e9 - 60);
      expect(perSecond, id).toBeLessThanOrEqual(RING_PER_SECOND_MAX);
      most = Math.max(most, perSecond);
    }
    return most;
  }

  test("in a ring, at most thirty a second and device in the long run", { timeout: PATIENCE_MS }, () => {
    const seen = { rings: 0, alive: 0 };
    fc.assert(
      fc.property(rings, (plan) => {
        const most = expectCalm(
          play(plan).rows,
          plan.lengthNs,
          plan.devices.map(({ id }) => id),
        );
        seen.rings += 1;
        if (most > 0.5) seen.alive += 1;
      }),
      tries(30),
    );
    expect(seen.rings).toBeGreaterThan(20);
    expect(seen.alive).toBeGreaterThan(5);
  });

  /** Each says by turns that it follows the one or the other of two oscillators, whose wander is far apart. */
  test("nor in a ring of clocks that wander far more than the quantum", { timeout: PATIENCE_MS }, () => {
    const seen = { wandering: 0, stopped: 0 };
    const loud = [
      { sigma1: 1e-6, sigma2: 1e-7, sigma3: 0, hMinus1: 0 },
      { sigma1: 0, sigma2: 2e-8, sigma3: 0, hMinus1: 0 },
    ];
    const wish: Wish = { ...ring, wandering: loud, secondSources: true, wideRanges: false, averaging: true };
    fc.assert(
      fc.property(plans({ ...wish, events: EVERY_EVENT, eventCount: [0, 6] }), (plan) => {
        const { rows } = play(plan);
        const devices = plan.devices.map(({ id }) => id);
        expectCalm(rows, plan.lengthNs, devices);
        for (const { fact } of rows) {
          if (fact.kind !== "flow" || fact.flow?.wander?.kind !== "loop") continue;
          seen.wandering += 1;
          if (fact.flow.wander.control !== "closed") seen.stopped += 1;
        }
      }),
      { ...tries<[Plan]>(40), endOnFailure: true },
    );
    expect(seen.wandering).toBeGreaterThan(500);
    expect(seen.stopped).toBeGreaterThan(10);
  });

  test("which catches devices that announce whatever arrives", { timeout: PATIENCE_MS }, () => {
    const echoing: Alteration = (rig) =>
      wrapMachines(rig, (machine) =>
        !machine.id.startsWith("device")
          ? machine
          : {
              ...machine,
              handle: (state, event, now) => {
                const step = machine.handle(state, event, now);
                const { told } = step.state as { told: { flow: { atNs: number } } | null };
                if (event.kind !== "mail" || told === null) return step;
                const again = {
                  do: "send",
                  port: 0,
                  mail: { kind: "flow", signal: told },
                } as (typeof step.effects)[number];
                return { ...step, effects: [...step.effects, again] };
              },
            },
      );
    const law = fc.property(rings, (plan) => {
      expectCalm(
        play({ ...plan, lengthNs: 1e9 as typeof plan.lengthNs, events: [] }, echoing).rows,
        61e9,
        plan.devices.map(({ id }) => id),
      );
    });
    expect(isCaught(fc.check, law, 10)).toBe(true);
  });
});
