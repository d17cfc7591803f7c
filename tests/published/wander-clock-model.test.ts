/**
 * The clock model of C. Zucca and P. Tavella, "The clock model and its relationship with the Allan and related variances",
 * IEEE Trans. UFFC 52(2), 289-296, 2005 (abstract READ; the matrix Q READ in public code that cites the paper): the factors
 * that wander is drawn with, the steps that come of them, and the variances that whole clocks measure.
 */
import fc from "fast-check";
import { describe, expect, test, vi } from "vitest";
import { makeNormal } from "../../shared/normal.ts";
import { stream } from "../../shared/random.ts";
import type { Ns } from "../../shared/time.ts";
import type { OwnWander } from "../../shared/wander.ts";
import { wanderAt } from "../../shared/wander.ts";
import { confidenceInterval, degreesOfFreedom, type NoiseType, oadev, ohdev } from "../../sim/stability/index.ts";
import { tries } from "../helpers/laws.ts";
import { evenInDecades } from "../helpers/numbers.ts";
import { streams } from "../helpers/scripted-streams.ts";

vi.mock("../../shared/random.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofRandom(await original()),
);
vi.mock("../../shared/uniforms.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofUniforms(await original()),
);

/** Knots that are drawn at once. */
const BLOCK = 1024;

/** What each deviate of a knot is drawn for, in the order of the columns below: without drift noise the first two. */
const PURPOSES = ["wander of phase", "wander of frequency", "wander of drift"];
const purposesOf = ({ sigma3 }: Sigmas) => PURPOSES.slice(0, sigma3 === 0 ? 2 : 3);

type Sigmas = Pick<OwnWander, "sigma1" | "sigma2" | "sigma3">;

const clock = (sigmas: Sigmas, gridSeconds: number, device = "house"): OwnWander => ({
  kind: "own",
  seed: "quay-1",
  device,
  gridNs: Math.round(gridSeconds * 1e9) as Ns,
  hMinus1: 0,
  ...sigmas,
});

/** Phase at the knots 0 … count. */
function phasesOf(own: OwnWander, count: number): Float64Array {
  const phases = new Float64Array(count + 1);
  for (let knot = 0; knot <= count; knot++) phases[knot] = wanderAt(own, (knot * own.gridNs) as Ns);
  return phases;
}

type Matrix = readonly (readonly number[])[];

const times = (a: Matrix, b: Matrix): number[][] =>
  a.map((row) => (b[0] as readonly number[]).map((_, k) => row.reduce((sum, x, j) => sum + x * (b[j]?.[k] ?? 0), 0)));
const transposed = (a: Matrix): number[][] => (a[0] as readonly number[]).map((_, k) => a.map((row) => row[k] ?? 0));
const sum = (a: Matrix, b: Matrix): number[][] => a.map((row, i) => row.map((x, j) => x + (b[i]?.[j] ?? 0)));

function publishedQ({ sigma1, sigma2, sigma3 }: Sigmas, T: number): number[][] {
  const [v1, v2, v3] = [sigma1 ** 2, sigma2 ** 2, sigma3 ** 2];
  const q11 = v1 * T + (v2 * T ** 3) / 3 + (v3 * T ** 5) / 20;
  const q12 = (v2 * T ** 2) / 2 + (v3 * T ** 4) / 8;
  const q13 = (v3 * T ** 3) / 6;
  const q22 = v2 * T + (v3 * T ** 3) / 3;
  const q23 = (v3 * T ** 2) / 2;
  return [
    [q11, q12, q13],
    [q12, q22, q23],
    [q13, q23, v3 * T],
  ];
}

const phi = (T: number): Matrix => [
  [1, T, (T * T) / 2],
  [0, 1, T],
  [0, 0, 1],
];

/** What uniforms are as deviates. */
function deviates(uniforms: readonly number[]): Float64Array {
  const drawn = Float64Array.from(uniforms);
  makeNormal(drawn);
  return drawn;
}

const MIDDLE = 0.5;
const ASIDE = 0.84;

/**
 * What one unit of each deviate of a knot does to phase, frequency and drift, read off the clock itself: one deviate of
 * the first knot is moved while all others stay. Rows are phase, frequency, drift; columns are deviates, by their purposes.
 */
function factorsOf(own: OwnWander): number[][] {
  const T = own.gridNs / 1e9;
  const unit = (deviates([ASIDE])[0] as number) - (deviates([MIDDLE])[0] as number);
  const phasesWith = (moved: string | null) => {
    streams.uniform = ({ purpose }, place) => (purpose === moved && place === 0 ? ASIDE : MIDDLE);
    try {
      return phasesOf({ ...own }, 3);
    } finally {
      streams.uniform = null;
    }
  };
  const still = phasesWith(null);
  const columns = purposesOf(own).map((purpose) => {
    const [, x1, x2, x3] = [...phasesWith(purpose)].map((phase, knot) => (phase - (still[knot] as number)) / unit) as [
      number,
      number,
      number,
      number,
    ];
    const drift = own.sigma3 === 0 ? 0 : (x3 - 2 * x2 + x1) / (T * T);
    return [x1, (x2 - x1) / T - (T * drift) / 2, drift];
  });
  return transposed(columns);
}

const covarianceOf = (factors: Matrix): number[][] => times(factors, transposed(factors));

/** Greatest difference of two covariances, each entry in units of what its two quantities vary by. */
function distance(found: Matrix, expected: Matrix): number {
  let worst = 0;
  for (const [i, row] of expected.entries()) {
    for (const [j, entry] of row.entries()) {
      const size = Math.sqrt((expected[i]?.[i] ?? 0) * (expected[j]?.[j] ?? 0));
      const off = Math.abs((found[i]?.[j] ?? Number.NaN) - entry);
      worst = Math.max(worst, size === 0 ? off : off / size);
    }
  }
  return worst;
}

const ONES = { sigma1: 1, sigma2: 1, sigma3: 1 };

describe("the factors that wander is drawn with", () => {
  test("give the published Q at T = 1, all variances 1 (CALC), and its upper corner without drift noise", () => {
    const published = [
      [1.3833333, 0.625, 0.1666667],
      [0.625, 1.3333333, 0.5],
      [0.1666667, 0.5, 1],
    ];
    const found = covarianceOf(factorsOf(clock(ONES, 1)));
    for (const [i, row] of published.entries())
      for (const [j, entry] of row.entries()) expect(found[i]?.[j]).toBeCloseTo(entry, 7);
    const twoState = covarianceOf(factorsOf(clock({ ...ONES, sigma3: 0 }, 1)));
    expect(distance(twoState, publishedQ({ ...ONES, sigma3: 0 }, 1))).toBeLessThan(1e-14);
    expect(twoState[0]?.[0]).toBeCloseTo(4 / 3, 14);
    expect(twoState[0]?.[1]).toBeCloseTo(1 / 2, 14);
  });

  test("are the square root of Q in a public orbit toolbox, entry by entry (READ)", () => {
    for (const T of [0.25, 1, 4]) {
      const sigmas = { sigma1: 0.7, sigma2: 0.3, sigma3: 0.11 };
      const [v1, v2, v3] = [sigmas.sigma1 ** 2, sigmas.sigma2 ** 2, sigmas.sigma3 ** 2];
      const rate = Math.sqrt(v2 * T + (v3 * T ** 3) / 12);
      const drift = Math.sqrt(v3 * T);
      const root = [
        [Math.sqrt(v1 * T + (v2 * T ** 3) / 12 + (v3 * T ** 5) / 720), (rate * T) / 2, (drift * T * T) / 6],
        [0, rate, (drift * T) / 2],
        [0, 0, drift],
      ];
      const found = factorsOf(clock(sigmas, T));
      for (const [i, row] of root.entries())
        for (const [j, entry] of row.entries()) expect(found[i]?.[j]).toBeCloseTo(entry, 12);
    }
  });

  test("compose: two steps of T have the law of one of 2T, Φ(T)·Q(T)·Φ(T)ᵀ + Q(T) = Q(2T)", () => {
    const seen = { white: 0, walk: 0, drift: 0 };
    const law = fc.property(
      evenInDecades(1e-9, 1e-6),
      evenInDecades(1e-9, 1e-6),
      fc.oneof(fc.constant(0), evenInDecades(1e-9, 1e-6)),
      fc.integer({ min: 10, max: 5000 }),
      (sigma1, sigma2, sigma3, milliseconds) => {
        const T = milliseconds / 1000;
        const sigmas = { sigma1, sigma2, sigma3 };
        const once = covarianceOf(factorsOf(clock(sigmas, T)));
        const twice = covarianceOf(factorsOf(clock(sigmas, 2 * T)));
        const composed = sum(times(times(phi(T), once), transposed(phi(T))), once);
        // Drift is read off second differences of phase over T²: 1e-16·(σ1/σ3)/T², with what is drawn here up to 1e-9.
        expect(distance(composed, twice)).toBeLessThan(1e-8);
        expect(distance(once, publishedQ(sigmas, T))).toBeLessThan(1e-8);
        const [q] = publishedQ(sigmas, T) as [number[]];
        const parts = [sigma1 ** 2 * T, (sigma2 ** 2 * T ** 3) / 3, (sigma3 ** 2 * T ** 5) / 20];
        for (const [n, name] of (["white", "walk", "drift"] as const).entries())
          if ((parts[n] as number) > 0.5 * (q[0] as number)) seen[name] += 1;
      },
    );
    fc.assert(law, tries(200));
    for (const count of Object.values(seen)) expect(count).toBeGreaterThan(5);
  });

  test("which a step that is drawn from half of the law would not", () => {
    const once = publishedQ({ ...ONES, sigma3: 0 }, 1);
    const twice = publishedQ({ ...ONES, sigma3: 0 }, 2);
    // White and random-walk FM drawn apart: the covariance of phase and frequency is lost.
    const apart = once.map((row, i) => row.map((entry, j) => (i === j ? entry : 0)));
    const composed = sum(times(times(phi(1), apart), transposed(phi(1))), apart);
    expect(distance(composed, twice)).toBeGreaterThan(0.1);
  });
});

describe("steps of a simulated clock", () => {
  const KNOTS = 512 * BLOCK;

  test.each([
    { what: "two-state", sigmas: { sigma1: 1, sigma2: 1, sigma3: 0 }, T: 1 },
    { what: "three-state", sigmas: ONES, T: 1 },
    { what: "two-state, every 0.25 s", sigmas: { sigma1: 0.5, sigma2: 2, sigma3: 0 }, T: 0.25 },
    { what: "three-state, every 4 s", sigmas: { sigma1: 3, sigma2: 0.6, sigma3: 0.1 }, T: 4 },
  ])("have the covariance Q: $what", ({ sigmas, T }) => {
    const own = clock(sigmas, T);
    const factors = factorsOf(own);
    const draws = purposesOf(sigmas).map((purpose) => stream(own.seed, own.device, purpose, 0));
    const products = [0, 0, 0].map(() => [0, 0, 0]);
    let state = [0, 0, 0];
    let largest = 0;
    for (let knot = 0; knot < KNOTS; knot++) {
      const drawn = deviates(draws.map((draw) => draw()));
      const step = factors.map((row) => row.reduce((all, factor, n) => all + factor * (drawn[n] as number), 0));
      const [x, y, d] = state as [number, number, number];
      state = [x + T * y + 0.5 * T * T * d, y + T * d, d].map((value, n) => value + (step[n] as number));
      for (let i = 0; i < 3; i++)
        for (let j = 0; j < 3; j++)
          (products[i] as number[])[j] = (products[i]?.[j] ?? 0) + (step[i] as number) * (step[j] as number);
      largest = Math.max(largest, Math.abs(state[0] as number));
    }
    // These are the steps of the clock itself: it stands where they lead, to what half a million additions round off.
    expect(Math.abs((state[0] as number) - wanderAt(own, (KNOTS * own.gridNs) as Ns))).toBeLessThan(1e-9 * largest);
    const Q = publishedQ(sigmas, T);
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        const expected = Q[i]?.[j] as number;
        // Isserlis: the product of two normal deviates has the variance Qii·Qjj + Qij²; four of its deviations.
        const deviation = Math.sqrt(((Q[i]?.[i] as number) * (Q[j]?.[j] as number) + expected ** 2) / KNOTS);
        expect(Math.abs((products[i]?.[j] as number) / KNOTS - expected)).toBeLessThanOrEqual(4 * deviation);
      }
    }
    // Four deviations are less than 0.8 % of a variance.
    expect(4 * Math.sqrt(2 / KNOTS)).toBeLessThan(0.008);
  });
});

interface Measured {
  /** Of the deviation, 95 %, relative to what was measured. */
  readonly low: number;
  readonly high: number;
  readonly deviation: number;
}

/**
 * One deviation of several clocks together with its 95 % interval. Of a mixture of noises the degrees of freedom are no
 * fewer than the least of any of them alone (a sum of squared correlations is convex), so the interval is wide enough.
 */
function measure(
  statistic: "oadev" | "ohdev",
  clocks: readonly Float64Array[],
  tau0Seconds: number,
  averagingFactor: number,
  noises: readonly NoiseType[],
): Measured {
  let variance = 0;
  let degrees = 0;
  for (const phaseSeconds of clocks) {
    const samples = { phaseSeconds, tau0Seconds };
    const [found] = (statistic === "oadev" ? oadev : ohdev)(samples, [averagingFactor * tau0Seconds]);
    if (found === undefined || "issue" in found) throw new Error("no deviation");
    variance += found.value ** 2 / clocks.length;
    const points = phaseSeconds.length;
    degrees += Math.min(
      ...noises.map((noise) => degreesOfFreedom({ statistic, noise, points, averagingFactor }) ?? Number.NaN),
    );
  }
  const deviation = Math.sqrt(variance);
  const interval = confidenceInterval({ deviation, degreesOfFreedom: degrees, confidence: 0.95 });
  if (interval === null) throw new Error("no interval");
  return { deviation, ...interval };
}

const agrees = ({ low, high }: Measured, expectedVariance: number): boolean =>
  low * low <= expectedVariance && expectedVariance <= high * high;
/** Of the variance, which is the wider one. */
const halfWidth = ({ low, high, deviation }: Measured): number =>
  (high * high - low * low) / (2 * deviation * deviation);

const FACTORS = [1, 8, 64];

describe("Allan variance of simulated phase is σ1²/τ + σ2²·τ/3 (READ-2, CALC)", () => {
  const KNOTS = 2048 * BLOCK; // 2.1 million
  // White FM rules at 1 knot, random-walk FM at 64.
  const sigmas = { sigma1: 1e-9, sigma2: 1e-9 * Math.sqrt(3 / 64), sigma3: 0 };
  const expected = ({ sigma1, sigma2 }: Sigmas, tau: number) => sigma1 ** 2 / tau + (sigma2 ** 2 * tau) / 3;
  const noises = ["white-fm", "random-walk-fm"] as const;

  test.each([0.25, 1, 4])("on a grid of %d s, at 1, 8 and 64 knots, to 2 %", (T) => {
    const phases = phasesOf(clock(sigmas, T, `grid ${T}`), KNOTS);
    for (const m of FACTORS) {
      const found = measure("oadev", [phases], T, m, noises);
      expect(halfWidth(found)).toBeLessThan(0.02);
      expect(agrees(found, expected(sigmas, m * T)), `${m} knots of ${T} s`).toBe(true);
    }
  });

  test("which tells σ1 that is off by 3 % either way, in the clock or in the formula, and σ2", () => {
    const right = phasesOf(clock(sigmas, 1), KNOTS);
    const verdicts = (phases: Float64Array, by: Sigmas) =>
      FACTORS.map((m) => agrees(measure("oadev", [phases], 1, m, noises), expected(by, m)));
    expect(verdicts(right, sigmas)).toEqual([true, true, true]);
    for (const by of [0.97, 1.03]) {
      // At 64 knots white FM is a 65th of the whole, and nobody could tell.
      const white = { ...sigmas, sigma1: by * sigmas.sigma1 };
      expect(verdicts(right, white).slice(0, 2)).toEqual([false, false]);
      expect(verdicts(phasesOf(clock(white, 1), KNOTS), sigmas).slice(0, 2)).toEqual([false, false]);
      const walk = { ...sigmas, sigma2: by * sigmas.sigma2 };
      expect(verdicts(right, walk).slice(1)).toEqual([false, false]);
      expect(verdicts(phasesOf(clock(walk, 1), KNOTS), sigmas).slice(1)).toEqual([false, false]);
    }
  });
});

describe("Hadamard variance with drift noise is σ1²/τ + σ2²·τ/6 + 11·σ3²·τ³/120 (READ-2, CALC)", () => {
  // Phase grows with the 5/2th power of time, and with it what rounding takes of its differences: many short clocks.
  const CLOCKS = 16;
  const KNOTS = 128 * BLOCK;
  const sigmas = { sigma1: 1e-9, sigma2: 5e-10, sigma3: 3.2e-11 };
  const expected = ({ sigma1, sigma2, sigma3 }: Sigmas, tau: number) =>
    sigma1 ** 2 / tau + (sigma2 ** 2 * tau) / 6 + (11 * sigma3 ** 2 * tau ** 3) / 120;
  const noises = ["white-fm", "random-walk-fm", "random-run-fm"] as const;

  test.each([0.25, 1, 4])("on a grid of %d s, at 1, 8 and 64 knots, to 2 %", (T) => {
    const clocks = Array.from({ length: CLOCKS }, (_, n) => phasesOf(clock(sigmas, T, `grid ${T} ${n}`), KNOTS));
    for (const m of FACTORS) {
      const found = measure("ohdev", clocks, T, m, noises);
      expect(halfWidth(found)).toBeLessThan(0.02);
      expect(agrees(found, expected(sigmas, m * T)), `${m} knots of ${T} s`).toBe(true);
      // Each of the three matters somewhere: without it the same comparison says no.
      if (T !== 1) continue;
      const name = (["sigma1", "sigma2", "sigma3"] as const)[FACTORS.indexOf(m)] as keyof Sigmas;
      expect(agrees(found, expected({ ...sigmas, [name]: 1.03 * sigmas[name] }, m))).toBe(false);
    }
  });
});
