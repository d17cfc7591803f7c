import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  adev,
  hdev,
  mdev,
  mtie,
  oadev,
  octaveTaus,
  ohdev,
  STATISTICS,
  type StabilityIssue,
  type StatisticName,
  sampleDeviation,
  tdev,
  tie,
  tieRms,
  totdev,
} from "../../sim/stability/index.ts";
import { normals, onlyValue, phaseDat, powerLawPhase } from "./data.ts";
import { slow } from "./slow.ts";

const NAMES = Object.keys(STATISTICS) as StatisticName[];
const FREQUENCY_BLIND: readonly StatisticName[] = ["adev", "oadev", "mdev", "tdev", "hdev", "ohdev", "totdev"];
const at = (name: StatisticName, phaseSeconds: Float64Array, m: number, tau0Seconds = 1) =>
  STATISTICS[name].compute({ phaseSeconds, tau0Seconds }, [m * tau0Seconds])[0]!;
const value = (name: StatisticName, phase: Float64Array, m: number, tau0 = 1) => onlyValue([at(name, phase, m, tau0)]);

/** Phase in thousandths, now and then a gap; ends present. */
const phases = fc
  .array(fc.oneof({ weight: 30, arbitrary: fc.integer({ min: -999, max: 999 }) }, fc.constant(Number.NaN)), {
    minLength: 2,
    maxLength: 60,
    size: "max",
  })
  .map((values) => Float64Array.from([0.5, ...values.map((x) => x / 1000), -0.25]));
const wholePhases = phases.map((x) => x.map((value) => (Number.isNaN(value) ? 0.125 : value)));

describe("every statistic is its definition", () => {
  test.each(NAMES)("%s: against averages and sums written out, with gaps and without, at any window", (name) => {
    const seen = { values: 0, withGap: 0, without: 0 };
    fc.assert(
      fc.property(phases, fc.integer({ min: 1, max: 25 }), fc.constantFrom(1, 0.1, 3), (x, m, tau0) => {
        const expected = slow[name](x, m, m * tau0);
        const found = at(name, x, m, tau0);
        if (Number.isNaN(expected)) {
          seen.without++;
          expect(found).toHaveProperty("issue");
          return;
        }
        seen.values++;
        if (x.some((value) => Number.isNaN(value))) seen.withGap++;
        // The slow sums and the carried ones round differently, by some units of 1e-16 of the largest phase.
        expect(Math.abs(onlyValue([found]) - expected)).toBeLessThan(1e-12 / Math.min(1, m * tau0));
      }),
      { seed: 65, numRuns: 400 },
    );
    expect(seen.values).toBeGreaterThan(100);
    expect(seen.withGap).toBeGreaterThan(50);
    expect(seen.without).toBeGreaterThan(10);
  });

  test.each(NAMES)("%s at every window of the thousand points", (name) => {
    const x = phaseDat();
    let compared = 0;
    for (const m of [1, 2, 3, 5, 10, 31, 64, 100, 127, 200, 333, 400, 500, 700, 999, 1000]) {
      const expected = slow[name](x, m, m);
      if (Number.isNaN(expected)) continue;
      compared++;
      expect(value(name, x, m) / expected).toBeCloseTo(1, 10);
    }
    expect(compared).toBeGreaterThanOrEqual(11);
  });

  test("octave windows of MTIE are those of any list of windows, and of brute force", () => {
    const x = powerLawPhase(1, 3000, normals(7));
    const octaves = octaveTaus({ phaseSeconds: x, tau0Seconds: 1 });
    expect(octaves).toEqual([1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 2048]);
    const all = mtie({ phaseSeconds: x, tau0Seconds: 1 }, octaves).map((found) => onlyValue([found]));
    expect(all).toEqual(octaves.map((m) => slow.mtie(x, m)));
    const between = [3, 1000, 7, 2999, 1025, 1];
    const some = mtie({ phaseSeconds: x, tau0Seconds: 1 }, between).map((found) => onlyValue([found]));
    expect(some).toEqual(between.map((m) => slow.mtie(x, m)));
  });
});

test("the table of statistics names the functions that one would call by name", () => {
  const byName = { adev, oadev, mdev, tdev, hdev, ohdev, totdev, sampleDeviation, tieRms, mtie };
  expect(Object.keys(STATISTICS)).toEqual(Object.keys(byName));
  for (const name of NAMES) expect(STATISTICS[name].compute, name).toBe(byName[name]);
});

describe("what each statistic is blind to", () => {
  const x = powerLawPhase(1, 500, normals(11));
  const windows = [1, 2, 7, 16, 50];
  const added = (term: (i: number) => number) => x.map((value, i) => value + term(i));

  test.each(NAMES)("%s: a constant phase", (name) => {
    for (const m of windows)
      expect(
        value(
          name,
          added(() => 1000),
          m,
        ) / value(name, x, m),
      ).toBeCloseTo(1, 9);
  });

  test.each(FREQUENCY_BLIND)("%s: a constant frequency offset as well", (name) => {
    for (const m of windows)
      expect(
        value(
          name,
          added((i) => 3 * i),
          m,
        ) / value(name, x, m),
      ).toBeCloseTo(1, 9);
  });

  test.each(["mtie", "tieRms"] as const)("%s: not a frequency offset, which adds the offset times tau", (name) => {
    const line = Float64Array.from({ length: 500 }, (_, i) => 2e-6 * i);
    for (const m of windows) expect(value(name, line, m)).toBeCloseTo(2e-6 * m, 14);
  });

  test.each(["hdev", "ohdev"] as const)("%s: a linear drift of frequency as well", (name) => {
    for (const m of windows)
      expect(
        value(
          name,
          added((i) => 0.02 * i * i),
          m,
        ) / value(name, x, m),
      ).toBeCloseTo(1, 7);
  });

  test.each(["adev", "oadev", "totdev"] as const)("%s: not drift; drift d alone gives d tau / sqrt 2", (name) => {
    // x = d t² / 2, so a second difference over tau is d tau², over √2 tau. TOTDEV only away from its mirrored ends.
    const drift = Float64Array.from({ length: 4001 }, (_, i) => 0.5e-9 * i * i);
    const tolerance = name === "totdev" ? 0.01 : 1e-9;
    for (const m of [1, 2, 10])
      expect(Math.abs(value(name, drift, m) / ((1e-9 * m) / Math.SQRT2) - 1)).toBeLessThan(tolerance);
  });
});

describe("laws", () => {
  test.each(NAMES)("%s: twice the phase is twice the value; backwards is the same; a coarser clock of tau0", (name) => {
    fc.assert(
      fc.property(wholePhases, fc.integer({ min: 1, max: 12 }), (x, m) => {
        const found = at(name, x, m);
        fc.pre(!("issue" in found));
        const one = onlyValue([found]);
        expect(
          value(
            name,
            x.map((value) => -8 * value),
            m,
          ),
        ).toBeCloseTo(8 * one, 9);
        // Averages that do not overlap begin at the first point, so their law needs a whole number of them.
        const isWhole = (x.length - 1) % m === 0 || !["adev", "hdev", "sampleDeviation"].includes(name);
        if (isWhole) expect(value(name, x.slice().reverse(), m)).toBeCloseTo(one, 9);
        const inSeconds = STATISTICS[name].unit === "seconds";
        expect(value(name, x, m, 4)).toBeCloseTo(inSeconds ? one : one / 4, 9);
      }),
      { seed: 66, numRuns: 150 },
    );
  });

  test("MTIE never falls as the window grows, is never below TIErms, and is the whole range at the longest", () => {
    let grown = 0;
    fc.assert(
      fc.property(wholePhases, (x) => {
        const windows = Array.from({ length: x.length - 1 }, (_, i) => i + 1);
        const all = mtie({ phaseSeconds: x, tau0Seconds: 1 }, windows).map((found) => onlyValue([found]));
        all.forEach((wide, k) => {
          if (k > 0) expect(wide).toBeGreaterThanOrEqual(all[k - 1]!);
          if (k > 0 && wide > all[k - 1]!) grown++;
          expect(wide).toBeGreaterThanOrEqual(value("tieRms", x, k + 1) * (1 - 1e-12));
        });
        expect(all[all.length - 1]).toBe(Math.max(...x) - Math.min(...x));
      }),
      { seed: 67, numRuns: 100 },
    );
    expect(grown).toBeGreaterThan(100);
  });

  test("at one spacing the modified and the total deviation are the Allan deviation", () => {
    const x = phaseDat();
    for (const name of ["mdev", "oadev", "totdev"] as const)
      expect(value(name, x, 1)).toBeCloseTo(value("adev", x, 1), 12);
  });

  test("sums carried along keep their digits over 200,000 points and a large frequency offset", () => {
    const x = powerLawPhase(1, 200_000, normals(5)).map((value) => value * 1e-9);
    const offset = x.map((value, i) => value + 1e-5 * i);
    for (const m of [1, 64, 4096]) expect(value("mdev", offset, m) / value("mdev", x, m)).toBeCloseTo(1, 6);
  });
});

describe("frequency", () => {
  const y = Float64Array.from({ length: 300 }, normals(3));
  const phase = new Float64Array(301);
  y.forEach((value, i) => {
    phase[i + 1] = phase[i]! + value * 0.5;
  });

  test.each(NAMES)("%s is that of its sum, offset included", (name) => {
    for (const m of [1, 3, 20]) {
      const found = STATISTICS[name].compute({ fractionalFrequency: y, tau0Seconds: 0.5 }, [m * 0.5]);
      expect(onlyValue(found) / value(name, phase, m, 0.5)).toBeCloseTo(1, 10);
    }
  });

  test("an offset a hundred million times the noise takes none of its digits", () => {
    const noise = y.map((value) => value * 1e-13);
    const offset = noise.map((value) => value + 1e-5);
    // 1e-5 in a double keeps steps of 1.7e-21, so each value of 1e-13 is still good to 1e-8; summed naively over a day,
    // phase would keep steps of 1e-16 only.
    const day = (values: Float64Array) => Float64Array.from({ length: 86_400 }, (_, i) => values[i % 300]!);
    const of = (values: Float64Array) => onlyValue(oadev({ fractionalFrequency: day(values), tau0Seconds: 1 }, [1]));
    expect(of(offset) / of(noise)).toBeCloseTo(1, 6);
  });

  test("a gap parts it: no term crosses, the terms of both sides are pooled", () => {
    const gapped = y.slice();
    gapped.fill(Number.NaN, 100, 103);
    const sides = [y.slice(0, 100), y.slice(103)];
    for (const name of ["adev", "oadev", "mdev", "tdev", "hdev", "ohdev", "totdev", "tieRms"] as const)
      for (const m of [1, 4, 25]) {
        const compute = STATISTICS[name].compute;
        const [whole] = compute({ fractionalFrequency: gapped, tau0Seconds: 1 }, [m]);
        const parts = sides.map((side) => compute({ fractionalFrequency: side, tau0Seconds: 1 }, [m])[0]!);
        if (whole === undefined || "issue" in whole) throw new Error("no value");
        let squares = 0;
        let terms = 0;
        for (const part of parts) {
          if ("issue" in part) throw new Error("no value");
          squares += part.value ** 2 * part.terms;
          terms += part.terms;
        }
        expect(whole.terms).toBe(terms);
        expect(whole.value / Math.sqrt(squares / terms)).toBeCloseTo(1, 10);
      }
    const widest = (values: Float64Array) => onlyValue(mtie({ fractionalFrequency: values, tau0Seconds: 1 }, [25]));
    expect(widest(gapped)).toBeCloseTo(Math.max(...sides.map(widest)), 12);
  });
});

describe("time interval error", () => {
  test("is phase since the first point that is there", () => {
    const phaseSeconds = Float64Array.of(Number.NaN, 2, 3, Number.NaN, 7);
    expect(tie({ phaseSeconds, tau0Seconds: 1 })).toEqual(Float64Array.of(0, 1, Number.NaN, 5));
  });

  test("of frequency puts the mean frequency back, and is not known beyond a gap", () => {
    const found = tie({ fractionalFrequency: Float64Array.of(1e-6, 3e-6), tau0Seconds: 10 });
    if ("kind" in found) throw new Error("no value");
    expect([...found].map((x) => Math.round(x * 1e12))).toEqual([0, 10e6, 40e6]);
    const gapped = Float64Array.of(1e-6, Number.NaN, 3e-6);
    expect(tie({ fractionalFrequency: gapped, tau0Seconds: 10 })).toMatchObject({ kind: "too-many-gaps" });
  });
});

describe("what cannot be computed is an issue, never a number", () => {
  const phaseSeconds = Float64Array.from({ length: 20 }, normals(9));
  const good = { phaseSeconds, tau0Seconds: 2 };

  test.each(NAMES)("%s of a record one point too short, and of the shortest that has a value", (name) => {
    // Points of phase for m = 4: second differences 2m + 1, third 3m + 1, averages of phase 3m, ends m + 1.
    const least = {
      adev: 9,
      oadev: 9,
      mdev: 12,
      tdev: 12,
      hdev: 13,
      ohdev: 13,
      sampleDeviation: 9,
      totdev: 5,
      tieRms: 5,
      mtie: 5,
    }[name];
    const of = (points: number) =>
      STATISTICS[name].compute({ phaseSeconds: phaseSeconds.slice(0, points), tau0Seconds: 2 }, [8])[0]!;
    expect(of(least)).toMatchObject({ tauSeconds: 8, averagingFactor: 4 });
    expect(of(least - 1)).toEqual({
      tauSeconds: 8,
      issue: {
        kind: "too-short",
        expected: `at least ${least} points of phase`,
        received: String(least - 1),
        remedy: "choose a shorter tau, or measure for longer",
      },
    });
  });

  test.each(NAMES)("%s at times that are no whole number of spacings", (name) => {
    const found = STATISTICS[name].compute(good, [3, 0, -2, Number.NaN, Number.POSITIVE_INFINITY, 4]);
    expect(found.map((one) => ("issue" in one ? one.issue.kind : "value"))).toEqual([
      "tau",
      "tau",
      "tau",
      "tau",
      "tau",
      "value",
    ]);
    expect(found[0]).toMatchObject({ issue: { received: "3 s", remedy: "the nearest are 2 s and 4 s" } });
  });

  test("a time within a millionth of a whole number of spacings is that number; beyond, it is not", () => {
    const third = { phaseSeconds, tau0Seconds: 1 / 3 };
    expect(oadev(third, [1])[0]).toMatchObject({ averagingFactor: 3 });
    expect(oadev(third, [1.0000009])[0]).toMatchObject({ averagingFactor: 3 });
    expect(oadev(third, [1.000002])[0]).toMatchObject({ issue: { kind: "tau" } });
  });

  test.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])("a spacing of %d s", (tau0Seconds) => {
    expect(oadev({ phaseSeconds, tau0Seconds }, [1])[0]).toMatchObject({ issue: { kind: "spacing" } });
    expect(octaveTaus({ phaseSeconds, tau0Seconds })).toEqual([]);
  });

  test.each(NAMES)("%s of an infinite value, of nothing, of nothing but gaps", (name) => {
    const kindOf = (values: Float64Array) => {
      const byPhase = STATISTICS[name].compute({ phaseSeconds: values, tau0Seconds: 1 }, [1])[0]!;
      const byFrequency = STATISTICS[name].compute({ fractionalFrequency: values, tau0Seconds: 1 }, [1])[0]!;
      return [byPhase, byFrequency].map((one): StabilityIssue | null => ("issue" in one ? one.issue : null));
    };
    const infinite = kindOf(Float64Array.of(1, 2, Number.NEGATIVE_INFINITY, 4, 5));
    for (const issue of infinite) expect(issue).toMatchObject({ kind: "not-finite", received: "-Infinity at index 2" });
    for (const values of [new Float64Array(0), new Float64Array(5).fill(Number.NaN)])
      for (const issue of kindOf(values)) expect(issue).toMatchObject({ kind: "empty" });
  });

  test("so many gaps that no term is left", () => {
    const x = phaseSeconds.map((value, i) => (i % 2 === 1 ? Number.NaN : value));
    expect(oadev({ phaseSeconds: x, tau0Seconds: 1 }, [1, 2]).map((one) => "issue" in one)).toEqual([true, false]);
    expect(oadev({ phaseSeconds: x, tau0Seconds: 1 }, [1])[0]).toMatchObject({ issue: { kind: "too-many-gaps" } });
  });

  test("a perfect clock has a deviation of 0, which is a value", () => {
    for (const name of NAMES) expect(value(name, new Float64Array(30), 3)).toBe(0);
  });

  test("nothing given is changed", () => {
    const x = phaseDat();
    const y = x.slice();
    for (const name of NAMES) {
      STATISTICS[name].compute({ phaseSeconds: x, tau0Seconds: 1 }, [1, 5]);
      STATISTICS[name].compute({ fractionalFrequency: x, tau0Seconds: 1 }, [1, 5]);
    }
    expect(x).toEqual(y);
    expect(onlyValue(totdev({ phaseSeconds: x, tau0Seconds: 1 }, [1000]))).toBeGreaterThan(0);
  });
});
