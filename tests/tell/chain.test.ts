/** The sentence about a chain of loops. */
import { describe, expect, test } from "vitest";
import type { DevicePlan } from "../../shared/plan.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { device, link, planOf, unplug } from "../helpers/plan.ts";

const foh = device("foh", ["internal"], { name: "FOH desk", kind: "desk" });

function row(count: number, loop: DevicePlan["loop"], name = (n: number) => `Quay box ${n}`) {
  const boxes = Array.from({ length: count }, (_, n) => device(`box-${n + 1}`, ["1"], { name: name(n + 1), loop }));
  const links = boxes.map(({ id }, n) => link(n === 0 ? "foh.1" : `box-${n}.2`, `${id}.1`));
  return planOf({ seconds: 60, devices: [foh, ...boxes], links });
}

const said = (plan: Parameters<typeof rehearse>[0]) => tell(rehearse(plan)).chain;

describe("a chain of loops", () => {
  test("is worth a word where a swing comes out more than twice as large", () => {
    expect(said(row(4, { naturalFrequencyHz: 1, damping: 1 }))).toBeNull();
    // 10 × 1.249387 dB are 4.21; per ppm the tenth box is off by 0.663965/ω and overshoots by 162.47 %.
    expect(said(row(10, { naturalFrequencyHz: 0.05, damping: 1 }))).toBe(
      "Ten loops stand one behind another between the FOH desk and Quay box 10: what swings once in 28 s comes out 4.2 times as large. After a step of 1 ppm there, Quay box 10 is off by up to 2.1 µs and overshoots by 162 %.",
    );
    expect(said(row(10, { naturalFrequencyHz: 10, damping: 1 }))).toMatch(/off by up to 11 ns and overshoots/);
  });

  test("says where a single part per million is too much for it", () => {
    expect(said(row(10, { naturalFrequencyHz: 0.01, damping: 1 }))).toMatch(
      /A step of 1 ppm there is enough for Quay box 10 to lose lock\.$/,
    );
    // Even figures that no steering could follow are told in few words.
    expect(said(row(30, { naturalFrequencyHz: 1, damping: 0.1 }))).toMatch(
      /comes out more than a thousand times as large\. A step of 1 ppm there is enough/,
    );
  });

  test("of one loop, and of many boxes with one name, speaks in their number", () => {
    // CALC at ζ = 0.2: |H| 2.734 at most, 0.7561/ω, e^−0.559 (the published forms for a single loop).
    expect(said(row(1, { naturalFrequencyHz: 1, damping: 0.2 }, () => "Stage boxes"))).toBe(
      "One loop stands between the FOH desk and the stage boxes: what swings once in 1 s comes out 2.7 times as large. After a step of 1 ppm there, the stage boxes are off by up to 120 ns and overshoot by 57 %.",
    );
  });

  test("that only stands later says from when on", () => {
    const plan = row(5, { naturalFrequencyHz: 1, damping: 1 });
    const first = plan.devices.find(({ id }) => id === "box-1")!;
    const mon = device("mon", ["1"], { name: "Monitor desk", kind: "desk" });
    const longer = planOf({
      seconds: 60,
      devices: [
        mon,
        ...plan.devices.filter(({ id }) => id !== "box-1" && id !== "box-5"),
        { ...first, clockSources: ["1", "3"] },
      ],
      links: [
        ...plan.links.filter(({ id }) => !id.includes("box-5")),
        link("foh.2", "mon.1"),
        link("mon.2", "box-1.3"),
      ],
      events: [unplug(20, "foh.1 box-1.1")],
    });
    expect(said(longer)).toMatch(
      /^From 00:00:20 on, five loops stand one behind another between the FOH desk and Quay box 4:/,
    );
  });
});
