/**
 * Limits of telecom standards and of AES11 at their joints. The standards could not be read; each value says where it was:
 * READ-2 in allantools' mask.py (G.811, G.8272) and in timeTools' ituTG8262/eecOption1 (G.8262), READ-AI in a public
 * requirements file for AES11-2009, CALC by hand from those formulas.
 */
import { describe, expect, test } from "vitest";
import {
  aes11Masks,
  MASKS,
  type Mask,
  maskLimitSeconds,
  pieceLimitSeconds,
  sec1HoldoverSeconds,
} from "../../sim/stability/index.ts";

const mask = (id: string): Mask => {
  const found = MASKS.find((one) => one.id === id);
  if (found === undefined) throw new Error(`no mask ${id}`);
  return found;
};
const nanoseconds = (id: string, tau: number) => 1e9 * maskLimitSeconds(mask(id), tau)!;
/** Both pieces at the joint where the second begins. */
const joint = (id: string, second: number) => {
  const [before, after] = mask(id).pieces.slice(second - 1, second + 1);
  expect(before!.toSeconds).toBe(after!.fromSeconds);
  return [before!, after!].map((piece) => 1e9 * pieceLimitSeconds(piece, after!.fromSeconds));
};

describe("check points", () => {
  test.each([
    // G.811 MTIE: 0.275e-3 τ + 0.025 µs to 1000 s, 1e-5 τ + 0.29 µs beyond (READ-2); values CALC.
    ["g811-mtie", 50, 38.75],
    ["g811-mtie", 1000, 300],
    ["g811-mtie", 5000, 340],
    // G.811 TDEV: 3 ns, 0.03 τ ns, 30 ns (READ-2).
    ["g811-tdev", 10, 3],
    ["g811-tdev", 500, 15],
    ["g811-tdev", 5000, 30],
    // G.8272 PRTC-A MTIE: as G.811 to 273 s, then 100 ns (READ-2).
    ["g8272-prtc-a-mtie", 100, 52.5],
    ["g8272-prtc-a-mtie", 273, 100],
    ["g8272-prtc-a-mtie", 1e5, 100],
    // G.8262 (2010) table 1: 40, 40 τ^0.1, 25.25 τ^0.2 ns (READ-2); 63.396 and 100.52 CALC.
    ["sec1-generation-mtie", 0.5, 40],
    ["sec1-generation-mtie", 100, 63.396],
    ["sec1-generation-mtie", 1000, 100.52],
    // Table 3: 3.2, 0.64 √τ, 6.4 ns (READ-2).
    ["sec1-generation-tdev", 1, 3.2],
    ["sec1-generation-tdev", 49, 4.48],
    ["sec1-generation-tdev", 1000, 6.4],
    // Table 7: 0.25 µs, 0.1 τ, 2 µs, 0.005 τ µs (READ-2).
    ["sec1-tolerance-mtie", 1, 250],
    ["sec1-tolerance-mtie", 10, 1000],
    ["sec1-tolerance-mtie", 100, 2000],
    ["sec1-tolerance-mtie", 1000, 5000],
  ])("%s at %d s is %d ns", (id, tau, limit) => {
    expect(Math.abs(nanoseconds(id, tau) - limit)).toBeLessThan(0.5e-5 * 10 ** Math.ceil(Math.log10(limit)) + 1e-9);
  });
});

describe("joints", () => {
  test.each([
    ["g811-mtie", 1],
    ["g811-tdev", 1],
    ["g811-tdev", 2],
    ["sec1-generation-mtie", 1],
    ["sec1-generation-tdev", 1],
    ["sec1-generation-tdev", 2],
    ["sec1-tolerance-mtie", 1],
    ["sec1-tolerance-mtie", 2],
    ["sec1-tolerance-mtie", 3],
  ])("%s is one curve at joint %d", (id, second) => {
    const [before, after] = joint(id, second);
    expect(before! / after!).toBeCloseTo(1, 12);
  });

  test("two joints are rounded in the standards, and the lower limit counts there", () => {
    // 40 · 100^0.1 = 63.396, 25.25 · 100^0.2 = 63.425 ns; 0.275e-3 · 273 + 0.025 = 0.100075, not 0.1 µs (exact: 272.7 s).
    expect(joint("sec1-generation-mtie", 2).map((limit) => limit.toFixed(3))).toEqual(["63.396", "63.425"]);
    expect(nanoseconds("sec1-generation-mtie", 100).toFixed(3)).toBe("63.396");
    expect(joint("g8272-prtc-a-mtie", 1).map((limit) => limit.toFixed(3))).toEqual(["100.075", "100.000"]);
    expect(((0.1 - 0.025) / 0.275e-3).toFixed(1)).toBe("272.7");
  });

  test("every mask is in order, rises or stays, names its source and its status, and says nothing outside", () => {
    expect(MASKS.length).toBe(6);
    for (const one of MASKS) {
      expect(one.source).toMatch(/^ITU-T G\.8/);
      expect(one.status).toContain("read in");
      const ends = one.pieces.map(({ toSeconds }) => toSeconds);
      expect(one.pieces.slice(1).map(({ fromSeconds }) => fromSeconds)).toEqual(ends.slice(0, -1));
      const first = one.pieces[0]!.fromSeconds;
      const last = one.pieces[one.pieces.length - 1]!.toSeconds;
      expect(maskLimitSeconds(one, first * 0.999)).toBeNull();
      expect(maskLimitSeconds(one, first)).not.toBeNull();
      if (Number.isFinite(last)) expect(maskLimitSeconds(one, last * 1.001)).toBeNull();
      let before = 0;
      for (let tau = first; tau <= Math.min(last, 1e6); tau *= 1.01) {
        const limit = maskLimitSeconds(one, tau)!;
        // 273 s is the one place where a curve steps down, by 0.075 %.
        expect(limit).toBeGreaterThanOrEqual(before * 0.999);
        before = limit;
      }
    }
  });
});

describe("holdover of an option 1 clock", () => {
  // ΔT(S) = (50 + 2000) S + 0.5 · 1.16e-4 S² + 120 ns (READ-2 in timeTools, p. 17 of G.8262); values CALC.
  test.each([
    [0, 120],
    [1, 2170.000058],
    [10, 20_620.0058],
    [60, 123_120.2088],
  ])("after %d s: %d ns", (seconds, limit) => {
    expect(1e9 * sec1HoldoverSeconds(seconds)).toBeCloseTo(limit, 6);
  });

  test("its ageing is 1e-8 a day", () => {
    // Twice the second difference over a day: b = 1.16e-4 ns/s² times 86,400 s is 1.0022e-8.
    const day = 86_400;
    const curved = sec1HoldoverSeconds(2 * day) - 2 * sec1HoldoverSeconds(day) + sec1HoldoverSeconds(0);
    expect((curved / day).toExponential(4)).toBe("1.0022e-8");
  });
});

describe("AES11 at 48 kHz", () => {
  // 5.3.1.1 and 5.3.1.2, READ-AI: 5 % and 25 % of 20.83 µs; its table 2 prints ±1.0 and ±5.2 µs.
  test("5 % is 1.0417 µs, 25 % is 5.2083 µs", () => {
    const limits = aes11Masks(48_000).map((one) => 1e6 * maskLimitSeconds(one, 0)!);
    expect(limits.map((limit) => limit.toFixed(4))).toEqual(["1.0417", "5.2083"]);
    expect(limits.map((limit) => limit.toFixed(1))).toEqual(["1.0", "5.2"]);
  });
});
