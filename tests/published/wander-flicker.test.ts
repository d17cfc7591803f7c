/**
 * Flicker FM, whose Allan deviation is level at √(2·ln 2·h−1) (standard, from memory), as a sum of processes that hold
 * their values: once exactly, by the covariance of the processes that a clock is seen to have, once by measuring clocks.
 */
import { describe, expect, test, vi } from "vitest";
import { wanderFromPowerLaw } from "../../shared/noise-numbers.ts";
import { inverseNormal } from "../../shared/normal.ts";
import type { Ns } from "../../shared/time.ts";
import type { OwnWander } from "../../shared/wander.ts";
import { slopeAt, wanderAt } from "../../shared/wander.ts";
import { confidenceInterval, degreesOfFreedom, type NoiseType, oadev } from "../../sim/stability/index.ts";
import { streams } from "../helpers/scripted-streams.ts";

vi.mock("../../shared/random.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofRandom(await original()),
);
vi.mock("../../shared/uniforms.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofUniforms(await original()),
);

const H_MINUS_1 = 1e-20;
const LEVEL = Math.sqrt(2 * Math.LN2 * H_MINUS_1);
/** What the deviation may be off by, in all that is said of it. */
const BAND = 0.015;
/** What it is fitted to, over 10,000 knots. */
const FITTED = 0.0105;
/** Another uniform than the middle one, and how many deviations that is: of an even deviate, and of a normal one. */
const ASIDE = 0.8;
const EVEN = Math.sqrt(12) * (ASIDE - 0.5);
const NORMAL = inverseNormal(ASIDE);

const clock = (gridSeconds: number, device = "house"): OwnWander => ({
  kind: "own",
  seed: "quay-1",
  device,
  gridNs: Math.round(gridSeconds * 1e9) as Ns,
  sigma1: 0,
  sigma2: 0,
  sigma3: 0,
  hMinus1: H_MINUS_1,
});

interface Process {
  readonly holdKnots: number;
  /** What is left of a value in the next one. */
  readonly decay: number;
  /** Of the frequency. */
  readonly deviation: number;
}

/** Frequency over the interval from a knot on, with one uniform of a stream moved and all others in the middle. */
function answer(own: OwnWander, moved: "wander of phase" | "flicker", at: number): (knot: number) => number {
  const fresh = { ...own };
  return (knot) => {
    streams.uniform = ({ purpose }, place) => (purpose === moved && place === at ? ASIDE : 0.5);
    try {
      return slopeAt(fresh, (knot * own.gridNs) as Ns) / (moved === "flicker" ? EVEN : NORMAL);
    } finally {
      streams.uniform = null;
    }
  };
}

/** The knot up to which, from one on, an answer holds the value that it has there; slopes are read off phases, which round. */
function heldUntil(frequencyAt: (knot: number) => number, from: number): number {
  const value = frequencyAt(from);
  const isHeld = (knot: number) => Math.abs(frequencyAt(knot) / value - 1) < 1e-8;
  let length = 1;
  while (isHeld(from + 2 * length - 1)) length *= 2;
  expect(isHeld(from + length)).toBe(false);
  return from + length;
}

/**
 * The processes of a clock, read off it: what each uniform of the first block does to frequency. Values that are there
 * from the first knot on are drawn at full size, later ones are what is left and a kick. White noise holds for one knot.
 */
function processesOf(own: OwnWander): Process[] {
  streams.opened.length = 0;
  answer(own, "flicker", -1)(0);
  const draws = streams.opened.find(({ address }) => address.purpose === "flicker")?.drawn ?? 0;
  const found: Process[] = [];
  const kicks = new Map<number, number>();
  for (let place = 0; place < draws; place++) {
    const frequencyAt = answer(own, "flicker", place);
    if (Math.abs(frequencyAt(0)) > 1e-15) {
      const holdKnots = heldUntil(frequencyAt, 0);
      found.push({ holdKnots, decay: frequencyAt(holdKnots) / frequencyAt(0), deviation: frequencyAt(0) });
    } else if (place < 64) {
      let from = 0;
      while (Math.abs(frequencyAt(from)) < 1e-15) from += 1;
      const holdKnots = heldUntil(frequencyAt, from) - from;
      // The first kick of each process comes when its first value has been held.
      if (from === holdKnots) kicks.set(holdKnots, frequencyAt(from));
    }
  }
  expect(kicks.size).toBeGreaterThan(1);
  for (const { holdKnots, decay, deviation } of found) {
    const kick = kicks.get(holdKnots);
    if (kick !== undefined) expect(kick / deviation).toBeCloseTo(Math.sqrt(1 - decay ** 2), 8);
  }
  const white = answer(own, "wander of phase", 0);
  expect(Math.abs(white(1) / white(0))).toBeLessThan(1e-8);
  return [{ holdKnots: 1, decay: 0, deviation: white(0) }, ...found];
}

/**
 * Allan deviation from 1 knot to half of `length`, exactly: with C(n) the covariance of frequency n knots apart and V(n)
 * the variance of n knots' sum of it, σy²(n) = (4·V(n) − V(2n))/(2n²). A value held for h knots is, over all places of
 * the hold, linear between the powers of its decay.
 */
function exactDeviations(processes: readonly Process[], length: number): Float64Array {
  const covariance = new Float64Array(length + 1);
  for (const { holdKnots, decay, deviation } of processes) {
    for (let n = 0; n <= length; n++) {
      const holds = Math.floor(n / holdKnots);
      const into = (n - holds * holdKnots) / holdKnots;
      const power = decay ** holds;
      covariance[n] = (covariance[n] as number) + deviation ** 2 * power * (1 - into + into * decay);
    }
  }
  const variance = new Float64Array(length + 1);
  let rise = covariance[0] as number;
  for (let n = 1; n <= length; n++) {
    variance[n] = (variance[n - 1] as number) + rise;
    rise += 2 * (covariance[n] as number);
  }
  const deviations = new Float64Array(length / 2 + 1);
  for (let n = 1; n <= length / 2; n++)
    deviations[n] = Math.sqrt((4 * (variance[n] as number) - (variance[2 * n] as number)) / (2 * n * n));
  return deviations;
}

/** How far the deviation goes from its level, from one τ to another. */
function offLevel(processes: readonly Process[], gridSeconds: number, fromSeconds: number, toSeconds: number) {
  const last = Math.round(toSeconds / gridSeconds);
  const deviations = exactDeviations(processes, 2 * last);
  let [low, high] = [Infinity, -Infinity];
  for (let n = Math.round(fromSeconds / gridSeconds); n <= last; n++) {
    const ratio = (deviations[n] as number) / LEVEL;
    low = Math.min(low, ratio);
    high = Math.max(high, ratio);
  }
  return { low, high };
}

describe("the Allan deviation of the processes", () => {
  test.each([{ gridSeconds: 1 }, { gridSeconds: 0.1 }, { gridSeconds: 0.25 }, { gridSeconds: 4 }])(
    "is level within 1.5 % at every τ from 1 s to 10,000 s, drawn every $gridSeconds s",
    ({ gridSeconds }) => {
      const found = processesOf(clock(gridSeconds));
      for (const [n, { holdKnots }] of found.entries())
        if (n > 1) expect(holdKnots).toBe(4 * (found[n - 1]?.holdKnots ?? 0));
      const { low, high } = offLevel(found, gridSeconds, Math.max(1, gridSeconds), 10_000);
      expect(low).toBeGreaterThan(1 - BAND);
      expect(high).toBeLessThan(1 + BAND);
      // As it is said to be fitted, from one knot on.
      const told = offLevel(found, gridSeconds, gridSeconds, 10_000 * Math.min(1, gridSeconds));
      expect(told.low).toBeGreaterThan(1 - FITTED);
      expect(told.high).toBeLessThan(1 + FITTED);
      // The band is used: on a grid of 1 s something much narrower would not hold.
      if (gridSeconds === 1) expect(high - low).toBeGreaterThan(0.015);
      // And down to the grid itself.
      expect(offLevel(found, gridSeconds, gridSeconds, 1).low).toBeGreaterThan(1 - BAND);
      expect(offLevel(found, gridSeconds, gridSeconds, 1).high).toBeLessThan(1 + BAND);
    },
  );

  test("which one process fewer at either end would not be", () => {
    const found = processesOf(clock(1));
    expect(offLevel(found.slice(0, -1), 1, 1, 10_000).low).toBeLessThan(1 - BAND);
    // And without white noise at the fast end.
    expect(offLevel(found.slice(1), 1, 1, 10_000).low).toBeLessThan(1 - BAND);
  });
});

function phasesOf(own: OwnWander, count: number): Float64Array {
  const phases = new Float64Array(count + 1);
  for (let knot = 0; knot <= count; knot++) phases[knot] = wanderAt(own, (knot * own.gridNs) as Ns);
  return phases;
}

/** Overlapping Allan deviation at one τ, with its interval for the noise that leaves it the fewest degrees of freedom. */
function measured(phaseSeconds: Float64Array, tau0Seconds: number, tauSeconds: number, noises: readonly NoiseType[]) {
  const [found] = oadev({ phaseSeconds, tau0Seconds }, [tauSeconds]);
  if (found === undefined || "issue" in found) throw new Error("no deviation");
  const points = phaseSeconds.length;
  const averagingFactor = Math.round(tauSeconds / tau0Seconds);
  const degrees = noises.map((noise) => degreesOfFreedom({ statistic: "oadev", noise, points, averagingFactor }) ?? 0);
  return (confidence: number) => {
    const shape = { deviation: found.value, degreesOfFreedom: Math.min(...degrees), confidence };
    const interval = confidenceInterval(shape);
    if (interval === null) throw new Error("no interval");
    return { ...interval, halfWidth: (interval.high - interval.low) / (2 * found.value) };
  };
}

describe("the Allan deviation of simulated flicker", () => {
  test.each([
    { gridSeconds: 1, taus: [1, 4, 16, 64, 256, 1000] },
    { gridSeconds: 0.1, taus: [0.1, 1, 4, 16, 64, 100] },
  ])("is level within its interval and the band, drawn every $gridSeconds s", ({ gridSeconds, taus }) => {
    const own = clock(gridSeconds, `every ${gridSeconds}`);
    const phases = phasesOf(own, 2 ** 21);
    const exact = exactDeviations(processesOf(own), 2 * Math.round(1000 / Math.min(1, gridSeconds)));
    for (const tau of taus) {
      const intervalOf = measured(phases, gridSeconds, tau, ["flicker-fm"]);
      const { low, high, halfWidth } = intervalOf(0.95);
      expect(low, `${tau} s`).toBeLessThan(LEVEL * (1 + BAND));
      expect(high, `${tau} s`).toBeGreaterThan(LEVEL * (1 - BAND));
      if (tau <= 64 * gridSeconds) expect(halfWidth).toBeLessThan(0.01);
      // What the processes have exactly is inside as well: of six the worst counts, hence 99 %.
      const expected = exact[Math.round(tau / gridSeconds)] as number;
      expect(intervalOf(0.99).low, `${tau} s`).toBeLessThan(expected);
      expect(intervalOf(0.99).high, `${tau} s`).toBeGreaterThan(expected);
    }
  });

  test("of an h−1 that is 6 % off is told from it, beyond the band too", () => {
    const louder = phasesOf({ ...clock(1), hMinus1: 1.06 * 1.06 * H_MINUS_1 }, 2 ** 21);
    for (const tau of [1, 4, 16, 64])
      expect(measured(louder, 1, tau, ["flicker-fm"])(0.95).low).toBeGreaterThan(LEVEL * (1 + BAND));
  });
});

describe("oscillators by their power-law coefficients, with the deviations that a table has computed from them", () => {
  // R. G. Brown and P. Y. C. Hwang, Introduction to Random Signals and Applied Kalman Filtering, the coefficients READ-2 in
  // public code; the deviations CALC from h0/(2τ) + 2·ln 2·h−1 + (2π²/3)·τ·h−2.
  test.each([
    {
      what: "a low-quality TCXO",
      law: { h0: 2e-19, hMinus1: 7e-21, hMinus2: 2e-20 },
      deviations: [4.9122e-10, 1.1557e-9, 3.6291e-9],
    },
    {
      what: "an OCXO",
      law: { h0: 2e-25, hMinus1: 7e-25, hMinus2: 6e-25 },
      deviations: [2.2401e-12, 6.3607e-12, 1.9894e-11],
    },
  ])("$what", ({ what, law, deviations }) => {
    const phases = phasesOf({ ...clock(1, what), ...wanderFromPowerLaw(law) }, 2 ** 21);
    for (const [n, published] of deviations.entries()) {
      const intervalOf = measured(phases, 1, 10 ** n, ["white-fm", "flicker-fm", "random-walk-fm"]);
      expect(intervalOf(0.95).halfWidth).toBeLessThan(0.02);
      // Of six such comparisons the worst counts.
      const { low, high } = intervalOf(0.99);
      // Flicker's band, by its share of the variance at that τ.
      const band = (BAND * 2 * Math.LN2 * law.hMinus1) / published ** 2;
      expect(low, `${10 ** n} s`).toBeLessThan(published * (1 + band));
      expect(high, `${10 ** n} s`).toBeGreaterThan(published * (1 - band));
    }
  });
});
