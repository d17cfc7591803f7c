/** A trial that goes on from a moment of another run finds what it would find played from the beginning. */
import { describe, expect, it } from "vitest";
import type { Row } from "../../shared/record.ts";
import { later, nsFromSeconds } from "../../shared/time.ts";
import { startEngine } from "../../sim/engine.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { FAULT_KINDS, faultsIn, withFaults } from "../../sim/trials/list.ts";
import { asPlanned, standingsOf } from "../../sim/trials/moments.ts";
import { Past } from "../../sim/trials/past.ts";
import { shippedPlans } from "../helpers/shipped.ts";

describe("a run that goes on from a moment of another", () => {
  const kinds = new Set<string>();
  let goesOn = 0;

  for (const [name, filed] of shippedPlans()) {
    it(`is the run from the beginning: every fault of ${name}`, () => {
      const { plan: planned } = asPlanned(filed);
      const [standing] = standingsOf(planned, rehearse(planned).record);
      const at = standing!.atNs;
      const until = later(at, nsFromSeconds(1200));
      const plan = { ...planned, lengthNs: Math.max(planned.lengthNs, until) as typeof until };
      const past = new Past(plan);
      // Noise through ten loops takes a second a run.
      const isSlow = plan.devices.length > 8 && plan.devices.some(({ oscillator }) => oscillator.wander !== null);
      const faults = faultsIn(plan);
      for (const [place, fault] of faults.entries()) {
        // The first of each kind, and every third: what differs between two cables is rarely new.
        const isFirst = faults.findIndex(({ kind }) => kind === fault.kind) === place;
        if (isSlow ? place % 20 !== 0 : !isFirst && place % 3 !== 0) continue;
        const faulty = withFaults(plan, [fault], at);
        const rows = past.playOtherwise(faulty, at, until);
        expect(plain(rows), fault.id).toBe(plain(startEngine(buildRig(faulty)).finish(until)));
        kinds.add(fault.kind);
        goesOn += 1;
      }
    });
  }

  it("has met every kind of fault", () => {
    expect([...kinds].sort()).toEqual([...FAULT_KINDS].sort());
    expect(goesOn).toBeGreaterThan(400);
  });
});

function plain(rows: readonly Row[]): string {
  return JSON.stringify(rows, (_key, value) => (value === Number.POSITIVE_INFINITY ? "∞" : value));
}
