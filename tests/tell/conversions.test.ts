/** What is said of sample-rate converters, and what is not said of those behind them. */
import { describe, expect, test } from "vitest";
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import { firstFix } from "../../sim/first-fix.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { device, feed, link, planOf, unplug } from "../helpers/plan.ts";

const converters: DevicePlan["converters"] = { 7: { delaySeconds: 0.0015, lockSeconds: 0.1, ratioMax: 8 } };
const desk = (id: string, name: string, sources: string[], words: Parameters<typeof device>[2] = {}) =>
  device(id, sources, { name, kind: "desk", ...words });

function rig(
  guest: Parameters<typeof device>[2],
  sources = ["internal"],
  words: { foh?: object; events?: Plan["events"] } = {},
) {
  const links = [
    link("guest.1", "foh.7", { id: "guest" }),
    link("foh.3", "guest.3", { id: "clock", type: "word-clock" }),
    link("foh.1", "pa.1", { id: "to-pa" }),
  ];
  const made = planOf({
    seconds: 600,
    devices: [
      desk("foh", "FOH desk", ["internal"], { offsetPpm: 2, converters, ...words.foh }),
      desk("guest", "Guest desk", sources, guest),
      device("pa", ["1"], { name: "PA processor" }),
    ],
    links,
    feeds: [feed("mix", ["guest", "foh", "pa"], links)],
    events: words.events ?? [],
  });
  return { ...made, leaders: ["foh"] };
}

const said = (...words: Parameters<typeof rig>) => tell(rehearse(rig(...words))).converters;

describe("a converter", () => {
  test("is said to hide two clocks, with what would be heard without it and what it costs", () => {
    expect(said({ offsetPpm: -8 })).toEqual([
      "FOH desk, port 7: a sample-rate converter hides that the guest desk and the FOH desk are on different clocks, 10 ppm apart. Without it there would be a click every 2.1 s; it delays the sound by 2 ms.",
    ]);
    // And so there would be.
    const without = rehearse(rig({ offsetPpm: -8 }, ["internal"], { foh: { converters: {} } }));
    expect(without.summary.feeds[0]!.slips).toBe(288);
    expect(tell(without).converters).toEqual([]);
  });

  test("between two rates is said to be what lets anything through", () => {
    expect(said({ offsetPpm: -8, sampleRateHz: 44_100 })).toEqual([
      "FOH desk, port 7: a sample-rate converter hides that the guest desk and the FOH desk are on different clocks, 10 ppm apart. Without it nothing would come through, for it turns 44.1 kHz into 48 kHz; it delays the sound by 2 ms.",
    ]);
  });

  test("on one clock is said to be there for nothing, until that clock is lost", () => {
    expect(said({}, ["3"])).toEqual([
      "FOH desk, port 7: a sample-rate converter takes the guest desk, and both are on one clock all the while. It is not needed; it delays the sound by 2 ms, and would hide it if one of them left that clock.",
    ]);
    const [line] = said({ offsetPpm: -8 }, ["3"], { events: [unplug(450, "clock")] });
    expect(line).toContain("on different clocks, 10 ppm apart. They are so for 2 min 30 s. Without it");
  });

  test("that never converts is not spoken of", () => {
    expect(said({ atStart: "off" })).toEqual([]);
  });
});

describe("a guest behind a converter", () => {
  test("is no trouble of the clock; without the converter it is", () => {
    const top = (foh: object) => tell(rehearse(rig({ offsetPpm: -8 }, ["internal"], { foh }))).sentences;
    expect(top({ clockSources: ["internal"] })[0]).toBe("FOH desk leads from beginning to end.");
    expect(top({ clockSources: ["internal"] })[1]).toBe("Every listener hears it clean from beginning to end.");
    expect(top({ converters: {} })[0]).toMatch(/^Guest desk is on its own clock, 10 ppm slower than the FOH desk/);
  });

  test("has nothing to fix", () => {
    expect(firstFix(rehearse(rig({ offsetPpm: -8 })))).toBeNull();
  });
});
