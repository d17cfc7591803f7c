/** Sample-rate converters at inputs, by real runs of small rigs made by hand. AES3 and MADI come up in 0.1 s. */
import { describe, expect, it } from "vitest";
import type { ConverterPlan, DevicePlan, Plan } from "../../shared/plan.ts";
import type { Fact } from "../../shared/record.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { at, device, feed, link, type PlanWords, planOf, plug, unplug } from "../helpers/plan.ts";

const converter: ConverterPlan = { delaySeconds: 0.002, lockSeconds: 0.25, ratioMax: 4 };
const DAY = 86_400;

/** A guest on its own clock into the FOH desk, and the FOH desk into the PA, which follows it. */
function rig(
  words: Partial<PlanWords> & {
    readonly guest?: Parameters<typeof device>[2];
    readonly with?: Partial<ConverterPlan> | null;
    readonly foh?: Parameters<typeof device>[2];
    readonly links?: never;
    readonly guestSources?: readonly string[];
    readonly atStart?: "plugged" | "unplugged";
  } = {},
): Plan {
  const { guest = { offsetPpm: 10 }, foh = {}, guestSources = ["internal"], atStart = "plugged", ...rest } = words;
  const converters: DevicePlan["converters"] = words.with === null ? {} : { "7": { ...converter, ...words.with } };
  const links = [
    link("guest.1", "foh.7", { id: "guest", type: "aes3", atStart }),
    link("foh.2", "pa.1", { id: "to-pa", type: "aes3" }),
    link("foh.3", "guest.3", { id: "clock", type: "word-clock" }),
  ];
  return planOf({
    seconds: 60,
    ...rest,
    devices: [
      device("foh", ["internal"], { converters, ...foh }),
      device("guest", guestSources, guest),
      device("pa", ["1"]),
    ],
    links,
    feeds: [feed("guest-mix", ["guest", "foh", "pa"], links)],
  });
}

const play = (...words: Parameters<typeof rig>) => rehearse(rig(...words));

/** "5.1 finding": each state of the converter, and from when on. */
function statesOf({ record }: ReturnType<typeof rehearse>): string[] {
  return record.rows.flatMap(({ atNs, fact }) => (fact.kind === "converter" ? [`${atNs / 1e9} ${fact.state}`] : []));
}

function inputs({ record }: ReturnType<typeof rehearse>): Extract<Fact, { kind: "input" }>[] {
  return record.rows.flatMap(({ subject, fact }) => (fact.kind === "input" && subject === "port foh.7" ? [fact] : []));
}

const heard = (run: ReturnType<typeof rehearse>) =>
  run.summary.feeds[0]!.states.map(
    ({ state, silence, fromSeconds }) => `${Math.round(fromSeconds * 1e6) / 1e6} ${silence ?? state}`,
  );

describe("what comes through a converter", () => {
  it("does not slip and stays in step for a day, however far apart the clocks are", () => {
    const words = { seconds: DAY, guest: { offsetPpm: 50 }, foh: { offsetPpm: -50 } };
    const without = play({ ...words, with: null, foh: { offsetPpm: -50 } });
    expect(without.summary.feeds[0]!.slips).toBe(414_720); // 100 ppm · 48,000 · 86,400
    const run = play({ ...words, foh: { offsetPpm: -50, converters: { 7: converter } } });
    expect(run.summary.feeds[0]).toMatchObject({ slips: 0, silentSeconds: 0, mayBeSilent: false });
    expect(heard(run)).toEqual(["0 clean"]);
    expect(inputs(run)).toEqual([expect.objectContaining({ decodes: true, inStep: true })]);
    expect(statesOf(run)).toEqual(["0 converting"]);
  });

  it("comes at any rate that it bridges, either way, and not at one beyond", () => {
    const decodes = (guestHz: number, fohHz: number) =>
      inputs(
        play({
          guest: { sampleRateHz: guestHz },
          foh: { sampleRateHz: fohHz, converters: { 7: { ...converter, ratioMax: 2 } } },
        }),
      ).map((input) => input.decodes);
    expect(decodes(96_000, 48_000)).toEqual([true]);
    expect(decodes(48_000, 96_000)).toEqual([true]);
    expect(decodes(44_100, 48_000)).toEqual([true]);
    expect(decodes(192_000, 48_000)).toEqual([false]);
    expect(decodes(44_100, 96_000)).toEqual([false]);
    const beyond = play({ guest: { sampleRateHz: 192_000 }, with: { ratioMax: 2 } });
    expect(heard(beyond)).toEqual(["0 not-carried"]);
    expect(statesOf(beyond)).toEqual(["0 idle"]);
    // Without a converter no other rate comes through at all.
    expect(heard(play({ guest: { sampleRateHz: 96_000 }, with: null }))).toEqual(["0 not-carried"]);
  });

  it("is silent while the converter finds the rate, after a plug and after a break that was noticed", () => {
    const run = play({
      atStart: "unplugged",
      events: [plug(5, "guest"), unplug(20, "guest"), plug(30, "guest")],
    });
    expect(heard(run)).toEqual([
      "0 link-down",
      "5.1 finding-rate",
      "5.35 clean",
      "20 link-down",
      "30.1 finding-rate",
      "30.35 clean",
    ]);
    expect(statesOf(run)).toEqual([
      "0 idle",
      "5.1 finding",
      "5.35 converting",
      "20 idle",
      "30.1 finding",
      "30.35 converting",
    ]);
    expect(run.summary.feeds[0]).toMatchObject({ silentForClockSeconds: 0.5, returnsAtFullLevel: true });
    expect(run.summary.converters[0]).toMatchObject({ searches: 2 });
  });

  it("is found anew when the sender jumps to a source, and when another rate arrives", () => {
    const jumps = play({
      events: [at(5.00313, { do: "set-clock-sources", device: "guest", clockSources: ["3", "internal"] })],
    });
    // Ten ppm for five seconds is 2.4 samples: on choosing, the guest jumps by what is left of a sample.
    expect(jumps.record.rows.filter(({ fact }) => fact.kind === "re-aligned")).toHaveLength(1);
    expect(statesOf(jumps).map((state) => state.split(" ")[1])).toEqual(["converting", "finding", "converting"]);
    expect(heard(jumps).slice(0, 2)).toEqual(["0 clean", expect.stringMatching(/^5\.0\d+ finding-rate$/)]);

    const boots = play({
      guest: { whileBooting: "wrong-rate", bootSeconds: 20 },
      events: [at(10, { do: "reboot", device: "guest", part: "all" })],
    });
    const states = statesOf(boots).map((state) => state.split(" ")[1]);
    expect(states.slice(0, 3)).toEqual(["converting", "finding", "converting"]);
  });

  it("goes on through a break that nobody notices, but for the samples that are lost and the rate to be found", () => {
    const run = play({
      events: [unplug(5, "guest"), plug(5.004, "guest")],
    });
    expect(statesOf(run)).toEqual(["0 converting", "5 idle", "5.004 finding", "5.254 converting"]);
    expect(inputs(run).every(({ inStep }) => inStep)).toBe(true);
    expect(run.summary.feeds[0]!.dropouts.whileFaulty + run.summary.feeds[0]!.dropouts.onReturn).toBe(1);
  });

  it("needs no time where it has none to find the rate", () => {
    const run = play({
      with: { lockSeconds: 0 },
      atStart: "unplugged",
      events: [plug(5, "guest")],
    });
    expect(heard(run)).toEqual(["0 link-down", "5.1 clean"]);
  });

  it("has to be found at a cold start, and is known for ever in a settled one", () => {
    const cold = play({
      begin: "cold",
      guest: { bootSeconds: 5 },
      foh: { bootSeconds: 10, converters: { 7: converter } },
    });
    expect(statesOf(cold)).toEqual(["0 idle", "10.1 finding", "10.35 converting"]);
  });

  it("slips again where the plug is moved to an input without one", () => {
    const run = play({
      events: [unplug(10, "guest", "b"), at(12, { do: "plug", link: "guest", end: "b", way: null, into: 8 })],
    });
    // 0.48 samples a second from 12.1 s on.
    expect(run.summary.feeds[0]!.slips).toBe(22);
    expect(statesOf(run).at(-1)).toBe("10 idle");
    expect(run.summary.converters).toHaveLength(1);
    expect(run.summary.converters[0]!.convertsSeconds).toBeCloseTo(10, 9);
  });
});

describe("a clock behind a converter", () => {
  it("is none to follow, whatever the plan says: the device stays on its own", () => {
    const run = play({ foh: { clockSources: ["7"], converters: { 7: converter } } });
    expect(run.summary.devices.find(({ id }) => id === "foh")!.states.map(({ state }) => state)).toEqual(["free-run"]);
  });

  it("is not counted on for slips when a device is left alone", () => {
    const events = [unplug(5, "clock")];
    const slipsForetold = (words: Parameters<typeof rig>[0]) =>
      play({ guestSources: ["3"], events, ...words }).summary.holdovers.flatMap(({ links }) =>
        links.map((each) => each.link),
      );
    expect(slipsForetold({ with: null })).toEqual(["guest"]);
    expect(slipsForetold({})).toEqual([]);
  });
});

describe("the summary of a converter", () => {
  it("says what it kept from being heard: how long the ends were apart, and by how much", () => {
    const run = play({ guest: { offsetPpm: 10 }, foh: { offsetPpm: -2.5, converters: { 7: converter } } });
    expect(run.summary.converters).toEqual([
      {
        device: "foh",
        port: 7,
        link: "guest",
        way: "there",
        from: "guest",
        fromRateHz: 48_000,
        rateHz: 48_000,
        delaySeconds: 0.002,
        convertsSeconds: 60,
        searches: 0,
        apartSeconds: 60,
        aheadPpm: expect.closeTo(12.5, 9),
      },
    ]);
    expect(run.summary.feeds[0]!.converterDelaySeconds).toBe(0.002);
    expect(play({ with: null }).summary).toMatchObject({ converters: [], feeds: [{ converterDelaySeconds: 0 }] });
  });

  it("is apart from nothing while both ends are on one clock, and only from the loss of it on", () => {
    const together = play({ guestSources: ["3"] });
    expect(together.summary.converters[0]).toMatchObject({ apartSeconds: 0, aheadPpm: null, convertsSeconds: 60 });
    const parted = play({
      guestSources: ["3"],
      events: [unplug(20, "clock")],
    });
    const { apartSeconds, aheadPpm } = parted.summary.converters[0]!;
    expect(apartSeconds).toBeCloseTo(40, 6);
    // Its loop is open from the break on, and its own oscillator is heard once the loss is noticed, 0.01 s later.
    expect(aheadPpm).toBeGreaterThan(9.99);
    expect(aheadPpm).toBeLessThanOrEqual(10);
  });
});
