/** Two faults at once: what is left out cannot matter, and what is told is worse than the two apart. */
import { describe, expect, test } from "vitest";
import { pairsOf, worseTogether } from "../../sim/trials/pairs.ts";
import { type CaseToll, nameOf, tollsOf } from "../../sim/trials/rank.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const plan = shippedPlan("main-out-good-spare.json");
const { sweep, pairsLeftOut } = singleFaults(plan, { ...WANTED, pairs: true, draws: 1 });
const trier = new Trier(sweep);
const tolls = tollsOf(
  sweep,
  Array.from({ length: trialCount(sweep) }, (_, index) => trier.play(index)),
);
const singles = new Map(tolls.filter(({ faults }) => faults.length === 1).map((toll) => [nameOf(toll), toll]));
const pairs = tolls.filter(({ faults }) => faults.length === 2);
const silence = (toll: CaseToll | undefined) =>
  toll?.feeds.reduce((most, { silentSeconds }) => Math.max(most, silentSeconds), 0) ?? 0;

describe("pairs", () => {
  test("are every two of different things, but those that are left out", () => {
    const faults = [...singles.values()].map((toll) => toll.faults[0]!);
    const all = faults.flatMap((one, place) => faults.slice(place + 1).filter((other) => other.on !== one.on)).length;
    expect(pairs.length + pairsLeftOut).toBe(all);
    expect(pairs.length).toBeGreaterThan(100);
  });

  test("main and spare at once are worse than each, and are told", () => {
    const worse = worseTogether(pairs, singles).map(nameOf);
    const both = worse.find((name) => name.includes("cable-out main") && name.includes("cable-out spare"));
    expect(both).toBeDefined();
    const [one, other] = [singles.get("cable-out main"), singles.get("cable-out spare")];
    expect(silence(one) + silence(other)).toBeLessThan(2);
    expect(silence(pairs.find((toll) => nameOf(toll) === both))).toBeGreaterThan(60);
  });

  test("those that are left out are no worse together than apart", () => {
    const asked = new Set(sweep.cases.map((faults) => faults.map(({ id }) => id).join(" + ")));
    const faults = [...singles.values()].map((toll) => toll.faults[0]!);
    const skipped = faults.flatMap((one, place) =>
      faults
        .slice(place + 1)
        .filter((other) => other.on !== one.on && !asked.has(`${one.id} + ${other.id}`))
        .map((other) => [one, other] as const),
    );
    expect(skipped).toHaveLength(pairsLeftOut);
    const wide = shippedPlan("leader-reboot.json");
    const singlesOnly = singleFaults(wide, { ...WANTED, draws: 1 }).sweep;
    const found = pairsOf(singlesOnly);
    const tried = new Set(found.cases.map(([one, other]) => `${one.id} ${other.id}`));
    const all = singlesOnly.cases.map(([fault]) => fault!);
    const left = all.flatMap((one, place) =>
      all
        .slice(place + 1)
        .filter((other) => other.on !== one.on && !tried.has(`${one.id} ${other.id}`))
        .map((other) => [one, other]),
    );
    expect(left).toHaveLength(found.leftOut);
    expect(left.length).toBeGreaterThan(10);
    const both = { ...singlesOnly, cases: [...singlesOnly.cases, ...left], apartSeconds: 10 };
    const here = new Trier(both);
    const results = tollsOf(
      both,
      Array.from({ length: trialCount(both) }, (_, index) => here.play(index)),
    );
    const alone = new Map(results.filter(({ faults }) => faults.length === 1).map((toll) => [nameOf(toll), toll]));
    expect(
      worseTogether(
        results.filter(({ faults }) => faults.length === 2),
        alone,
      ).map(nameOf),
    ).toEqual([]);
  });
});
