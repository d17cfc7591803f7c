import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { FillCurve } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, nsFromSeconds, ZERO } from "../../shared/time.ts";
import type { Train } from "../../sim/slips.ts";
import { countBy, fillAt, fillRateAt, reachesAt, slipInstants, turnsAt } from "../../sim/slips.ts";
import { tries } from "../helpers/laws.ts";
import { even, evenInDecades } from "../helpers/numbers.ts";

const s = nsFromSeconds;

/** Fill curves so fast that all their slips lie within ten microseconds, and every nanosecond can be looked at. */
const SHORT_NS = 10_000;
const fastCurve = fc.record({
  atNs: fc.integer({ min: 0, max: 1_000_000 }).map((ns) => ns as Ns),
  startShare: even(0, 1),
  perSecond: even(-5e7, 5e7),
  perSecond2: fc.oneof(fc.constant(0), even(-1e13, 1e13)),
});
const buffer = fc
  .record({ slipSamples: fc.integer({ min: 1, max: 3 }), spare: fc.integer({ min: 1, max: 4 }) })
  .map(({ slipSamples, spare }) => ({ slipSamples, depthSamples: 2 * slipSamples + spare }));

interface Seen {
  readonly at: number;
  readonly sign: 1 | -1;
}

/** The law, one nanosecond after the other: a drop at the depth, a repeat at 0, and nothing else known. */
function slipsNsByNs(
  curve: FillCurve,
  { slipSamples, depthSamples }: { slipSamples: number; depthSamples: number },
): Seen[] {
  const seen: Seen[] = [];
  let net = 0;
  for (let at = curve.atNs + 1; at <= curve.atNs + SHORT_NS; at++) {
    const fill = fillAt(curve, at as Ns);
    while (fill - slipSamples * net >= depthSamples) {
      net += 1;
      seen.push({ at, sign: 1 });
    }
    while (fill - slipSamples * net <= 0) {
      net -= 1;
      seen.push({ at, sign: -1 });
    }
  }
  return seen;
}

describe("slips on a curve", () => {
  test("are those of the law looked at nanosecond by nanosecond: as many, each at its instant", () => {
    const met = { drops: 0, repeats: 0, turned: 0 };
    fc.assert(
      fc.property(fastCurve, buffer, ({ startShare, ...course }, shape) => {
        const { slipSamples, depthSamples } = shape;
        const samples = slipSamples + startShare * (depthSamples - 2 * slipSamples);
        const curve: FillCurve = { ...course, samples, wander: null };
        const endNs = (curve.atNs + SHORT_NS) as Ns;
        const turning = turnsAt(curve, curve.atNs);
        const expected = slipsNsByNs(curve, shape);

        // Up to its turning, and after it, the curve goes one way: one train each.
        const found: Seen[] = [];
        let net = 0;
        let from = curve.atNs;
        for (const toNs of turning < endNs ? [turning, endNs] : [endNs]) {
          const sign = fillAt(curve, toNs) > fillAt(curve, from) ? 1 : -1;
          const ahead = { sign, slipSamples, depthSamples, netBefore: net, curve } as const;
          const level = sign === 1 ? depthSamples + slipSamples * net : slipSamples * net;
          const first = reachesAt(curve, level, sign, from, toNs);
          if (first !== NEVER) {
            const count = countBy(ahead, toNs);
            const train: Train = { kind: "slips", link: "main", way: "there", fromNs: first, toNs, count, ...ahead };
            for (const at of slipInstants(train, ZERO, NEVER)) found.push({ at, sign });
            net += sign * count;
          }
          from = toNs;
        }
        expect(found).toEqual(expected);
        for (const { sign } of expected) met[sign === 1 ? "drops" : "repeats"] += 1;
        if (turning < endNs && expected.some(({ sign }) => sign === 1) && expected.some(({ sign }) => sign === -1))
          met.turned += 1;
      }),
      tries(150),
    );
    expect(met.drops).toBeGreaterThan(50);
    expect(met.repeats).toBeGreaterThan(50);
    expect(met.turned).toBeGreaterThan(3);
  });

  test("each falls at the first whole nanosecond at which the law holds, also days into a show", () => {
    let late = 0;
    fc.assert(
      fc.property(
        evenInDecades(1e-9, 1e-4),
        evenInDecades(1, 5e6),
        fc.constantFrom<1 | -1>(1, -1),
        even(0, 1),
        (offset, seconds, sign, share) => {
          const curve: FillCurve = {
            atNs: s(3),
            samples: 1,
            perSecond: sign * 48_000 * offset,
            perSecond2: 0,
            wander: null,
          };
          const toNs = (curve.atNs + s(seconds)) as Ns;
          const shape = { sign, slipSamples: 1, depthSamples: 2, netBefore: 0, curve };
          const first = reachesAt(curve, sign === 1 ? 2 : 0, sign, curve.atNs, toNs);
          if (first === NEVER) {
            expect(countBy(shape, toNs)).toBe(0);
            return;
          }
          const train: Train = {
            kind: "slips",
            link: "main",
            way: "there",
            fromNs: first,
            toNs,
            count: countBy(shape, toNs),
            ...shape,
          };
          const from = (curve.atNs + share * (toNs - curve.atNs)) as Ns;
          for (const at of slipInstants(train, Math.floor(from) as Ns, toNs, 5)) {
            expect(countBy(train, at) - countBy(train, (at - 1) as Ns)).toBe(1);
            if (at > s(86_400)) late += 1;
          }
          // By hand: fill moves by fs·Δ·t, a slip a sample; one more or less only where rounding decides.
          expect(Math.abs(train.count - 48_000 * offset * seconds)).toBeLessThanOrEqual(1);
        },
      ),
      tries(500),
    );
    expect(late).toBeGreaterThan(50);
  });

  test("those of any window are those of the whole that lie in it", () => {
    const curve: FillCurve = { atNs: s(10), samples: 1, perSecond: 0.48, perSecond2: 0.001, wander: null };
    const shape = { sign: 1, slipSamples: 1, depthSamples: 2, netBefore: 0, curve } as const;
    const toNs = s(100);
    const train: Train = {
      kind: "slips",
      link: "main",
      way: "there",
      fromNs: reachesAt(curve, 2, 1, curve.atNs, toNs),
      toNs,
      count: countBy(shape, toNs),
      ...shape,
    };
    const all = slipInstants(train, ZERO, NEVER);
    // 0.48·90 + ½·0.001·90² = 47.25
    expect(all).toHaveLength(47);
    const at = fc.oneof(
      fc.integer({ min: 0, max: 110e9 }),
      fc.constantFrom(...all),
      fc.constantFrom(...all).map((each) => each + 1),
    );
    fc.assert(
      fc.property(at, at, fc.integer({ min: 1, max: 60 }), (a, b, limit) => {
        const [from, to] = [Math.min(a, b) as Ns, Math.max(a, b) as Ns];
        const inside = all.filter((each) => each >= from && each <= to);
        expect(slipInstants(train, from, to)).toEqual(inside);
        expect(slipInstants(train, from, to, limit)).toEqual(inside.slice(0, limit));
      }),
      tries(100),
    );
  });

  test("at a level and a hair short of it the law decides, whatever a division says", () => {
    let misled = 0;
    for (const slipSamples of [1, 3, 6, 7, 48])
      for (let slip = 1; slip <= 300; slip++)
        for (const sign of [1, -1] as const) {
          const depthSamples = 2 * slipSamples + 1;
          const level = sign === 1 ? depthSamples + slipSamples * (slip - 1) : -slipSamples * (slip - 1);
          const short = level - sign * 2 ** -52 * Math.max(1, Math.abs(level) / 2);
          const count = (samples: number) =>
            countBy(
              {
                sign,
                slipSamples,
                depthSamples,
                netBefore: 0,
                curve: { atNs: ZERO, samples, perSecond: 0, perSecond2: 0, wander: null },
              },
              s(1),
            );
          expect(count(level)).toBe(slip);
          if (level === 0 || short === level) continue;
          expect(count(short)).toBe(slip - 1);
          const divided = Math.floor(((short - (sign === 1 ? depthSamples : 0)) * sign) / slipSamples + 1);
          if (divided !== slip - 1) misled += 1;
        }
    expect(misled).toBeGreaterThan(10);
  });

  test("a train goes on counting from the drops and repeats before it", () => {
    const curve: FillCurve = { atNs: ZERO, samples: 1, perSecond: 1, perSecond2: 0, wander: null };
    const before = { sign: 1, slipSamples: 1, depthSamples: 2, netBefore: -3, curve } as const;
    // Three repeats were made good: the fill without slips is 3 lower than it seems, so drops come at 2 − 3, 3 − 3, ...
    expect(countBy(before, s(0))).toBe(3);
    expect(countBy(before, s(4))).toBe(7);
  });
});

describe("reaching a level", () => {
  const curve = fc.record({
    atNs: fc.integer({ min: 0, max: 4e15 }).map((ns) => ns as Ns),
    samples: even(-3, 3),
    perSecond: fc.tuple(fc.constantFrom(-1, 1), evenInDecades(1e-6, 1e3)).map(([sign, size]) => sign * size),
    perSecond2: fc.oneof(
      fc.constant(0),
      fc.tuple(fc.constantFrom(-1, 1), evenInDecades(1e-9, 1e2)).map(([sign, size]) => sign * size),
    ),
    wander: fc.constant(null),
  });

  test("is the first whole nanosecond beyond it, or never", () => {
    const met = { never: 0, reached: 0, afterTurning: 0 };
    fc.assert(
      fc.property(
        curve,
        even(0, 2),
        fc.constantFrom<1 | -1>(1, -1),
        evenInDecades(1e-3, 1e6),
        fc.boolean(),
        (of, above, sign, seconds, isEndless) => {
          const level = of.samples + sign * above;
          const holds = (t: Ns) => (fillAt(of, t) - level) * sign >= 0;
          fc.pre(!holds(of.atNs));
          const until = isEndless ? NEVER : ((of.atNs + s(seconds)) as Ns);
          const at = reachesAt(of, level, sign, of.atNs, until);
          const end = at === NEVER ? (isEndless ? ((of.atNs + s(1e6)) as Ns) : until) : ((at - 1) as Ns);
          if (at === NEVER) met.never += 1;
          else {
            met.reached += 1;
            expect(at).toBeLessThanOrEqual(until);
            expect(holds(at)).toBe(true);
            if (at > turnsAt(of, of.atNs)) met.afterTurning += 1;
          }
          const early = Array.from(
            { length: 65 },
            (_, part) => Math.floor(of.atNs + (part / 64) * (end - of.atNs)) as Ns,
          );
          expect(early.filter(holds)).toEqual([]);
        },
      ),
      tries(1000),
    );
    for (const count of Object.values(met)) expect(count).toBeGreaterThan(20);
  });

  test("a graze of the turning is found, and a miss by as little is none", () => {
    let found = 0;
    fc.assert(
      fc.property(
        even(-1, 1),
        evenInDecades(1e-3, 1e2),
        evenInDecades(1e-4, 1e2),
        fc.constantFrom<1 | -1>(1, -1),
        (samples, rate, bend, sign) => {
          const of: FillCurve = { atNs: s(7), samples, perSecond: sign * rate, perSecond2: -sign * bend, wander: null };
          const turning = turnsAt(of, of.atNs);
          const top = Math.max(...[-2, -1, 0, 1, 2].map((step) => sign * fillAt(of, (turning + step) as Ns)));
          const little = 1e-15 * Math.max(1, Math.abs(top));
          const until = (turning + s(1e3)) as Ns;
          fc.pre(sign * samples < top - little);
          const at = reachesAt(of, sign * (top - little), sign, of.atNs, until);
          expect(at).not.toBe(NEVER);
          expect(sign * fillAt(of, at)).toBeGreaterThanOrEqual(top - little);
          expect(sign * fillAt(of, (at - 1) as Ns)).toBeLessThan(top - little);
          // The curve falls away on both sides of its top and comes back to none of its levels.
          expect(reachesAt(of, sign * (top + little), sign, of.atNs, until)).toBe(NEVER);
          found += 1;
        },
      ),
      tries(500),
    );
    expect(found).toBeGreaterThan(300);
  });

  test("a level that the curve has just left is not ahead of it", () => {
    // One nanosecond ago at this rate: the root of the formula lies just behind the instant it is asked from.
    const of: FillCurve = { atNs: ZERO, samples: -3, perSecond: 0.93, perSecond2: 0, wander: null };
    expect(reachesAt(of, -3 - 0.93e-9, -1, ZERO, NEVER)).toBe(NEVER);
    expect(reachesAt(of, -3 - 0.93e-9, -1, ZERO, s(1e6))).toBe(NEVER);
  });

  test("turning and slope are those of the parabola", () => {
    const of: FillCurve = { atNs: s(10), samples: 0, perSecond: 3, perSecond2: -0.5, wander: null };
    expect(turnsAt(of, s(10))).toBe(s(16));
    expect(turnsAt(of, s(16))).toBe(NEVER);
    expect(fillAt(of, s(16))).toBe(9);
    expect(fillRateAt(of, s(16))).toBe(0);
    expect(turnsAt({ ...of, perSecond2: 0, wander: null }, s(10))).toBe(NEVER);
  });
});
