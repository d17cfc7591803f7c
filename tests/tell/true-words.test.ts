/** What is said is true of this run at that moment: paces, figures, events that find nothing to do, luck. */
import { describe, expect, test } from "vitest";
import type { Telling } from "../../shared/telling.ts";
import { firstFix } from "../../sim/first-fix.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { plan } from "../helpers/rig.ts";
import { story, told } from "./stories.ts";

type Device = Readonly<Record<string, unknown>>;
type Event = Readonly<Record<string, unknown>>;

/** Two desks on clocks of their own, 10 ppm apart: 0.48 samples a second at 48 kHz, a click every 2.08 s. */
function twoDesks(events: readonly Event[], more: { a?: Device; b?: Device } = {}): object {
  return {
    format: 1,
    title: "Two desks",
    run: { length: "01:00:00", seed: "s" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["a"],
      devices: [
        { id: "a", kind: "desk", clockSources: ["internal"], oscillator: { offsetPpm: 10 }, ...more.a },
        { id: "b", kind: "desk", clockSources: ["internal"], oscillator: { offsetPpm: 0 }, ...more.b },
      ],
      links: [{ id: "l", type: "madi", from: "a.1", to: "b.1" }],
      feeds: [{ id: "f", through: ["a", "b"], channels: 2, heardBy: ["pa"] }],
    },
    events,
  };
}

function toldOf(scenario: object): Telling {
  const run = rehearse(plan(scenario));
  return tell(run, { fix: firstFix(run) });
}

const lines = (telling: Telling) => telling.timeline.map(({ at, text }) => `${at} ${text}`).join("\n");
const everything = (telling: Telling) =>
  [lines(telling), ...telling.heard.map(({ text }) => text), ...telling.sentences, telling.fixFirst ?? ""].join("\n");

describe("a clock whose frequency changes while something clicks", () => {
  test("faster: each stretch has its own pace, and the distance is that of its moment", () => {
    const telling = toldOf(twoDesks([{ at: "00:30:00", do: "step-frequency", device: "a", offsetPpm: 40 }]));
    // 40 ppm at 48 kHz: 1.92 samples a second, a click every 0.52 s.
    expect(lines(telling)).toContain("on its own clock, 10 ppm slower than device a");
    expect(lines(telling)).toContain("every 2.1 s until 00:30:00");
    expect(lines(telling)).toMatch(/00:30:00 .*For the PA the clicks come faster, every 0\.5 s to the end/);
    expect(telling.heard[0]?.text).toContain(
      "a click every 2.1 s until 00:30:00, then every 0.5 s to the end, 4,319 in all",
    );
    expect(everything(telling)).not.toMatch(/No listener/);
  });

  test("slower", () => {
    const telling = toldOf(twoDesks([{ at: "00:30:00", do: "step-frequency", device: "a", offsetPpm: 5 }]));
    expect(lines(telling)).toMatch(/00:30:00 .*For the PA the clicks come slower, every 4\.2 s to the end/);
  });

  test("stopped, by a step to nothing", () => {
    const telling = toldOf(twoDesks([{ at: "00:30:00", do: "step-frequency", device: "a", offsetPpm: 0 }]));
    expect(lines(telling)).toContain(
      "00:30:00 Device a: its own clock steps to exactly nominal. For the PA the clicks stop.",
    );
    expect(everything(telling)).not.toMatch(/No listener/);
  });

  test("slower than one stretch holds together: nothing has stopped", () => {
    const telling = toldOf(twoDesks([{ at: "00:30:00", do: "step-frequency", device: "a", offsetPpm: 0.5 }]));
    expect(lines(telling)).not.toContain("the clicks stop");
  });

  test("by temperature", () => {
    const telling = toldOf(
      twoDesks([{ at: "00:10:00", do: "temperature", device: "a", toCelsius: 100, overSeconds: 0 }]),
    );
    expect(lines(telling)).toContain("10 ppm slower than device a");
    expect(lines(telling)).toMatch(/00:10:00 .*the clicks come faster, every 1\.2 s to the end/);
  });
});

describe("events that find nothing to do", () => {
  const all = (events: readonly Event[]) => lines(toldOf(twoDesks(events)));

  test("a reboot without power", () => {
    const text = all([
      { at: "00:10:00", do: "power-cut", device: "b" },
      { at: "00:20:00", do: "reboot", device: "b" },
    ]);
    expect(text).toContain("00:20:00 Device b is off: nothing to reboot.");
  });

  test("the end of a hang that a reboot has ended", () => {
    const text = all([
      { at: "00:10:00", do: "hang", device: "a", forSeconds: 30 },
      { at: "00:10:10", do: "reboot", device: "a" },
    ]);
    expect(text).toContain("00:10:30 Device a is still booting; the reboot has ended the hang.");
    expect(text).not.toContain("works again");
  });

  test("a hang in the middle of a boot lasts", () => {
    const text = all([
      { at: "00:10:00", do: "reboot", device: "a" },
      { at: "00:10:00", do: "hang", device: "a" },
    ]);
    expect(text).toContain(
      "hangs while starting: the audio stays off even when the boot is over, and still hangs at the end",
    );
    expect(text).toMatch(/00:11:00 .*Device a still hangs: no audio comes\./);
  });

  test("a cable that is out, and one that is in", () => {
    const text = all([
      { at: "00:20:00", do: "unplug", link: "l" },
      { at: "00:25:00", do: "unplug", link: "l" },
      { at: "00:30:00", do: "plug", link: "l" },
      { at: "00:35:00", do: "plug", link: "l" },
    ]);
    expect(text).toContain("00:20:00 Cable l out.");
    expect(text).toContain("00:25:00 Cable l is out already.");
    expect(text).toContain("00:30:00 Cable l plugged in.");
    expect(text).toContain("00:35:00 Cable l is in already.");
  });
});

test("a device that is off for the whole show is the reason, not the one that comes up", () => {
  const telling = toldOf(
    twoDesks([{ at: "00:01:00", do: "power-back", device: "a" }], { a: { atStart: "off" }, b: { atStart: "off" } }),
  );
  expect(telling.heard[0]?.text).toContain("silent from beginning to end: device b is off for the whole show.");
  expect(lines(telling)).not.toContain("is not up yet");
});

/** A house clock for the monitor desk, whose stage box takes from it; the microphones come through the FOH side. */
function rigWithWordClock(events: readonly Event[]): object {
  const device = (id: string, name: string, kind: string, clockSources: string[], offsetPpm: number) => ({
    id,
    name,
    kind,
    clockSources,
    oscillator: { offsetPpm },
    bootSeconds: 60,
  });
  return {
    format: 1,
    title: "Word clock",
    run: { length: "01:00:00", seed: "s" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh", "mon"],
      devices: [
        device("foh", "FOH desk", "desk", ["internal"], 5),
        device("mon", "Monitor desk", "desk", ["1", "internal"], -5),
        device("left", "Stage box left", "stage-box", ["1", "internal"], 0),
        device("right", "Stage box right", "stage-box", ["1", "internal"], 2),
        device("truck", "Broadcast truck", "truck", ["2", "internal"], 1),
      ],
      links: [
        { id: "main", type: "madi", from: "left.1", to: "foh.1", return: true },
        { id: "wc", type: "word-clock", from: "foh.3", to: "mon.1" },
        { id: "mon-right", type: "aes50", ends: ["mon.2", "right.1"] },
        { id: "left-mon", type: "madi", from: "left.3", to: "mon.3" },
        { id: "to-truck", type: "aes3", from: "foh.5", to: "truck.1" },
        { id: "wc-truck", type: "word-clock", from: "foh.6", to: "truck.2" },
      ],
      feeds: [
        { id: "cast", through: ["left", "foh", "truck"], channels: [32, 2], heardBy: ["broadcast"] },
        { id: "ears", through: ["left", "mon"], channels: 32, heardBy: ["in-ears"] },
        { id: "wedge-mix", through: ["mon", "right"], channels: 16, heardBy: ["wedges"] },
      ],
    },
    events,
  };
}

test("beside a leader that goes on leading, a desk that came loose does not lead", () => {
  const telling = toldOf(
    rigWithWordClock([
      { at: "00:09:00", do: "unplug", link: "wc", end: "to" },
      { at: "00:10:00", do: "plug", link: "wc", end: "to", into: 4 },
    ]),
  );
  expect(lines(telling)).not.toContain("the monitor desk leads");
  expect(lines(telling)).toMatch(/00:09:00 .*Monitor desk is on its own clock, 10 ppm slower than/);
  expect(lines(telling)).toContain("port 4 is not among its clock sources; it still does not follow.");
});

test("a feed that may be silent says so in its line, with or without clicks", () => {
  const stories = told();
  const may = stories.flatMap(({ run }) => run.summary.feeds.filter(({ mayBeSilent }) => mayBeSilent));
  expect(may.some(({ slips }) => slips === 0)).toBe(true);
  expect(may.some(({ slips }) => slips > 0)).toBe(true);
  const saying = stories
    .flatMap(({ telling }) => telling.heard)
    .filter(({ text }) => text.includes("Either silent or clicking: test it."));
  expect(saying).toHaveLength(may.length);
});

test("at the top nobody who clicks more than a handful suffers less", () => {
  const telling = toldOf(
    rigWithWordClock([
      { at: "00:20:00", do: "choose-source", device: "truck", source: "internal" },
      { at: "00:40:00", do: "choose-source", device: "truck", source: "2" },
      { at: "00:50:00", do: "power-cut", device: "mon", forSeconds: 10 },
    ]),
  );
  // 4 ppm at 48 kHz for 20 minutes: 230 samples.
  expect(telling.sentences[1]).toMatch(/The broadcast clicks 2[23]\d times\./);
});

test("a silence that stays is the longest of one listener, not the sum of all", () => {
  const telling = toldOf(rigWithWordClock([{ at: "00:20:00", do: "reboot", device: "left" }]));
  expect(telling.fixFirst).toMatch(/(broadcast|in-ears)'s? silence of 1 min stays?/);
});

describe("a return that was clean by luck", () => {
  const rig = (bootSeconds: number) => ({
    format: 1,
    title: "Luck",
    run: { length: "00:30:00", seed: "s" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh", "box"],
      devices: [
        {
          id: "foh",
          name: "FOH desk",
          kind: "desk",
          clockSources: ["internal"],
          oscillator: { offsetPpm: 4.2 },
          bootSeconds,
        },
        {
          id: "box",
          name: "Stage box",
          kind: "stage-box",
          clockSources: ["1", "internal"],
          oscillator: { offsetPpm: -6.3 },
        },
        {
          id: "mon",
          name: "Monitor desk",
          kind: "desk",
          clockSources: ["1", "internal"],
          oscillator: { offsetPpm: 1.8 },
        },
      ],
      links: [
        { id: "one", type: "madi", from: "box.1", to: "foh.1", return: true },
        { id: "two", type: "madi", from: "box.2", to: "mon.1", return: true },
      ],
      feeds: [{ id: "ears", through: ["box", "mon"], channels: 32, heardBy: ["in-ears"] }],
    },
    events: [{ at: "00:10:00", do: "reboot", device: "foh" }],
  });
  const heard = [60, 60.5, 61, 61.5, 62, 62.5, 63].map((seconds) => toldOf(rig(seconds)).heard[0]?.text ?? "");

  test("some boots of like length are clean, others cost a dropout; the clean ones say so", () => {
    const clean = heard.filter((text) => text.startsWith("clean"));
    expect(clean.length).toBeGreaterThan(0);
    expect(clean.length).toBeLessThan(heard.length);
    for (const text of clean) expect(text).toContain("in this run; a boot of another length may cost one dropout.");
    for (const text of heard.filter((one) => !clean.includes(one))) expect(text).not.toContain("another length");
  });
});

test("a long chain tells the locks it loses behind the one that moves", () => {
  const devices = Array.from({ length: 40 }, (_, index) => ({
    id: `d${index}`,
    kind: "desk",
    clockSources: index === 0 ? ["internal"] : ["1", "internal"],
    oscillator: { offsetPpm: index === 0 ? 5 : -2 },
  }));
  const links = devices
    .slice(1)
    .map(({ id }, index) => ({ id: `l${index}`, type: "madi", from: `d${index}.2`, to: `${id}.1` }));
  const telling = toldOf({
    format: 1,
    title: "Chain",
    run: { length: "00:20:00", seed: "s" },
    rig: { sampleRateHz: 48000, leaders: ["d0"], devices, links, feeds: [] },
    events: [{ at: "00:10:00", do: "reboot", device: "d0" }],
  });
  expect(lines(telling)).toMatch(/lose lock for up to \d/);
});

test("one device alone is said to be alone, and nothing is said twice", () => {
  const telling = toldOf({
    format: 1,
    title: "One",
    run: { length: "01:00:00", seed: "s" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["a"],
      devices: [{ id: "a", kind: "desk", clockSources: ["internal"] }],
      links: [],
      feeds: [],
    },
  });
  expect(telling.sentences[0]).toBe("Device a is alone, on its own clock.");
  for (const sentence of telling.verdict) expect(telling.sentences).not.toContain(sentence);
});

test("a rig that has no device yet has none that runs on a clock of its own", () => {
  const rig = { sampleRateHz: 48000, leaders: [], devices: [], links: [], feeds: [] };
  const telling = toldOf({ format: 1, title: "None", run: { length: "01:00:00", seed: "s" }, rig });
  expect(telling.sentences[0]).toBe("There is no device in this rig yet.");
});

describe("what slips in a silence", () => {
  const muting = twoDesks([], { b: { muteOutOfStep: true } });

  test("is in the count of slips, and no word speaks of clicks", () => {
    const run = rehearse(plan(muting));
    expect(run.summary.feeds[0]!.slips).toBeGreaterThan(1000);
    expect(run.summary.feeds[0]!.silentSeconds).toBeGreaterThan(3590);
    expect(everything(tell(run, { fix: firstFix(run) }))).not.toMatch(/click/);
  });

  test("is not counted beside another feed that is silent for longer", () => {
    const scenario = twoDesks([{ at: "00:10:00", do: "step-frequency", device: "a", offsetPpm: 12 }], {
      b: { muteOutOfStep: true },
    }) as { rig: { feeds: object[] } };
    scenario.rig.feeds.push({ id: "g", through: ["a", "b"], channels: 2, heardBy: ["wedges"] });
    expect(toldOf(scenario).sentences.join(" ")).not.toMatch(/click/);
  });
});

describe("what to fix first", () => {
  const guest = (afterReboot: readonly string[]) =>
    twoDesks(
      [
        { at: "00:10:00", do: "reboot", device: "b" },
        { at: "00:50:00", do: "set-clock-sources", device: "b", clockSources: ["1"] },
      ],
      { b: { clockSources: ["1"], afterReboot: { clockSources: afterReboot }, muteOutOfStep: false } },
    );

  test("is the list that a device comes back with, where that made the trouble", () => {
    const telling = toldOf(guest(["internal"]));
    expect(telling.heard[0]!.text).toContain("click");
    expect(telling.fixFirst).toMatch(
      /^Fix first: b, clock source after a reboot: port 1 \(a\), as before it\. Rehearsed with that change: no clicks/,
    );
  });

  test("is nothing where nothing gets better for anybody, though a count gets smaller", () => {
    for (const { name, telling, run } of told()) {
      const fix = firstFix(run);
      if (telling.fixFirst === null) {
        expect(fix?.fix ?? null, name).toBeNull();
        continue;
      }
      expect(telling.fixFirst, name).toMatch(/Rehearsed with that change: (no|nothing|[^;]* instead of)/);
    }
    expect(told().some(({ run, telling }) => telling.fixFirst === null && firstFix(run) !== null)).toBe(true);
  });
});

describe("words that were read as something else", () => {
  test("a cable that is out is not received", () => {
    const scenario = (at: string) => {
      const made = twoDesks(
        [
          { at: "00:10:00", do: "power-back", device: "b" },
          { at: at, do: "plug", link: "l" },
        ],
        { b: { atStart: "off", muteOutOfStep: false } },
      ) as { rig: { links: { atStart?: string }[] } };
      made.rig.links[0]!.atStart = "unplugged";
      return lines(toldOf(made));
    };
    expect(scenario("00:20:00")).toMatch(/00:11:00 Device b is up on its own clock/);
    expect(scenario("00:20:00")).not.toMatch(/00:11:00 .*receives the link/);
    expect(scenario("00:05:00")).toMatch(/00:11:00 .*receives the link/);
  });

  test("who is only on its own clock does not lead", () => {
    const { telling } = story("stuck-box.json");
    const text = lines(telling);
    expect(text).toMatch(/00:20:00 .*the monitor desk leads\. Stage box is on its own clock/);
    expect(text).not.toContain("stage box leads");
    expect(telling.sentences[0]).not.toContain("stage box");
  });

  test("no sentence of what is heard begins with a figure", () => {
    for (const { name, telling } of told())
      for (const { text } of telling.heard) expect(text, name).not.toMatch(/\. \d/);
  });
});
