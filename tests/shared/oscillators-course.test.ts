/** The course of an oscillator through heat, power and ageing, by numbers that a hand can work out. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { EventPlan, OscillatorPlan, Plan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { bendsOf } from "../../shared/timebase.ts";
import { makeTimebases } from "../../sim/lives.ts";
import { tries } from "../helpers/laws.ts";
import { even } from "../helpers/numbers.ts";
import { at, device, planOf } from "../helpers/plan.ts";

const s = nsFromSeconds;

/** The lives of one device called "truck". */
function lives(
  oscillator: Partial<OscillatorPlan>,
  events: readonly EventPlan[] = [],
  { begin = "settled", seconds = 4000 }: { begin?: Plan["begin"]; seconds?: number } = {},
): Timebase[] {
  return makeTimebases(planOf({ seconds, devices: [device("truck", ["internal"], { oscillator })], events, begin }))
    .timebases;
}
function only(all: readonly Timebase[]): Timebase {
  expect(all).toHaveLength(1);
  return all[0] as Timebase;
}
const warmTo = (seconds: number, toCelsius: number, overSeconds: number): EventPlan =>
  at(seconds, { do: "temperature", device: null, toCelsius, overSeconds });

/** 3 ppm over the 35 °C below 25 °C, 2 ppm over the 25 °C above. */
const TABLE = [
  { celsius: -10, ppm: -3 },
  { celsius: 25, ppm: 0 },
  { celsius: 50, ppm: 2 },
];

describe("a truck opened in winter", () => {
  test("by its coefficient: −5 °C is 30 °C below the offset's 25 °C", () => {
    const truck = only(lives({ offsetPpm: 4, tempcoPpmPerCelsius: 0.1, startCelsius: -5 }, [warmTo(100, 20, 500)]));
    expect(truck.rateAt(s(0))).toBeCloseTo(1e-6, 18);
    expect(truck.rateAt(s(350))).toBeCloseTo(2.25e-6, 18); // 7.5 °C: halfway
    expect(truck.rateAt(s(3000))).toBeCloseTo(3.5e-6, 18);
    expect(truck.phaseSecondsAt(s(600))).toBeCloseTo(100 * 1e-6 + 500 * 2.25e-6, 15);
  });

  test("by a table, past one of its points in the middle of warming", () => {
    // −5 to 45 °C in 1000 s from 100 s on, so 25 °C at 700 s.
    const truck = only(lives({ tempcoTable: TABLE, startCelsius: -5 }, [warmTo(100, 45, 1000)]));
    const cold = (-3 + (5 * 3) / 35) * 1e-6;
    expect(truck.rateAt(s(50))).toBeCloseTo(cold, 18);
    expect(truck.rateAt(s(400))).toBeCloseTo(cold / 2, 18);
    expect(truck.rateAt(s(700))).toBeCloseTo(0, 18);
    expect(truck.rateAt(s(900))).toBeCloseTo(0.8e-6, 18); // 35 °C
    expect(truck.rateAt(s(1100))).toBeCloseTo(1.6e-6, 18);
    // Straight lines: each stretch by its mean. −257.143, −771.429, +320 and then 1.6 µs a second.
    expect(truck.phaseSecondsAt(s(100))).toBeCloseTo(-257.142857e-6, 12);
    expect(truck.phaseSecondsAt(s(700))).toBeCloseTo(-1028.571429e-6, 12);
    expect(truck.phaseSecondsAt(s(1100))).toBeCloseTo(-708.571429e-6, 12);
    expect(truck.phaseSecondsAt(s(1200))).toBeCloseTo(-548.571429e-6, 12);
    // Up to the point it is one quadratic, and its piece ends there.
    expect(truck.pieceAt(s(100), 1e-12).untilNs).toBe(s(700));
    expect(truck.pieceAt(s(100), 1e-12).ageingPerSecond).toBeCloseTo((0.05 * 3e-6) / 35, 22);
    expect(truck.pieceAt(s(700), 1e-12).ageingPerSecond).toBeCloseTo(0.05 * 0.08e-6, 22);
  });

  test("beyond the table's ends it is level", () => {
    const truck = only(lives({ tempcoTable: TABLE, startCelsius: -30 }, [warmTo(0, 70, 1000)]));
    expect(truck.rateAt(s(0))).toBeCloseTo(-3e-6, 18);
    expect(truck.rateAt(s(199))).toBeCloseTo(-3e-6, 18); // −10 °C at 200 s
    expect(truck.rateAt(s(201))).toBeGreaterThan(-3e-6);
    expect(truck.rateAt(s(800))).toBeCloseTo(2e-6, 18); // 50 °C
    expect(truck.rateAt(s(1000))).toBeCloseTo(2e-6, 18);
    expect(truck.rateSpread).toBeCloseTo(5e-6, 18);
  });

  test("a line broken off half way begins the next at the temperature of that moment", () => {
    // To 45 °C in 1000 s, called back at 15 °C; −10 °C after 250 s more.
    const truck = only(lives({ tempcoTable: TABLE, startCelsius: -5 }, [warmTo(100, 45, 1000), warmTo(500, -10, 250)]));
    expect(truck.rateAt(s(500))).toBeCloseTo((-10 * 3e-6) / 35, 18);
    expect(truck.rateAt(s(750))).toBeCloseTo(-3e-6, 18);
    expect(truck.rateAt(s(3000))).toBeCloseTo(-3e-6, 18);
  });

  test("one device's heat is nobody else's", () => {
    const words = { oscillator: { tempcoPpmPerCelsius: 0.1 } };
    const { timebases } = makeTimebases(
      planOf({
        seconds: 100,
        devices: [device("hut", ["internal"], words), device("truck", ["internal"], words)],
        events: [at(10, { do: "temperature", device: "truck", toCelsius: 35, overSeconds: 0 })],
      }),
    );
    expect(timebases.map((life) => life.rateAt(s(50)))).toEqual([0, expect.closeTo(1e-6, 18)]);
  });

  test("whatever the table and the course: frequency follows the temperature, phase its integral", () => {
    let passed = 0;
    const tables = fc
      .array(fc.tuple(even(-30, 60), even(-5, 5)), { minLength: 2, maxLength: 6 })
      .map((points) => points.sort(([a], [b]) => a - b).map(([celsius, ppm]) => ({ celsius, ppm })))
      .filter((table) => table.every(({ celsius }, n) => n === 0 || celsius > (table[n - 1]?.celsius ?? 0) + 0.1));
    fc.assert(
      fc.property(tables, even(-30, 60), even(-30, 60), even(1, 900), (table, from, to, over) => {
        const truck = only(
          lives({ tempcoTable: table, startCelsius: from }, [warmTo(50, to, over)], { seconds: 1000 }),
        );
        const celsius = (t: number) => (t <= 50 ? from : t >= 50 + over ? to : from + ((to - from) * (t - 50)) / over);
        const ppm = (c: number): number => {
          const above = table.findIndex((point) => point.celsius >= c);
          const [high, low] = [table[above], table[above - 1]];
          if (above < 0) return table[table.length - 1]?.ppm ?? 0;
          if (high === undefined || low === undefined) return table[0]?.ppm ?? 0;
          return low.ppm + ((c - low.celsius) / (high.celsius - low.celsius)) * (high.ppm - low.ppm);
        };
        const steepest = table.slice(1).reduce((most, point, n) => {
          const before = table[n] as (typeof table)[number];
          return Math.max(most, Math.abs((point.ppm - before.ppm) / (point.celsius - before.celsius)));
        }, 0);
        const ppmPerSecond = (steepest * Math.abs(to - from)) / over;
        const step = 0.25;
        let phase = 0;
        for (let t = 0; t < 1000; t += step) {
          // The end of the line lies on a whole nanosecond.
          expect(Math.abs(truck.rateAt(s(t)) * 1e6 - ppm(celsius(t)))).toBeLessThan(1e-9 * ppmPerSecond + 1e-11);
          phase += step * ppm(celsius(t + step / 2)) * 1e-6;
        }
        // The rule of midpoints is exact but for the steps that hold a corner: at most eight (six points and two ends),
        // each off by the change of slope, at most twice the steepest, times step²/8.
        const corners = 8 * 2 * ppmPerSecond * 1e-6 * ((step * step) / 8);
        expect(Math.abs(truck.phaseSecondsAt(s(1000)) - phase)).toBeLessThan(corners + 1e-14);
        passed += table.filter((point) => (point.celsius - from) * (point.celsius - to) < 0).length;
      }),
      tries(60),
    );
    expect(passed).toBeGreaterThan(60);
  });

  test("a point passed between two nanoseconds bends at the nearest, and the frequency has no step there", () => {
    const seconds = 1000 / 3;
    const bends = bendsOf({
      offset: 0,
      ageingPerSecond: 0,
      tempcoPerCelsius: 0,
      tempcoTable: [
        { celsius: 0, offset: 0 },
        { celsius: 10, offset: 1e-6 },
        { celsius: 40, offset: 0 },
      ],
      steps: [],
      temperature: {
        turns: [
          { atNs: 0 as Ns, celsius: 0, perSecond: 0.03 },
          { atNs: s(1000), celsius: 30, perSecond: 0 },
        ],
      },
    });
    expect(bends.map(({ atNs }) => atNs)).toEqual([0, s(seconds), s(1000)]);
    const [first, corner, last] = bends as [(typeof bends)[0], (typeof bends)[0], (typeof bends)[0]];
    expect(first.ageingPerSecond).toBeCloseTo(3e-9, 22);
    expect(corner.ageingPerSecond).toBeCloseTo(-1e-9, 22);
    expect(corner.rate).toBeCloseTo(1e-6, 16);
    expect(first.rate + first.ageingPerSecond * (corner.atNs / 1e9)).toBeCloseTo(corner.rate, 17);
    expect(last.rate).toBeCloseTo(1e-6 / 3, 17);
  });
});

describe("warm and cold", () => {
  const oscillator = { offsetPpm: 4, warmUpPpm: 2, warmUpSeconds: 300, coolDownSeconds: 900 };
  /** Offset and phase of a life that began with a share of the cold offset, so many seconds after it began. */
  const rate = (coldness: number, t: number) => 4e-6 + 2e-6 * coldness * Math.exp(-t / 300);
  const phase = (coldness: number, t: number) => 4e-6 * t + 2e-6 * coldness * 300 * (1 - Math.exp(-t / 300));

  test("on for ever: no warm-up is left", () => {
    const warm = only(lives(oscillator));
    expect(warm.rateAt(s(0))).toBe(4e-6);
    expect(warm.phaseSecondsAt(s(600))).toBeCloseTo(phase(0, 600), 16);
  });

  test("power comes at 0: the whole of it is there, and fades", () => {
    const cold = only(lives(oscillator, [], { begin: "cold" }));
    for (const t of [0, 1, 300, 600, 3600]) {
      expect(cold.rateAt(s(t))).toBeCloseTo(rate(1, t), 17);
      expect(cold.phaseSecondsAt(s(t))).toBeCloseTo(phase(1, t), 14);
    }
    // 600 µs more than the warm one by the end of an hour: 29 samples at 48 kHz.
    expect(cold.phaseSecondsAt(s(3600)) - 4e-6 * 3600).toBeCloseTo(600e-6, 7);
  });

  test.each(["engine", "all"] as const)("a reboot of %s keeps it warm, and its phase goes on", (part) => {
    const rebooted = only(lives(oscillator, [at(1000, { do: "reboot", device: "truck", part })]));
    expect(rebooted.rateAt(s(1001))).toBe(4e-6);
    expect(rebooted.phaseSecondsAt(s(2000))).toBeCloseTo(8e-3, 15);
  });

  const cut = (seconds: number) => at(seconds, { do: "power-cut", device: "truck", supply: null });
  const back = (seconds: number) => at(seconds, { do: "power-back", device: "truck", supply: null });

  test("a power cut cools it, the longer the more, and its phase begins anew", () => {
    const coldness = [90, 450, 7200].map((away) => {
      const [before, after] = lives(oscillator, [cut(1000), back(1000 + away)], { seconds: 10_000 }) as [
        Timebase,
        Timebase,
      ];
      expect(before.rateAt(s(999))).toBe(4e-6);
      expect(after.bornNs).toBe(s(1000 + away));
      const share = 1 - Math.exp(-away / 900);
      for (const t of [0, 100, 900]) {
        expect(after.rateAt(s(1000 + away + t))).toBeCloseTo(rate(share, t), 17);
        expect(after.phaseSecondsAt(s(1000 + away + t))).toBeCloseTo(phase(share, t), 15);
      }
      return share;
    });
    expect(coldness.map((share) => share.toFixed(2))).toEqual(["0.10", "0.39", "1.00"]);
  });

  test("cut while still warming: it cools from where it was", () => {
    const [, after] = lives(oscillator, [cut(150), back(600)], { begin: "cold" }) as [Timebase, Timebase];
    const left = Math.exp(-150 / 300);
    const share = 1 - (1 - left) * Math.exp(-450 / 900);
    expect(after.rateAt(s(600))).toBeCloseTo(rate(share, 0), 17);
    expect(after.rateAt(s(900))).toBeCloseTo(rate(share, 300), 17);
  });

  test("a cold start in the cold: heat and warm-up add up", () => {
    const cold = only(lives({ ...oscillator, tempcoPpmPerCelsius: 0.1, startCelsius: -5 }, [], { begin: "cold" }));
    expect(cold.rateAt(s(0))).toBeCloseTo(4e-6 + 2e-6 - 3e-6, 18);
    expect(cold.rateAt(s(300))).toBeCloseTo(4e-6 + 2e-6 / Math.E - 3e-6, 17);
  });
});

test("ageing over five days: 10 ppb a day is 50 ppb and 10.8 ms of phase", () => {
  const days = 86_400;
  const old = only(lives({ ageingPpbPerDay: 10 }, [], { seconds: 5 * days }));
  expect(old.rateAt(s(5 * days))).toBeCloseTo(50e-9, 18);
  // ½ · 10e-9/day · (5 days)², with a day of 86,400 s.
  expect(old.phaseSecondsAt(s(5 * days))).toBeCloseTo(0.0108, 12);
});

describe("an offset that nobody knows", () => {
  const many = Array.from({ length: 400 }, (_, n) =>
    device(`box-${n}`, ["internal"], { oscillator: { offsetPpm: null, tolerancePpm: 20 } }),
  );
  const offsets = (devices: typeof many, seed = "quay-1"): Map<string, number> => {
    const plan = { ...planOf({ seconds: 10, devices }), seed };
    return new Map(makeTimebases(plan).timebases.map((life) => [life.device, life.rateAt(s(0)) * 1e6]));
  };

  test("is drawn evenly within its tolerance", () => {
    const drawn = [...offsets(many).values()];
    const sorted = drawn.sort((a, b) => a - b);
    expect(sorted[0]).toBeGreaterThanOrEqual(-20);
    expect(sorted.at(-1)).toBeLessThanOrEqual(20);
    // Kolmogorov and Smirnov: 1.95/√n is passed once in a thousand seeds; this seed is fixed.
    const furthest = Math.max(...sorted.map((each, n) => Math.abs((n + 0.5) / sorted.length - (each + 20) / 40)));
    expect(furthest).toBeLessThan(1.95 / Math.sqrt(sorted.length));
  });

  test("is the same whoever else is there, and another with another seed", () => {
    const all = offsets(many);
    for (const [name, each] of offsets(many.slice(100, 120))) expect(each).toBe(all.get(name));
    const other = offsets(many, "quay-2");
    expect([...all].filter(([name, each]) => other.get(name) === each)).toEqual([]);
  });
});
