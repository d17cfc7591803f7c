import { describe, expect, test } from "vitest";
import {
  chiSquaredQuantile,
  confidenceInterval,
  degreesOfFreedom,
  type IntervalStatistic,
  type NoiseType,
  oadev,
  stabilityTable,
} from "../../sim/stability/index.ts";
import { normals, onlyValue, powerLawPhase } from "./data.ts";

describe("chi-squared quantiles", () => {
  const probabilities = [0.001, 0.025, 0.15865525393145707, 0.5, 0.8413447460685429, 0.975, 0.999];
  // An independent judge: scipy 1.17.1, scipy.stats.chi2.ppf(probability, degrees), computed once and copied.
  test.each([
    [
      0.5, 1.3499395786230753e-12, 5.273202591259991e-7, 0.0008556197281856074, 0.0873476047057468, 0.9642659623670375,
      3.433235299960771, 8.752888515773373,
    ],
    [
      1, 1.5707971492624921e-6, 0.0009820691171752555, 0.04006950463364094, 0.454936423119572, 1.986996713315955,
      5.023886187314888, 10.827566170662733,
    ],
    [
      2, 0.002001000667167068, 0.05063561596857975, 0.3455075580468999, 1.386294361119891, 3.6820432900185267,
      7.377758908227871, 13.815510557964274,
    ],
    [
      2.5, 0.008815875243366968, 0.11862294210006345, 0.5742581034948289, 1.8738477677808791, 4.449238615943069,
      8.392295266912964, 15.082186971981955,
    ],
    [
      5, 0.2102126026292192, 0.8312116134866625, 2.0559902692611867, 4.351460191095526, 7.956394295315844,
      12.832501994030027, 20.515005652432873,
    ],
    [
      10, 1.4787434638356647, 3.2469727802368413, 5.680617711186441, 9.34181776559197, 14.325506344521887,
      20.483177350807388, 29.58829844507442,
    ],
    [
      36.7, 15.772433024925476, 21.874371184852883, 28.211355085833567, 36.03552928044374, 45.19027720175635,
      55.29910415053301, 68.9385852904425,
    ],
    [
      100, 61.91793920693662, 74.22192747492373, 85.90532634828782, 99.33412923598846, 114.09526869332386,
      129.5611971858366, 149.44925277903886,
    ],
    [
      744.3, 630.746269368092, 670.5916839055265, 705.7349406790644, 743.6334395940825, 782.865138983265,
      821.7961951925917, 869.2488038675104,
    ],
    [
      9999.5, 9568.179420688773, 9724.225307115765, 9858.086896491532, 9998.83334123554, 10140.91310943494,
      10278.563250158899, 10442.21963979935,
    ],
    [
      1e6, 995635.4506315956, 997230.0871432901, 998585.7869090611, 999999.3333334123, 1001414.2130909982,
      1002773.701467926, 1004375.9487461417,
    ],
  ])("for %d degrees of freedom agree with an independent library", (degrees, ...expected) => {
    expected.forEach((quantile, k) => {
      expect(Math.abs(chiSquaredQuantile(probabilities[k]!, degrees) / quantile - 1)).toBeLessThan(1e-9);
    });
  });

  test("for 2 degrees are −2 ln(1 − p), at both far ends", () => {
    for (const p of [1e-6, 0.3, 0.5, 0.9, 1 - 1e-6])
      expect(chiSquaredQuantile(p, 2) / (-2 * Math.log1p(-p))).toBeCloseTo(1, 9);
  });

  test("hold the probability: the density summed up to them by Simpson's rule", () => {
    // ∫ x^(a−1) e^(−x/2) dx up to the quantile, over the same up to far out; a = 3.65.
    const integral = (to: number) => {
      const steps = 20_000;
      let sum = 0;
      for (let k = 0; k <= steps; k++) {
        const x = (to * k) / steps;
        sum += (k === 0 || k === steps ? 1 : k % 2 === 1 ? 4 : 2) * x ** 2.65 * Math.exp(-x / 2);
      }
      return (sum * to) / steps / 3;
    };
    for (const p of [0.05, 0.5, 0.95]) expect(integral(chiSquaredQuantile(p, 7.3)) / integral(300)).toBeCloseTo(p, 7);
  });

  test("outside their range are not a number", () => {
    for (const [p, degrees] of [
      [0, 5],
      [1, 5],
      [0.5, 0],
      [0.5, -1],
      [Number.NaN, 5],
      [0.5, Number.NaN],
    ] as const)
      expect(chiSquaredQuantile(p, degrees)).toBeNaN();
  });
});

/**
 * Degrees of freedom from first principles: the terms are C x with x of covariance K, so the sum of their squares has mean
 * tr(C K Cᵀ) and variance 2 ‖C K Cᵀ‖², and ν = tr² / ‖·‖². Knows nothing of the formulas in use.
 */
function exactDegrees(statistic: string, noise: NoiseType, points: number, m: number): number {
  const covariance = (s: number, t: number): number => {
    const [early, late] = [Math.min(s, t) + 1, Math.max(s, t) + 1];
    if (noise === "white-pm") return early === late ? 1 : 0;
    // White FM: phase is a random walk. Random-walk FM: its integral, Cov = s² (3t − s) / 6 for s ≤ t.
    return noise === "white-fm" ? early : (early * early * (3 * late - early)) / 6;
  };
  const weights = statistic.includes("hdev") ? [-1, 3, -3, 1] : [1, -2, 1];
  const averaged = statistic === "mdev" || statistic === "tdev" ? m : 1;
  const stride = statistic === "adev" || statistic === "hdev" ? m : 1;
  const rows: Map<number, number>[] = [];
  for (let begin = 0; begin + (weights.length - 1) * m + averaged - 1 < points; begin += stride) {
    const row = new Map<number, number>();
    for (let a = 0; a < averaged; a++)
      weights.forEach((weight, k) => {
        const at = begin + a + k * m;
        row.set(at, (row.get(at) ?? 0) + weight);
      });
    rows.push(row);
  }
  let trace = 0;
  let squares = 0;
  for (const one of rows)
    for (const other of rows) {
      let product = 0;
      for (const [i, a] of one) for (const [j, b] of other) product += a * b * covariance(i, j);
      if (one === other) trace += product;
      squares += product * product;
    }
  return (trace * trace) / squares;
}

describe("equivalent degrees of freedom", () => {
  const statistics = ["adev", "oadev", "mdev", "tdev", "hdev", "ohdev"] as const;
  test.each(
    (["white-pm", "white-fm", "random-walk-fm"] as const).flatMap((noise) =>
      statistics.map((one) => [noise, one] as const),
    ),
  )("%s, %s: exactly those of the covariance matrix", (noise, statistic) => {
    for (const [points, m] of [
      [60, 1],
      [60, 3],
      [60, 8],
      [60, 17],
      [52, 17],
    ] as const) {
      const degrees = degreesOfFreedom({ statistic, noise, points, averagingFactor: m });
      expect(degrees! / exactDegrees(statistic, noise, points, m)).toBeCloseTo(1, 7);
    }
  });

  test("known by hand: white FM at one spacing has 2/3 of its terms, if phase is sampled", () => {
    // Second differences of a random walk: y[1] − y[0], correlations −1/2 at lag 1, so Σρ² = 1 + 2/4 for long records.
    const of = (phase: "sampled" | "averaged") =>
      degreesOfFreedom({ statistic: "oadev", noise: "white-fm", points: 100_002, averagingFactor: 1, phase })! /
      100_000;
    expect(of("sampled")).toBeCloseTo(2 / 3, 4);
    // Averaged over tau0: covariances of |t|³ smoothed are 12, −4, −2, 0, so Σρ² = 1 + 2 (1/9 + 1/36) = 23/18.
    expect(of("averaged")).toBeCloseTo(18 / 23, 4);
  });

  test("do not jump where the sums change their form: at 64 samples, and at 512 steps per tau", () => {
    let compared = 0;
    for (const noise of ["white-pm", "flicker-pm", "white-fm", "flicker-fm", "random-walk-fm"] as const)
      for (const statistic of ["oadev", "mdev", "ohdev"] as const)
        for (const ratio of [3.5, 20])
          for (const m of [64, 512]) {
            // Points for the same length in tau; flicker PM grows with ln m by itself, at 512 by 5e-4 per step.
            const of = (n: number) =>
              degreesOfFreedom({ statistic, noise, points: Math.round(ratio * n), averagingFactor: n })!;
            expect(Math.abs(of(m + 2) / of(m) - 1)).toBeLessThan(
              noise === "flicker-pm" || noise === "white-pm" ? 0.035 : 1e-3,
            );
            compared++;
          }
    expect(compared).toBe(60);
  });

  test("the decimated sum is the whole sum within a thousandth", () => {
    // 20 tau: at 512 steps whole, at 5120 in 512; only the ratio should matter (flicker FM, F = ∞).
    const of = (m: number) =>
      degreesOfFreedom({ statistic: "oadev", noise: "flicker-fm", points: 20 * m, averagingFactor: m })!;
    expect(Math.abs(of(5120) / of(512) - 1)).toBeLessThan(1e-3);
  });

  test("are not known where no formula holds, or the record is too short", () => {
    const of = (statistic: IntervalStatistic, noise: NoiseType, points = 100, averagingFactor = 1) =>
      degreesOfFreedom({ statistic, noise, points, averagingFactor });
    expect(of("oadev", "flicker-walk-fm")).toBeNull();
    expect(of("ohdev", "random-run-fm")).toBeGreaterThan(1);
    expect(of("totdev", "white-pm")).toBeNull();
    expect(of("sampleDeviation", "flicker-fm")).toBeNull();
    expect(of("sampleDeviation", "white-fm")).toBe(98);
    expect(of("oadev", "white-fm", 20, 10)).toBeNull();
    expect(of("oadev", "white-fm", 21, 10)).toBeCloseTo(1, 12);
    expect(of("totdev", "white-fm", 101, 101)).toBeNull();
  });
});

describe("intervals", () => {
  test("hold the true value as often as they say: 3,000 records of white FM", () => {
    const normal = normals(2024);
    const hits = { one: 0, ten: 0, averaged: 0 };
    const interval = (deviation: number, averagingFactor: number, phase: "sampled" | "averaged") => {
      const degrees = degreesOfFreedom({ statistic: "oadev", noise: "white-fm", points: 61, averagingFactor, phase })!;
      return confidenceInterval({ deviation, degreesOfFreedom: degrees, confidence: 0.95 })!;
    };
    const holds = ({ low, high }: { low: number; high: number }, truth: number) => low <= truth && truth <= high;
    for (let record = 0; record < 3000; record++) {
      const samples = { phaseSeconds: powerLawPhase(1, 61, normal), tau0Seconds: 1 };
      const one = onlyValue(oadev(samples, [1]));
      const ten = onlyValue(oadev(samples, [10]));
      // Unit steps: y has variance 1, and averages over 10 have 1/10.
      if (holds(interval(one, 1, "sampled"), 1)) hits.one++;
      if (holds(interval(ten, 10, "sampled"), Math.sqrt(0.1))) hits.ten++;
      if (holds(interval(one, 1, "averaged"), 1)) hits.averaged++;
    }
    // Binomial spread 0.4 %; that ν s² / σ² is chi-squared is itself an approximation, good to 1 % here.
    expect(Math.abs(hits.one / 3000 - 0.95)).toBeLessThan(0.01);
    expect(Math.abs(hits.ten / 3000 - 0.95)).toBeLessThan(0.02);
    // The same test sees degrees that are 17 % too many.
    expect(hits.averaged / 3000).toBeLessThan(0.94);
  });

  test("by hand: 1 of 10 degrees at 95 % is √(10 / 20.483177) … √(10 / 3.246973)", () => {
    const found = confidenceInterval({ deviation: 1, degreesOfFreedom: 10, confidence: 0.95 })!;
    expect(found.low).toBeCloseTo(Math.sqrt(10 / 20.483177), 6);
    expect(found.high).toBeCloseTo(Math.sqrt(10 / 3.246973), 6);
  });

  test("of nothing sensible are not given", () => {
    for (const bad of [
      { confidence: 0 },
      { confidence: 1 },
      { degreesOfFreedom: 0 },
      { deviation: Number.NaN },
      { deviation: -1 },
    ])
      expect(confidenceInterval({ deviation: 1, degreesOfFreedom: 3, confidence: 0.9, ...bad })).toBeNull();
  });
});

describe("the table", () => {
  const phaseSeconds = powerLawPhase(1, 400, normals(17));

  test("has every statistic at every octave, intervals around the values, and says what is missing", () => {
    const rows = stabilityTable({ phaseSeconds, tau0Seconds: 1 });
    expect(rows.map(({ tauSeconds }) => tauSeconds)).toEqual([1, 2, 4, 8, 16, 32, 64, 128, 256]);
    let intervals = 0;
    for (const { cells } of rows)
      for (const cell of Object.values(cells)) {
        if ("issue" in cell || cell.interval === null) continue;
        expect(cell.interval.low).toBeLessThan(cell.value);
        expect(cell.interval.high).toBeGreaterThan(cell.value);
        intervals++;
      }
    expect(intervals).toBeGreaterThan(50);
    expect(rows[8]!.cells.oadev).toMatchObject({ issue: { kind: "too-short" } });
    expect(rows[8]!.cells.mtie).toMatchObject({ interval: null, degreesOfFreedom: null });
  });

  test("names the noise it assumed, and marks what it took over from a shorter time", () => {
    const rows = stabilityTable({ phaseSeconds, tau0Seconds: 1 }, { tausSeconds: [64, 1, 8] });
    expect(rows.map(({ noise }) => noise)).toEqual([
      { allan: "white-fm", hadamard: "white-fm", isTakenOver: true },
      { allan: "white-fm", hadamard: "white-fm", isTakenOver: false },
      { allan: "white-fm", hadamard: "white-fm", isTakenOver: false },
    ]);
    const [named] = stabilityTable({ phaseSeconds, tau0Seconds: 1 }, { tausSeconds: [1], noise: "flicker-fm" });
    expect(named!.noise).toEqual({ allan: "flicker-fm", hadamard: "flicker-fm", isTakenOver: false });
  });

  test("a wider confidence is a wider interval; a gap widens it as well", () => {
    const width = (phase: Float64Array, confidence: number) => {
      const [row] = stabilityTable(
        { phaseSeconds: phase, tau0Seconds: 1 },
        { tausSeconds: [4], noise: "white-fm", confidence },
      );
      const cell = row!.cells.oadev;
      if ("issue" in cell || cell.interval === null) throw new Error("no interval");
      return cell.interval.high / cell.interval.low;
    };
    expect(width(phaseSeconds, 0.99)).toBeGreaterThan(width(phaseSeconds, 0.9));
    const gapped = phaseSeconds.map((x, i) => (i > 100 && i < 250 ? Number.NaN : x));
    // 62 % of the terms are left: the logarithm of the width grows by about 1 / √0.62.
    expect(Math.log(width(gapped, 0.9)) / Math.log(width(phaseSeconds, 0.9))).toBeCloseTo(1 / Math.sqrt(0.62), 1);
  });
});
