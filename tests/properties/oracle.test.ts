/**
 * Law 8: a run agrees with the slow oracle, which goes in fixed steps, counts whole samples and knows no formula of the
 * engine's, within the run's own printed bound plus one step. And a witness is worth what it catches: runs with a
 * mistake built in must be told apart.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { disagreements, STEPPED } from "../helpers/against-oracle.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Played } from "../helpers/play.ts";
import { play, withFacts, wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";
import { readClocks } from "../helpers/reading.ts";
import type { OracleRun } from "../oracle/step-rig.ts";
import { stepRig } from "../oracle/step-rig.ts";

const stepSeconds = 0.002;
/** Instants that no grid and no timer falls on. */
function looksOf(plan: Plan): number[] {
  return Array.from({ length: 23 }, (_, n) => ((n + 0.5137) * plan.lengthNs) / 23e9);
}

function oracleOf(plan: Plan): OracleRun {
  return stepRig(plan, { stepSeconds, phasesAt: looksOf(plan) });
}

function against(plan: Plan, played: Played, boundSamples: number): string[] {
  return disagreements(plan, played, oracleOf(plan), { boundSamples, stepSeconds });
}

describe("a run agrees with the slow oracle", () => {
  test.each([
    { name: "within the bound it prints", quantumSamples: 1e-4, more: {}, count: 22 },
    {
      name: "with oscillators that age, warm up and feel heat",
      quantumSamples: 1e-4,
      more: { bending: true },
      count: 12,
    },
    { name: "begun cold", quantumSamples: 1e-4, more: { cold: true, seconds: [20, 30] } satisfies Wish, count: 12 },
    { name: "within a hundredth of it when asked for a hundredth", quantumSamples: 1e-6, more: {}, count: 12 },
  ])("$name", { timeout: PATIENCE_MS }, ({ quantumSamples, more, count }) => {
    const seen = { drops: 0, repeats: 0, jumps: 0, holdovers: 0, relocks: 0, breaks: 0, phases: 0, tight: 0, rigs: 0 };
    fc.assert(
      fc.property(plans({ ...STEPPED, ...more }), (plan) => {
        const { record } = rehearse(plan, { quantumSamples });
        const { timebases } = buildRig(plan, quantumSamples);
        const oracle = oracleOf(plan);
        const boundSamples = record.worstErrorSamples as number;
        expect(disagreements(plan, { rows: record.rows, timebases }, oracle, { boundSamples, stepSeconds })).toEqual(
          [],
        );
        for (const { drops, repeats } of oracle.receivers) {
          seen.drops += drops;
          seen.repeats += repeats;
        }
        for (const { realigned, states } of oracle.devices) {
          seen.jumps += realigned.length;
          seen.holdovers += states.filter(({ state }) => state === "holdover").length;
          seen.relocks += states.filter(({ state, fromSeconds }) => state === "locked" && fromSeconds > 0).length;
        }
        seen.breaks += oracle.cables.filter(({ states }) => states.some(({ state }) => state === "down")).length;
        seen.phases += oracle.looks.length;
        // Wide is only what a holdover behind a second hop may have drifted by its end.
        if (boundSamples < 10 * quantumSamples) seen.tight += 1;
        seen.rigs += 1;
      }),
      // A smaller counterexample would mostly be a tie between the two grids, and costs minutes.
      { ...tries<[Plan]>(count), endOnFailure: true },
    );
    expect(seen.drops).toBeGreaterThan(20);
    expect(seen.repeats).toBeGreaterThan(20);
    expect(seen.jumps).toBeGreaterThan(0);
    expect(seen.holdovers).toBeGreaterThan(1);
    expect(seen.relocks).toBeGreaterThan(2);
    expect(seen.breaks).toBeGreaterThan(5);
    expect(seen.phases).toBeGreaterThan(150);
    expect(seen.tight / seen.rigs).toBeGreaterThan(0.6);
  });
});

/**
 * The oracle is too slow for long shows and fast loops. A run with a quantum a thousand times smaller is not, and the
 * bound that a run prints says how far the two may be apart at any instant.
 */
test("a run is within its bound of a run a thousand times finer", { timeout: PATIENCE_MS }, () => {
  const seen = { rigs: 0, apart: 0, holdovers: 0, tight: 0 };
  const rigs = plans({
    devices: [2, 8],
    seconds: [40, 120],
    eventCount: [3, 10],
    secondSources: true,
    spares: true,
    loners: true,
    bending: true,
  });
  fc.assert(
    fc.property(rigs, (plan) => {
      const [coarse, fine] = [rehearse(plan), rehearse(plan, { quantumSamples: 1e-7 })];
      const { timebases } = buildRig(plan);
      const [a, b] = [readClocks(coarse.record.rows, timebases), readClocks(fine.record.rows, timebases)];
      const boundSamples = coarse.record.worstErrorSamples as number;
      for (let n = 0; n < 100; n++) {
        const at = Math.floor(((n + 0.5137) * plan.lengthNs) / 100) as Ns;
        for (const { id } of plan.devices) {
          const [x, y] = [a.phaseSecondsAt(id, at), b.phaseSecondsAt(id, at)];
          if (x === null || y === null) continue;
          const apartSamples = Math.abs(x - y) * plan.sampleRateHz;
          expect(apartSamples, `${id} at ${at} ns`).toBeLessThanOrEqual(boundSamples + 1e-9);
          if (apartSamples > 1e-6) seen.apart += 1;
        }
      }
      seen.rigs += 1;
      seen.holdovers += coarse.record.rows.filter(
        ({ fact }) => fact.kind === "clock" && fact.state === "holdover",
      ).length;
      if (boundSamples < 1e-3) seen.tight += 1;
    }),
    { ...tries<[Plan]>(40), endOnFailure: true },
  );
  expect(seen.apart).toBeGreaterThan(20);
  expect(seen.holdovers).toBeGreaterThan(10);
  expect(seen.tight / seen.rigs).toBeGreaterThan(0.5);
});

describe("the oracle catches", () => {
  const mistaken: { name: string; run: (plan: Plan) => Played }[] = [
    {
      name: "a cable without delay",
      run: (plan) => play({ ...plan, links: plan.links.map((link) => ({ ...link, delaySeconds: 0 })) }),
    },
    {
      name: "drops taken for repeats",
      run: (plan) =>
        play(plan, (rig) =>
          wrapMachines(rig, (machine) =>
            withFacts(machine, (fact) => (fact.kind === "slips" ? { ...fact, sign: fact.sign === 1 ? -1 : 1 } : fact)),
          ),
        ),
    },
    {
      name: "hold-off and wait-to-restore taken for each other",
      run: (plan) =>
        play({
          ...plan,
          devices: plan.devices.map((device) => ({
            ...device,
            holdOffSeconds: device.waitToRestoreSeconds,
            waitToRestoreSeconds: device.holdOffSeconds,
          })),
        }),
    },
    {
      name: "a loop that is damped a tenth too much",
      run: (plan) =>
        play({
          ...plan,
          devices: plan.devices.map((device) => ({
            ...device,
            loop: { ...device.loop, damping: device.loop.damping * 1.1 },
          })),
        }),
    },
    {
      name: "a buffer that starts one sample fuller",
      run: (plan) =>
        play({
          ...plan,
          links: plan.links.map((link) => ({
            ...link,
            buffer: { ...link.buffer, startSamples: link.buffer.startSamples + 0.5 },
          })),
        }),
    },
  ];

  test.each(mistaken)("$name", { timeout: PATIENCE_MS }, ({ run }) => {
    const law = fc.property(plans(STEPPED), (plan) => {
      const boundSamples = rehearse(plan).record.worstErrorSamples as number;
      expect(against(plan, run(plan), boundSamples)).toEqual([]);
    });
    expect(isCaught(fc.check, law, 12)).toBe(true);
  });
});
