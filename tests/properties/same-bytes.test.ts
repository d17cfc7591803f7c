/**
 * Laws 1, 2 and 17: one scenario and one seed give one run, byte for byte, whoever looks on; and a run that is cut at
 * any instant, copied and gone on with is the same run.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import type { Moment } from "../../sim/engine.ts";
import { startEngine } from "../../sim/engine.ts";
import { rehearse } from "../../sim/rehearse.ts";
import type { Rig } from "../../sim/rig.ts";
import { buildRig } from "../../sim/rig.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import { wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";
import { readClocks } from "../helpers/reading.ts";

const wish: Wish = { secondSources: true, spares: true, loners: true, bending: true };

function bytesOf(rows: readonly Row[]): string {
  return JSON.stringify(rows);
}

/**
 * Instants at which somebody looks or cuts: anywhere; exactly when something happens; a little later, while it is still
 * in a cable; and within the second after, while loops pull in.
 */
function instantsIn(plan: Plan, rows: readonly Row[], shares: readonly number[]): Ns[] {
  const instants = shares.map((share, n) => {
    const happened = rows[Math.floor(share * rows.length)]?.atNs ?? 0;
    const later = [0, 5 + Math.floor(share * 300), Math.floor(((share * 977) % 1) * 1e9)][n % 4];
    return later === undefined ? Math.floor(share * plan.lengthNs) : Math.min(happened + later, plan.lengthNs);
  });
  return instants.sort((a, b) => a - b) as Ns[];
}

const shares = fc.array(
  fc.noBias(fc.integer({ min: 0, max: 999_999 })).map((millionths) => millionths / 1e6),
  { minLength: 4, maxLength: 12 },
);

describe("one scenario and one seed give one run", () => {
  test("twice, and however it was begun", { timeout: PATIENCE_MS }, () => {
    const seen = { rows: 0, slips: 0, drawn: 0 };
    fc.assert(
      fc.property(plans(wish), fc.boolean(), (plan, isDrawn) => {
        // Offsets drawn from the seed: chance must have an address, not a state.
        const drawn: Plan = !isDrawn
          ? plan
          : {
              ...plan,
              devices: plan.devices.map((device) => ({
                ...device,
                oscillator: { ...device.oscillator, offsetPpm: null },
              })),
            };
        const once = rehearse(drawn);
        const again = rehearse(structuredClone(drawn));
        expect(JSON.stringify(again)).toBe(JSON.stringify(once));
        seen.rows += once.record.rows.length;
        seen.slips += once.record.rows.filter(({ fact }) => fact.kind === "slips").length;
        if (isDrawn) seen.drawn += 1;
      }),
      tries(40),
    );
    expect(seen.rows).toBeGreaterThan(2000);
    expect(seen.slips).toBeGreaterThan(100);
    expect(seen.drawn).toBeGreaterThan(5);
  });

  test("with somebody looking on", { timeout: PATIENCE_MS }, () => {
    const seen = { looks: 0 };
    fc.assert(
      fc.property(plans(wish), shares, (plan, at) => {
        const alone = startEngine(buildRig(plan)).finish(plan.lengthNs);
        const rig = buildRig(plan);
        const engine = startEngine(rig);
        for (const instant of instantsIn(plan, alone, at)) {
          engine.playTo(instant);
          const { rows, states } = engine.moment();
          const clocks = readClocks(rows, rig.timebases);
          for (const { id } of plan.devices) clocks.phaseSecondsAt(id, instant);
          for (const [slot, machine] of rig.machines.entries()) machine.due(states[slot]);
          seen.looks += 1;
        }
        expect(bytesOf(engine.finish(plan.lengthNs))).toBe(bytesOf(alone));
      }),
      tries(40),
    );
    expect(seen.looks).toBeGreaterThan(150);
  });
});

describe("cut anywhere, copied and gone on with, it is the same run", () => {
  function playInParts(
    plan: Plan,
    at: readonly Ns[],
    copy: (moment: Moment) => Moment,
    rigOf: (plan: Plan) => Rig,
  ): string {
    let engine = startEngine(rigOf(plan));
    for (const instant of at) {
      engine.playTo(instant);
      // Another network too: nothing may hide in a machine that is not in its state.
      engine = startEngine(rigOf(plan), copy(engine.moment()));
    }
    return bytesOf(engine.finish(plan.lengthNs));
  }

  test("at any instants, on those of events too", { timeout: PATIENCE_MS }, () => {
    const seen = { cuts: 0, inFlight: 0, openTrains: 0, transients: 0 };
    fc.assert(
      fc.property(plans(wish), shares, (plan, at) => {
        const whole = startEngine(buildRig(plan)).finish(plan.lengthNs);
        const instants = instantsIn(plan, whole, at);
        const copied = (moment: Moment): Moment => {
          seen.cuts += 1;
          for (const state of moment.states as {
            train?: object | null;
            drive?: { kind: string };
            state?: string;
            inFlight?: object[];
          }[]) {
            if (state.train) seen.openTrains += 1;
            if (state.drive?.kind === "loop" && state.state === "acquiring") seen.transients += 1;
            if ((state.inFlight?.length ?? 0) > 0) seen.inFlight += 1;
          }
          return structuredClone(moment);
        };
        expect(playInParts(plan, instants, copied, buildRig)).toBe(bytesOf(whole));
        // And as text, as a file would hold it: what JSON cannot say must not matter.
        const asText = (moment: Moment): Moment => JSON.parse(JSON.stringify(moment)) as Moment;
        expect(playInParts(plan, instants, asText, buildRig)).toBe(bytesOf(whole));
      }),
      tries(30),
    );
    expect(seen.cuts).toBeGreaterThan(100);
    expect(seen.openTrains).toBeGreaterThan(50);
    expect(seen.transients).toBeGreaterThan(3);
    expect(seen.inFlight).toBeGreaterThan(0);
  });

  test("which catches a machine that remembers something outside its state", { timeout: PATIENCE_MS }, () => {
    const forgetful = (plan: Plan): Rig =>
      wrapMachines(buildRig(plan), (machine) => {
        if (!machine.id.startsWith("port")) return machine;
        let handled = 0;
        return {
          ...machine,
          handle: (state, event, now) => {
            handled += 1;
            const step = machine.handle(state, event, now);
            return handled === 5 ? { ...step, effects: [] } : step;
          },
        };
      });
    const law = fc.property(plans(wish), shares, (plan, at) => {
      const whole = startEngine(forgetful(plan)).finish(plan.lengthNs);
      expect(playInParts(plan, instantsIn(plan, whole, at), structuredClone, forgetful)).toBe(bytesOf(whole));
    });
    expect(isCaught(fc.check, law, 30)).toBe(true);
  });
});
