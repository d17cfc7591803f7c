/**
 * AES3, AES10, AES11, AES50 and cables. The standards are sold and could not be read: READ-AI is a public requirements
 * file that cites the clause and is machine-assisted (weak: "as quoted in"); READ a page or blog of the standards body or
 * a handbook; READ-2 a second document; MEM from memory; CALC worked out here.
 */
import { describe, expect, test } from "vitest";
import { defaultOf } from "../../shared/defaults.ts";
import { channelsAt, lengthMetresMax, linkType, NS_PER_METRE } from "../../shared/link-types.ts";
import type { Ns } from "../../shared/time.ts";
import { at, device, link, planOf, unplug } from "../helpers/plan.ts";
import { play } from "../helpers/play.ts";
import { readClocks } from "../helpers/reading.ts";
import { plan } from "../helpers/rig.ts";

const SAMPLE_SECONDS = 1 / 48_000;
/** Announcements so fine that a tenth of a nanosecond can be told. */
const FINE_QUANTUM = 1e-6;

describe("AES11 (as quoted in a public requirements file for AES11-2009, READ-AI)", () => {
  test("±5 % of a frame out and ±25 % in are 1.0417 and 5.2083 µs at 48 kHz (table 2: 1.0 and 5.2); the windows' sizes", () => {
    const microseconds = (percent: number) => (percent / 100) * SAMPLE_SECONDS * 1e6;
    expect(microseconds(defaultOf("device", "lockWindowPercent")).toFixed(4)).toBe("1.0417");
    expect(microseconds(defaultOf("device", "unlockWindowPercent")).toFixed(4)).toBe("5.2083");
  });

  test("a device that says locked has been within ±5 % for its dwell", () => {
    // Pulled in from 30 ppm away: its error is 10 % at first, so the last second before "locked" must be inside.
    const rig = planOf({
      seconds: 20,
      devices: [
        device("leader", ["internal"], { offsetPpm: 30 }),
        device("follower", ["1"], { offsetPpm: -15, bootSeconds: 3, loop: { naturalFrequencyHz: 0.3, damping: 0.8 } }),
      ],
      links: [link("leader.1", "follower.1")],
      events: [at(2, { do: "reboot", device: "follower", part: "engine" })],
    });
    const { rows, timebases } = play(rig, undefined, FINE_QUANTUM);
    const clocks = readClocks(rows, timebases);
    const locked = rows.find(
      ({ subject, atNs, fact }) =>
        subject === "device follower" && atNs > 0 && fact.kind === "clock" && fact.state === "locked",
    );
    const lockedNs = locked?.atNs ?? 0;
    expect(lockedNs).toBeGreaterThan(6e9);
    // Whole periods apart are paid for as slips; the detector looks at the rest.
    const shareAt = (now: number) => {
      const periods =
        ((clocks.phaseSecondsAt("leader", now as Ns) ?? 0) - (clocks.phaseSecondsAt("follower", now as Ns) ?? 0)) /
        SAMPLE_SECONDS;
      return Math.abs(periods - Math.round(periods));
    };
    for (let back = 0; back < 1e9; back += 1e7) expect(shareAt(lockedNs - back)).toBeLessThan(0.05 + 1e-5);
    expect(shareAt(lockedNs - 1e9 - 1e6)).toBeGreaterThan(0.05 - 1e-5);
  });

  // 5.2.2: grade 1 equipment captures ±2 ppm, grade 2 ±50 ppm. 50 ppm is ±2.4 Hz at 48 kHz.
  test.each([
    { grade: 1, capturePpm: 2 },
    { grade: 2, capturePpm: 50 },
  ])("grade $grade equipment is led by a clock at ±$capturePpm ppm, and by none further off", ({ capturePpm }) => {
    const follows = (leaderPpm: number) => {
      const rig = planOf({
        seconds: 5,
        devices: [device("leader", ["internal"], { offsetPpm: leaderPpm }), device("follower", ["1"], { capturePpm })],
        links: [link("leader.1", "follower.1")],
      });
      const { rows, timebases } = play(rig);
      const states = rows.flatMap(({ subject, fact }) =>
        subject === "device follower" && fact.kind === "clock" ? [fact.state] : [],
      );
      return { states, hertz: (readClocks(rows, timebases).fractionalOffsetAt("follower", 5e9 as Ns) ?? 0) * 48_000 };
    };
    for (const sign of [1, -1]) {
      const inside = follows(sign * capturePpm * 0.9999);
      expect(inside.states).toEqual(["locked"]);
      expect(inside.hertz).toBeCloseTo((sign * capturePpm * 48_000) / 1e6, 3);
      expect(follows(sign * capturePpm * 1.0001).states).toEqual(["free-run"]);
    }
    expect(defaultOf("device", "capturePpm")).toBe(50);
  });

  test("50 ppm is 2.4 Hz at 48 kHz: so many samples more are counted in a second (exact)", () => {
    const { rows, timebases } = play(
      planOf({ seconds: 10, devices: [device("leader", ["internal"], { offsetPpm: 50 })] }),
    );
    const gained = readClocks(rows, timebases).phaseSecondsAt("leader", 10e9 as Ns) ?? 0;
    expect((48_000 * gained) / 10).toBeCloseTo(2.4, 9);
  });
});

describe("channels and what they need of a line", () => {
  const megabits = (channels: number, rateHz: number, bits: number) => (channels * rateHz * bits) / 1e6;

  test("AES50 carries 48 channels at 48 kHz (AES standards blog, READ), 24 and 12 at double and quadruple rate (MEM): one payload", () => {
    for (const [rateHz, channels] of [
      [44_100, 48],
      [48_000, 48],
      [96_000, 24],
      [192_000, 12],
    ] as const)
      expect(channelsAt("aes50", rateHz)).toBe(channels);
    for (const rateHz of [48_000, 96_000, 192_000])
      expect(megabits(channelsAt("aes50", rateHz), rateHz, 24)).toBe(55.296);
    // 100BASE-TX, with 5 Mbit/s of other data beside it (READ).
    expect(55.296 + 5).toBeLessThan(100);
  });

  test("MADI carries 64 channels without varispeed, 56 with ±12.5 % (READ-2): what 100 Mbit/s hold", () => {
    expect(channelsAt("madi", 48_000)).toBe(64);
    expect(megabits(channelsAt("madi", 48_000), 48_000, 32)).toBe(98.304);
    expect(megabits(56, 48_000 * 1.125, 32)).toBeCloseTo(96.768, 9);
    // The rates at which 64 no longer fit are why there are 56.
    expect(megabits(channelsAt("madi", 48_000), 48_000 * 1.125, 32)).toBeCloseTo(110.592, 9);
    // Half as many at twice the rate, a quarter at four times: never more than the line.
    for (const rateHz of [48_000, 96_000, 192_000])
      expect(megabits(channelsAt("madi", rateHz), rateHz, 32)).toBeLessThan(100);
    // 125 Mbaud of 4B5B (READ-2).
    expect((125 * 4) / 5).toBe(100);
  });

  test("rate families of AES5-2018 (READ): 31 to 54, 62 to 108, 124 to 216 kHz", () => {
    for (const [rates, channels] of [
      [[32_000, 44_100, 48_000, 54_000], 64],
      [[64_000, 88_200, 96_000, 108_000], 32],
      [[128_000, 176_400, 192_000, 216_000], 16],
    ] as const)
      for (const rateHz of rates) expect(channelsAt("madi", rateHz)).toBe(channels);
  });

  test("AES3 carries two channels at every rate, word clock none", () => {
    for (const rateHz of [44_100, 48_000, 96_000, 192_000]) {
      expect(channelsAt("aes3", rateHz)).toBe(2);
      expect(channelsAt("word-clock", rateHz)).toBe(0);
    }
  });

  test("AES50 delays sound by 62.5 µs (READ-2), 3 samples at 48 kHz and 6 at 96, below 100 µs; up to 100 m (AES blog, READ)", () => {
    const latency = linkType("aes50").latencySeconds.value;
    expect([latency * 48_000, latency * 96_000]).toEqual([3, 6]);
    expect(latency).toBeLessThan(100e-6);
    expect(lengthMetresMax("aes50", "category")).toBe(100);
  });
});

describe("the delay of a cable", () => {
  /** How late a settled follower is, in nanoseconds, by the flows of a run. */
  function lateNs(lengthMetres: number): number {
    const rig = plan({
      format: 1,
      title: "One long cable",
      run: { length: "00:00:10", seed: "quay-1" },
      rig: {
        sampleRateHz: 48000,
        leaders: ["foh"],
        devices: [
          { id: "foh", kind: "desk", clockSources: ["internal"], oscillator: { type: "crystal", offsetPpm: 0 } },
          { id: "stage", kind: "stage-box", clockSources: ["1"], oscillator: { type: "crystal", offsetPpm: -6.3 } },
        ],
        links: [{ id: "main", type: "aes50", ends: ["foh.1", "stage.1"], lengthMetres }],
      },
    });
    const { rows, timebases } = play(rig, undefined, FINE_QUANTUM);
    const clocks = readClocks(rows, timebases);
    return ((clocks.phaseSecondsAt("foh", 5e9 as Ns) ?? 0) - (clocks.phaseSecondsAt("stage", 5e9 as Ns) ?? 0)) * 1e9;
  }

  test("537.6 ns per 100 m of category cable at 100 MHz (a LAN-wiring text, table 12.7, READ-2), rounded to 5.38 ns a metre", () => {
    expect(Math.abs(100 * NS_PER_METRE.category.value - 537.6)).toBeLessThan(0.5);
    // 534 + 36/√f ns per 100 m, f in MHz (MEM).
    expect(534 + 36 / Math.sqrt(100)).toBeCloseTo(537.6, 9);
  });

  test("100 m are 2.6 % of a sample period at 48 kHz (CALC): a follower sits that late, and is locked", () => {
    const late = lateNs(100);
    expect(Math.abs(late - 538)).toBeLessThan(0.05);
    expect(((100 * late) / 1e9 / SAMPLE_SECONDS).toFixed(1)).toBe("2.6");
    expect(Math.abs(lateNs(37) - 37 * 5.38)).toBeLessThan(0.05);
  });

  test("25 % of a sample period is 968 m (CALC): no cable of the lengths that copper may have breaks AES11's phase", () => {
    const metres = (0.25 * SAMPLE_SECONDS * 1e9) / NS_PER_METRE.category.value;
    expect(Math.round(metres)).toBe(968);
    for (const type of ["aes3", "madi", "aes50", "word-clock"] as const)
      for (const { name, lengthMetresMax: longest } of linkType(type).media) {
        if (name === "fibre") continue;
        expect((longest.value * NS_PER_METRE[name].value) / 1e9 / SAMPLE_SECONDS, `${type} on ${name}`).toBeLessThan(
          0.25,
        );
      }
    // The rule of thumb of 5 ns a metre: 2.4 % for 100 m (CALC).
    expect((100 * 500e-9) / SAMPLE_SECONDS).toBeCloseTo(2.4, 9);
  });

  test("a spare that is 15 m longer moves the follower by −80.7 ns when it takes over (CALC)", () => {
    const rig = planOf({
      seconds: 40,
      devices: [device("foh", ["internal"], { offsetPpm: 4.2 }), device("stage", ["1", "2"], { offsetPpm: -6.3 })],
      links: [
        link("foh.1", "stage.1", { id: "main", type: "aes50", lengthMetres: 80 }),
        link("foh.2", "stage.2", { id: "spare", type: "aes50", lengthMetres: 95 }),
      ],
      events: [unplug(10, "main")],
    });
    const { rows, timebases } = play(rig, undefined, FINE_QUANTUM);
    const clocks = readClocks(rows, timebases);
    /** Ahead of the leader, in nanoseconds, to the nearest whole period: those that free-run cost are slips. */
    const aheadNs = (seconds: number) => {
      const now = (seconds * 1e9) as Ns;
      const ahead =
        ((clocks.phaseSecondsAt("stage", now) ?? 0) - (clocks.phaseSecondsAt("foh", now) ?? 0)) / SAMPLE_SECONDS;
      return (ahead - Math.round(ahead)) * SAMPLE_SECONDS * 1e9;
    };
    expect(Math.abs(aheadNs(9) + 80 * 5.38)).toBeLessThan(0.05);
    expect(Math.abs(aheadNs(40) - aheadNs(9) + 80.7)).toBeLessThan(0.1);
    const sources = rows.flatMap(({ subject, fact }) =>
      subject === "device stage" && fact.kind === "clock" ? [`${fact.state} ${fact.source}`] : [],
    );
    expect(sources.at(0)).toBe("locked 1");
    expect(sources.at(-1)).toBe("locked 2");
  });
});
