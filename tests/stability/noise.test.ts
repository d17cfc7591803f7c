import { describe, expect, test } from "vitest";
import { identifyNoise, NOISE_TYPES, type NoiseType } from "../../sim/stability/index.ts";
import { normals } from "./data.ts";

/**
 * Noise of phase with spectrum f^−β, β = 2 − α: white noise through the filter (1 − z⁻¹)^(−β/2), whose impulse response is
 * h[k] = h[k−1] (k − 1 + β/2) / k (N. J. Kasdin, Proc. IEEE 83(5), 1995; from memory).
 */
function powerLaw(alpha: number, points: number, normal: () => number): Float64Array {
  const half = (2 - alpha) / 2;
  const response = [1];
  while (response.length < points)
    response.push((response[response.length - 1]! * (response.length - 1 + half)) / response.length);
  const white = Float64Array.from({ length: points }, normal);
  return white.map((_, i) => {
    let sum = 0;
    for (let k = 0; k <= i; k++) sum += response[k]! * white[i - k]!;
    return sum;
  });
}

const types = Object.entries(NOISE_TYPES) as [NoiseType, number][];

describe("the noise is recognised from the record alone", () => {
  test.each(types)("%s", (name, alpha) => {
    const family = alpha < -2 ? "hadamard" : "allan";
    let right = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const phaseSeconds = powerLaw(alpha, 1000, normals(100 * seed));
      if (identifyNoise({ phaseSeconds, tau0Seconds: 1 }, 1, family) === name) right++;
    }
    expect(right).toBeGreaterThanOrEqual(9);
  });

  test.each(["white-fm", "random-walk-fm"] as const)(
    "%s at 8 spacings, under an offset and a drift, with a gap",
    (name) => {
      const noise = powerLaw(NOISE_TYPES[name], 2000, normals(77));
      const phaseSeconds = noise.map((x, i) => (i > 500 && i < 600 ? Number.NaN : x + 30 * i + 0.01 * i * i));
      expect(identifyNoise({ phaseSeconds, tau0Seconds: 0.5 }, 4)).toBe(name);
    },
  );

  test("a drift as large as the noise does not make flicker PM look white, with a gap as well", () => {
    // Its first difference has correlation −1/3 at lag 1; left in, the drift of this size would bring that near 0, which
    // is white FM. Far larger ones are differenced away and do no harm.
    let right = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const noise = powerLaw(1, 1000, normals(100 * seed));
      const phaseSeconds = noise.map((x, i) => (i > 300 && i < 330 ? Number.NaN : x + 30 * i + 0.0012 * i * i));
      if (identifyNoise({ phaseSeconds, tau0Seconds: 1 }, 1) === "flicker-pm") right++;
    }
    expect(right).toBeGreaterThanOrEqual(9);
  });

  test("frequency is read as its sum", () => {
    const fractionalFrequency = Float64Array.from({ length: 500 }, normals(5));
    expect(identifyNoise({ fractionalFrequency, tau0Seconds: 1 }, 1)).toBe("white-fm");
  });

  test("fewer than 30 points, and a time between two spacings, are issues", () => {
    const phaseSeconds = Float64Array.from({ length: 290 }, normals(5));
    expect(identifyNoise({ phaseSeconds, tau0Seconds: 1 }, 9)).toBe("white-pm");
    expect(identifyNoise({ phaseSeconds, tau0Seconds: 1 }, 10)).toMatchObject({ kind: "too-short", received: "29" });
    expect(identifyNoise({ phaseSeconds, tau0Seconds: 1 }, 1.5)).toMatchObject({ kind: "tau" });
    expect(identifyNoise({ phaseSeconds: new Float64Array(0), tau0Seconds: 1 }, 1)).toMatchObject({ kind: "empty" });
  });
});
