/** How long a device can go on alone, in words: foretold, and what the run did. */
import { describe, expect, test } from "vitest";
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { device, link, planOf, plug, unplug } from "../helpers/plan.ts";
import type { DeviceWords } from "../oracle/hand-rig.ts";

const LOSS = 60;

/** A stage box on the desk's word clock, with audio both ways beside it, unless the words say otherwise. */
function rig(
  box: DeviceWords,
  { events = [unplug(LOSS, "clock")], seconds = 1200 }: { events?: EventPlan[]; seconds?: number } = {},
  links = [link("foh.2", "stage.2", { id: "main", hasReturn: true })],
): Plan {
  const named = (made: DevicePlan, name: string): DevicePlan => ({ ...made, name });
  return planOf({
    seconds,
    devices: [
      named(device("foh", ["internal"], { offsetPpm: 4.2 }), "FOH desk"),
      named(device("stage", ["1"], { offsetPpm: -6.3, ...box }), "Stage box"),
    ],
    links: [link("foh.1", "stage.1", { id: "clock", type: "word-clock" }), ...links],
    events,
  });
}

const lines = (plan: Plan) => tell(rehearse(plan)).holdovers.map(({ at, text }) => `${at} ${text}`);

describe("a device that is left alone", () => {
  test("on its own clock", () => {
    expect(lines(rig({}))).toEqual([
      "00:01:00 Stage box is on its own clock, 10.5 ppm slower than the FOH desk: a quarter of a sample after 0.5 s, " +
        "first slip after 2 s. The run: 0.5 s and 2 s (the main cable).",
    ]);
  });

  test("holding a frequency that is off by what its measuring leaves", () => {
    // 120 ppb: 0.25/48,000/120e-9 = 43.4 s, and a whole sample after 173.6 s = 2 min 54 s.
    expect(lines(rig({ holdoverSeconds: 600, holdoverErrorPpb: 120 }))).toEqual([
      "00:01:00 Stage box holds its frequency: a quarter of a sample after 43 s, first slip after 2 min 54 s. " +
        "The run: 43 s and 2 min 54 s (the main cable).",
    ]);
  });

  test("holding it without error, and longer than the show", () => {
    expect(lines(rig({ holdoverSeconds: 3600 }, { seconds: 300 }))).toEqual([
      "00:01:00 Stage box holds its frequency: a quarter of a sample after 1 h, first slip after 1 h. " +
        "In the run the show ends after 4 min, before that.",
    ]);
  });

  test("whose clock comes back before anything slips", () => {
    const events = [unplug(LOSS, "clock"), plug(LOSS + 90, "clock")];
    expect(lines(rig({ holdoverSeconds: 600, holdoverErrorPpb: 120 }, { events }))).toEqual([
      "00:01:00 Stage box holds its frequency: a quarter of a sample after 43 s, first slip after 2 min 54 s. " +
        "The run: 43 s; it is back on a source after 1 min 30 s, before a slip.",
    ]);
  });

  test("with nobody's clock to click against: not a word on its own clock", () => {
    expect(lines(rig({}, {}, []))).toEqual([]);
    expect(rehearse(rig({}, {}, [])).summary.holdovers).toHaveLength(1);
  });

  test("as fast as the other by its numbers", () => {
    expect(lines(rig({ offsetPpm: 4.2, holdoverSeconds: 30 }))).toEqual([
      "00:01:00 Stage box holds its frequency: by its numbers that keeps it within a quarter of a sample. " +
        "So it does in the run, until the show ends after 19 min.",
    ]);
  });

  test("again and again: the first two times, then only counted", () => {
    const events = [0, 1, 2, 3, 4].flatMap((n) => [
      unplug(LOSS + 100 * n, "clock"),
      plug(LOSS + 100 * n + 20, "clock"),
    ]);
    const told = lines(rig({}, { events }));
    expect(told).toHaveLength(3);
    expect(told[2]).toMatch(/^00:02:40 3 more such losses in this run; --json lists them all\.$/);
  });

  test("at most three figures in a sentence, and no word that promises", () => {
    const all = [rig({}), rig({ holdoverSeconds: 600, holdoverErrorPpb: 120 }), rig({ holdoverSeconds: 3600 })].flatMap(
      lines,
    );
    expect(all.length).toBe(3);
    for (const line of all) {
      expect(line).not.toMatch(/!|\b(pass|safe|good|ok|well)\b/i);
      for (const sentence of line.slice(9).split(/(?<=\.) (?=[A-Z])/)) {
        expect(sentence).toMatch(/^[A-Z].*\.$/);
        const figures = sentence.replace(/\d+ (?:h|min) \d+ (?:min|s)\b/g, "9 s").match(/(?<![\w.])[\d,.]*\d/g);
        expect(figures?.length ?? 0).toBeLessThanOrEqual(3);
      }
    }
  });
});
