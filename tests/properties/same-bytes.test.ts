/**
 * Laws 1, 2 and 17: one scenario and one seed give one run, byte for byte, whoever looks on; and a run that is cut at
 * any instant, copied and gone on with is the same run.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import type { Wander } from "../../shared/wander.ts";
import { learntAt, slopeAt, wanderAt } from "../../shared/wander.ts";
import { apartFrom } from "../../shared/wander-ahead.ts";
import type { Moment } from "../../sim/engine.ts";
import { startEngine } from "../../sim/engine.ts";
import { hear } from "../../sim/hear.ts";
import { phaseSeries } from "../../sim/phase-series.ts";
import { rehearse } from "../../sim/rehearse.ts";
import type { Rig } from "../../sim/rig.ts";
import { buildRig } from "../../sim/rig.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import { wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";
import { bytesOfRows, readClocks } from "../helpers/reading.ts";

const steady: Wish = { secondSources: true, spares: true, loners: true, bending: true };
const wish: Wish = { ...steady, heatTables: true, wandering: true, averaging: true };

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
        expect(bytesOfRows(again.record.rows)).toBe(bytesOfRows(once.record.rows));
        expect(JSON.stringify(again.summary)).toBe(JSON.stringify(once.summary));
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
        expect(bytesOfRows(engine.finish(plan.lengthNs))).toBe(bytesOfRows(alone));
      }),
      tries(40),
    );
    expect(seen.looks).toBeGreaterThan(150);
  });
});

describe("chance is there before it is asked for", () => {
  interface Question {
    readonly what: "phase" | "slope" | "learnt" | "apart";
    readonly row: number;
    readonly other: number;
    readonly at: Ns;
  }
  const questions = fc.array(
    fc.record({
      what: fc.constantFrom("phase" as const, "slope" as const, "learnt" as const, "apart" as const),
      row: fc.nat({ max: 9999 }),
      other: fc.nat({ max: 9999 }),
      share: fc.noBias(fc.integer({ min: 0, max: 999_999 })),
    }),
    { minLength: 20, maxLength: 60 },
  );

  function wandersIn(rows: readonly Row[]): (Wander | null)[] {
    return rows.flatMap(({ fact }) => (fact.kind === "flow" && fact.flow !== null ? [fact.flow.wander] : []));
  }

  function answer(wanders: readonly (Wander | null)[], { what, row, other, at }: Question): unknown {
    const wander = wanders[row % wanders.length] ?? null;
    // A loop says nothing of before it began.
    const from = (wander?.kind === "loop" && at < wander.fromNs ? wander.fromNs : at) as Ns;
    if (what === "phase") return wanderAt(wander, from);
    if (what === "slope") return slopeAt(wander, from);
    if (what === "learnt") return wander?.kind === "loop" ? learntAt(wander, from) : null;
    const second = wanders[other % wanders.length] ?? null;
    const later = (second?.kind === "loop" && from < second.fromNs ? second.fromNs : from) as Ns;
    return apartFrom(wander, second, later);
  }

  test("in whatever order, between whatever else, during the run or after it", { timeout: PATIENCE_MS }, () => {
    const seen = { answers: 0, loops: 0 };
    fc.assert(
      fc.property(plans(wish), questions, shares, (plan, raw, at) => {
        const asked = raw.map(
          ({ share, ...rest }): Question => ({ ...rest, at: Math.floor((share * plan.lengthNs) / 1e6) as Ns }),
        );
        const alone = rehearse(plan);
        const bytes = bytesOfRows(alone.record.rows);
        const wanders = wandersIn(alone.record.rows);
        const answers = asked.map((question) => answer(wanders, question));
        // Another run, asked the other way round, with the show looked at between.
        const again = rehearse(plan);
        const others = wandersIn(again.record.rows);
        const { timebases } = buildRig(plan);
        const turned = [...asked].reverse().map((question, n) => {
          if (n % 7 === 0) {
            const { id } = plan.devices[n % plan.devices.length] as Plan["devices"][number];
            phaseSeries(plan, again.record, timebases, id, { stepSeconds: 0.7 });
            hear(plan, again.record);
          }
          return answer(others, question);
        });
        expect(turned.reverse()).toEqual(answers);
        expect(bytesOfRows(again.record.rows)).toBe(bytes);
        // And while it plays, of what was told so far, at instants before and after.
        const engine = startEngine(buildRig(plan));
        for (const instant of instantsIn(plan, alone.record.rows, at)) {
          engine.playTo(instant);
          const sofar = wandersIn(engine.moment().rows);
          for (const question of asked) answer(sofar, question);
        }
        expect(bytesOfRows(engine.finish(plan.lengthNs))).toBe(bytes);
        seen.answers += answers.filter((each) => each !== null && each !== 0).length;
        seen.loops += wanders.filter((each) => each?.kind === "loop").length;
      }),
      tries(25),
    );
    expect(seen.answers).toBeGreaterThan(300);
    expect(seen.loops).toBeGreaterThan(100);
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
    return bytesOfRows(engine.finish(plan.lengthNs));
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
        expect(playInParts(plan, instants, copied, buildRig)).toBe(bytesOfRows(whole));
      }),
      tries(30),
    );
    expect(seen.cuts).toBeGreaterThan(100);
    expect(seen.openTrains).toBeGreaterThan(50);
    expect(seen.transients).toBeGreaterThan(3);
    expect(seen.inFlight).toBeGreaterThan(0);
  });

  test("as text as well, as a file would hold it: what JSON cannot say must not matter", {
    timeout: PATIENCE_MS,
  }, () => {
    // Wander is left out: its parts are many times the same object, and a text would hold each again and again.
    fc.assert(
      fc.property(plans(steady), shares, (plan, at) => {
        const whole = startEngine(buildRig(plan)).finish(plan.lengthNs);
        const asText = (moment: Moment): Moment => JSON.parse(JSON.stringify(moment)) as Moment;
        expect(playInParts(plan, instantsIn(plan, whole, at), asText, buildRig)).toBe(bytesOfRows(whole));
      }),
      tries(20),
    );
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
      expect(playInParts(plan, instantsIn(plan, whole, at), structuredClone, forgetful)).toBe(bytesOfRows(whole));
    });
    expect(isCaught(fc.check, law, 30)).toBe(true);
  });
});
