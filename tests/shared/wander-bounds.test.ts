/**
 * What is said of a wander beforehand, so that nobody has to run it: how far a loop's error can go, how steep it can be,
 * what a straight line leaves out, how far two clocks can be apart. Never less than what is seen, nor many times as much.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { errorBoundAt, loopWander } from "../../shared/loop-wander.ts";
import type { Ns } from "../../shared/time.ts";
import type { LoopWander, OwnWander, Wander } from "../../shared/wander.ts";
import { loopMotionAt, slopeAt, slopesFrom, wanderAt } from "../../shared/wander.ts";
import { aheadFrom, apartBound, apartFrom } from "../../shared/wander-ahead.ts";
import { loopShape } from "../../sim/loop.ts";
import { tries } from "../helpers/laws.ts";
import { evenInDecades } from "../helpers/numbers.ts";

const KNOTS = 3000;

interface Noise {
  readonly seed: number;
  readonly gridSeconds: number;
  readonly sigma1: number;
  readonly sigma2: number;
  readonly hMinus1: number;
}

const noises: fc.Arbitrary<Noise> = fc.record({
  seed: fc.integer({ min: 0, max: 1_000_000 }),
  gridSeconds: fc.constantFrom(0.1, 1, 4),
  sigma1: fc.oneof(fc.constant(0), evenInDecades(1e-10, 1e-8)),
  sigma2: fc.oneof(fc.constant(0), evenInDecades(1e-11, 1e-9)),
  hMinus1: fc.oneof(fc.constant(0), evenInDecades(1e-21, 1e-18)),
});
const someNoise = noises.filter(({ sigma1, sigma2, hMinus1 }) => sigma1 + sigma2 + hMinus1 > 0);
/** Natural frequency in turns per knot, and damping. */
const kinds = fc.tuple(evenInDecades(0.01, 1), evenInDecades(0.25, 3));
type Kind = readonly [number, number];

const oscillator = (device: string, { seed, gridSeconds, ...sigmas }: Noise): OwnWander => ({
  kind: "own",
  seed: String(seed),
  device,
  gridNs: Math.round(gridSeconds * 1e9) as Ns,
  sigma3: 0,
  ...sigmas,
});

function through([turns, zeta]: Kind, reference: Wander, own: OwnWander | null, fromKnots = 0): LoopWander {
  const shape = loopShape((turns * 1e9) / reference.gridNs, zeta);
  return loopWander(
    shape,
    reference,
    own,
    Math.round(fromKnots * reference.gridNs) as Ns,
    null,
    "closed",
  ) as LoopWander;
}

const knotNs = (wander: Wander, knot: number): Ns => Math.round(knot * wander.gridNs) as Ns;

interface Seen {
  readonly error: number;
  readonly slope: number;
  readonly kink: number;
  readonly chord: number;
}

/** The greatest of everything over the knots of a run, and between some of them. */
function greatest(wander: LoopWander): Seen {
  let [error, slope, kink, chord] = [0, 0, 0, 0];
  let last = slopeAt(wander, knotNs(wander, 0));
  for (let knot = 1; knot < KNOTS; knot++) {
    const at = knotNs(wander, knot);
    error = Math.max(error, Math.abs(loopMotionAt(wander, at).error));
    const here = slopeAt(wander, at);
    slope = Math.max(slope, Math.abs(here));
    kink = Math.max(kink, Math.abs(here - last));
    last = here;
    if (knot % 3 !== 0) continue;
    for (const share of [0.2, 0.5, 0.75]) {
      const between = knotNs(wander, knot + share);
      const motion = loopMotionAt(wander, between).error;
      error = Math.max(error, Math.abs(motion));
      chord = Math.max(chord, Math.abs(wanderAt(wander.reference, between) - motion - wanderAt(wander, between)));
    }
  }
  return { error, slope, kink, chord };
}

/** Collects how many times a bound is what was seen. */
function gauge() {
  const ratios: number[] = [];
  return {
    bounds(bound: number, seen: number, rounding = 0): void {
      expect(seen).toBeLessThanOrEqual(bound + rounding);
      if (seen > 0) ratios.push(bound / seen);
    },
    get median(): number {
      return [...ratios].sort((a, b) => a - b)[Math.floor(ratios.length / 2)] as number;
    },
    get count(): number {
      return ratios.length;
    },
  };
}

describe("bounds of a loop", () => {
  test("on error, slope and straight lines hold for any noise, any loop, any grid", () => {
    const [error, slope, kink, chord] = [gauge(), gauge(), gauge(), gauge()];
    fc.assert(
      fc.property(someNoise, fc.option(someNoise), kinds, (theirs, ours, kind) => {
        const own = ours === null ? null : oscillator("stage", { ...ours, gridSeconds: theirs.gridSeconds });
        const wander = through(kind, oscillator("house", theirs), own);
        const seen = greatest(wander);
        error.bounds(wander.errorBound, seen.error);
        chord.bounds(wander.chordBound, seen.chord);
        kink.bounds(2 * wander.limits.slope + wander.limits.kink, seen.kink);
        if (wander.limits.kink === 0) slope.bounds(wander.limits.slope, seen.slope);
      }),
      tries(60),
    );
    expect(error.count).toBe(60);
    expect(slope.count).toBeGreaterThan(3);
    // A worst case lies far beyond what chance does in an hour, but not absurdly far: twice what it is now would be too much.
    expect(error.median).toBeLessThan(25);
    expect(slope.median).toBeLessThan(16);
    expect(kink.median).toBeLessThan(30);
    expect(chord.median).toBeLessThan(60);
  });

  test("hold where a loop goes on for another, whose source went on as well", () => {
    let renewed = 0;
    fc.assert(
      fc.property(someNoise, fc.array(kinds, { minLength: 2, maxLength: 3 }), (noise, chain) => {
        const house = oscillator("house", noise);
        const stage = oscillator("stage", { ...noise, sigma1: noise.sigma1 / 3 });
        let early: Wander = house;
        let late: Wander = house;
        for (const [index, kind] of chain.entries()) {
          const first: LoopWander = through(kind, early, stage);
          const shape = loopShape((kind[0] * 1e9) / house.gridNs, kind[1]);
          // Later and later down the chain, as news travels, and between knots.
          const fromNs = knotNs(house, 500.3 + 1e-3 * index);
          const next = loopWander(shape, late, stage, fromNs, first, "closed") as LoopWander;
          for (let knot = 501; knot < KNOTS; knot++) {
            const at = knotNs(next, knot);
            expect(Math.abs(loopMotionAt(next, at).error)).toBeLessThanOrEqual(errorBoundAt(next, at));
          }
          renewed += 1;
          early = first;
          late = next;
        }
      }),
      tries(15),
    );
    expect(renewed).toBeGreaterThan(25);
  });

  test("hold for a loop that closes after a time at its stop, whatever it had gathered there", () => {
    const left = gauge();
    fc.assert(
      fc.property(
        someNoise,
        kinds,
        fc.integer({ min: 1, max: 40 }),
        fc.constantFrom("clipped", "pinned"),
        (noise, kind, knots, control) => {
          const [house, stage] = [oscillator("house", noise), oscillator("stage", noise)];
          const shape = loopShape((kind[0] * 1e9) / house.gridNs, kind[1]);
          const at = (knot: number) => knotNs(house, knot);
          const open = loopWander(shape, house, stage, at(300), through(kind, house, stage), control) as LoopWander;
          expect(open.errorBound).toBe(Infinity);
          const closed = loopWander(shape, house, stage, at(300 + knots), open, "closed") as LoopWander;
          let [error, slope] = [0, 0];
          for (let knot = 300 + knots; knot < 1500; knot++) {
            const size = Math.abs(loopMotionAt(closed, at(knot)).error);
            if (at(knot) >= closed.left.untilNs) expect(size).toBeLessThanOrEqual(closed.errorBound);
            error = Math.max(error, size);
            slope = Math.max(slope, Math.abs(slopeAt(closed, at(knot))));
          }
          left.bounds(errorBoundAt(closed, closed.fromNs), error);
          const ofLeft = (2 * closed.left.seconds) / (house.gridNs / 1e9);
          if (closed.limits.kink === 0) expect(slope).toBeLessThanOrEqual(closed.limits.slope + ofLeft);
        },
      ),
      tries(30),
    );
    expect(left.count).toBe(30);
    expect(left.median).toBeLessThan(12);
  });
});

describe("two clocks of one oscillator", () => {
  test("are never further apart than is said of all time, nor than is said of a stretch while it lasts", () => {
    const [ever, stretch] = [gauge(), gauge()];
    fc.assert(
      fc.property(someNoise, fc.array(kinds, { minLength: 1, maxLength: 3 }), kinds, (noise, chain, aside) => {
        const house = oscillator("house", noise);
        const stage = oscillator("stage", { ...noise, hMinus1: 0 });
        const clocks: Wander[] = [house];
        for (const kind of chain) clocks.push(through(kind, clocks.at(-1) as Wander, stage, 7.5));
        clocks.push(through(aside, house, null, 7.5));
        for (const one of clocks) {
          for (const other of clocks) {
            if (one === other) {
              expect(apartBound(one, other, knotNs(house, 8))).toBe(0);
              continue;
            }
            const bound = apartBound(one, other, knotNs(house, 8));
            expect(bound).toBeLessThan(Infinity);
            // Of the phases whose difference is taken.
            const rounding = 2 ** -50 * Math.abs(wanderAt(house, knotNs(house, 1200))) + 1e-24;
            let [apart, closer, within, until] = [0, 0, 0, 0];
            for (let knot = 8; knot < 1200; knot++) {
              const at = knotNs(house, knot);
              if (at >= until) {
                if (until > 0) stretch.bounds(within, closer, rounding);
                const told = apartFrom(one, other, at);
                [within, until, closer] = [told.seconds, told.toNs, 0];
                expect(told.toNs).toBeGreaterThan(at);
              }
              const seen = Math.abs(wanderAt(one, at) - wanderAt(other, at));
              apart = Math.max(apart, seen);
              closer = Math.max(closer, seen);
            }
            ever.bounds(bound, apart);
            expect(closer).toBeLessThanOrEqual(within + rounding);
          }
        }
      }),
      tries(12),
    );
    expect(ever.count).toBeGreaterThan(60);
    expect(ever.median).toBeLessThan(45);
    expect(stretch.count).toBeGreaterThan(60);
    expect(stretch.median).toBeLessThan(2);
  });

  test("of two oscillators nothing is bounded for all time", () => {
    const noise: Noise = { seed: 1, gridSeconds: 1, sigma1: 1e-9, sigma2: 0, hMinus1: 0 };
    const [house, stage] = [oscillator("house", noise), oscillator("stage", noise)];
    const later = knotNs(house, 8);
    expect(apartBound(house, stage, later)).toBe(Infinity);
    expect(apartBound(through([0.1, 1], house, null), through([0.1, 1], stage, null), later)).toBe(Infinity);
    expect(apartBound(house, null, later)).toBe(Infinity);
  });
});

describe("how far one wander is ahead of another", () => {
  test("stays in the band that is told, over a block and over a part of it, whatever the loops and their controls", () => {
    const widths = { block: gauge(), part: gauge() };
    const met = { oneOscillator: 0, twoOscillators: 0, open: 0 };
    const controls = fc.constantFrom("closed", "clipped", "pinned");
    fc.assert(
      fc.property(someNoise, fc.array(kinds, { maxLength: 3 }), kinds, controls, (noise, chain, kind, control) => {
        const [house, stage] = [oscillator("house", noise), oscillator("stage", noise)];
        let one: Wander = house;
        for (const each of chain) one = through(each, one, stage, 7.5);
        const shape = loopShape((kind[0] * 1e9) / house.gridNs, kind[1]);
        const closed = through(kind, house, stage, 7.5);
        const last =
          control === "closed" ? closed : loopWander(shape, house, stage, knotNs(house, 90.4), closed, control);
        for (const other of [last, stage, null]) {
          const isOne = apartBound(one, other, knotNs(house, 91)) < Infinity;
          met[isOne ? "oneOscillator" : "twoOscillators"] += 1;
          if (other === last && control !== "closed") met.open += 1;
          for (const over of ["block", "part"] as const) {
            for (let knot = 91; knot < KNOTS; ) {
              const fromNs = knotNs(house, knot + 0.37);
              const told = aheadFrom(one, other, fromNs, over);
              expect(told.toNs).toBeGreaterThan(fromNs);
              const end = Math.min(KNOTS, Math.round(told.toNs / house.gridNs));
              let furthest = 0;
              for (let at = fromNs; at < end * house.gridNs; at = Math.round(at + 0.7 * house.gridNs) as Ns) {
                const ahead = wanderAt(one, at) - wanderAt(other, at);
                const off = ahead - told.phase - (told.slope * (at - fromNs)) / 1e9;
                const rounding = 2 ** -46 * (Math.abs(wanderAt(one, at)) + Math.abs(wanderAt(other, at))) + 1e-24;
                expect(off).toBeLessThanOrEqual(told.above + rounding);
                expect(off).toBeGreaterThanOrEqual(told.below - rounding);
                furthest = Math.max(furthest, Math.abs(off));
              }
              widths[over].bounds(Math.max(told.above, -told.below), furthest, 1);
              knot = end;
            }
          }
        }
      }),
      tries(20),
    );
    for (const count of Object.values(met)) expect(count).toBeGreaterThan(5);
    expect(widths.block.median).toBeLessThan(20);
    expect(widths.part.median).toBeLessThan(60);
  });
});

describe("the slopes of a wander over a stretch", () => {
  test("stay where they are said to, through any chain", () => {
    const spread = gauge();
    fc.assert(
      fc.property(someNoise, fc.array(kinds, { minLength: 0, maxLength: 4 }), (noise, chain) => {
        const house = oscillator("house", noise);
        const stage = oscillator("stage", noise);
        let wander: Wander = house;
        for (const kind of chain) wander = through(kind, wander, stage);
        for (let knot = 0; knot < KNOTS; ) {
          const at = knotNs(wander, knot);
          const told = slopesFrom(wander, at);
          let furthest = 0;
          const end = Math.min(KNOTS, Math.round(told.toNs / wander.gridNs));
          expect(end).toBeGreaterThan(knot);
          for (; knot < end; knot++)
            furthest = Math.max(furthest, Math.abs(slopeAt(wander, knotNs(wander, knot)) - told.middle));
          // The last digits of a phase are what a slope of it has.
          spread.bounds(told.spread * (1 + 1e-9), furthest);
        }
      }),
      tries(30),
    );
    expect(spread.count).toBeGreaterThan(80);
    expect(spread.median).toBeLessThan(10);
  });
});
