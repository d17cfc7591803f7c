/**
 * What the way of packets does to a follower's clock: asymmetry as IEEE 1588 has it (7.4.2, "delayAsymmetry", in the
 * edition of 2008; from memory): a follower takes half of what both ways take together, so it lags by half of what they
 * differ. And packet-delay variation behind a loop, by its noise bandwidth (R. E. Best, "Phase-Locked Loops", pp. 99-100)
 * against a loop that is stepped with one random wait after the other.
 */
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { keptShare } from "../../sim/network/outcome.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { play } from "../helpers/play.ts";
import { readClocks } from "../helpers/reading.ts";

function planFrom(devices: readonly object[], links: readonly object[]): Plan {
  const network = { id: "red", profile: "aes67" };
  const file = {
    format: 1,
    title: "One way",
    run: { length: "00:01:00" },
    rig: { sampleRateHz: 48_000, networks: [network], devices, links },
  };
  const read = readScenario({ file: "one-way.json", bytes: new TextEncoder().encode(JSON.stringify(file)) }, () => ({
    problem: "there is none",
  }));
  if (read.plan === null) throw new Error(JSON.stringify(read.issues));
  return read.plan;
}

const leader = {
  id: "foh",
  kind: "desk",
  clockSources: ["internal"],
  ptp: { priority1: 1 },
  oscillator: { offsetPpm: 3 },
};
const follower = { id: "box", kind: "stage-box", clockSources: ["1"], ptp: { followerOnly: true } };
const cable = (ends: readonly [string, string], asymmetryNanoseconds = 0) => ({
  id: ends[0].replace(".", "-"),
  type: "ethernet",
  network: "red",
  ends,
  lengthMetres: 90,
  asymmetryNanoseconds,
});

/** How far each device's clock stands from the leader's at the end of the run, in nanoseconds. */
function apart(plan: Plan, device: string): number {
  const { rows, timebases } = play(plan);
  const clocks = readClocks(rows, timebases);
  const at = plan.lengthNs;
  return ((clocks.phaseSecondsAt(device, at) as number) - (clocks.phaseSecondsAt("foh", at) as number)) * 1e9;
}

const followsIn = (plan: Plan, id: string) =>
  rehearse(plan).summary.networks[0]?.devices.find(({ device }) => device === id)?.follows ?? null;

/** What is told of a clock may be off by 1e-4 of a sample period: 2.1 ns for each of two. */
const TOLD_NANOSECONDS = 4.2;

describe("a cable with one way longer than the other by A puts its follower off by A/2", () => {
  test.each([
    { what: "longer to the follower: late", ends: ["foh.1", "box.1"] as const, asymmetry: 900, off: -450 },
    { what: "longer back: early", ends: ["foh.1", "box.1"] as const, asymmetry: -600, off: 300 },
    { what: "the other end written first", ends: ["box.1", "foh.1"] as const, asymmetry: 600, off: 300 },
    { what: "both ways alike, however long", ends: ["foh.1", "box.1"] as const, asymmetry: 0, off: 0 },
  ])("$what", ({ ends, asymmetry, off }) => {
    const plan = planFrom([leader, follower], [cable(ends, asymmetry)]);
    expect(Math.abs(apart(plan, "box") - off)).toBeLessThan(TOLD_NANOSECONDS);
    expect(followsIn(plan, "box")?.shiftNanoseconds).toBeCloseTo(off, 6);
  });

  test.each(["boundary", "transparent", "plain"])("over a %s switch they add up", (timing) => {
    const between = { id: "sw", kind: "switch", bridge: { timing }, ptp: { priority1: 200 } };
    const sw = timing === "boundary" ? between : { id: "sw", kind: "switch", bridge: { timing } };
    const plan = planFrom([leader, follower, sw], [cable(["foh.1", "sw.1"], 400), cable(["sw.2", "box.1"], 300)]);
    const follows = followsIn(plan, "box");
    expect(follows).toMatchObject({ leader: "foh", parent: timing === "boundary" ? "sw" : "foh", inUse: true });
    expect([follows?.steps, follows?.bridges]).toEqual(timing === "boundary" ? [1, 0] : [0, 1]);
    expect(Math.abs(apart(plan, "box") + 350)).toBeLessThan(TOLD_NANOSECONDS * 2);
    expect(follows?.shiftNanoseconds).toBeCloseTo(-350, 6);
    if (timing === "boundary") {
      expect(Math.abs(apart(plan, "sw") + 200)).toBeLessThan(TOLD_NANOSECONDS);
      expect(followsIn(plan, "sw")?.shiftNanoseconds).toBeCloseTo(-200, 6);
    }
  });
});

/** Evenly spread, by a generator of its own (G. Marsaglia, "Xorshift RNGs", 2003). */
function evenly(seed: number): () => number {
  let x = seed;
  return () => {
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    return (x >>> 0) / 2 ** 32;
  };
}

/** Rms of what a loop makes of waits, each held for a sync interval, over their own rms: stepped in small pieces. */
function steppedShare(naturalFrequencyHz: number, damping: number, syncSeconds: number, waits: number): number {
  const random = evenly(20_261);
  const omega = 2 * Math.PI * naturalFrequencyHz;
  const pieces = Math.max(64, Math.ceil(omega * syncSeconds * 64));
  const dt = syncSeconds / pieces;
  const settled = Math.ceil(10 / (damping * omega * syncSeconds));
  let [phase, integral, own, kept] = [0, 0, 0, 0];
  for (let wait = 0; wait < waits + settled; wait++) {
    const arrives = random() - 0.5;
    if (wait >= settled) own += arrives * arrives;
    for (let piece = 0; piece < pieces; piece++) {
      const error = arrives - phase;
      integral += omega * omega * error * dt;
      phase += (2 * damping * omega * error + integral) * dt;
      if (wait >= settled) kept += (phase * phase) / pieces;
    }
  }
  return kept / own;
}

describe("what a loop lets through of packets' waits", () => {
  // 2·BL·Ts with BL = (ωn/2)(ζ + 1/(4ζ)), for loops that are slow against sync.
  test.each([
    [0.02, 1, 0.125],
    [0.05, 0.7071, 0.125],
    [0.05, 0.5, 0.125],
    [0.01, 2, 0.25],
  ])("%d Hz, damping %d, sync every %d s", (hertz, damping, syncSeconds) => {
    const share = keptShare({ naturalFrequencyHz: hertz, damping }, syncSeconds);
    expect(share).toBeLessThan(0.12);
    const stepped = steppedShare(hertz, damping, syncSeconds, 40_000);
    // As an rms. A thousand loop times of chance: 2 %; waits that are held, not white: 3 % at most here.
    expect(Math.sqrt(stepped / share)).toBeGreaterThan(0.95);
    expect(Math.sqrt(stepped / share)).toBeLessThan(1.03);
  });

  test.each([
    [0.5, 1, 0.125],
    [1, 1, 0.125],
    [1, 0.7071, 1],
    [5, 1, 1],
  ])(
    "a loop of %d Hz, damping %d, that is not: never more than is said, sync every %d s",
    (hertz, damping, seconds) => {
      const share = keptShare({ naturalFrequencyHz: hertz, damping }, seconds);
      expect(share).toBeGreaterThan(0.4);
      const stepped = steppedShare(hertz, damping, seconds, 4000);
      expect(stepped).toBeLessThan(share);
      expect(stepped).toBeGreaterThan(share / 2);
    },
  );

  test("in a run: waits of plain switches add as their variances, and a boundary's loop comes first", () => {
    const plain = (id: string) => ({ id, kind: "switch", bridge: { timing: "plain", delayVariationMicroseconds: 6 } });
    const slow = { loop: { naturalFrequencyHz: 0.05, damping: 1 } };
    const boundary = { id: "mid", kind: "switch", bridge: { timing: "boundary" }, ...slow };
    const plan = planFrom(
      [leader, { ...follower, ...slow }, plain("one"), plain("two"), plain("three"), boundary],
      [
        cable(["foh.1", "one.1"]),
        cable(["one.2", "two.1"]),
        cable(["two.2", "mid.1"]),
        cable(["mid.2", "three.1"]),
        cable(["three.2", "box.1"]),
      ],
    );
    const one = 6000 / Math.sqrt(12);
    const share = keptShare({ naturalFrequencyHz: 0.05, damping: 1 }, 0.125);
    const [mid, box] = ["mid", "box"].map((id) => followsIn(plan, id)?.jitterNanoseconds);
    expect(mid?.arrives).toBeCloseTo(one * Math.sqrt(2), 6);
    expect(mid?.kept).toBeCloseTo(one * Math.sqrt(2 * share), 6);
    expect(box?.arrives).toBeCloseTo(one * Math.sqrt(1 + 2 * share), 6);
    expect(box?.kept).toBeCloseTo(one * Math.sqrt(3 * share), 6);
  });
});
