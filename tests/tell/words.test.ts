import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { FeedPlan } from "../../shared/plan.ts";
import {
  counted,
  duration,
  glossed,
  grouped,
  interval,
  listed,
  listener,
  ppm,
  rhythm,
  showTime,
  theDevice,
  times,
} from "../../sim/tell/words.ts";

describe("numbers as a tired person reads them", () => {
  test.each([
    [0.0004, "less than 1 ms"],
    [0.04, "40 ms"],
    [0.3, "0.3 s"],
    [0.9999, "1 s"],
    [9.94, "9.9 s"],
    [12.4, "12 s"],
    [59.6, "1 min"],
    [77.2, "1 min 17 s"],
    [600, "10 min"],
    [3599.6, "1 h"],
    [7500, "2 h 5 min"],
    [70 * 86_400, "70 days"],
  ])("%s s is %s", (seconds, words) => expect(duration(seconds)).toBe(words));

  test("a duration never loses more than it says: it is within half of its last digit", () => {
    const unit = { ms: 0.001, s: 1, min: 60, h: 3600, days: 86_400 } as Record<string, number>;
    fc.assert(
      fc.property(fc.double({ min: 0.001, max: 1e7, noNaN: true }), (seconds) => {
        const parts = [...duration(seconds).matchAll(/([\d.]+) (ms|s|min|h|days)/g)];
        const read = parts.reduce((sum, [, amount, name]) => sum + Number(amount) * unit[name!]!, 0);
        const [, lastAmount, lastUnit] = parts[parts.length - 1]!;
        const step =
          (parts.length === 1 && (lastAmount!.includes(".") || seconds < 10 || lastUnit === "days") ? 0.1 : 1) *
          unit[lastUnit!]!;
        // A whole number of minutes or hours has dropped a smaller unit that was 0.
        const grain =
          lastUnit === "min" && parts.length === 1 ? 1 : lastUnit === "h" ? 60 : lastUnit === "ms" ? 0.001 : step;
        expect(Math.abs(read - seconds)).toBeLessThanOrEqual(grain / 2 + 1e-9 * seconds);
      }),
    );
  });

  test("thousands are grouped, and grouping changes no digit", () => {
    expect([0, 7, 999, 1607, 158_772, -2592].map(grouped)).toEqual(["0", "7", "999", "1,607", "158,772", "-2,592"]);
    fc.assert(fc.property(fc.integer(), (n) => void expect(Number(grouped(n).replaceAll(",", ""))).toBe(n)));
  });

  test("show time is the second that has begun, and may exceed 99 hours", () => {
    expect([0, 1200.3, 4875, 360_000].map(showTime)).toEqual(["00:00:00", "00:20:00", "01:21:15", "100:00:00"]);
    // 1,275 s less a nanosecond of rounding is 00:21:15 to a reader.
    expect(showTime(1275 - 1e-9)).toBe("00:21:15");
  });

  test("clicks have a rhythm: slow ones a distance, fast ones a rate", () => {
    // 6.2 ppm at 48 kHz is 0.2976 samples a second, 96.2 ppm is 4.62.
    expect(rhythm(1 / 0.2976)).toBe("every 3.4 s");
    expect(rhythm(1 / 4.6176)).toBe("4.6 times a second");
    expect(interval(75)).toBe("1 min 15 s");
  });

  test("parts per million carry no sign, and no more digits than matter", () => {
    expect([6.2, -10.5, 0.04, 0, 103.4].map(ppm)).toEqual([
      "6.2 ppm",
      "10.5 ppm",
      "0.04 ppm",
      "less than 0.001 ppm",
      "103 ppm",
    ]);
  });

  test("lists and counts", () => {
    expect([[], ["a"], ["a", "b"], ["a", "b", "c"]].map((items) => listed(items))).toEqual([
      "",
      "a",
      "a and b",
      "a, b and c",
    ]);
    expect([times(1), times(2), times(1607)]).toEqual(["once", "twice", "1,607 times"]);
    expect([counted(1, "click", "clicks"), counted(12, "click", "clicks")]).toEqual(["one click", "12 clicks"]);
  });
});

describe("names", () => {
  const device = (name: string) => ({ name }) as Parameters<typeof theDevice>[0];

  test("a common name takes its article and a small letter inside a sentence; initials and names of one's own stay", () => {
    expect(
      ["Monitor desk", "FOH desk", "PA processor", "Stage box 2", "Marlene"].map((name) => theDevice(device(name))),
    ).toEqual(["the monitor desk", "the FOH desk", "the PA processor", "stage box 2", "Marlene"]);
  });

  test("two feeds to the same ears are told apart by their names", () => {
    const feed = (id: string, name: string, heardBy: string[]) => ({ id, name, heardBy }) as unknown as FeedPlan;
    const feeds = [feed("a", "Guest mix", ["pa"]), feed("b", "House mix", ["pa"]), feed("c", "Mixes", ["in-ears"])];
    expect(feeds.map((one) => listener(one, feeds).head)).toEqual(["PA (guest mix)", "PA (house mix)", "In-ears"]);
    expect(listener(feed("d", "x", ["pa", "record"]), feeds)).toEqual({
      head: "PA and recording",
      mid: "the PA and the recording",
      plural: true,
    });
  });
});

test("a long word of the trade is put beside its short one, once, where it stands first", () => {
  expect(glossed(["It is coasting.", "It is coasting and pulling in.", "They go back by themselves."])).toEqual([
    "It is coasting (holdover).",
    "It is coasting and pulling in (acquiring).",
    "They go back by themselves (revertive).",
  ]);
});
