/**
 * Chains of loops by themselves: their peak over frequency, what they make of a step of frequency and of wander. Judged
 * by sweeps, by Runge and Kutta, by loops stepped knot by knot, and by closed forms where there are some.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { allanRatio, allanVariance } from "../../sim/chain/allan.ts";
import { meanOverAngles } from "../../sim/chain/circle.ts";
import type { ChainLoop } from "../../sim/chain/response.ts";
import { peakAtMost, peakThroughChain } from "../../sim/chain/response.ts";
import { stepThroughChain } from "../../sim/chain/step.ts";
import {
  loopShape,
  peakAfterFrequencyStep,
  peakingAt,
  phaseStepOvershoot,
  timeOfPeakAfterFrequencyStep,
} from "../../sim/loop.ts";
import { tries } from "../helpers/laws.ts";
import { evenInDecades } from "../helpers/numbers.ts";

const alike = (count: number, naturalFrequencyHz: number, damping: number): ChainLoop[] =>
  Array.from({ length: count }, () => ({ naturalFrequencyHz, damping }));
const loop = (naturalFrequencyHz: number, damping: number): ChainLoop => ({ naturalFrequencyHz, damping });
const anyLoop = fc
  .tuple(evenInDecades(0.02, 20), evenInDecades(0.15, 5))
  .map(([naturalFrequencyHz, damping]) => loop(naturalFrequencyHz, damping));

/** H of one loop by complex division. */
function response({ naturalFrequencyHz, damping }: ChainLoop, hz: number): { re: number; im: number } {
  const w = hz / naturalFrequencyHz;
  const [re, im] = [1 - w * w, 2 * damping * w];
  const size = re * re + im * im;
  return { re: (re + im * im) / size, im: (im * re - im) / size };
}

const gain = (chain: readonly ChainLoop[], hz: number): number =>
  chain.reduce((product, each) => {
    const { re, im } = response(each, hz);
    return product * Math.hypot(re, im);
  }, 1);

describe("the peak over frequency", () => {
  // Published for one loop, CALC against a sweep of two million points; N alike have N times the decibels in the same place.
  test.each([
    { damping: 0.5, decibels: 3.333869, where: 0.8556 },
    { damping: Math.SQRT1_2, decibels: 2.089876, where: 0.786151 },
    { damping: 1, decibels: 1.249387, where: 0.707107 },
  ])("of ten loops of ζ = $damping is ten times $decibels dB, at $where of their frequency", (row) => {
    const { decibels, hz } = peakThroughChain(alike(10, 0.05, row.damping));
    expect(decibels).toBeCloseTo(10 * row.decibels, 4);
    expect(hz / 0.05).toBeCloseTo(row.where, 6);
    expect(decibels).toBeCloseTo(200 * Math.log10(loopShape(0.05, row.damping).peakGain), 11);
    expect(hz / 0.05).toBeCloseTo(Math.sqrt(peakingAt(row.damping)), 12);
  });

  test("of no loop is nothing", () => {
    expect(peakThroughChain([])).toEqual({ decibels: 0, hz: 0 });
  });

  test("of any loops is the top of a sweep, whatever their order, and never above all peaks at one place", () => {
    let unlike = 0;
    fc.assert(
      fc.property(fc.array(anyLoop, { minLength: 1, maxLength: 6 }), (chain) => {
        const { decibels, hz } = peakThroughChain(chain);
        let top = 0;
        for (let at = Math.log(0.005); at < Math.log(40); at += 1e-3) top = Math.max(top, gain(chain, Math.exp(at)));
        // Between two points of the sweep a peak as narrow as ζ = 0.15 rises by (1e-3/0.15)²/8 at most, in six loops.
        expect(decibels).toBeGreaterThan(20 * Math.log10(top) - 1e-9);
        expect(decibels).toBeLessThan(20 * Math.log10(top) + 3e-4);
        expect(20 * Math.log10(gain(chain, hz))).toBeCloseTo(decibels, 9);
        expect(peakThroughChain([...chain].reverse())).toEqual({ decibels, hz });
        expect(decibels).toBeLessThan(peakAtMost(chain) + 1e-9);
        if (peakAtMost(chain) - decibels > 1) unlike += 1;
      }),
      tries(40),
    );
    expect(unlike).toBeGreaterThan(5);
  });

  test("of two groups far apart is the higher of the two tops, not the first", () => {
    const slow = alike(3, 0.05, 1);
    const fast = alike(5, 5, 0.6);
    const { decibels, hz } = peakThroughChain([...slow, ...fast]);
    // Loops a hundred times as slow pass nothing of what swings at 4 Hz: the top is theirs.
    expect(hz).toBeGreaterThan(0.03);
    expect(hz).toBeLessThan(0.04);
    expect(decibels).toBeCloseTo(3 * 1.249387, 1);
  });

  test("loops almost alike have almost the same: no step where one becomes two", () => {
    const [one] = [peakThroughChain(alike(2, 1, 0.7))];
    const two = peakThroughChain([loop(1, 0.7), loop(1 + 1e-12, 0.7)]);
    expect(Math.abs(two.decibels - one.decibels)).toBeLessThan(1e-9);
    expect(Math.abs(two.hz - one.hz)).toBeLessThan(1e-9);
  });
});

describe("after a step of frequency", () => {
  test("the first box is what the published closed form says, at every damping", () => {
    for (const damping of [0.1, 0.35, 0.5, Math.SQRT1_2, 0.9999, 1, 1.0001, 1.5, 3, 10]) {
      const [first] = stepThroughChain([loop(0.4, damping)]);
      const omega = 0.8 * Math.PI;
      expect((first?.peakErrorSeconds ?? 0) * omega).toBeCloseTo(peakAfterFrequencyStep(damping), 11);
      expect((first?.atSeconds ?? 0) * omega).toBeCloseTo(timeOfPeakAfterFrequencyStep(damping), 7);
      // What runs on after a step of frequency is what phase does after a step of phase: H/s.
      expect(first?.frequencyOvershoot).toBeCloseTo(phaseStepOvershoot(damping), 11);
    }
  });

  /** Box n of loops alike, ζ = 1, ω = 1: error (2s + 1)^(n−1)/(s + 1)^(2n), taken apart in p = s + 1. CALC. */
  function errorByPolynomial(n: number, t: number): number {
    let sum = 0;
    let choose = 1;
    for (let k = 0; k <= n - 1; k++) {
      let term = choose * 2 ** k * ((n - 1 - k) % 2 === 0 ? 1 : -1);
      for (let m = 1; m <= 2 * n - k - 1; m++) term *= t / m;
      sum += term;
      choose = (choose * (n - 1 - k)) / (k + 1);
    }
    return sum * Math.exp(-t);
  }

  test("each of ten critical boxes is what its polynomial says; each is off by more than the one before", () => {
    const boxes = stepThroughChain(alike(10, 1 / (2 * Math.PI), 1));
    let before = 0;
    for (const [index, { peakErrorSeconds, atSeconds }] of boxes.entries()) {
      let top = { value: 0, t: 0 };
      for (let t = 0; t < 40; t += 1e-3) {
        const value = errorByPolynomial(index + 1, t);
        if (Math.abs(value) > Math.abs(top.value)) top = { value, t };
      }
      expect(peakErrorSeconds).toBeCloseTo(top.value, 6);
      expect(Math.abs(atSeconds - top.t)).toBeLessThan(1.1e-3);
      expect(errorByPolynomial(index + 1, atSeconds)).toBeCloseTo(peakErrorSeconds, 9);
      expect(Math.abs(peakErrorSeconds)).toBeGreaterThan(before);
      before = Math.abs(peakErrorSeconds);
    }
    // The figures that come out: 0.367879 (published) for the first, 1.80 times as much for the tenth.
    expect(boxes[0]?.peakErrorSeconds.toFixed(6)).toBe("0.367879");
    expect(boxes[9]?.peakErrorSeconds.toFixed(6)).toBe("0.663965");
    expect(boxes[0]?.frequencyOvershoot.toFixed(6)).toBe("0.135335");
    expect(boxes[9]?.frequencyOvershoot.toFixed(6)).toBe("1.624746");
  });

  test("nine boxes of 0.1 Hz after 7 ppm, as the guide to the scenarios has them stepped by hand", () => {
    const shares = stepThroughChain(alike(9, 0.1, 1)).map((box) => (box.peakErrorSeconds * 7e-6 * 48_000).toFixed(3));
    expect(shares.join(" ")).toBe("0.197 0.203 0.215 0.230 0.246 0.265 0.285 0.307 0.330");
  });

  /** Errors and integrators by Runge and Kutta, in the plain quantities of the loop. */
  function byRunge(chain: readonly ChainLoop[], seconds: number, step: number) {
    const omega = chain.map(({ naturalFrequencyHz }) => 2 * Math.PI * naturalFrequencyHz);
    const rate = (s: readonly number[], k: number) =>
      2 * (chain[k] as ChainLoop).damping * (omega[k] as number) * (s[2 * k] as number) + (s[2 * k + 1] as number);
    const slope = (s: readonly number[]) =>
      chain.flatMap((_, k) => [
        (k === 0 ? 1 : rate(s, k - 1)) - rate(s, k),
        (omega[k] as number) ** 2 * (s[2 * k] as number),
      ]);
    const plus = (s: readonly number[], d: readonly number[], h: number) => s.map((v, i) => v + h * (d[i] as number));
    const found = chain.map(() => ({ error: 0, at: 0, overshoot: 0 }));
    let s: number[] = chain.flatMap(() => [0, 0]);
    for (let t = 0; t < seconds; t += step) {
      const a = slope(s);
      const b = slope(plus(s, a, step / 2));
      const c = slope(plus(s, b, step / 2));
      const d = slope(plus(s, c, step));
      s = s.map(
        (v, i) => v + (step / 6) * ((a[i] as number) + 2 * (b[i] as number) + 2 * (c[i] as number) + (d[i] as number)),
      );
      for (const [k, box] of found.entries()) {
        const error = s[2 * k] as number;
        if (Math.abs(error) > Math.abs(box.error)) Object.assign(box, { error, at: t + step });
        box.overshoot = Math.max(box.overshoot, rate(s, k) - 1);
      }
    }
    return found;
  }

  test("boxes that are unlike are what Runge and Kutta find", () => {
    const chains = [
      [loop(1, 0.7), loop(0.3, 1), loop(2, 0.4), loop(0.5, 1.8)],
      [loop(0.2, 0.3), loop(3, 1)],
      [loop(3, 1), loop(0.2, 0.3)],
      [loop(0.5, 0.25), loop(0.5, 0.25), loop(0.5, 0.25), loop(0.5, 0.25), loop(0.5, 0.25)],
      [loop(1, 1), loop(1, 1 + 1e-9), loop(1 + 1e-9, 1 - 1e-9)],
    ];
    for (const chain of chains) {
      const expected = byRunge(chain, 40, 1e-3);
      for (const [k, box] of stepThroughChain(chain).entries()) {
        const { error, at, overshoot } = expected[k] as (typeof expected)[number];
        expect(Math.abs(box.peakErrorSeconds / error - 1)).toBeLessThan(2e-5);
        expect(Math.abs(box.atSeconds - at)).toBeLessThan(1.1e-3);
        expect(Math.abs(box.frequencyOvershoot - overshoot)).toBeLessThan(2e-5 * (1 + overshoot));
      }
    }
  });

  test("a fast box behind a slow one, six decades apart: it sees the slow one's frequency as a ramp", () => {
    const [slow, fast] = stepThroughChain([loop(0.001, 0.7), loop(1000, 1)]);
    const omega = 2 * Math.PI * 0.001;
    expect(slow?.peakErrorSeconds).toBeCloseTo(peakAfterFrequencyStep(0.7) / omega, 7);
    // Published: a ramp of frequency leaves (rate of change)/ω², here of what the slow box sets off with, 2ζω a second.
    const ramp = (2 * 0.7 * omega) / (2000 * Math.PI) ** 2;
    expect((fast?.peakErrorSeconds ?? 0) / ramp).toBeCloseTo(1, 2);
    expect(fast?.frequencyOvershoot).toBeCloseTo(phaseStepOvershoot(0.7), 8);
  });

  test("no step where loops stop ringing: ζ = 1 ± 1e-9 differ by that much", () => {
    const peaks = [1 - 1e-9, 1, 1 + 1e-9].map((damping) => stepThroughChain(alike(10, 1, damping))[9]);
    for (const other of [peaks[0], peaks[2]]) {
      expect(Math.abs((other?.peakErrorSeconds ?? 0) - (peaks[1]?.peakErrorSeconds ?? 1))).toBeLessThan(1e-8);
      expect(Math.abs((other?.frequencyOvershoot ?? 0) - (peaks[1]?.frequencyOvershoot ?? 1))).toBeLessThan(1e-7);
    }
  });

  test("in which order the boxes before stand changes nothing for the last", () => {
    const last = loop(0.6, 0.9);
    const one = stepThroughChain([loop(1, 0.5), loop(0.2, 1), last])[2];
    const two = stepThroughChain([loop(0.2, 1), loop(1, 0.5), last])[2];
    expect(one?.peakErrorSeconds).toBeCloseTo(two?.peakErrorSeconds ?? 0, 10);
    expect(one?.frequencyOvershoot).toBeCloseTo(two?.frequencyOvershoot ?? 0, 10);
    expect(stepThroughChain([])).toEqual([]);
  });
});

describe("the mean over angles", () => {
  test("of what is known: powers of the sine, a pole near the circle, a kink at 0", () => {
    expect(meanOverAngles((angle) => Math.sin(angle) ** 4, 1)).toBeCloseTo(3 / 8, 11);
    expect(meanOverAngles((angle) => Math.cos(37 * angle) ** 2, 74)).toBeCloseTo(1 / 2, 11);
    expect(meanOverAngles((angle) => angle, 1)).toBeCloseTo(Math.PI / 2, 10);
    // Poisson: the mean of (1 − r²)/(1 − 2r·cos θ + r²) is 1, however near to 1 r is.
    for (const r of [0.5, 0.9, 0.99, 0.999]) {
      const near = (angle: number) => (1 - r * r) / (1 - 2 * r * Math.cos(angle) + r * r);
      expect(meanOverAngles(near, (8 * Math.PI) / (1 - r))).toBeCloseTo(1, 9);
    }
  });

  test("refuses what would take more than a million points", () => {
    expect(() => meanOverAngles(() => 1, 3e6)).toThrow(RangeError);
    expect(() => meanOverAngles((angle) => Math.cos(5e6 * angle) ** 2, 1)).toThrow(/million/);
  });
});

const NONE = { sigma1: 0, sigma2: 0, hMinus1: 0 };
const WHITE = { ...NONE, sigma1: 1 };
const WALK = { ...NONE, sigma2: 1 };
const FLICKER = { ...NONE, hMinus1: 1 };

describe("a leader's wander by itself", () => {
  test("has its Allan variance: σ1²/τ, σ2²·τ/3 (Zucca and Tavella), 2·ln 2·h−1 (standard, from memory)", () => {
    for (const gridSeconds of [0.1, 1, 4]) {
      for (const steps of [1, 2, 8, 64, 1000]) {
        const tauSeconds = steps * gridSeconds;
        const at = { tauSeconds, gridSeconds, narrowest: Math.PI };
        expect(allanVariance(WHITE, () => 1, at) * tauSeconds).toBeCloseTo(1, 9);
        expect((allanVariance(WALK, () => 1, at) * 3) / tauSeconds).toBeCloseTo(1, 9);
        expect(allanVariance(FLICKER, () => 1, at) / (2 * Math.LN2)).toBeCloseTo(1, 9);
      }
    }
  });
});

/** e^(M) of the loop's free motion over one step, by its series in small parts: z' = v, v' = −ω²z − 2ζωv. */
function stepMatrix({ naturalFrequencyHz, damping }: ChainLoop, gridSeconds: number): readonly number[] {
  const omega = 2 * Math.PI * naturalFrequencyHz;
  const parts = 64 * Math.ceil(1 + omega * gridSeconds * (1 + damping));
  const h = gridSeconds / parts;
  const times = (a: readonly number[], b: readonly number[]) => {
    const [a1, a2, a3, a4] = a as [number, number, number, number];
    const [b1, b2, b3, b4] = b as [number, number, number, number];
    return [a1 * b1 + a2 * b3, a1 * b2 + a2 * b4, a3 * b1 + a4 * b3, a3 * b2 + a4 * b4];
  };
  const small = [0, h, -omega * omega * h, -2 * damping * omega * h];
  let part: readonly number[] = [1, 0, 0, 1];
  for (let n = 12; n >= 1; n--) part = times(small, part).map((value, i) => value / n + (i === 0 || i === 3 ? 1 : 0));
  let whole: readonly number[] = [1, 0, 0, 1];
  for (let n = 0; n < parts; n++) whole = times(part, whole);
  return whole;
}

/** Phase at the knots behind one loop, given phase at the knots before it: straight lines between them, at rest at first. */
function throughLoop(each: ChainLoop, phase: readonly number[], gridSeconds: number): number[] {
  const [zz, zv, vz, vv] = stepMatrix(each, gridSeconds) as [number, number, number, number];
  let [error, rate, slope] = [0, 0, 0];
  const out = [phase[0] as number];
  for (let knot = 0; knot + 1 < phase.length; knot++) {
    const next = ((phase[knot + 1] as number) - (phase[knot] as number)) / gridSeconds;
    rate += next - slope;
    slope = next;
    [error, rate] = [zz * error + zv * rate, vz * error + vv * rate];
    out.push((phase[knot + 1] as number) - error);
  }
  return out;
}

/** Allan variance at τ of the sum of independent kicks, from the answer to each: half the sum of squared second differences. */
function varianceOf(phase: readonly number[], steps: number, gridSeconds: number): number {
  let sum = 0;
  const at = (knot: number) => phase[Math.max(knot, 0)] as number;
  for (let knot = 0; knot < phase.length; knot++) sum += (at(knot) - 2 * at(knot - steps) + at(knot - 2 * steps)) ** 2;
  return sum / (2 * (steps * gridSeconds) ** 2);
}

/** The ratio without frequency: the answer of all loops to one kick of the leader, stepped knot by knot. */
function ratioByStepping(
  chain: readonly ChainLoop[],
  { sigma1, sigma2 }: { sigma1: number; sigma2: number },
  steps: number,
  gridSeconds: number,
): number {
  const knots = 3000;
  const kicks: number[][] = [];
  // White: one step's frequency is one kick of variance σ1²/T, and phase stays where it came to.
  const rise = (sigma1 / Math.sqrt(gridSeconds)) * gridSeconds;
  kicks.push(Array.from({ length: knots }, (_, knot) => (knot < 2 ? 0 : rise)));
  // Random walk: the mean over a step changes by α now and β at the next, α + β = 1, α·β = 1/6 (variance 2/3, covariance 1/6).
  const alpha = (1 + Math.sqrt(1 / 3)) / 2;
  const kick = sigma2 * Math.sqrt(gridSeconds) * gridSeconds;
  kicks.push(Array.from({ length: knots }, (_, knot) => (knot < 2 ? 0 : kick * (knot - 2 + alpha))));
  let [before, after] = [0, 0];
  for (const phase of kicks) {
    before += varianceOf(phase, steps, gridSeconds);
    const last = chain.reduce<readonly number[]>((now, each) => throughLoop(each, now, gridSeconds), phase);
    after += varianceOf(last, steps, gridSeconds);
  }
  return Math.sqrt(after / before);
}

/** As if loops were joined without a grid between them: every alias of ∏H by sinc². Midpoints, plain complex numbers. */
function ratioWithoutGrid(
  chain: readonly ChainLoop[],
  { sigma1, sigma2 }: { sigma1: number; sigma2: number },
  { steps, gridSeconds, aliases }: { steps: number; gridSeconds: number; aliases: number },
): number {
  const points = 4096;
  let [before, after] = [0, 0];
  for (let n = 0; n < points; n++) {
    const angle = ((n + 0.5) * Math.PI) / points;
    const half = Math.sin(angle / 2) ** 2;
    const leader =
      (4 * Math.sin((steps * angle) / 2) ** 4 * (sigma1 ** 2 / gridSeconds) +
        (Math.sin((steps * angle) / 2) ** 4 * sigma2 ** 2 * gridSeconds * (2 + Math.cos(angle))) / (3 * half)) /
      half;
    let [re, im] = [0, 0];
    for (let alias = -aliases; alias <= aliases; alias++) {
      const hz = (angle / (2 * Math.PI) + alias) / gridSeconds;
      const lines = aliases === 0 ? 1 : (Math.sin(Math.PI * hz * gridSeconds) / (Math.PI * hz * gridSeconds)) ** 2;
      let product = { re: lines, im: 0 };
      for (const each of chain) {
        const h = response(each, hz);
        product = { re: product.re * h.re - product.im * h.im, im: product.re * h.im + product.im * h.re };
      }
      re += product.re;
      im += product.im;
    }
    before += leader;
    after += leader * (re * re + im * im);
  }
  return Math.sqrt(after / before);
}

describe("wander through a chain", () => {
  const tenSlow = alike(10, 0.05, 1);
  const tenFast = alike(10, 1, 1);

  test("ten loops of 0.05 Hz amplify what is heard at 8 s: 2.568 of white FM, 2.647 of random walk, 2.879 of flicker", () => {
    expect(allanRatio(tenSlow, WHITE, 8, 1).toFixed(3)).toBe("2.568");
    expect(allanRatio(tenSlow, WALK, 8, 1).toFixed(3)).toBe("2.647");
    expect(allanRatio(tenSlow, FLICKER, 8, 1).toFixed(3)).toBe("2.879");
    expect(ratioByStepping(tenSlow, WHITE, 8, 1)).toBeCloseTo(2.568, 3);
    expect(ratioByStepping(tenSlow, WALK, 8, 1)).toBeCloseTo(2.647, 3);
  });

  test("is the same by frequency and by stepping, at any loops, τ and grid", () => {
    let amplified = 0;
    let calmed = 0;
    fc.assert(
      fc.property(
        fc.array(
          fc
            .tuple(evenInDecades(0.01, 1), evenInDecades(0.3, 3))
            .map(([turns, damping]) => ({ naturalFrequencyHz: turns, damping })),
          { minLength: 1, maxLength: 5 },
        ),
        fc.constantFrom(1, 2, 5, 16),
        fc.constantFrom(0.25, 1, 3),
        fc.constantFrom(WHITE, WALK, { ...NONE, sigma1: 1, sigma2: 0.2 }),
        (turns, steps, gridSeconds, noise) => {
          const chain = turns.map((each) => ({ ...each, naturalFrequencyHz: each.naturalFrequencyHz / gridSeconds }));
          const ratio = allanRatio(chain, noise, steps * gridSeconds, gridSeconds);
          expect(ratio).toBeCloseTo(ratioByStepping(chain, noise, steps, gridSeconds), 6);
          if (ratio > 1.05) amplified += 1;
          if (ratio < 0.95) calmed += 1;
        },
      ),
      tries(60),
    );
    expect(amplified).toBeGreaterThan(5);
    expect(calmed).toBeGreaterThan(5);
  });

  test("is within 6 % of loops joined without a grid, and of the plain integral of |∏H|², where loops are slow", () => {
    // 0.05 Hz is a twentieth of a turn per step. Every loop's straight lines cost a little of the top.
    for (const noise of [WHITE, WALK]) {
      const ratio = allanRatio(tenSlow, noise, 8, 1);
      const joined = ratioWithoutGrid(tenSlow, noise, { steps: 8, gridSeconds: 1, aliases: 20 });
      const plain = ratioWithoutGrid(tenSlow, noise, { steps: 8, gridSeconds: 1, aliases: 0 });
      for (const other of [joined, plain]) {
        expect(ratio).toBeLessThan(other);
        expect(ratio).toBeGreaterThan(0.94 * other);
      }
    }
    // On a grid ten times as fine it is the same thing.
    const fine = allanRatio(tenSlow, WALK, 8, 0.1);
    expect(fine / ratioWithoutGrid(tenSlow, WALK, { steps: 80, gridSeconds: 0.1, aliases: 0 })).toBeCloseTo(1, 2);
  });

  test("one loop is the same with and without a grid: nothing stands between it and its neighbours", () => {
    for (const [hz, damping] of [
      [0.05, 1],
      [0.7, 0.5],
      [2, 1.5],
    ] as const) {
      const one = [loop(hz, damping)];
      const joined = ratioWithoutGrid(one, WHITE, { steps: 4, gridSeconds: 1, aliases: 400 });
      expect(allanRatio(one, WHITE, 4, 1)).toBeCloseTo(joined, 4);
    }
  });

  test("with loops of 1 Hz the tenth is quieter at 1 s and the same at 8 s: the grid hides what they do", () => {
    for (const noise of [WHITE, WALK, FLICKER]) {
      expect(allanRatio(tenFast, noise, 1, 1)).toBeLessThan(0.995);
      expect(Math.abs(allanRatio(tenFast, noise, 8, 1) - 1)).toBeLessThan(0.002);
    }
    expect(ratioByStepping(tenFast, WHITE, 1, 1)).toBeCloseTo(allanRatio(tenFast, WHITE, 1, 1), 8);
    // What they would do to wander that is not there at all: more than twice as much at 1 s.
    expect(ratioWithoutGrid(tenFast, WHITE, { steps: 1, gridSeconds: 1, aliases: 0 })).toBeGreaterThan(2);
  });

  test("no step where loops stop ringing", () => {
    for (const hz of [0.001, 0.05, 0.4, 5]) {
      const ratios = [1 - 1e-9, 1, 1 + 1e-9].map((damping) => allanRatio(alike(3, hz, damping), WHITE, 4, 1));
      expect(Math.abs((ratios[0] as number) - (ratios[1] as number))).toBeLessThan(1e-8);
      expect(Math.abs((ratios[2] as number) - (ratios[1] as number))).toBeLessThan(1e-8);
    }
  });

  test("far beyond the loops' own time nothing is changed, and no loop changes nothing", () => {
    expect(allanRatio(tenSlow, WALK, 4096, 1)).toBeCloseTo(1, 3);
    expect(allanRatio([], WHITE, 8, 1)).toBe(1);
  });

  test("bad questions are refused: part of a step, no noise, loops too slow for the grid", () => {
    expect(() => allanRatio(tenSlow, WHITE, 8.5, 1)).toThrow("whole steps of 1 s");
    expect(() => allanRatio(tenSlow, WHITE, 0, 1)).toThrow(RangeError);
    expect(() => allanRatio(tenSlow, NONE, 8, 1)).toThrow("a leader with noise");
    expect(() => allanRatio(tenSlow, { ...NONE, sigma1: Number.NaN }, 8, 1)).toThrow("a leader with noise");
    expect(() => allanRatio([loop(0.001, 5)], WHITE, 8, 0.001)).toThrow(/million/);
  });
});
