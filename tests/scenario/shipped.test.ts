/** The scenarios that are shipped: each can be read, finds what it says it finds, and has its row in their README. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { formatIssues } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import type { FileLoaded, ScenarioRead } from "../../shared/scenario.ts";
import { readScenario } from "../../shared/scenario.ts";
import { check } from "../../sim/check/index.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { judge } from "../../sim/verdict.ts";
import { isAboutSettings } from "../check/rigs.ts";
import { SHIPPED } from "../helpers/shipped.ts";

const FOLDER = "scenarios";
const files = SHIPPED;

function read(name: string): ScenarioRead {
  const load = (other: string): FileLoaded => ({ bytes: readFileSync(`${FOLDER}/${other.replace(/^\.\//, "")}`) });
  return readScenario({ file: name, bytes: readFileSync(`${FOLDER}/${name}`) }, load);
}

function plan(name: string): Plan {
  const { plan: made, issues } = read(name);
  if (made === null) throw new Error(formatIssues(issues).join("\n"));
  return made;
}

/** Nothing is to be heard in these, so a run that finds nothing is right. */
const NOTHING_TO_HEAR = ["surface-reboot.json"];

describe.each(files)("%s", (name) => {
  test("is read without an issue, tells its story, and is plain JSON", () => {
    const made = plan(name);
    expect(made.story.length).toBeGreaterThan(100);
    expect(made.expect.length).toBeGreaterThan(0);
    expect(JSON.parse(readFileSync(`${FOLDER}/${name}`, "utf8")).$schema).toBe("./scenario.schema.json");
  });

  test("finds what it says", () => {
    const { summary } = rehearse(plan(name));
    expect(summary.expect.filter((one) => !one.met)).toEqual([]);
    expect(summary.verdict).toBe("met");
  });

  test("would notice an engine that finds nothing", () => {
    const made = plan(name);
    const clean = rehearse({ ...made, events: [] }).summary;
    const feeds = clean.feeds.map((feed) => ({
      ...feed,
      slips: 0,
      drops: 0,
      repeats: 0,
      silentSeconds: 0,
      dropouts: { whileFaulty: 0, onReturn: 0 },
    }));
    const leader = made.leaders[0];
    const toSeconds = made.lengthNs / 1e9;
    const devices = clean.devices.map((device) => ({
      ...device,
      states: [
        {
          state: device.id === leader ? ("free-run" as const) : ("locked" as const),
          source: null,
          fromSeconds: 0,
          toSeconds,
        },
      ],
    }));
    const links = clean.links.map((link) => ({
      ...link,
      states: [
        {
          state: "up" as const,
          clock: link.way === "both" ? ("given" as const) : ("each-way" as const),
          fromSeconds: 0,
          toSeconds,
        },
      ],
    }));
    const isMet = judge(made.expect, devices, links, feeds).every((one) => one.met);
    expect(isMet).toBe(NOTHING_TO_HEAR.includes(name));
  });

  test("has its row in the README", () => {
    expect(readFileSync(`${FOLDER}/README.md`, "utf8")).toContain(`| [${name}](${name})`);
  });
});

describe("what check says of them beforehand", () => {
  const rulesOf = (name: string) =>
    check(plan(name))
      .filter(isAboutSettings)
      .map((one) => one.rule);

  test("it finds the settings that the story turns on", () => {
    expect(rulesOf("two-clocks.json")).toEqual(["two-leaders"]);
    expect(rulesOf("own-clock.json")).toEqual(["left-on-internal", "source-misses-leader"]);
    expect(rulesOf("still-giving.json")).toEqual(["clock-disputed"]);
    expect(rulesOf("spare-that-was-none.json")).toEqual(["sources-share-path", "spare-shares-path"]);
    expect(rulesOf("ring-of-sources.json")).toContain("ring-of-sources");
    expect(rulesOf("out-of-capture.json")).toEqual(["out-of-capture", "out-of-capture"]);
    expect(rulesOf("guests-through-converters.json")).toEqual(["two-leaders", "converter-joins-clocks"]);
    expect(rulesOf("long-chain.json")).toEqual(["deep-chain"]);
    expect(rulesOf("house-clock.json")).toEqual(["left-on-internal", "source-misses-leader"]);
    expect(rulesOf("festival-day.json")).toEqual(["left-on-internal"]);
    expect(rulesOf("festival-changeover.json")).toContain("two-leaders");
    expect(rulesOf("truck-own-clock.json")).toEqual(["two-leaders"]);
    expect(rulesOf("guest-at-six.json")).toContain("left-on-internal");
    expect(rulesOf("forklift-on-the-ramp.json")).toContain("sources-cut-by-one");
    expect(rulesOf("word-clock-line.json")).toEqual(["word-clock-terminators"]);
  });

  test.each([
    "leader-reboot.json",
    "leader-reboot-wait.json",
    "leader-reboot-stay.json",
    "leader-reboot-follows.json",
    "leader-stage-box.json",
    "surface-reboot.json",
    "main-out-good-spare.json",
    "winter-truck.json",
  ])("it has nothing against the settings of %s", (name) => {
    expect(rulesOf(name)).toEqual([]);
  });

  test("of the five policies it knows those by which the old leader retakes by itself", () => {
    const policies = ["", "-wait", "-stay", "-follows"].map((policy) => `leader-reboot${policy}.json`);
    const retakes = [...policies, "leader-stage-box.json"].map((name) =>
      check(plan(name)).some(({ rule }) => rule === "leader-retakes"),
    );
    // The fifth does not turn on the return: nobody restarts the box that leads.
    expect(retakes).toEqual([true, true, false, false, true]);
  });
});

describe("one evening, five policies", () => {
  const evening = [
    "leader-reboot.json",
    "leader-reboot-wait.json",
    "leader-reboot-stay.json",
    "leader-reboot-follows.json",
    "leader-stage-box.json",
  ].map((name) => rehearse(plan(name)).summary);
  const feed = (id: string) => evening.map((summary) => summary.feeds.find((one) => one.id === id)!);

  test("the PA is silent for as long as the desk that makes its mix starts, whatever the policy", () => {
    expect(feed("pa-mix").map((one) => one.silentForDeviceDownSeconds)).toEqual([75, 75, 75, 75, 75]);
  });

  test("what the policies decide is the return", () => {
    expect(feed("ears-mix").map((one) => one.dropouts)).toEqual([
      { whileFaulty: 0, onReturn: 1 },
      { whileFaulty: 0, onReturn: 1 },
      { whileFaulty: 0, onReturn: 1 },
      { whileFaulty: 0, onReturn: 0 },
      { whileFaulty: 0, onReturn: 0 },
    ]);
    expect(feed("ears-mix").map((one) => Math.round(one.firstAudibleAtSeconds ?? 0))).toEqual([1275, 1575, 2700, 0, 0]);
    expect(feed("pa-mix").map((one) => one.slips)).toEqual([0, 105, 499, 0, 0]);
  });
});

describe("clocks that are cold, warm, or left alone", () => {
  const statesOf = (name: string, id: string, change: (plan: Plan) => Plan = (same) => same) =>
    rehearse(change(plan(name))).summary.devices.find((device) => device.id === id)!.states;

  test("a warm desk is taken at once after its reboot, a cold one minutes after its power is back", () => {
    const locks = statesOf("winter-truck.json", "studio").filter(({ state }) => state === "locked");
    expect(locks).toHaveLength(3);
    const [first, rebooted, cooled] = locks.map(({ fromSeconds }) => fromSeconds) as [number, number, number];
    // Up after 75 s each time: as power comes at first, after the reboot at 00:50:00, after the power at 01:40:00.
    expect(first - 75).toBeGreaterThan(1200);
    expect(rebooted - (3000 + 75)).toBeLessThan(5);
    expect(cooled - (6000 + 75)).toBeGreaterThan(500);
    expect(cooled - (6000 + 75)).toBeLessThan(540);
  });

  test("clicks come closer as the desk cools, and none after it follows the house clock", () => {
    const { feeds } = rehearse(plan("house-clock.json")).summary;
    const slipping = feeds.find(({ id }) => id === "pa-mix")!.states.filter(({ state }) => state === "slipping");
    expect(slipping.length).toBeGreaterThan(0);
    expect(slipping.at(-1)!.toSeconds).toBeLessThanOrEqual(4500);
  });

  test("how long the stage box can go on alone is as foretold, but for the fan", () => {
    const coasting = (change: (plan: Plan) => Plan) => {
      const { holdovers } = rehearse(change(plan("festival-day.json"))).summary;
      expect(holdovers).toHaveLength(1);
      const { predictedSeconds, giveOrTakeSeconds, ranSeconds } = holdovers[0]!.links.find(
        ({ link, way }) => link === "stage-foh" && way === "there",
      )!;
      return { predicted: predictedSeconds!, spread: giveOrTakeSeconds!, ran: ranSeconds! };
    };
    const fan = coasting((made) => made);
    const without = coasting((made) => ({
      ...made,
      events: made.events.filter(({ atNs }) => atNs !== (4 * 3600 + 35 * 60) * 1e9),
    }));
    expect(without.predicted).toBe(fan.predicted);
    // Three standard deviations of what wander does to it.
    expect(Math.abs(without.ran - without.predicted)).toBeLessThan(3 * without.spread);
    expect(fan.ran).toBeLessThan(fan.predicted - 6 * fan.spread);
  });

  test("the far end of the chain swings more than the desk, and most by its loops' own speed", () => {
    const chain = rehearse(plan("long-chain.json")).summary.chains.atStart!.highest;
    expect(chain.depth).toBe(10);
    expect(chain.peakHz).toBeGreaterThan(0.05);
    expect(chain.peakHz).toBeLessThan(0.1);
    expect(chain.wander!.ratio).toBeGreaterThan(2.5);
  });
});

describe("one leader without sync, two rules", () => {
  const [byAes67, byAs] = ["leader-without-sync.json", "leader-without-sync-as.json"] as const;
  const losses = (name: string, id: string) =>
    rehearse(plan(name))
      .summary.devices.find((device) => device.id === id)!
      .states.filter(({ state }) => state === "holdover").length;

  test("it is one rig: profile, stream type and what follows from them apart", () => {
    const rigOf = (name: string) => JSON.parse(readFileSync(`${FOLDER}/${name}`, "utf8")).rig;
    const asAes67 = JSON.stringify(rigOf(byAs)).replace('"802.1as"', '"aes67"').replaceAll('"avb"', '"aes67"');
    expect(JSON.parse(asAes67)).toEqual(rigOf(byAes67));
  });

  test("by the one nobody else is elected, by the other somebody is, once a second for five minutes", () => {
    expect(losses(byAes67, "stage")).toBe(1);
    expect(losses(byAs, "stage")).toBeGreaterThan(290);
    expect(losses(byAs, "stage")).toBeLessThan(310);
  });
});

describe("cables that come and go", () => {
  test("a ring rides out one cut without a clock that notices, and a second one takes the box between alone", () => {
    const { devices } = rehearse(plan("ring-of-boxes.json")).summary;
    const unlocked = devices.filter(({ states }) => states.some(({ state }) => state === "acquiring"));
    expect(unlocked.map(({ id }) => id)).toEqual(["centre"]);
    expect(unlocked[0]!.states.find(({ state }) => state !== "locked")!.fromSeconds).toBeGreaterThan(2400);
  });

  test("too short for the spare is shorter for the listener as well", () => {
    const { states } = rehearse(plan("bad-contact.json")).summary.feeds[0]!;
    const gaps = states.filter(({ state }) => state === "silent");
    const lasting = (from: number, to: number) =>
      gaps
        .filter(({ fromSeconds }) => fromSeconds >= from && fromSeconds < to)
        .map(({ fromSeconds, toSeconds }) => Math.round((toSeconds - fromSeconds) * 1000));
    expect(lasting(1200, 2400)).toEqual(Array(12).fill(250));
    expect(lasting(2400, 3000)).toEqual(Array(9).fill(310));
    expect(lasting(3000, 5400)).toEqual([310]);
  });
});
