/**
 * The shipped scenarios must be able to fail: held against a rig in which nothing ever goes wrong, each misses an
 * expectation, except those in which nothing does go wrong.
 */
import { readdirSync, readFileSync } from "node:fs";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import type { DeviceSummary, FeedSummary, LinkSummary } from "../../shared/summary.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { judge } from "../../sim/verdict.ts";

const folder = fileURLToPath(new URL("../../scenarios/", import.meta.url));
const scenarios = readdirSync(folder)
  .filter((name) => /\.json$/.test(name) && !/\.(rig|schema|library)\.json$/.test(name))
  .sort();

function planOf(name: string): Plan {
  const bytesOf = (wanted: string): Uint8Array => readFileSync(join(folder, basename(wanted)));
  const { plan, issues } = readScenario({ file: name, bytes: bytesOf(name) }, (wanted) => ({ bytes: bytesOf(wanted) }));
  expect(issues).toEqual([]);
  return plan as Plan;
}

/** What a stub would report that plays nothing: leaders lead, all others are locked, cables carry, feeds are clean. */
function allClean(plan: Plan): { devices: DeviceSummary[]; links: LinkSummary[]; feeds: FeedSummary[] } {
  const whole = { fromSeconds: 0, toSeconds: secondsFromNs(plan.lengthNs) };
  return {
    devices: plan.devices.map(({ id, name, clockSources }) => ({
      id,
      name,
      states: [
        clockSources[0] === "internal" || clockSources[0] === undefined
          ? { state: "free-run", source: clockSources[0] ?? null, ...whole }
          : { state: "locked", source: clockSources[0], ...whole },
      ],
      offsetPpm: 0,
    })),
    links: plan.links.flatMap(({ id, twoWay, hasReturn }) =>
      (twoWay ? (["both"] as const) : hasReturn ? (["there", "back"] as const) : (["there"] as const)).map((way) => ({
        id,
        way,
        states: [
          { state: "up" as const, clock: hasReturn && !twoWay ? ("each-way" as const) : ("given" as const), ...whole },
        ],
      })),
    ),
    feeds: plan.feeds.map(({ id, name, heardBy }) => ({
      id,
      name,
      heardBy,
      slips: 0,
      drops: 0,
      repeats: 0,
      silentSeconds: 0,
      silentForDeviceDownSeconds: 0,
      silentForClockSeconds: 0,
      longestSilenceSeconds: 0,
      dropouts: { whileFaulty: 0, onReturn: 0 },
      firstAudibleAtSeconds: null,
      cleanAgainAtSeconds: null,
      returnsAtFullLevel: false,
      mayBeSilent: false,
      converterDelaySeconds: 0,
      latency: { mainSeconds: 0, mainSamples: 0, spareSeconds: null, spareSamples: null },
      states: [{ state: "clean" as const, silence: null, because: null, slips: 0, ...whole }],
      realignedAtSeconds: [],
    })),
  };
}

const runs = new Map(scenarios.map((name) => [name, rehearse(planOf(name))]));

/** Nothing goes wrong in it: every listener hears everything from the first to the last instant. */
function isAllWell(name: string): boolean {
  return runs
    .get(name)!
    .summary.feeds.every(({ firstAudibleAtSeconds, slips }) => firstAudibleAtSeconds === null && slips === 0);
}

describe("the shipped scenarios", () => {
  test("are there, and in most of them something goes wrong", () => {
    expect(scenarios.length).toBeGreaterThan(9);
    expect(scenarios.filter((name) => !isAllWell(name)).length).toBeGreaterThanOrEqual(9);
  });

  test.each(scenarios)("%s is met by its own run", (name) => {
    const { plan, summary } = runs.get(name)!;
    expect(plan.expect.length).toBeGreaterThan(0);
    const { expect: judged } = summary;
    expect(judged.filter(({ met }) => !met)).toEqual([]);
  });

  test.each(scenarios)("%s is missed by a run in which all is clean, unless all is", (name) => {
    const { plan } = runs.get(name)!;
    const { devices, links, feeds } = allClean(plan);
    const missed = judge(plan.expect, devices, links, feeds).filter(({ met }) => !met);
    if (!isAllWell(name)) expect(missed.length).toBeGreaterThan(0);
  });
});
