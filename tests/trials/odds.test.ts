/** Shows as chance has them, against what can be said of them in closed form. */

import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { survival } from "../../sim/chance/availability.ts";
import { silenceByFormula } from "../../sim/trials/formula.ts";
import { oddsOf, Shows } from "../../sim/trials/odds.ts";
import { pulltest, scratchFolder } from "../cli/command.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const HOURS = 0.5;
/** Half an hour of the shipped rig, nothing planned. */
const plan: Plan = { ...shippedPlan("spare-that-was-none.json"), events: [], lengthNs: nsFromSeconds(HOURS * 3600) };
const cable = plan.links.find(({ b, stream }) => b.device === "pa" && stream === undefined)!.id;
const rates = {
  rates: [{ fault: `cable-out ${cable}`, mtbfHours: { low: 1, high: 1 } }],
  repairs: { cable: { low: 60, high: 60 } },
};

function played(seed: string, count: number, from = 0) {
  const shows = new Shows({ ...plan, seed }, rates);
  return Array.from({ length: count }, (_, show) => shows.play(from + show));
}

describe("one cable that fails once an hour and is back after a minute", () => {
  const shows = played("odds", 1500);
  const odds = oddsOf(shows, "pa");
  const pa = odds.audiences.find(({ audience }) => audience === "pa")!;

  test("as many shows have silence as survival says", () => {
    const chance = 1 - survival(1, HOURS);
    expect(pa.anySilence.low).toBeLessThan(chance);
    expect(pa.anySilence.high).toBeGreaterThan(chance);
    expect(pa.anySilence.high - pa.anySilence.low).toBeLessThan(0.06);
    expect(odds.withFaults / odds.shows).toBeCloseTo(pa.anySilence.share, 2);
  });

  test("as much silence as rate times repair, less what the end cuts off", () => {
    // Failures at even chance over the show; one in the last minute is cut. Those that overlap are a hundredth.
    const expected = (HOURS / 1) * 60 - (60 / 3600) * 30;
    expect(pa.silentSeconds.low).toBeLessThan(expected * 1.02);
    expect(pa.silentSeconds.high).toBeGreaterThan(expected * 0.98);
    expect(pa.silentSeconds.high - pa.silentSeconds.low).toBeLessThan(0.2 * expected);
  });

  test("a show is a function of its number, whatever was played before", () => {
    expect(played("odds", 3, 700)).toEqual(shows.slice(700, 703));
  });

  test("95 of 100 intervals hold the truth", { timeout: 60_000 }, () => {
    const chance = 1 - survival(1, HOURS);
    let hits = 0;
    for (let round = 0; round < 150; round += 1) {
      // Without playing: which shows have a fault is all that is asked, and each fault is heard.
      const few = played(`coverage ${round}`, 30);
      const { anySilence } = oddsOf(few, "pa").audiences.find(({ audience }) => audience === "pa")!;
      if (anySilence.low <= chance && chance <= anySilence.high) hits += 1;
    }
    // Three standard errors of 0.95 over 150 rounds are 0.053.
    expect(hits / 150).toBeGreaterThan(0.89);
  });
});

test("the formulas of availability say of one cable what shows say, where no clock comes in", () => {
  const mix = plan.feeds.find(({ heardBy }) => heardBy.includes("pa"))!.id;
  const byFormula = silenceByFormula(plan, rates).get(mix)!;
  // 1/(1 + 1/60) of an hour between failures and a minute of repair, in half an hour.
  expect(byFormula).toBeCloseTo((60 / 3660) * 1800, 6);
  const { silentSeconds } = oddsOf(played("odds", 1500), "pa").audiences.find(({ audience }) => audience === "pa")!;
  expect(Math.abs(silentSeconds.mean - byFormula)).toBeLessThan(0.1 * byFormula);
});

test("the closest that is said of a fault holds, and ranges are ranges", () => {
  const shows = new Shows(plan, {
    rates: [
      { fault: "cable-out", mtbfHours: { low: 10, high: 1000 } },
      { fault: `cable-out ${cable}`, mtbfHours: { low: 5, high: 5 } },
    ],
    repairs: {},
  });
  const cables = plan.links.filter(({ stream }) => stream === undefined).length;
  expect(shows.rated).toBe(cables);
  expect(shows.expectedFaults).toBeCloseTo(HOURS / 5 + (cables - 1) * (HOURS / 100), 9);
});

describe("the command", () => {
  const cwd = scratchFolder();
  const rig = "scenarios/spare-that-was-none.json";

  test("stops when the answer is clear, and says whose rates they are", () => {
    const table = join(cwd, "rates.csv");
    writeFileSync(table, "\ufeffwhat;mtbf_h;time_s\r\nreboot;0,5\r\n".replace("0,5", "0.5"));
    const { status, out } = pulltest(["odds", rig, "--rates", table]);
    expect(status).toBe(0);
    expect(out).toContain("more shows would say the same");
    expect(out).toContain("Rates are those that were given, not ours");
    const told = JSON.parse(pulltest(["odds", rig, "--rates", table, "--json"]).out);
    expect(told.isClear).toBe(true);
    expect(told.shows).toBeLessThan(5000);
  });

  test("a table that is none, names that nothing has, numbers that are none: all at once, where they stand", () => {
    const table = join(cwd, "odd.csv");
    writeFileSync(table, "what;mtbf_h;time_s\ncable-ot;5;\nreboot;-3;\nrepair car;;3\n# a remark\nhang;8 to 4;\n");
    const { status, err } = pulltest(["odds", rig, "--rates", table, "--shows", "none"]);
    expect(status).toBe(2);
    for (const said of [
      "odd.csv:2:1",
      "did you mean cable-out",
      "odd.csv:3:2",
      "odd.csv:4:1",
      "odd.csv:6:2",
      "--shows",
    ])
      expect(err).toContain(said);
    expect(pulltest(["odds", rig, "--rates", join(cwd, "nothing.csv")]).err).toContain("expected a table of rates");
  });
});
