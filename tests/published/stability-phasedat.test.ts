/**
 * Results for PHASE.DAT, another program's saved output in allantools' tests/phasedat (commit 599dc9ea) and
 * tests/phase.dat (tierms): READ there. Values, numbers of terms, and intervals for white FM at a confidence of 0.683.
 */
import { describe, expect, test } from "vitest";
import {
  confidenceInterval,
  degreesOfFreedom,
  type IntervalStatistic,
  mtie,
  STATISTICS,
  tieRms,
} from "../../sim/stability/index.ts";
import { onlyValue, phaseDat } from "../stability/data.ts";

const samples = { phaseSeconds: phaseDat(), tau0Seconds: 1 };

test("the data are those of the file", () => {
  // 0.0851160, −0.2204755, −0.1470742; extremes and mean as in the files' heads.
  const x = samples.phaseSeconds;
  expect(x.length).toBe(1001);
  expect([...x.slice(1, 4)].map((value) => value.toFixed(7))).toEqual(["0.0851160", "-0.2204755", "-0.1470742"]);
  expect(Math.max(...x).toFixed(6)).toBe("4.356529");
  expect(Math.min(...x).toFixed(6)).toBe("-4.707879");
  expect((x.reduce((sum, value) => sum + value, 0) / 1001).toFixed(7)).toBe("-0.5403683");
});

test("MTIE, all nine rows to all digits, with the numbers of windows", () => {
  const rows = [
    [1, 1000, "5.0597e-1"],
    [3, 998, "1.2984e+0"],
    [7, 994, "2.2922e+0"],
    [15, 986, "2.9949e+0"],
    [31, 970, "4.4550e+0"],
    [63, 938, "6.5989e+0"],
    [127, 874, "6.8061e+0"],
    [255, 746, "7.8205e+0"],
    [511, 490, "7.8205e+0"],
  ] as const;
  const found = mtie(
    samples,
    rows.map(([m]) => m),
  );
  rows.forEach(([m, windows, printed], k) => {
    expect(found[k]).toMatchObject({ averagingFactor: m, terms: windows });
    expect(onlyValue([found[k]!]).toExponential(4)).toBe(printed);
  });
});

test("TIErms, to all digits", () => {
  const rows = {
    ...{ 1: "2.8832e-1", 2: "4.0240e-1", 3: "4.9390e-1", 4: "5.7044e-1", 5: "6.4195e-1", 8: "7.9644e-1" },
    ...{ 16: "1.0573e+0", 32: "1.5871e+0", 50: "1.9745e+0", 64: "2.2171e+0", 99: "2.7366e+0", 127: "2.9484e+0" },
    ...{ 133: "2.9611e+0", 200: "2.8163e+0", 247: "2.6144e+0" },
  };
  for (const [m, printed] of Object.entries(rows))
    expect(onlyValue(tieRms(samples, [Number(m)])).toExponential(4), `m = ${m}`).toBe(printed);
});

/** m, terms, low, value, high. */
const OCTAVES: Partial<Record<IntervalStatistic, readonly (readonly [number, number, number, string, number])[]>> = {
  adev: [
    [1, 999, 2.8515e-1, "2.9223e-1", 2.9987e-1],
    [2, 499, 1.9787e-1, "2.0510e-1", 2.1319e-1],
    [4, 249, 1.4201e-1, "1.4943e-1", 1.5815e-1],
    [8, 124, 1.0254e-1, "1.1013e-1", 1.1971e-1],
    [16, 61, 5.651e-2, "6.2381e-2", 7.0567e-2],
    [32, 30, 4.9153e-2, "5.6233e-2", 6.7635e-2],
    [64, 14, 2.7109e-2, "3.2550e-2", 4.3537e-2],
    [128, 6, 2.6481e-2, "3.3855e-2", 5.5744e-2],
  ],
  oadev: [
    [1, 999, 2.8515e-1, "2.9223e-1", 2.9987e-1],
    [2, 997, 1.952e-1, "2.0102e-1", 2.0738e-1],
    [4, 993, 1.3931e-1, "1.4479e-1", 1.5098e-1],
    [8, 985, 1.0038e-1, "1.0570e-1", 1.1198e-1],
    [16, 969, 5.7696e-2, "6.1915e-2", 6.7217e-2],
    [32, 937, 4.3654e-2, "4.8082e-2", 5.4202e-2],
    [64, 873, 3.1755e-2, "3.6237e-2", 4.3377e-2],
    [128, 745, 2.3045e-2, "2.7674e-2", 3.7027e-2],
  ],
  mdev: [
    [1, 999, 2.8515e-1, "2.9223e-1", 2.9987e-1],
    [2, 996, 1.5336e-1, "1.5821e-1", 1.6355e-1],
    [4, 990, 1.0322e-1, "1.0780e-1", 1.1304e-1],
    [8, 978, 6.984e-2, "7.4192e-2", 7.9481e-2],
    [16, 954, 3.8022e-2, "4.1376e-2", 4.5809e-2],
    [32, 906, 3.0466e-2, "3.4255e-2", 3.9933e-2],
    [64, 810, 2.3687e-2, "2.7871e-2", 3.5511e-2],
    [128, 618, 1.4874e-2, "1.8669e-2", 2.8584e-2],
  ],
  tdev: [
    [1, 999, 1.6463e-1, "1.6872e-1", 1.7313e-1],
    [2, 996, 1.7709e-1, "1.8268e-1", 1.8885e-1],
    [4, 990, 2.3838e-1, "2.4895e-1", 2.6106e-1],
    [8, 978, 3.2258e-1, "3.4268e-1", 3.671e-1],
    [16, 954, 3.5123e-1, "3.8221e-1", 4.2317e-1],
    [32, 906, 5.6287e-1, "6.3287e-1", 7.3777e-1],
    [64, 810, 8.7525e-1, "1.0298e+0", 1.3122],
    [128, 618, 1.0992, "1.3797e+0", 2.1124],
  ],
  hdev: [
    [1, 998, 2.8635e-1, "2.9439e-1", 3.0315e-1],
    [2, 498, 1.9887e-1, "2.0716e-1", 2.1659e-1],
    [4, 248, 1.4054e-1, "1.4890e-1", 1.5896e-1],
    [8, 123, 1.0744e-1, "1.1649e-1", 1.2829e-1],
    [16, 60, 5.3296e-2, "5.9589e-2", 6.8811e-2],
    [32, 29, 4.6987e-2, "5.4697e-2", 6.8092e-2],
    [64, 13, 2.487e-2, "3.0569e-2", 4.3652e-2],
    [128, 5, 2.8841e-2, "3.8060e-2", 7.3807e-2],
  ],
  ohdev: [
    [1, 998, 2.8635e-1, "2.9439e-1", 3.0315e-1],
    [2, 995, 1.9491e-1, "2.0125e-1", 2.0825e-1],
    [4, 989, 1.3777e-1, "1.4368e-1", 1.5043e-1],
    [8, 977, 1.0388e-1, "1.0987e-1", 1.1704e-1],
    [16, 953, 5.6173e-2, "6.0638e-2", 6.6369e-2],
    [32, 905, 4.0664e-2, "4.5095e-2", 5.1382e-2],
    [64, 809, 2.9271e-2, "3.3824e-2", 4.1477e-2],
    [128, 617, 2.3761e-2, "2.9147e-2", 4.1367e-2],
  ],
  totdev: [
    [1, 999, 2.8707e-1, "2.9223e-1", 2.9768e-1],
    [2, 999, 1.9592e-1, "2.0089e-1", 2.0625e-1],
    [4, 999, 1.3947e-1, "1.4444e-1", 1.4998e-1],
    [8, 999, 1.0039e-1, "1.0540e-1", 1.1126e-1],
    [16, 999, 5.7732e-2, "6.1788e-2", 6.6839e-2],
    [32, 999, 4.4255e-2, "4.8580e-2", 5.4484e-2],
    [64, 999, 3.1639e-2, "3.5905e-2", 4.2546e-2],
    [128, 999, 2.6406e-2, "3.1259e-2", 4.0383e-2],
    [256, 999, 1.0734e-2, "1.3369e-2", 1.9924e-2],
  ],
};
const rows = Object.entries(OCTAVES) as [IntervalStatistic, NonNullable<(typeof OCTAVES)["adev"]>][];

describe("octave runs", () => {
  test.each(rows)("%s: values to all digits, and the numbers of terms", (name, published) => {
    for (const [m, terms, , printed] of published) {
      const [found] = STATISTICS[name].compute(samples, [m]);
      expect(found).toMatchObject({ averagingFactor: m, terms });
      expect(onlyValue([found!]).toExponential(4)).toBe(printed);
    }
  });

  /**
   * The files' intervals follow the published algorithm for phase averaged over tau0, with F = m while m (d + 1) ≤ 100
   * and F = ∞ from there on (which is our "sampled" for unmodified variances). Above 100 degrees of freedom they are of
   * another make: their ends fit the large-sample formula with a normal deviate of 0.9945 ± 0.001 in place of 1 (found
   * from the numbers), that is a confidence of 0.6800. For TOTDEV they take the number of points for the length of the
   * record, one tau0 more than it is. With that allowed for, what is left is the last printed digit, the three digits of
   * the paper's table for long sums, and at few degrees of freedom 2e-4 that an independent library's quantiles
   * (scipy.stats.chi2) leave as well.
   */
  test.each(rows)("%s: intervals", (name, published) => {
    const differences = name === "hdev" || name === "ohdev" ? 3 : 2;
    let compared = 0;
    for (const [m, , low, , high] of published) {
      const isModified = name === "mdev" || name === "tdev";
      const phase = isModified || m * (differences + 1) <= 100 ? "averaged" : "sampled";
      const degrees = degreesOfFreedom({
        statistic: name,
        noise: "white-fm",
        points: name === "totdev" ? 1002 : 1001,
        averagingFactor: m,
        phase,
      })!;
      const deviation = onlyValue(STATISTICS[name].compute(samples, [m]));
      const isLarge = degrees > 100;
      const interval = confidenceInterval({
        deviation,
        degreesOfFreedom: degrees,
        confidence: isLarge ? 0.68 : 0.6826894921370859,
      })!;
      for (const [found, printed] of [
        [interval.low, low],
        [interval.high, high],
      ] as const) {
        expect(Math.abs(found / printed - 1), `m = ${m}`).toBeLessThan(2e-4);
        compared++;
      }
    }
    expect(compared).toBeGreaterThanOrEqual(16);
  });
});
