import { describe, expect, test } from "vitest";
import {
  aes11Masks,
  judgePhase,
  judgeStatistic,
  MASKS,
  marginOf,
  mtie,
  octaveTaus,
  tdev,
} from "../../sim/stability/index.ts";
import { normals, powerLawPhase } from "./data.ts";

const mask = (id: string) => MASKS.find((one) => one.id === id)!;
const values = (...pairs: readonly (readonly [number, number])[]) =>
  pairs.map(([tauSeconds, value]) => ({ tauSeconds, value }));

describe("a statistic against a mask", () => {
  test("exceeded: the first interval, the worst, and by how much", () => {
    // Option 1 generation: 40 ns at 1 s, 40 · 10^0.1 = 50.357 at 10 s, 63.396 at 100 s; values out of order on purpose.
    const verdict = judgeStatistic(
      mask("sec1-generation-mtie"),
      values([100, 190.188e-9], [1, 20e-9], [10, 51e-9], [0.01, 1], [5000, 1]),
    );
    expect(verdict.outcome).toBe("exceeded");
    expect(verdict.firstExceeded).toMatchObject({ atSeconds: 10, valueSeconds: 51e-9 });
    expect(1e9 * verdict.firstExceeded!.limitSeconds).toBeCloseTo(50.357, 3);
    expect(verdict.nearest).toMatchObject({ atSeconds: 100 });
    expect(marginOf(verdict)).toBeCloseTo(1 / 3, 4);
    // 0.01 s and 5000 s lie outside the mask.
    expect(verdict.judged).toEqual({ count: 3, fromSeconds: 1, toSeconds: 100 });
  });

  test("below: the margin at the nearest point; on the limit is still below", () => {
    const verdict = judgeStatistic(mask("sec1-generation-tdev"), values([1, 0.8e-9], [25, 1.6e-9], [200, 1.6e-9]));
    expect(verdict).toMatchObject({ outcome: "below", firstExceeded: null, nearest: { atSeconds: 25 } });
    expect(marginOf(verdict)).toBeCloseTo(2, 9);
    expect(judgeStatistic(mask("g811-tdev"), values([10, 3e-9])).outcome).toBe("below");
    expect(judgeStatistic(mask("g811-tdev"), values([10, 3.0000001e-9])).outcome).toBe("exceeded");
  });

  test("nothing where the mask speaks: not judged, with the reason", () => {
    const verdict = judgeStatistic(mask("g811-mtie"), values([0.05, 1e-9]));
    expect(verdict).toMatchObject({ outcome: "not judged", judged: null, nearest: null, firstExceeded: null });
    expect(verdict.reason).toContain("no value where the mask has a limit");
    expect(marginOf(verdict)).toBeNull();
    const short = tdev({ phaseSeconds: Float64Array.of(0, 1), tau0Seconds: 1 }, [1]);
    expect(judgeStatistic(mask("g811-tdev"), short).outcome).toBe("not judged");
  });

  test("a perfect clock is below everything; a scaled record is exceeded once it is scaled past its margin", () => {
    const x = powerLawPhase(1, 2000, normals(21)).map((value) => value * 1e-10);
    const verdictOf = (scale: number) => {
      const samples = { phaseSeconds: x.map((value) => value * scale), tau0Seconds: 1 };
      return judgeStatistic(mask("g811-mtie"), mtie(samples, octaveTaus(samples)));
    };
    expect(marginOf(verdictOf(0))).toBe(Number.POSITIVE_INFINITY);
    const margin = marginOf(verdictOf(1))!;
    expect(margin).toBeGreaterThan(1);
    expect(verdictOf(margin * 0.999).outcome).toBe("below");
    expect(verdictOf(margin * 1.001)).toMatchObject({
      outcome: "exceeded",
      firstExceeded: verdictOf(margin * 1.001).nearest,
    });
  });
});

describe("AES11's limits of phase", () => {
  const [output, input] = aes11Masks(48_000);

  test("a clock 10 ppm fast leaves 5 % of a sample after 104 ms and 25 % after 521 ms", () => {
    // 1.041667 µs / 1e-5 = 0.1041667 s; at a step of 1 ms the first beyond it is 105 ms. 5.208333 µs: 521 ms.
    const phaseSeconds = Float64Array.from({ length: 1001 }, (_, i) => 1e-8 * i);
    const samples = { phaseSeconds, tau0Seconds: 1e-3 };
    expect(judgePhase(output!, samples).firstExceeded!.atSeconds).toBeCloseTo(0.105, 9);
    expect(judgePhase(input!, samples).firstExceeded!.atSeconds).toBeCloseTo(0.521, 9);
    expect(marginOf(judgePhase(input!, samples))).toBeCloseTo(0.52083, 4);
  });

  test("the sign of the phase does not matter, and its constant part counts", () => {
    for (const sign of [1, -1]) {
      const phaseSeconds = new Float64Array(10).fill(sign * 1.1e-6);
      const samples = { phaseSeconds, tau0Seconds: 1 };
      expect(judgePhase(output!, samples)).toMatchObject({ outcome: "exceeded", firstExceeded: { atSeconds: 0 } });
      expect(judgePhase(input!, samples).outcome).toBe("below");
    }
  });

  test("instants count from the first row given, gaps in front included", () => {
    const phaseSeconds = Float64Array.of(Number.NaN, Number.NaN, 0, Number.NaN, 2e-6);
    expect(judgePhase(output!, { phaseSeconds, tau0Seconds: 2 })).toMatchObject({
      firstExceeded: { atSeconds: 8 },
      judged: { count: 2, fromSeconds: 4, toSeconds: 8 },
    });
  });

  test("frequency is summed from 0; after a gap in it nothing is known", () => {
    const drifting = new Float64Array(100).fill(1e-6);
    const samples = { fractionalFrequency: drifting, tau0Seconds: 0.1 };
    // 1e-7 s a step: 1.0417e-6 is passed at the eleventh point, 1.1 s.
    expect(judgePhase(output!, samples).firstExceeded!.atSeconds).toBeCloseTo(1.1, 9);
    const gapped = drifting.map((y, i) => (i === 50 ? Number.NaN : y));
    const verdict = judgePhase(output!, { fractionalFrequency: gapped, tau0Seconds: 0.1 });
    expect(verdict).toMatchObject({ outcome: "not judged", reason: "the phase after a gap in frequency is not known" });
  });

  test("a bad record is not judged", () => {
    const verdict = judgePhase(output!, { phaseSeconds: new Float64Array(0), tau0Seconds: 1 });
    expect(verdict).toMatchObject({ outcome: "not judged" });
    expect(verdict.reason).toContain("expected at least one value");
  });
});
