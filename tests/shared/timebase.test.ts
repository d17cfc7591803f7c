import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import { NEVER, nsFromSeconds, secondsBetween, secondsFromNs, ZERO } from "../../shared/time.ts";
import type { Bend, Timebase } from "../../shared/timebase.ts";
import { bendsOf, makeTimebase } from "../../shared/timebase.ts";
import { tries } from "../helpers/laws.ts";
import { even } from "../helpers/numbers.ts";

const s = nsFromSeconds;
const SHOW_SECONDS = 3600;

function timebase(words: { bends?: Bend[]; bornSeconds?: number; warmUp?: number; warmUpSeconds?: number }): Timebase {
  return makeTimebase({
    id: 0,
    device: "foh",
    bornNs: s(words.bornSeconds ?? 0),
    bends: words.bends ?? [{ atNs: ZERO, rate: 0, ageingPerSecond: 0 }],
    warmUp: words.warmUp ?? 0,
    warmUpSeconds: words.warmUpSeconds ?? 0,
    wander: null,
    endNs: s(SHOW_SECONDS),
  });
}

/** Oscillators of all kinds: up to five bends, warming or not, born at any time. */
const anyTimebase = fc
  .record({
    bends: fc.array(
      fc.record({
        atSeconds: even(0, 2000),
        ratePpm: even(-100, 100),
        ppmPerSecond: even(-0.05, 0.05),
      }),
      { minLength: 1, maxLength: 5 },
    ),
    bornSeconds: even(0, 1000),
    warmUpPpm: fc.oneof(fc.constant(0), even(-10, 10)),
    warmUpSeconds: even(5, 900),
  })
  .map(({ bends, bornSeconds, warmUpPpm, warmUpSeconds }) => {
    const inOrder = bends
      .map(({ atSeconds, ratePpm, ppmPerSecond }, index) => ({
        atNs: index === 0 ? ZERO : s(atSeconds),
        rate: ratePpm * 1e-6,
        ageingPerSecond: ppmPerSecond * 1e-6,
      }))
      .sort((a, b) => a.atNs - b.atNs);
    return { bends: inOrder, bornSeconds, warmUp: warmUpPpm * 1e-6, warmUpSeconds };
  });

/** ∫ rate by Simpson's rule on stretches that no bend cuts. */
function integral(of: Timebase, bends: readonly Bend[], from: Ns, to: Ns): number {
  const cuts = [from, ...bends.map(({ atNs }) => atNs).filter((at) => at > from && at < to), to];
  let sum = 0;
  for (let n = 1; n < cuts.length; n++) {
    const [a, b] = [cuts[n - 1] as Ns, cuts[n] as Ns];
    const parts = 400;
    const at = (k: number) => Math.min(Math.round(a + ((b - a) * k) / parts), b - 1) as Ns; // b belongs to the next bend
    for (let k = 0; k < parts; k += 2)
      sum +=
        ((of.rateAt(at(k)) + 4 * of.rateAt(at(k + 1)) + of.rateAt(at(k + 2))) * secondsBetween(at(k), at(k + 2))) / 6;
  }
  return sum;
}

describe("a life of an oscillator", () => {
  test("10 ppm is 10 µs a second", () => {
    const steady = timebase({ bends: [{ atNs: ZERO, rate: 10e-6, ageingPerSecond: 0 }] });
    expect(steady.phaseSecondsAt(s(100))).toBeCloseTo(1e-3, 18);
    expect(steady.rateAt(s(100))).toBe(10e-6);
    expect(steady.rateSpread).toBe(0);
  });

  test("ageing is a parabola: 2 ppb a second for 100 s gains 10 µs", () => {
    const ageing = timebase({ bends: [{ atNs: ZERO, rate: 0, ageingPerSecond: 2e-9 }] });
    expect(ageing.phaseSecondsAt(s(100))).toBeCloseTo(10e-6, 18);
    expect(ageing.rateAt(s(100))).toBeCloseTo(2e-7, 18);
    // To the end of the show, 3600 s: 7.2 ppm.
    expect(ageing.rateSpread).toBeCloseTo(7.2e-6, 15);
  });

  test("a step of frequency bends the phase and does not break it", () => {
    const stepped = timebase({
      bends: [
        { atNs: ZERO, rate: 1e-6, ageingPerSecond: 0 },
        { atNs: s(50), rate: -3e-6, ageingPerSecond: 0 },
      ],
    });
    expect(stepped.phaseSecondsAt(s(50))).toBeCloseTo(50e-6, 18);
    expect(stepped.phaseSecondsAt(s(60))).toBeCloseTo(20e-6, 18);
    expect(stepped.rateAt((s(50) - 1) as Ns)).toBe(1e-6);
    expect(stepped.rateAt(s(50))).toBe(-3e-6);
    expect(stepped.rateSpread).toBeCloseTo(4e-6, 18);
  });

  test("warm-up fades with its time constant and leaves w·τ of phase behind", () => {
    const warming = timebase({ warmUp: 2e-6, warmUpSeconds: 300 });
    expect(warming.rateAt(ZERO)).toBe(2e-6);
    expect(warming.rateAt(s(300))).toBeCloseTo(2e-6 / Math.E, 18);
    expect(warming.phaseSecondsAt(s(300))).toBeCloseTo(2e-6 * 300 * (1 - 1 / Math.E), 16);
    // After an hour, 12 time constants: all but e^-12 of 600 µs.
    expect(warming.phaseSecondsAt(s(3600))).toBeCloseTo(600e-6, 8);
  });

  test("it begins at x = 0 at its birth, whatever was before", () => {
    const bends = [
      { atNs: ZERO, rate: 5e-6, ageingPerSecond: 0 },
      { atNs: s(20), rate: 7e-6, ageingPerSecond: 1e-9 },
      { atNs: s(90), rate: -4e-6, ageingPerSecond: 0 },
    ];
    const late = timebase({ bends, bornSeconds: 60 });
    expect(late.phaseSecondsAt(s(60))).toBe(0);
    expect(late.rateAt(s(60))).toBeCloseTo(7e-6 + 40e-9, 18);
    expect(late.phaseSecondsAt(s(90))).toBeCloseTo(30 * (7e-6 + 40e-9) + 0.5e-9 * 900, 16);
  });

  test("phase is the integral of frequency", () => {
    let warming = 0;
    let bent = 0;
    fc.assert(
      fc.property(anyTimebase, even(0, 2000), even(0, 500), (words, after, length) => {
        const life = timebase(words);
        const from = s(words.bornSeconds + after);
        const to = (from + s(length)) as Ns;
        const gained = life.phaseSecondsAt(to) - life.phaseSecondsAt(from);
        // Simpson on 400 parts: exact for the parabolas; e^-x over 0.5·(500 s / 5 s) a part leaves h⁵f⁗/2880.
        expect(Math.abs(gained - integral(life, words.bends, from, to))).toBeLessThan(5e-9);
        if (words.warmUp !== 0) warming += 1;
        if (words.bends.some(({ atNs }) => atNs > from && atNs < to)) bent += 1;
      }),
      tries(200),
    );
    expect(warming).toBeGreaterThan(20);
    expect(bent).toBeGreaterThan(20);
  });

  test("no rate of its life lies further from another than the spread", () => {
    const share = even(0, 1);
    fc.assert(
      fc.property(anyTimebase, share, share, (words, a, b) => {
        const life = timebase(words);
        const at = (part: number) => s(words.bornSeconds + part * (SHOW_SECONDS - words.bornSeconds));
        expect(Math.abs(life.rateAt(at(a)) - life.rateAt(at(b)))).toBeLessThanOrEqual(life.rateSpread + 1e-18);
      }),
      tries(100),
    );
  });
});

describe("a piece", () => {
  test("stays within the tolerance of the truth to its end, and ends at the next bend at the latest", () => {
    let fitted = 0;
    let over = 0;
    let cut = 0;
    const share = even(0, 1);
    const tolerance = fc.integer({ min: -12, max: -7 }).map((decade) => 10 ** decade);
    fc.assert(
      fc.property(
        anyTimebase,
        even(0, 3000),
        tolerance,
        fc.array(share, { minLength: 5, maxLength: 5 }),
        (words, after, within, shares) => {
          const life = timebase(words);
          const from = s(words.bornSeconds + after);
          const { rate, ageingPerSecond, untilNs } = life.pieceAt(from, within);
          expect(untilNs).toBeGreaterThan(from);
          const nextBend = words.bends.find(({ atNs }) => atNs > from)?.atNs ?? NEVER;
          expect(untilNs).toBeLessThanOrEqual(nextBend);
          const end = untilNs === NEVER ? ((from + s(10_000)) as Ns) : untilNs;
          for (const part of [...shares, 1]) {
            const at = Math.floor(from + part * (end - from)) as Ns;
            const tau = secondsBetween(from, at);
            const told = life.phaseSecondsAt(from) + tau * (rate + 0.5 * ageingPerSecond * tau);
            // The truth is itself rounded: phases of a tenth of a second are known to 1e-17.
            expect(Math.abs(told - life.phaseSecondsAt(at))).toBeLessThanOrEqual(within * (1 + 1e-6) + 2e-16);
          }
          if (untilNs === nextBend && nextBend !== NEVER) cut += 1;
          else if (untilNs === NEVER && words.warmUp !== 0) over += 1;
          else if (words.warmUp !== 0) fitted += 1;
        },
      ),
      tries(500),
    );
    expect(fitted).toBeGreaterThan(20);
    expect(over).toBeGreaterThan(5);
    expect(cut).toBeGreaterThan(20);
  });

  test("is as long as the tolerance allows: a part of it would be wasteful, and twice as long too much", () => {
    const warming = timebase({ warmUp: 5e-6, warmUpSeconds: 48 });
    const within = 1e-10;
    const { rate, ageingPerSecond, untilNs } = warming.pieceAt(ZERO, within);
    const error = (t: number) => Math.abs(t * (rate + 0.5 * ageingPerSecond * t) - warming.phaseSecondsAt(s(t)));
    const length = secondsFromNs(untilNs);
    // The rest of Taylor's series: w/τ²·L³/6 = within, so L = ∛(6·1e-10·48²/5e-6) = 0.651 s.
    expect(length).toBeCloseTo(0.651, 2);
    expect(error(length)).toBeGreaterThan(0.9 * within);
    expect(error(2 * length)).toBeGreaterThan(6 * within);
  });

  test("of a steady oscillator never ends", () => {
    expect(timebase({ bends: [{ atNs: ZERO, rate: 3e-6, ageingPerSecond: 0 }] }).pieceAt(s(5), 1e-9)).toEqual({
      rate: 3e-6,
      ageingPerSecond: 0,
      untilNs: NEVER,
    });
  });
});

describe("bends of an oscillator", () => {
  const calm = { turns: [{ atNs: ZERO, celsius: 25, perSecond: 0 }] };

  test("offset, ageing, steps and heat add up at every instant", () => {
    const oscillator = {
      offset: 3e-6,
      ageingPerSecond: 1e-10,
      tempcoPerCelsius: 0.1e-6,
      tempcoTable: null,
      steps: [
        { atNs: s(100), offset: 8e-6 },
        { atNs: s(400), offset: -1e-6 },
      ],
      temperature: {
        turns: [
          { atNs: ZERO, celsius: 25, perSecond: 0 },
          { atNs: s(200), celsius: 25, perSecond: 0.05 },
          { atNs: s(500), celsius: 40, perSecond: 0 },
        ],
      },
    };
    const expected = (t: number) => {
      const offset = t < 100 ? 3e-6 : t < 400 ? 8e-6 : -1e-6;
      const celsius = t < 200 ? 25 : t < 500 ? 25 + 0.05 * (t - 200) : 40;
      return offset + 1e-10 * t + 0.1e-6 * (celsius - 25);
    };
    const life = timebase({ bends: bendsOf(oscillator) });
    for (let t = 0; t <= 900; t += 12.5) expect(life.rateAt(s(t))).toBeCloseTo(expected(t), 17);
    expect(bendsOf(oscillator).map(({ atNs }) => secondsFromNs(atNs))).toEqual([0, 100, 200, 400, 500]);
  });

  test("without a temperature coefficient heat makes no bend", () => {
    const turns = [...calm.turns, { atNs: s(60), celsius: 25, perSecond: 1 }];
    const linear = { tempcoPerCelsius: 0, tempcoTable: null };
    const oscillator = { offset: 1e-6, ageingPerSecond: 0, ...linear, steps: [], temperature: { turns } };
    expect(bendsOf(oscillator)).toEqual([{ atNs: ZERO, rate: 1e-6, ageingPerSecond: 0 }]);
  });

  test("two steps at one instant: the last one written holds", () => {
    const steps = [
      { atNs: s(10), offset: 2e-6 },
      { atNs: s(10), offset: 4e-6 },
    ];
    const linear = { tempcoPerCelsius: 0, tempcoTable: null };
    const oscillator = { offset: 0, ageingPerSecond: 0, ...linear, steps, temperature: calm };
    expect(bendsOf(oscillator).map(({ rate }) => rate)).toEqual([0, 4e-6]);
  });
});
