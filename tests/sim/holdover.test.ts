/**
 * How long a device can go on alone. The closed form against a phase that is added up step by step; what was foretold
 * against what the run did, over random rigs with steady and with evenly drifting oscillators.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { EventPlan, OscillatorPlan, Plan } from "../../shared/plan.ts";
import type { ForetoldSummary, HoldoverSummary } from "../../shared/summary.ts";
import type { Departure } from "../../sim/holding/departure.ts";
import { keptVariance, leavesAfter, rateAfter, wanderVariance } from "../../sim/holding/departure.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { even, evenInDecades } from "../helpers/numbers.ts";
import { at, device, link, planOf, plug, unplug } from "../helpers/plan.ts";
import { plans } from "../helpers/random-rig.ts";

const RATE_HZ = 48_000;
const FOR_GOOD = Number.POSITIVE_INFINITY;

describe("a clock that leaves another", () => {
  const sides = fc.constantFrom(-1, 1);
  const signed = (min: number, max: number) =>
    fc.tuple(sides, evenInDecades(min, max)).map(([side, size]) => side * size);
  const stretch = fc.record({
    rate: fc.oneof(fc.constant(0), signed(1e-9, 1e-5)),
    perSecond: fc.oneof(fc.constant(0), signed(1e-13, 1e-8)),
    seconds: evenInDecades(1, 1000),
  });
  const room = fc.record({ ahead: evenInDecades(1e-8, 1e-4), behind: evenInDecades(1e-8, 1e-4) });

  /** Phase at instants from 0 to the horizon, each step with the frequency of its middle: exact for straight lines. */
  function stepped(stretches: readonly Departure[], horizon: number, steps: number): number[] {
    const phases = [0];
    let phase = 0;
    for (const { rate, perSecond, seconds } of stretches) {
      const length = Math.min(seconds, horizon);
      const step = length / steps;
      for (let n = 0; n < steps; n++) {
        phase += step * (rate + perSecond * step * (n + 0.5));
        phases.push(phase);
      }
    }
    return phases;
  }

  test("uses up its room exactly when the phase that is added up has, over any stretches", () => {
    const reached = { first: 0, later: 0, turnsBack: 0, never: 0, ahead: 0, behind: 0 };
    fc.assert(
      fc.property(fc.array(stretch, { minLength: 1, maxLength: 3 }), room, (parts, room) => {
        const last = parts.length - 1;
        const stretches = parts.map((part, index) => (index === last ? { ...part, seconds: FOR_GOOD } : part));
        const found = leavesAfter(stretches, room);
        const horizon = 10_000;
        const isInside = (phase: number) => phase < room.ahead * (1 + 1e-9) && phase > -room.behind * (1 + 1e-9);
        if (found === null) {
          const phases = stepped(stretches, horizon, 2000);
          expect(phases.every(isInside)).toBe(true);
          reached.never += 1;
          return;
        }
        // The same stretches cut off at what was found: inside all the way, and at the limit at the end.
        let left = found;
        const cut = stretches.flatMap((part) => {
          const seconds = Math.min(part.seconds, left);
          left -= seconds;
          return seconds > 0 ? [{ ...part, seconds }] : [];
        });
        const phases = stepped(cut, FOR_GOOD, 2000);
        const end = phases.at(-1)!;
        expect(phases.every(isInside)).toBe(true);
        expect(Math.abs(end > 0 ? end / room.ahead - 1 : end / room.behind + 1)).toBeLessThan(1e-7);
        reached[end > 0 ? "ahead" : "behind"] += 1;
        reached[cut.length === 1 ? "first" : "later"] += 1;
        const first = stretches[0]!;
        if (cut.length === 1 && first.rate * end < 0) reached.turnsBack += 1;
        const { rate, perSecond, seconds } = cut.at(-1)!;
        expect(rateAfter(stretches, found)).toBeCloseTo(rate + perSecond * seconds, 15);
      }),
      tries(1500),
    );
    for (const [what, count] of Object.entries(reached)) expect(count, what).toBeGreaterThan(3);
  });

  test("turns back before the limit and leaves on the other side; reaches the limit if it is a little nearer", () => {
    // y0²/(2D) is as far as it gets: 1e-8² / 2e-11 = 5e-6 s, after y0/D = 1,000 s.
    const away = [{ rate: 1e-8, perSecond: -1e-11, seconds: FOR_GOOD }];
    // y0·t − ½·D·t² = −5e-6 at 1,000·(1 + √2); = 4.95e-6 at 1,000·(1 − √0.01).
    expect(leavesAfter(away, { ahead: 5.001e-6, behind: 5e-6 })).toBeCloseTo(1000 * (1 + Math.SQRT2), 6);
    expect(leavesAfter(away, { ahead: 4.95e-6, behind: 5e-6 })).toBeCloseTo(900, 6);
    // Cut short before it is back, and level from there on: never.
    const parked = [
      { ...away[0]!, seconds: 1000 },
      { rate: 0, perSecond: 0, seconds: FOR_GOOD },
    ];
    expect(leavesAfter(parked, { ahead: 5.001e-6, behind: 5e-6 })).toBeNull();
  });

  test("no room left: at once; no difference of frequency: never; beyond what time holds: never", () => {
    expect(leavesAfter([{ rate: 1e-9, perSecond: 0, seconds: FOR_GOOD }], { ahead: 0, behind: 1 })).toBe(0);
    expect(leavesAfter([{ rate: 0, perSecond: 0, seconds: FOR_GOOD }], { ahead: 1, behind: 1 })).toBeNull();
    expect(leavesAfter([{ rate: 1e-22, perSecond: 0, seconds: FOR_GOOD }], { ahead: 1e-6, behind: 1 })).toBeNull();
  });

  test("wander grows as √t by white FM, as t^1.5 by random-walk FM", () => {
    const rms = (sigma1: number, sigma2: number) => Math.sqrt(wanderVariance({ sigma1, sigma2 }, 100));
    expect(rms(3e-10, 0)).toBeCloseTo(3e-9, 20);
    expect(rms(0, 3e-12)).toBeCloseTo((3e-12 * 1000) / Math.sqrt(3), 20);
    expect(rms(3e-10, 3e-12)).toBeCloseTo(Math.hypot(3e-9, 3e-9 / Math.sqrt(3)), 20);
  });

  test("what wander leaves in the kept frequency is what its impulse response lets through, added up", () => {
    const [omega, zeta, step] = [2, 0.7, 1e-4];
    // The integrator's answer to an impulse of frequency, ω²/(s² + 2ζωs + ω²), stepped; and what its step answer lacks.
    let [value, slope, answer] = [0, omega * omega, 0];
    let [white, walk] = [0, 0];
    for (let t = 0; t < 20; t += step) {
      const middle = value + (slope * step) / 2;
      white += middle * middle * step;
      const lacks = 1 - answer - (middle * step) / 2;
      walk += lacks * lacks * step;
      answer += middle * step;
      slope += (-omega * omega * middle - 2 * zeta * omega * slope) * step;
      value += slope * step;
    }
    const loop = { omega, zeta, gridSeconds: 0.01 };
    expect(keptVariance({ sigma1: 1, sigma2: 0 }, loop) / white).toBeCloseTo(1, 2);
    expect(keptVariance({ sigma1: 0, sigma2: 1 }, loop) / walk).toBeCloseTo(1, 2);
    // A mean over A of white FM is a phase of variance σ1²·A over A; a walk is behind its own mean by ∫ (s/A)² ds.
    expect(keptVariance({ sigma1: 3, sigma2: 0 }, { averageSeconds: 25 })).toBeCloseTo((9 * 25) / 25 ** 2, 12);
    expect(keptVariance({ sigma1: 0, sigma2: 3 }, { averageSeconds: 25 })).toBeCloseTo((9 * 25 ** 3) / 3 / 25 ** 2, 12);
  });
});

// ---- what the run did

interface Drawn {
  readonly leadPpm: number;
  readonly boxPpm: number;
  /** Of the box, per second; by ageing, or by heat. */
  readonly drift: number;
  readonly byHeat: boolean;
  readonly holdoverSeconds: number;
  readonly averageSeconds: number;
  readonly errorPpb: number;
  readonly loopHz: number;
  readonly damping: number;
  readonly lossSeconds: number;
  readonly awaySeconds: number;
  readonly lengthMetres: number;
  readonly buffer: number;
  readonly givesTo: boolean;
}

const BUFFERS = [
  { slipSamples: 1, depthSamples: 2, startSamples: 1 },
  { slipSamples: 1, depthSamples: 4, startSamples: 3 },
  { slipSamples: 6, depthSamples: 48, startSamples: 24 },
];

const drawn: fc.Arbitrary<Drawn> = fc
  .record({
    isTwin: fc.integer({ min: 0, max: 7 }).map((n) => n === 0),
    leadPpm: even(-10, 10),
    boxPpm: even(-15, 15),
    drift: fc.oneof(
      fc.constant(0),
      fc.tuple(fc.constantFrom(-1, 1), evenInDecades(1e-13, 3e-9)).map(([s, d]) => s * d),
    ),
    byHeat: fc.boolean(),
    holdoverSeconds: fc.oneof(fc.constant(0), even(0.5, 600), fc.constant(4000)),
    averageSeconds: fc.oneof(fc.constant(0), even(1, 90)),
    errorPpb: fc.oneof(fc.constant(0), even(-50, 50)),
    loopHz: fc.constantFrom(0.5, 1, 3, 10),
    damping: fc.constantFrom(0.6, Math.SQRT1_2, 1, 1.5),
    lossSeconds: even(120, 240),
    awaySeconds: even(20, 1500),
    lengthMetres: even(0, 150),
    buffer: fc.nat({ max: BUFFERS.length - 1 }),
    givesTo: fc.boolean(),
  })
  // As fast as the desk, without drift: it never leaves.
  .map(({ isTwin, ...d }) => (isTwin ? { ...d, boxPpm: d.leadPpm, drift: 0, errorPpb: 0 } : d));

const APART_SECONDS = 120;

/** A box on the desk's word clock, with audio both ways beside it; the clock cable comes out, goes back in, comes out. */
function rigOf(d: Drawn): Plan {
  const heat: Partial<OscillatorPlan> = d.byHeat
    ? { tempcoPpmPerCelsius: 0.1 } // 0.1e-6/°C times the slope of the course below
    : { ageingPpbPerDay: d.drift * 86_400 * 1e9 };
  const seconds = d.lossSeconds + 2 * d.awaySeconds + APART_SECONDS + 10;
  const celsius = (d.drift / 0.1e-6) * seconds;
  const buffer = BUFFERS[d.buffer] as (typeof BUFFERS)[number];
  const lengthMetres = d.lengthMetres;
  const warm: EventPlan[] =
    d.byHeat && d.drift !== 0
      ? [at(0, { do: "temperature", device: "box", toCelsius: 25 + celsius, overSeconds: seconds })]
      : [];
  return planOf({
    seconds,
    devices: [
      device("desk", ["internal"], { offsetPpm: d.leadPpm }),
      device("box", ["1"], {
        offsetPpm: d.boxPpm,
        capturePpm: 200,
        steeringPpm: 400,
        holdoverSeconds: d.holdoverSeconds,
        holdoverAverageSeconds: d.averageSeconds,
        holdoverErrorPpb: d.errorPpb,
        loop: { naturalFrequencyHz: d.loopHz, damping: d.damping },
        oscillator: heat,
      }),
      device("ears", ["1"], { offsetPpm: 2, capturePpm: 200, steeringPpm: 400 }),
    ],
    links: [
      link("desk.1", "box.1", { id: "clock", type: "word-clock", lengthMetres }),
      link("desk.2", "box.2", { id: "main", hasReturn: true, lengthMetres, buffer }),
      ...(d.givesTo ? [link("box.3", "ears.1", { id: "to-ears", lengthMetres: 10, buffer })] : []),
    ],
    events: [
      ...warm,
      unplug(d.lossSeconds, "clock"),
      plug(d.lossSeconds + d.awaySeconds, "clock"),
      unplug(d.lossSeconds + d.awaySeconds + APART_SECONDS, "clock"),
    ],
  });
}

const SLIP_SECONDS = 1e-9;

/** The rate at which the phase, in samples a second, is moving at a time after the loss, by the entry's own numbers. */
function samplesPerSecond(entry: HoldoverSummary, seconds: number): number {
  const drift = ((entry.driftPpbPerHour * 1e-9) / 3600) * seconds;
  const base = seconds <= entry.keptSeconds ? entry.keptErrorPpb * 1e-9 : entry.ownOffsetPpm * 1e-6;
  return RATE_HZ * Math.abs(base + drift);
}

describe("what is foretold at the loss is what the run does", () => {
  test(
    "for steady and evenly drifting oscillators, within the run's own bound",
    () => {
      const reached = {
        slipInHoldover: 0,
        slipInFreeRun: 0,
        slipAfterHoldover: 0,
        backBefore: 0,
        quarterInHoldover: 0,
        never: 0,
        secondLossSlips: 0,
        bentInHoldover: 0,
        averaged: 0,
      };
      fc.assert(
        fc.property(drawn, (d) => {
          const plan = rigOf(d);
          const { summary } = rehearse(plan);
          const entries = summary.holdovers.filter((entry) => entry.device === "box");
          // Pulling in again may take longer than there is; then the second time it is not a lock that is lost.
          expect(entries.length).toBeGreaterThanOrEqual(1);
          const bound = summary.worstErrorSamples as number;
          for (const [index, entry] of entries.entries()) {
            expect(entry.state).toBe(d.holdoverSeconds > 0 ? "holdover" : "free-run");
            expect(entry.links.map(({ link, way }) => `${link} ${way}`)).toEqual(["main there", "main back"]);
            for (const each of [...entry.allowances, ...entry.links]) {
              const says = `loss ${index}, ${JSON.stringify(each)} of ${JSON.stringify(entry)}`;
              const { predictedSeconds, ranSeconds, watchedSeconds } = each as ForetoldSummary;
              expect(each.giveOrTakeSeconds ?? 0).toBe(0);
              if (predictedSeconds === null || ranSeconds === null) {
                // Not in the run means: not while there was time for it, give or take the bound.
                expect(ranSeconds, says).toBeNull();
                if (predictedSeconds === null) reached.never += 1;
                else {
                  const slack = bound / samplesPerSecond(entry, watchedSeconds) + SLIP_SECONDS;
                  expect(predictedSeconds, says).toBeGreaterThanOrEqual(watchedSeconds - slack);
                  reached.backBefore += 1;
                }
                continue;
              }
              const slack = bound / samplesPerSecond(entry, predictedSeconds) + SLIP_SECONDS;
              expect(Math.abs(ranSeconds - predictedSeconds), says).toBeLessThanOrEqual(slack);
              const isKept = ranSeconds < entry.keptSeconds;
              if ("percent" in each) {
                if (isKept && each.percent === 25 && d.holdoverSeconds > 0) reached.quarterInHoldover += 1;
                continue;
              }
              if (d.holdoverSeconds > 0 && isKept) reached.slipInHoldover += 1;
              if (d.holdoverSeconds > 0 && isKept && d.drift !== 0) reached.bentInHoldover += 1;
              if (d.holdoverSeconds > 0 && isKept && d.averageSeconds > 0) reached.averaged += 1;
              if (d.holdoverSeconds > 0 && !isKept) reached.slipAfterHoldover += 1;
              if (d.holdoverSeconds === 0) reached.slipInFreeRun += 1;
              if (index === 1) reached.secondLossSlips += 1;
            }
          }
        }),
        tries(120),
      );
      for (const [what, count] of Object.entries(reached)) expect(count, what).toBeGreaterThan(3);
    },
    PATIENCE_MS,
  );

  test("with wander, within what it may be expected to move that", () => {
    // A slow loop, so that the grid of 1 s resolves it; 100 ppb: 5 µs are gone after some 50 s, and wander moves that.
    const wander = { sigma1: 1e-8, sigma2: 1e-9, sigma3: 0, hMinus1: 0 };
    const deviations: number[] = [];
    for (let seed = 0; seed < 120; seed++) {
      const plan = planOf({
        seconds: 500,
        devices: [
          device("desk", ["internal"], { offsetPpm: 1 }),
          device("box", ["1"], {
            offsetPpm: 3,
            holdoverSeconds: 1000,
            holdoverErrorPpb: 100,
            loop: { naturalFrequencyHz: 0.05, damping: 1 },
            oscillator: { wander },
          }),
        ],
        links: [link("desk.1", "box.1", { id: "clock", type: "word-clock" }), link("desk.2", "box.2", { id: "main" })],
        events: [unplug(200, "clock")],
      });
      const [entry] = rehearse({ ...plan, seed: `quay-${seed}` }).summary.holdovers;
      const quarter = entry!.allowances.find(({ percent }) => percent === 25)!;
      expect(quarter.giveOrTakeSeconds).toBeGreaterThan(1);
      expect(quarter.giveOrTakeSeconds).toBeLessThan(0.2 * quarter.predictedSeconds!);
      deviations.push((quarter.ranSeconds! - quarter.predictedSeconds!) / quarter.giveOrTakeSeconds!);
    }
    const mean = deviations.reduce((sum, each) => sum + each, 0) / deviations.length;
    const square = deviations.reduce((sum, each) => sum + each * each, 0) / deviations.length;
    // Of 120 draws of a normal law the mean is within 3/√120 = 0.27 and the variance within 1 ± 3·√(2/120) = 1 ± 0.39;
    // time against phase is not quite straight, which adds some percent.
    expect(Math.abs(mean)).toBeLessThan(0.3);
    expect(square).toBeGreaterThan(0.6);
    expect(square).toBeLessThan(1.5);
  });
});

test(
  "over any rig: every number is one, and what the run did fell while it was watched",
  () => {
    const reached = { losses: 0, links: 0, slips: 0, reboots: 0 };
    fc.assert(
      fc.property(
        plans({
          secondSources: true,
          spares: true,
          bending: true,
          loners: true,
          eventCount: [2, 10],
          seconds: [60, 300],
        }),
        (plan) => {
          for (const entry of rehearse(plan).summary.holdovers) {
            reached.losses += 1;
            if (entry.ended?.state === "starting") reached.reboots += 1;
            const { keptSeconds, keptErrorPpb, driftPpbPerHour, ownOffsetPpm } = entry;
            for (const value of [keptSeconds, keptErrorPpb, driftPpbPerHour, ownOffsetPpm])
              expect(Number.isFinite(value)).toBe(true);
            for (const each of [...entry.allowances, ...entry.links]) {
              const { predictedSeconds, giveOrTakeSeconds, ranSeconds, watchedSeconds } = each;
              const says = JSON.stringify(entry);
              expect(watchedSeconds, says).toBeGreaterThanOrEqual(0);
              expect(giveOrTakeSeconds === null, says).toBe(predictedSeconds === null);
              expect(predictedSeconds ?? 0, says).toBeGreaterThanOrEqual(0);
              expect(Number.isFinite(predictedSeconds ?? 0), says).toBe(true);
              expect(ranSeconds ?? 0, says).toBeLessThanOrEqual(watchedSeconds);
              expect(ranSeconds ?? 0, says).toBeGreaterThanOrEqual(0);
              if ("link" in each) {
                reached.links += 1;
                expect(each.against).not.toBe(entry.device);
                if (ranSeconds !== null) reached.slips += 1;
              }
            }
          }
        },
      ),
      tries(150),
    );
    for (const [what, count] of Object.entries(reached)) expect(count, what).toBeGreaterThan(3);
  },
  PATIENCE_MS,
);
