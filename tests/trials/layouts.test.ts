/** Layouts side by side, limits, and what a verdict hangs on. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { assumptionsIn, withAssumed } from "../../sim/trials/assumptions.ts";
import { compareLayouts, differenceOf, type LayoutTried } from "../../sim/trials/compare.ts";
import { flipsOf } from "../../sim/trials/flips.ts";
import { bisect, limitsOf } from "../../sim/trials/limits.ts";
import { effectsOf, valueBetween } from "../../sim/trials/sensitivity.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { pulltest, scratchFolder } from "../cli/command.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const real = shippedPlan("main-out-good-spare.json");
const none = shippedPlan("spare-that-was-none.json");

function tried(plan: Plan, name = plan.title): LayoutTried {
  const { sweep } = singleFaults({ ...plan, seed: "quay-1" }, { ...WANTED, draws: 3 });
  const trier = new Trier(sweep);
  return { name, sweep, results: Array.from({ length: trialCount(sweep) }, (_, index) => trier.play(index)) };
}

describe("layouts", () => {
  const comparison = compareLayouts([tried(real), tried(none)]);

  test("differ in the one wall along which both cables of one of them are laid, and in nothing else", () => {
    const [pair] = comparison.pairs;
    expect(pair!.faults.map(({ fault, audience }) => `${fault} ${audience}`)).toEqual(["path-cut stage-left wall pa"]);
    const { silence } = pair!.faults[0]!;
    expect(silence).toMatchObject({ verdict: "more" });
    expect(silence.first).toBeLessThan(1);
    expect(silence.second).toBeCloseTo(600, 0);
    expect(comparison.layouts[0]!.own).toEqual(["path-cut stage-right wall"]);
  });

  test("are the same as themselves, and the other way round the other way round", () => {
    const [itself] = compareLayouts([tried(real), tried(real, "again")]).pairs;
    expect(itself!.faults).toEqual([]);
    expect(itself!.totals.every(({ silence }) => silence.verdict === "same")).toBe(true);
    const [back] = compareLayouts([tried(none), tried(real)]).pairs;
    expect(back!.faults[0]!.silence.mean).toBeCloseTo(-comparison.pairs[0]!.faults[0]!.silence.mean, 9);
  });

  test("one that is worse in everything is said to be", () => {
    const worse: Plan = {
      ...none,
      links: none.links.map((link) => ({ ...link, lengthMetres: link.lengthMetres + 100 })),
    };
    const { layouts } = compareLayouts([tried(none), tried(worse, "longer")]);
    expect(layouts.map(({ isUndominated }) => isUndominated)).toEqual([true, false]);
  });

  test("a difference that luck could bring is not one", () => {
    expect(differenceOf([0, 10, 0, 10], [1, 9, 2, 8])).toMatchObject({ verdict: "unclear", mean: 0 });
    expect(differenceOf([0, 10, 0, 10], [5, 15, 5.1, 15])).toMatchObject({ verdict: "more" });
    expect(differenceOf([5, 15], [5, 15])).toMatchObject({ verdict: "same" });
    expect(differenceOf([5], [3])).toMatchObject({ verdict: "less", mean: -2 });
  });

  test("an order that hangs on a number that nobody has entered is found", () => {
    // One has no spare and a quick processor, the other a processor that may boot longer, which nobody has measured.
    const boots = (plan: Plan, seconds: number): Plan => ({
      ...plan,
      devices: plan.devices.map((device) =>
        device.id === "pa" ? { ...device, bootSeconds: seconds, engineBootSeconds: seconds } : device,
      ),
    });
    const measured: Plan = {
      ...boots(none, 75),
      assumptions: (none.assumptions ?? []).map((each) =>
        each.name === "bootSeconds" || each.name === "engineBootSeconds"
          ? { ...each, ids: each.ids.filter((id) => id !== "pa") }
          : each,
      ),
    };
    const only = new Set(["reboot"] as const);
    const rebooted = (plan: Plan, name: string): LayoutTried => {
      const { sweep } = singleFaults({ ...plan, seed: "quay-1" }, { ...WANTED, draws: 1, kinds: only });
      return { name, sweep, results: [] };
    };
    const { tried: count, flips } = flipsOf([rebooted(boots(none, 60), "assumed"), rebooted(measured, "measured")]);
    expect(count).toBeGreaterThan(10);
    expect(flips.some(({ name, at }) => name === "bootSeconds" && at === 120)).toBe(true);
    expect(flipsOf([rebooted(none, "one"), rebooted(boots(none, 600), "far apart")]).flips).toEqual([]);
  });
});

describe("assumed numbers", () => {
  test("are put where they belong and nowhere else", () => {
    const all = assumptionsIn(none);
    expect(all.length).toBeGreaterThan(40);
    for (const assumption of all) {
      const at = assumption.others[0]!;
      const changed = withAssumed(none, assumption, at);
      expect(withAssumed(changed, assumption, assumption.value)).toEqual(none);
      expect(changed).not.toEqual(none);
    }
  });

  test("what the verdict hangs on comes first, what nothing asks for changes nothing", () => {
    const { sweep } = singleFaults(none, { ...WANTED, draws: 1, kinds: new Set(["reboot"] as const) });
    const asked = assumptionsIn(sweep.plan).filter(
      ({ name, ids }) => (name === "bootSeconds" && ids[0] === "stage") || name === "holdoverErrorPpb",
    );
    const { effects, now } = effectsOf(sweep, asked, "pa");
    expect(effects[0]!.assumption.name).toBe("bootSeconds");
    // One reboot that takes 60 s longer.
    expect(effects[0]!.change.silentSeconds).toBeCloseTo(60, 0);
    expect(now.silentSeconds).toBeGreaterThan(100);
    for (const { change } of effects.slice(1)) expect(change.silentSeconds).toBe(0);
  });

  test("between the ends of what they may be", () => {
    const one = { on: "device", name: "bootSeconds", ids: ["a"], value: 60, others: [30, 120] } as const;
    expect([0, 0.5, 1].map((share) => valueBetween(one, share))).toEqual([30, 75, 120]);
    const word = { ...one, value: "unknown", others: [true, false] } as const;
    expect([0, 0.4, 0.99].map((share) => valueBetween(word, share))).toEqual(["unknown", true, false]);
  });
});

describe("survival limits", () => {
  test("are found to a thousandth, and said where there are none", () => {
    const found = bisect((seconds) => (seconds > 0.36 ? ["mix"] : []));
    expect(found.unheardSeconds).toBeLessThanOrEqual(0.36);
    expect(found.heardSeconds! / found.unheardSeconds!).toBeLessThan(1.001);
    expect(found.heardSeconds).toBeGreaterThan(0.36);
    expect(bisect(() => ["mix"])).toMatchObject({ unheardSeconds: null, feeds: ["mix"] });
    expect(bisect(() => [])).toMatchObject({ heardSeconds: null, feeds: [] });
    const rising = bisect((seconds) => (seconds < 2 ? ["mix"] : []), { isHeardBelow: true, most: 60 });
    expect(rising.unheardSeconds).toBeGreaterThanOrEqual(2);
  });

  test("a clock cable may be out for as long as its follower takes to believe it", () => {
    const plan = shippedPlan("leader-reboot.json");
    const { sweep } = singleFaults(plan, WANTED);
    const limits = limitsOf(sweep.plan, sweep.standings[0]!);
    const clock = limits.find(({ kind, on }) => kind === "break" && on === "foh-mon")!;
    // Hold-off of 0.3 s, and 10 ms until the cable's end knows; the loop drifts on unheard for a while.
    expect(clock.unheardSeconds).toBeGreaterThan(0.31);
    expect(clock.unheardSeconds).toBeLessThan(2);
    const audio = limits.find(({ kind, on }) => kind === "break" && on === "foh-pa")!;
    expect(audio).toMatchObject({ unheardSeconds: null, feeds: ["pa-mix"] });
  });
});

describe("the commands", () => {
  const cwd = scratchFolder();
  const files = ["scenarios/main-out-good-spare.json", "scenarios/spare-that-was-none.json"];

  test("compare, its table and its JSON", () => {
    const csv = join(cwd, "layouts.csv");
    const { status, out } = pulltest(["compare", ...files, "--draws", "2", "--csv", csv]);
    expect(status).toBe(0);
    expect(out).toContain("silent for 0.3 s, B silent for 10 min");
    expect(out).toMatch(/none of them changes the order|The order hangs on assumed numbers/);
    expect(readFileSync(csv, "utf8").split("\r\n")[0]).toContain("fault,listener,feed,layout");
    const { layouts } = JSON.parse(pulltest(["compare", ...files, "--draws", "1", "--skip-assumed", "--json"]).out);
    expect(layouts).toHaveLength(2);
    expect(pulltest(["compare", files[0]!, files[0]!]).err).toContain("expected each layout once");
    const alone = pulltest(["compare", files[0]!]);
    expect({ status: alone.status, out: alone.out }).toEqual({ status: 2, out: "" });
    expect(alone.err).toContain("expected two layouts or more, received one");
  });

  test("assumptions and limits, and what they refuse", () => {
    const { status, out } = pulltest(["assumptions", files[1]!, "--only", "reboot", "--jointly", "2"]);
    expect(status).toBe(0);
    expect(out).toMatch(/Measure first: \w+ of /);
    expect(out).toContain("% alone");
    const { err } = pulltest(["assumptions", files[1]!, "--heard-by", "the pope", "--jointly", "some"]);
    expect(err).toContain("--heard-by: expected of pa");
    expect(err).toContain("--jointly: expected a whole number");
    expect(pulltest(["limits", files[1]!]).out).toContain("just below it nobody heard the fault");
    expect(pulltest(["limits", "nowhere.json"]).status).toBe(2);
  });
});
