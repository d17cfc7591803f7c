/**
 * The state table of a device, row by row, as stories: a rig, what happens, and what each device was, from when. Times
 * are checked by hand: MADI notices a break in 0.01 s and comes up in 0.1 s, hold-off is 0.3 s, reaction 0.01 s, dwell
 * 1 s, booting 60 s.
 */
import { describe, expect, it } from "vitest";
import type { Summary } from "../../shared/summary.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plan } from "../helpers/rig.ts";

type Device = Readonly<Record<string, unknown>>;

/** FOH leads; a stage box listens to it on port 1, and to a monitor desk on port 2 that also follows FOH. */
function story(
  events: readonly object[],
  stage: Device = {},
  more: { readonly foh?: Device; readonly mon?: Device; readonly length?: string; readonly begin?: string } = {},
) {
  return {
    format: 1,
    title: "a story",
    run: { length: more.length ?? "00:05:00", begin: more.begin ?? "settled" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      devices: [
        { id: "foh", clockSources: ["internal"], oscillator: { type: "ocxo", offsetPpm: 4.13 }, ...more.foh },
        {
          id: "mon",
          clockSources: ["1", "internal"],
          oscillator: { type: "ocxo", offsetPpm: -3.17 },
          capturePpm: 50,
          steeringPpm: 100,
          ...more.mon,
        },
        {
          id: "stage",
          clockSources: ["1", "2"],
          oscillator: { type: "ocxo", offsetPpm: -6.29 },
          capturePpm: 50,
          steeringPpm: 100,
          ...stage,
        },
      ],
      links: [
        { id: "main", type: "madi", from: "foh.1", to: "stage.1", return: true, laidAlong: ["wall"] },
        { id: "fm", type: "madi", from: "foh.2", to: "mon.1", return: true },
        { id: "ms", type: "madi", from: "mon.2", to: "stage.2", return: true },
      ],
    },
    events,
  };
}

/** "locked 1 0–100, holdover – 100.01–…": what a device was, its stretches to the millisecond. */
function was(summary: Summary, device: string): string[] {
  const states = summary.devices.find((each) => each.id === device)?.states ?? [];
  return states.map(
    ({ state, source, fromSeconds }) => `${fromSeconds.toFixed(3)} ${state}${source === null ? "" : ` ${source}`}`,
  );
}

function play(scenario: object): Summary {
  return rehearse(plan(scenario)).summary;
}

const outAt = (at: string, forSeconds?: number) => ({
  at,
  do: "unplug",
  link: "main",
  ...(forSeconds === undefined ? {} : { forSeconds }),
});

describe("a device", () => {
  it("loses power and has it back: off, starting for its boot time, then the first usable source", () => {
    const found = was(play(story([{ at: "00:01:00", do: "power-cut", device: "stage", forSeconds: 10 }])), "stage");
    expect(found.slice(0, 4)).toEqual(["0.000 locked 1", "60.000 off", "70.000 starting", "130.000 free-run"]);
    // The links come up 0.1 s after both ends are there, and choosing takes 0.01 s; the first appearance waits for nothing.
    expect(found[4]).toBe("130.110 acquiring 1");
    expect(found[5]).toMatch(/^131\.\d+ locked 1$/);
  });

  it("reboots its engine and keeps its phase: nothing leaves, and one re-alignment at most on the way back", () => {
    const run = rehearse(plan(story([{ at: "00:01:00", do: "reboot", device: "stage", part: "engine" }])));
    expect(was(run.summary, "stage").slice(0, 3)).toEqual(["0.000 locked 1", "60.000 starting", "120.000 free-run"]);
    const back = run.record.rows
      .filter((row) => row.subject === "link main back" && row.fact.kind === "link")
      .map((row) => (row.fact as { state: string }).state);
    expect(back).toEqual(["up", "down", "down", "coming-up", "up"]); // broken, noticed, both there, up
  });

  it("whose surface reboots goes on as it was", () => {
    const run = rehearse(plan(story([{ at: "00:01:00", do: "reboot", device: "stage", part: "surface" }])));
    expect(was(run.summary, "stage")).toEqual(["0.000 locked 1"]);
    const surface = run.record.rows
      .filter((row) => row.fact.kind === "surface")
      .map((row) => [row.atNs / 1e9, (row.fact as { works: boolean }).works]);
    expect(surface).toEqual([
      [60, false],
      [120, true],
    ]);
  });

  it("goes to its second source after noticing, hold-off and reaction, and back by itself", () => {
    expect(
      was(play(story([outAt("00:01:00", 30)])), "stage").map((each) => each.replace(/^(\d+\.\d\d)\d+/, "$1")),
    ).toEqual([
      "0.00 locked 1",
      "60.01 free-run",
      "60.32 acquiring 2",
      expect.stringMatching(/^61\.\d\d locked 2$/),
      "90.11 acquiring 1",
      expect.stringMatching(/^91\.\d\d locked 1$/),
    ]);
  });

  it("coasts for as long as it can, then runs free", () => {
    const only = { clockSources: ["1"], holdoverSeconds: 20 };
    expect(was(play(story([outAt("00:01:00")], only)), "stage")).toEqual([
      "0.000 locked 1",
      "60.010 holdover",
      "80.010 free-run",
    ]);
  });

  it("coasts with the frequency it has learnt: the leader's, not its own", () => {
    const only = { clockSources: ["1"], holdoverSeconds: 400 };
    const { devices } = play(story([outAt("00:01:00")], only));
    expect(devices.find((each) => each.id === "stage")?.offsetPpm).toBeCloseTo(4.13, 6);
    const free = play(story([outAt("00:01:00")], { clockSources: ["1"] }));
    expect(free.devices.find((each) => each.id === "stage")?.offsetPpm).toBeCloseTo(-6.29, 6);
  });

  it("takes the same source up again within hold-off, without waiting to restore", () => {
    const patient = { holdOffSeconds: 5, waitToRestoreSeconds: 120 };
    const found = was(play(story([outAt("00:01:00", 2)], patient)), "stage");
    // Back in at 62 s, up at 62.1 s. On its own clock for 2.1 s it drifted 10.42 ppm · 2.1 s = 1.05 sample periods: 0.05 inside.
    expect(found.slice(0, 2)).toEqual(["0.000 locked 1", "60.010 free-run"]);
    expect(found[2]).toMatch(/^62\.100 (locked|acquiring) 1$/);
  });

  it("coming back inside the lock window is locked at once", () => {
    const coasting = { holdOffSeconds: 5, holdoverSeconds: 60 };
    expect(was(play(story([outAt("00:01:00", 2)], coasting)), "stage")).toEqual([
      "0.000 locked 1",
      "60.010 holdover",
      "62.100 locked 1",
    ]);
  });

  it("waits before it trusts a source that comes back", () => {
    const found = was(play(story([outAt("00:01:00", 30)], { waitToRestoreSeconds: 45 })), "stage");
    expect(found.find((each) => each.endsWith("acquiring 1"))).toMatch(/^135\.11\d acquiring 1$/); // 90.1 + 45 + 0.01
  });

  it("that does not go back by itself stays until it is told", () => {
    const stays = { revertive: false };
    expect(was(play(story([outAt("00:01:00", 30)], stays)), "stage").at(-1)).toMatch(/locked 2$/);
    const told = was(
      play(
        story([outAt("00:01:00", 30), { at: "00:03:00", do: "choose-source", device: "stage", source: "1" }], stays),
      ),
      "stage",
    );
    expect(told.at(-2)).toBe("180.010 acquiring 1");
    expect(told.at(-1)).toMatch(/locked 1$/);
  });

  it("told to use a later source stays there until that one is lost", () => {
    const found = was(
      play(
        story([
          { at: "00:01:00", do: "choose-source", device: "stage", source: "2" },
          { at: "00:03:00", do: "unplug", link: "ms" },
        ]),
      ),
      "stage",
    );
    expect(found[1]).toBe("60.010 acquiring 2");
    expect(found.find((each) => each.includes("free-run"))).toBe("180.010 free-run");
    expect(found.at(-1)).toMatch(/^181\.\d+ locked 1$/);
  });

  it("whose source is taken off the list chooses anew without waits; internal alone is free-run without holdover", () => {
    const set = (clockSources: string[]) => [
      { at: "00:01:00", do: "set-clock-sources", device: "stage", clockSources },
    ];
    const patient = { waitToRestoreSeconds: 100, holdOffSeconds: 50, holdoverSeconds: 60 };
    expect(was(play(story(set(["2"]), patient)), "stage")[1]).toBe("60.010 acquiring 2");
    expect(was(play(story(set(["internal"]), patient)), "stage")).toEqual([
      "0.000 locked 1",
      "60.010 free-run internal",
    ]);
  });

  it("whose source is taken off the list, with nothing else to use, loses it once and does not flap", () => {
    const found = was(
      play(
        story([
          { at: "00:00:30", do: "unplug", link: "ms" },
          { at: "00:01:00", do: "set-clock-sources", device: "stage", clockSources: ["2"] },
        ]),
      ),
      "stage",
    );
    expect(found).toEqual(["0.000 locked 1", "60.010 free-run"]);
  });

  it("loses lock by itself where the leader steps away, and pulls in without a jump", () => {
    // 1 Hz, damping 1: the greatest error after a step of 45 ppm is 45e-6/(e·2π) = 2.63 µs, 12.6 % of a sample, inside 25 %;
    // at 0.3 Hz it is 42 %, outside.
    const step = [{ at: "00:01:00", do: "step-frequency", device: "foh", offsetPpm: 49.13 }];
    expect(was(play(story(step)), "stage")).toEqual(["0.000 locked 1"]);
    const run = rehearse(plan(story(step, { loop: { naturalFrequencyHz: 0.3 } })));
    expect(was(run.summary, "stage").map((each) => each.split(" ").slice(1).join(" "))).toEqual([
      "locked 1",
      "acquiring 1",
      "locked 1",
    ]);
    expect(run.record.rows.some((row) => row.fact.kind === "re-aligned" && row.subject === "device stage")).toBe(false);
  });

  it("that follows goes on giving when it has lost its source, so those below never use their second; unless it is told not to", () => {
    const cutFoh = [{ at: "00:01:00", do: "unplug", link: "fm" }];
    const below = { clockSources: ["2", "1"] };
    const onMon = { mon: { clockSources: ["1"] } };
    expect(was(play(story(cutFoh, below, onMon)), "stage").at(-1)).toMatch(/locked 2$/);
    const silent = { mon: { clockSources: ["1"], givesWhenUnlocked: false } };
    expect(was(play(story(cutFoh, below, silent)), "stage").at(-1)).toMatch(/locked 1$/);
  });

  it("hung goes on giving clock; a break that nobody notices loses samples and nothing else", () => {
    expect(was(play(story([{ at: "00:01:00", do: "hang", device: "foh", forSeconds: 60 }])), "stage")).toEqual([
      "0.000 locked 1",
    ]);
    const short = play(story([outAt("00:01:00", 0.005)]));
    expect(was(short, "stage")).toEqual(["0.000 locked 1"]);
    expect(
      short.links
        .find((each) => each.id === "main" && each.way === "there")
        ?.states.map((each) => [each.state, each.fromSeconds]),
    ).toEqual([
      ["up", 0],
      ["down", 60],
      ["up", 60.005],
    ]);
  });

  it("begins cold: everybody boots, then takes whoever is there", () => {
    const found = was(play(story([], {}, { begin: "cold", foh: { bootSeconds: 20 } })), "stage");
    expect(found.slice(0, 2)).toEqual(["0.000 starting", "60.000 free-run"]);
    expect(found.at(-1)).toMatch(/locked 1$/);
  });

  it("with two supplies needs only one", () => {
    const two = { power: ["left", "right"] };
    const cuts = [{ at: "00:01:00", do: "power-cut", supply: "left" }];
    expect(was(play(story(cuts, two)), "stage")).toEqual(["0.000 locked 1"]);
    expect(was(play(story([...cuts, { at: "00:02:00", do: "power-cut", supply: "right" }], two)), "stage").at(-1)).toBe(
      "120.000 off",
    );
  });

  it("plugged into a port it does not listen to hears nothing there", () => {
    const found = play(
      story(
        [
          { at: "00:01:00", do: "unplug", link: "main", end: "to" },
          { at: "00:01:10", do: "plug", link: "main", end: "to", into: 5 },
        ],
        { clockSources: ["1"] },
      ),
    );
    expect(was(found, "stage")).toEqual(["0.000 locked 1", "60.010 free-run"]);
    expect(found.links.find((each) => each.id === "main" && each.way === "there")?.states.at(-1)).toMatchObject({
      state: "up",
      fromSeconds: 70.1,
    });
  });
});

describe("a ring of two that once heard a leader", () => {
  it("comes to an end: what each says about the other does not go round for ever", () => {
    // The desks listen to each other first and to the leader's word clock second; both cables from the leader are pulled.
    const summary = play({
      format: 1,
      title: "a ring after a failure",
      run: { length: "00:05:00" },
      rig: {
        sampleRateHz: 48000,
        leaders: ["house"],
        devices: [
          { id: "a", clockSources: ["1", "2"], oscillator: { offsetPpm: 3.1 } },
          { id: "b", clockSources: ["1", "2"], oscillator: { offsetPpm: -2.7 } },
          { id: "house", clockSources: ["internal"], oscillator: { type: "ocxo", offsetPpm: 0.01 } },
        ],
        links: [
          { id: "house-a", type: "word-clock", from: "house.1", to: "a.1" },
          { id: "house-b", type: "word-clock", from: "house.2", to: "b.1" },
          { id: "ab", type: "madi", from: "a.2", to: "b.2", return: true },
        ],
      },
      events: [
        { at: "00:01:00", do: "unplug", link: "house-a" },
        { at: "00:01:01", do: "unplug", link: "house-b" },
      ],
    });
    expect(was(summary, "a").at(-1)).toMatch(/ 2$/);
    expect(was(summary, "b").at(-1)).toMatch(/ 2$/);
    // Nobody leads any more: both are dragged down together, to the nearest steering stop.
    const [a, b] = summary.devices;
    expect(a?.offsetPpm).toBeCloseTo(b?.offsetPpm as number, 3);
    expect(a?.offsetPpm).toBeLessThan(-20);
  });
});

describe("two frequency steps that overlap", () => {
  it("each take away their own, whichever ends first", () => {
    const step = (at: string, offsetPpm: number, forSeconds: number) => ({
      at,
      do: "step-frequency",
      device: "foh",
      offsetPpm,
      forSeconds,
    });
    // The first lasts from 60 to 120 s, the second from 90 to 210 s.
    const events = [step("00:01:00", 10, 60), step("00:01:30", 20, 120)];
    const offsetAt = (length: string) =>
      play(story(events, {}, { length })).devices.find((each) => each.id === "foh")?.offsetPpm;
    expect(offsetAt("00:01:50")).toBeCloseTo(20, 9);
    expect(offsetAt("00:02:30")).toBeCloseTo(20, 9);
    expect(offsetAt("00:04:00")).toBeCloseTo(4.13, 9);
  });
});
