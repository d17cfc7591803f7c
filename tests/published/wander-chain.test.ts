/**
 * A leader's wander through ten loops of whole runs: the tenth box's Allan deviation against the first's, by the plain
 * integral over frequency and by the exact sum over the grid.
 *
 * Loop: |H|² = (1 + 4ζ²u)/((1 − u)² + 4ζ²u), u = (f/fn)² (Gardner, Best; 1.249387 dB at 0.7071·fn for ζ = 1: published,
 * CALC). Leader: S_y = h0 + h−2/f² with σ1² = h0/2, σ2² = 2π²·h−2 (READ-2), σy²(τ) = 2∫S_y·sin⁴(πfτ)/(πfτ)² df (standard,
 * from memory).
 */
import { describe, expect, test } from "vitest";
import type { Plan, WanderPlan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { allanRatio } from "../../sim/chain/allan.ts";
import { phaseSeries } from "../../sim/phase-series.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { oadev } from "../../sim/stability/index.ts";
import { device, link, planOf } from "../helpers/plan.ts";

const BOXES = 10;
const WHITE: WanderPlan = { sigma1: 1e-10, sigma2: 0, sigma3: 0, hMinus1: 0 };
const MIXED: WanderPlan = { sigma1: 1e-10, sigma2: 3e-11, sigma3: 0, hMinus1: 0 };

const box = (index: number): string => `box-${String(index).padStart(2, "0")}`;

function chainOf(naturalFrequencyHz: number, wander: WanderPlan, seconds: number, gridSeconds = 1): Plan {
  const loop = { naturalFrequencyHz, damping: 1 };
  const plan = planOf({
    seconds,
    devices: [
      device("leader", ["internal"], { oscillator: { wander } }),
      ...Array.from({ length: BOXES }, (_, n) => device(box(n + 1), ["1"], { loop })),
    ],
    links: Array.from({ length: BOXES }, (_, n) => link(`${n === 0 ? "leader" : box(n)}.2`, `${box(n + 1)}.1`)),
  });
  return { ...plan, wanderGridSeconds: gridSeconds };
}

/** ∏|H|² of `count` loops of ζ = 1. */
function gain(hz: number, naturalFrequencyHz: number, count: number): number {
  const u = (hz / naturalFrequencyHz) ** 2;
  return ((1 + 4 * u) / ((1 - u) ** 2 + 4 * u)) ** count;
}

/** Allan deviation behind `count` loops by the plain integral over all frequencies, midpoints even in log f. */
function deviationBehind(count: number, naturalFrequencyHz: number, wander: WanderPlan, tau: number): number {
  const h0 = 2 * wander.sigma1 ** 2;
  const hMinus2 = wander.sigma2 ** 2 / (2 * Math.PI ** 2);
  let variance = 0;
  const step = 1e-4;
  for (let log = Math.log(1e-6); log < Math.log(30); log += step) {
    const f = Math.exp(log + step / 2);
    const x = Math.PI * f * tau;
    variance +=
      2 * (h0 + hMinus2 / (f * f)) * (Math.sin(x) ** 4 / (x * x)) * gain(f, naturalFrequencyHz, count) * f * step;
  }
  return Math.sqrt(variance);
}

/** Allan deviations of devices at one τ, over parts of a run. */
function deviationsOf(plan: Plan, devices: readonly string[], tau: number, parts: number, quantumSamples?: number) {
  const { record } = rehearse(plan, quantumSamples === undefined ? {} : { quantumSamples });
  const { timebases } = buildRig(plan);
  const length = plan.lengthNs / 1e9 / parts;
  return devices.map((id) =>
    Array.from({ length: parts }, (_, part) => {
      const series = phaseSeries(plan, record, timebases, id, {
        // The first minutes of each part are shared with the one before; so are a chain's memories.
        fromNs: nsFromSeconds(part * length + (part === 0 ? 400 : 0)),
        toNs: nsFromSeconds((part + 1) * length),
      });
      const [found] = oadev(series, [tau]);
      if (found === undefined || "issue" in found) throw new Error("no deviation");
      return found.value;
    }),
  );
}

/** Of the ratio of root mean squares over parts: what it is, and four times what it may be off by. */
function ratioOf(above: readonly number[], below: readonly number[]): { ratio: number; slack: number } {
  const square = (values: readonly number[]) => values.reduce((sum, x) => sum + x * x, 0) / values.length;
  const ratio = Math.sqrt(square(above) / square(below));
  const each = above.map((x, n) => x / (below[n] as number));
  const mean = each.reduce((sum, x) => sum + x, 0) / each.length;
  const variance = each.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (each.length - 1);
  return { ratio, slack: 4 * Math.sqrt(variance / each.length) };
}

describe("ten loops of 0.05 Hz, ζ = 1, behind a leader that wanders", () => {
  const HOURS = 12;
  const PARTS = 24;

  test.each([
    ["white FM", WHITE],
    ["white and random-walk FM", MIXED],
  ])("%s: the tenth box's ADEV at 8 s over the first's is the integral of |∏H|² over the spectrum", (_name, wander) => {
    const plan = chainOf(0.05, wander, HOURS * 3600);
    const [first, tenth] = deviationsOf(plan, [box(1), box(10)], 8, PARTS) as [number[], number[]];
    const { ratio, slack } = ratioOf(tenth, first);
    const integral = deviationBehind(10, 0.05, wander, 8) / deviationBehind(1, 0.05, wander, 8);
    expect(Math.abs(ratio / integral - 1)).toBeLessThan(0.1);
    const ten = Array.from({ length: BOXES }, () => ({ naturalFrequencyHz: 0.05, damping: 1 }));
    const exact = allanRatio(ten, wander, 8, 1) / allanRatio(ten.slice(0, 1), wander, 8, 1);
    expect(slack).toBeLessThan(0.1 * ratio);
    expect(Math.abs(ratio - exact)).toBeLessThan(slack);
    // It is louder, and by no little: a chain that passed wander on as it is would be found out.
    expect(ratio - 1).toBeGreaterThan(2 * slack);
  });

  test("the integral is what it should be where the answer is known: no loop, and the leader's own deviation", () => {
    for (const tau of [8, 100])
      expect(
        deviationBehind(0, 0.05, MIXED, tau) ** 2 / (MIXED.sigma1 ** 2 / tau + (MIXED.sigma2 ** 2 * tau) / 3),
      ).toBeCloseTo(1, 2);
    expect(10 * Math.log10(gain(0.05 * Math.SQRT1_2, 0.05, 1))).toBeCloseTo(1.249387, 6);
  });

  test("the announcement quantum and a thousandth of it agree within 5 %", () => {
    const plan = chainOf(0.05, MIXED, 2 * 3600);
    const [[coarse], [fine]] = [1e-4, 1e-7].map((quantum) => deviationsOf(plan, [box(10)], 8, 1, quantum)[0]) as [
      [number],
      [number],
    ];
    expect(Math.abs((coarse as number) / (fine as number) - 1)).toBeLessThan(0.05);
  });
});

describe("ten loops of 1 Hz on a grid of 1 s", () => {
  test("the tenth is quieter at 1 s, since each loop settles between two knots, and the run says that the grid is too coarse", () => {
    const plan = chainOf(1, WHITE, 4 * 3600);
    const [leader, first, tenth] = deviationsOf(plan, ["leader", box(1), box(10)], 1, 1) as [
      [number],
      [number],
      [number],
    ];
    expect(tenth[0]).toBeLessThan(first[0]);
    expect(tenth[0]).toBeLessThan(leader[0]);
    // The same by the exact sum; the plain integral says the opposite, which is why the run warns.
    const ten = Array.from({ length: BOXES }, () => ({ naturalFrequencyHz: 1, damping: 1 }));
    expect(tenth[0] / leader[0]).toBeCloseTo(allanRatio(ten, WHITE, 1, 1), 1);
    const { findings } = rehearse(plan).summary;
    const warned = findings.find(({ rule }) => rule === "loop-near-grid");
    expect(warned?.devices).toEqual(Array.from({ length: BOXES }, (_, n) => box(n + 1)));
    expect(warned?.remedy).toContain("0.1");
    // On a grid that is fine enough nothing is said.
    expect(
      rehearse(chainOf(1, WHITE, 10, 0.1)).summary.findings.filter(({ rule }) => rule === "loop-near-grid"),
    ).toEqual([]);
  });
});
