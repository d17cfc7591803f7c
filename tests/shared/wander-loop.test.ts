/**
 * Wander through a loop, against the loop stepped by Runge and Kutta: through every damping, where one loop goes on for
 * another, and with its control at a stop.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { loopWander } from "../../shared/loop-wander.ts";
import type { Ns } from "../../shared/time.ts";
import type { LoopWander, OwnWander, Wander } from "../../shared/wander.ts";
import { firstKnotBeyond, learntAt, loopMotionAt, slopeAt, wanderAt } from "../../shared/wander.ts";
import { loopShape } from "../../sim/loop.ts";
import { tries } from "../helpers/laws.ts";
import { evenInDecades } from "../helpers/numbers.ts";

const oscillator = (device: string, gridSeconds = 1, more: Partial<OwnWander> = {}): OwnWander => ({
  kind: "own",
  seed: "quay-1",
  device,
  gridNs: Math.round(gridSeconds * 1e9) as Ns,
  sigma1: 1e-9,
  sigma2: 3e-10,
  sigma3: 0,
  hMinus1: 0,
  ...more,
});

const ns = (seconds: number): Ns => Math.round(seconds * 1e9) as Ns;

function through(
  [fn, zeta]: readonly [number, number],
  reference: Wander | null,
  own: OwnWander | null,
  { fromNs = ns(0), before = null as LoopWander | null, control = "closed" as LoopWander["control"] } = {},
): LoopWander {
  return loopWander(loopShape(fn, zeta), reference, own, fromNs, before, control) as LoopWander;
}

/** State of a loop as a textbook has it: phase error, seconds; integrator, fractional frequency. */
interface Textbook {
  readonly error: number;
  readonly integrator: number;
}

interface Law {
  readonly omega: number;
  readonly zeta: number;
  readonly control: LoopWander["control"];
}

/**
 * e' = need − u, i' = ω²·e or 0: by Runge and Kutta, under a steady need. u is 2ζω·e + i in a closed loop; at a stop it
 * stands still, and wander has no part in it.
 */
function stepped(state: Textbook, need: number, seconds: number, { omega, zeta, control }: Law): Textbook {
  const steps = Math.max(1, Math.ceil(seconds * omega * (1 + zeta) * 60));
  const h = seconds / steps;
  const slope = (e: number, i: number): readonly [number, number] => [
    need - (control === "closed" ? 2 * zeta * omega * e + i : 0),
    control === "pinned" ? 0 : omega * omega * e,
  ];
  let { error: e, integrator: i } = state;
  for (let n = 0; n < steps; n++) {
    const a = slope(e, i);
    const b = slope(e + (h / 2) * a[0], i + (h / 2) * a[1]);
    const c = slope(e + (h / 2) * b[0], i + (h / 2) * b[1]);
    const d = slope(e + h * c[0], i + h * c[1]);
    e += (h / 6) * (a[0] + 2 * b[0] + 2 * c[0] + d[0]);
    i += (h / 6) * (a[1] + 2 * b[1] + 2 * c[1] + d[1]);
  }
  return { error: e, integrator: i };
}

/** Goes on from one instant to another, from knot to knot. */
function steppedTo(state: Textbook, wander: LoopWander, from: Ns, to: Ns, law: Law): Textbook {
  let now = from;
  let at = state;
  while (now < to) {
    const next = Math.min((Math.floor(now / wander.gridNs) + 1) * wander.gridNs, to) as Ns;
    const need = slopeAt(wander.reference, now) - slopeAt(wander.own, now);
    at = stepped(at, need, (next - now) / 1e9, law);
    now = next;
  }
  return at;
}

/**
 * By how much two values of one course may differ, in seconds, that come from different runs of its loop. A run begins at
 * rest 28 time constants before the first knot that is kept of it, so it lacks what the course had there, e and e', as
 * far as that is left: z'' + 2ζω·z' + ω²·z = 0 is no more than (|e|·(1 + ζω·T) + |e'|·T)·e^(−T/τ) after T = 28·τ, since
 * |sin x| ≤ x and sinh x ≤ x·e^x. Of two runs each may lack that. The e and e' taken are the greatest of the knots to `last`.
 */
function runsDiffer(wander: LoopWander, last: number): number {
  const { omega, zeta, split } = wander.loop;
  const tau = 1 / (zeta > 1 ? zeta * omega - split : zeta * omega);
  let [error, rate] = [0, 0];
  for (let knot = Math.ceil(wander.fromNs / wander.gridNs); knot <= last; knot++) {
    const motion = loopMotionAt(wander, (knot * wander.gridNs) as Ns);
    error = Math.max(error, Math.abs(motion.error));
    rate = Math.max(rate, Math.abs(motion.rate));
  }
  return 2 * Math.exp(-28) * (error * (1 + 28 * zeta * omega * tau) + rate * 28 * tau);
}

/** Two roundings of each of two phases: of a sum of two, or of a difference from another phase and back. */
const roundingOf = (...phases: number[]) => 2 * Number.EPSILON * Math.max(...phases.map(Math.abs));

const KINDS = [0.05, 0.2, 1].flatMap((fn) => [0.5, 1, 2].map((zeta) => [fn, zeta] as const));

describe("a loop on what wanders, its own oscillator wandering too", () => {
  test.each(KINDS)("of %d Hz, ζ = %d is the textbook's loop by Runge and Kutta", (fn, zeta) => {
    for (const [gridSeconds, fromSeconds] of [
      [1, 0],
      [1, 37.4],
      [0.25, 0.1],
    ] as const) {
      const reference = oscillator("house", gridSeconds);
      const own = oscillator("stage", gridSeconds, { hMinus1: 1e-19 });
      const wander = through([fn, zeta], reference, own, { fromNs: ns(fromSeconds) });
      const law: Law = { omega: 2 * Math.PI * fn, zeta, control: "closed" };
      let now = ns(fromSeconds);
      // It begins at rest: no error, and none coming.
      let state: Textbook = { error: 0, integrator: slopeAt(reference, now) - slopeAt(own, now) };
      let [largest, worst, worstLearnt] = [0, 0, 0];
      for (let n = 1; n <= 600; n++) {
        // Knots and instants between them, by turns.
        const next =
          n % 3 === 0
            ? ns(fromSeconds + 0.37 * n * gridSeconds)
            : ns(Math.ceil(now / 1e9 / gridSeconds + 1e-9) * gridSeconds);
        if (next <= now) continue;
        state = steppedTo(state, wander, now, next, law);
        now = next;
        const motion = loopMotionAt(wander, now);
        largest = Math.max(largest, Math.abs(state.error));
        worst = Math.max(worst, Math.abs(motion.error - state.error));
        worstLearnt = Math.max(worstLearnt, Math.abs(learntAt(wander, now) - state.integrator) / law.omega);
        expect(motion.gap).toBeCloseTo(2 * zeta * law.omega * motion.error, 20);
        if (now % wander.gridNs === 0)
          worst = Math.max(worst, Math.abs(wanderAt(reference, now) - wanderAt(wander, now) - state.error));
      }
      expect(largest).toBeGreaterThan(1e-11);
      expect(worst).toBeLessThan(1e-7 * largest);
      expect(worstLearnt).toBeLessThan(1e-7 * largest);
    }
  });

  test("with a steady source it takes its own wander out, with a steady oscillator it passes what arrives", () => {
    const noisy = oscillator("house");
    const law: Law = { omega: 0.4 * Math.PI, zeta: 1, control: "closed" };
    for (const [reference, own] of [
      [noisy, null],
      [null, noisy],
    ] as const) {
      const wander = through([0.2, 1], reference, own);
      const start = { error: 0, integrator: slopeAt(reference, ns(0)) - slopeAt(own, ns(0)) };
      const { error } = steppedTo(start, wander, ns(0), ns(900), law);
      expect(Math.abs(loopMotionAt(wander, ns(900)).error - error)).toBeLessThan(1e-7 * Math.abs(error));
      expect(wanderAt(wander, ns(900))).toBeCloseTo(wanderAt(reference, ns(900)) - error, 16);
    }
    expect(loopWander(loopShape(1, 1), null, null, ns(0), null, "closed")).toBeNull();
  });

  test("through three loops in a row, each on what the one before puts out", () => {
    const house = oscillator("house");
    const kinds = [
      [0.2, 0.7],
      [0.05, 1],
      [0.4, 1.5],
    ] as const;
    let reference: Wander = house;
    for (const [fn, zeta] of kinds) {
      const wander = through([fn, zeta], reference, null);
      let state: Textbook = { error: 0, integrator: slopeAt(reference, ns(0)) };
      const law: Law = { omega: 2 * Math.PI * fn, zeta, control: "closed" };
      let largest = 0;
      for (let knot = 0; knot < 700; knot++) {
        state = steppedTo(state, wander, ns(knot), ns(knot + 1), law);
        largest = Math.max(largest, Math.abs(state.error));
        expect(Math.abs(loopMotionAt(wander, ns(knot + 1)).error - state.error)).toBeLessThan(1e-7 * largest + 1e-22);
      }
      reference = wander;
    }
  });

  test("between two knots what leaves is the straight line between the phases there", () => {
    const wander = through([0.2, 1], oscillator("house"), oscillator("stage"), { fromNs: ns(4.3) });
    // 1,024 is the first knot of another run, whatever the loop; none of the others is.
    for (const [from, to, slack] of [
      [4.3, 5, 0],
      [5, 6, 0],
      [260, 261, 0],
      [1023, 1024, runsDiffer(wander, 1024)],
    ] as const) {
      const [low, high] = [wanderAt(wander, ns(from)), wanderAt(wander, ns(to))];
      for (const share of [0, 0.25, 0.7]) {
        const at = ns(from + share * (to - from));
        expect(Math.abs(wanderAt(wander, at) - (low + share * (high - low)))).toBeLessThanOrEqual(
          slack + roundingOf(low, high),
        );
        expect(slopeAt(wander, at)).toBeCloseTo((high - low) / (to - from), 18);
      }
    }
  });
});

describe("one loop goes on for another", () => {
  const [house, stage] = [oscillator("house"), oscillator("stage")];

  test.each([
    ["at a knot", 57],
    ["between knots", 57.31],
    ["at a block's first knot", 1024],
    ["where the one before has hardly begun", 12.600000001],
  ])("%s, phase and integrator to 1e-18", (_where, atSeconds) => {
    const at = ns(atSeconds);
    const relay = through([0.3, 1], house, null);
    for (const [fn, zeta] of KINDS) {
      const before = through([fn, zeta], house, stage, { fromNs: ns(12.6) });
      for (const control of ["closed", "clipped", "pinned"] as const) {
        for (const reference of [house, relay, { ...house }]) {
          const next = through([fn, zeta], reference, stage, { fromNs: at, before, control });
          expect(Math.abs(wanderAt(next, at) - wanderAt(before, at))).toBeLessThan(1e-18);
          // At a stop the course has all of the control, and the integrator as it was.
          const handedOver = control === "closed" ? learntAt(before, at) : 0;
          expect(Math.abs(learntAt(next, at) - handedOver)).toBeLessThan(1e-18);
          // And a nanosecond on it is no further than it can have gone.
          const later = (at + 1) as Ns;
          expect(Math.abs(wanderAt(next, later) - wanderAt(before, later))).toBeLessThan(1e-16);
        }
      }
    }
  });

  test("with the same source it stays on the course that it had, to what the straight line had left out", () => {
    for (const [fn, zeta] of KINDS) {
      const before = through([fn, zeta], house, stage);
      for (const atSeconds of [300, 300.5]) {
        const next = through([fn, zeta], house, stage, { fromNs: ns(atSeconds), before });
        const leftOut = atSeconds === 300 ? 0 : 3 * before.chordBound;
        const slack = runsDiffer(before, 399);
        for (let knot = 301; knot < 400; knot++) {
          const [one, other] = [wanderAt(next, ns(knot)), wanderAt(before, ns(knot))];
          // Runs are of 32 knots or more: up to 319 it is the one that the new loop took over from.
          const runs = knot < 320 ? 0 : slack;
          expect(Math.abs(one - other)).toBeLessThanOrEqual(
            leftOut + runs + roundingOf(one, wanderAt(house, ns(knot))),
          );
        }
      }
    }
  });

  test.each(KINDS)(
    "of %d Hz, ζ = %d: closed, at a stop, closed, at its stop with the integrator, closed",
    (fn, zeta) => {
      const omega = 2 * Math.PI * fn;
      const turns = [
        { atSeconds: 0, control: "closed" },
        { atSeconds: 40, control: "clipped" },
        { atSeconds: 46, control: "closed" },
        { atSeconds: 300, control: "pinned" },
        { atSeconds: 305, control: "clipped" },
        { atSeconds: 309, control: "closed" },
      ] as const;
      let wander: LoopWander | null = null;
      let state: Textbook = { error: 0, integrator: slopeAt(house, ns(0)) - slopeAt(stage, ns(0)) };
      let law: Law = { omega, zeta, control: "closed" };
      let largest = 0;
      for (const [n, { atSeconds, control }] of turns.entries()) {
        const untilSeconds = turns[n + 1]?.atSeconds ?? 420;
        wander = through([fn, zeta], house, stage, { fromNs: ns(atSeconds), before: wander, control });
        // A control that comes to its stop has the integrator there, wander's part of it too: from here on what is learnt.
        if (law.control === "closed" && control !== "closed") state = { ...state, integrator: 0 };
        law = { omega, zeta, control };
        for (let knot = atSeconds; knot < untilSeconds; knot++) {
          state = steppedTo(state, wander, ns(knot), ns(knot + 1), law);
          if (knot === untilSeconds - 1) break;
          const at = ns(knot + 1);
          largest = Math.max(largest, Math.abs(state.error));
          expect(Math.abs(loopMotionAt(wander, at).error - state.error)).toBeLessThanOrEqual(1e-7 * largest + 1e-24);
          expect(Math.abs(learntAt(wander, at) - state.integrator)).toBeLessThanOrEqual(1e-7 * largest * omega + 1e-24);
          expect(Math.abs(wanderAt(house, at) - wanderAt(wander, at) - state.error)).toBeLessThanOrEqual(
            1e-7 * largest + 1e-24,
          );
        }
      }
      expect(largest).toBeGreaterThan(1e-10);
    },
  );
});

/** The same wander with nothing remembered of what was asked. */
function unasked<W extends Wander | null>(wander: W): W {
  return structuredClone(wander);
}

describe("a value is the same whoever asks, in whatever order", () => {
  test("of chains, begun anywhere, gone on with, looked at from the back, at random or by the way", () => {
    const seen = { chunks: 0, between: 0, before: 0 };
    const law = fc.property(
      fc.array(fc.tuple(evenInDecades(0.1, 3), evenInDecades(0.3, 2)), { minLength: 1, maxLength: 3 }),
      fc.integer({ min: 0, max: 2_000_000 }),
      fc.array(fc.integer({ min: 0, max: 1_999_999 }), { minLength: 6, maxLength: 6 }),
      fc.constantFrom(0.1, 1),
      (kinds, fromMs, askedMs, gridSeconds) => {
        const house = oscillator("house", gridSeconds, { hMinus1: 1e-19 });
        const stage = oscillator("stage", gridSeconds);
        let early: Wander = house;
        let wander: Wander = house;
        for (const kind of kinds) {
          const first: LoopWander = through(kind, early, stage, { fromNs: ns(fromMs / 1000) });
          wander = through(kind, wander, stage, { fromNs: ns(fromMs / 1000 + 17.5), before: first });
          early = first;
        }
        const fromNs = ns(fromMs / 1000 + 17.5);
        const instants = askedMs.map((ms) => (fromNs + ns(ms / 1000)) as Ns);
        const read = (of: Wander, at: Ns) => [
          wanderAt(of, at),
          slopeAt(of, at),
          loopMotionAt(of as LoopWander, at).error,
        ];
        const inOrder = unasked(wander);
        const expected = new Map([...instants].sort((a, b) => a - b).map((at) => [at, read(inOrder, at)]));
        const anyOrder = unasked(wander);
        for (const at of instants) expect(read(anyOrder, at)).toEqual(expected.get(at));
        for (const at of instants) {
          // Alone, and with its source asked for elsewhere meanwhile.
          const alone = unasked(wander) as LoopWander;
          wanderAt(alone.reference, ns(9999));
          expect(read(alone, at)).toEqual(expected.get(at));
        }
        seen.chunks += new Set(instants.map((at) => Math.floor(at / (256 * house.gridNs)))).size;
        seen.between += instants.filter((at) => at % house.gridNs !== 0).length;
        if (fromNs % house.gridNs !== 0) seen.before += 1;
      },
    );
    fc.assert(law, tries(25));
    expect(seen.chunks).toBeGreaterThan(100);
    expect(seen.between).toBeGreaterThan(100);
    expect(seen.before).toBeGreaterThan(5);
  });

  test("the first knot beyond a level is the first of all knots that is", () => {
    const wander = through([0.1, 0.7], oscillator("house"), oscillator("stage"), { fromNs: ns(3.5) });
    const errors = Array.from({ length: 3000 }, (_, knot) => (knot < 4 ? 0 : loopMotionAt(wander, ns(knot)).error));
    const largest = Math.max(...errors.map(Math.abs));
    let found = 0;
    for (const share of [0.1, 0.5, 0.8, 0.95, 1.1]) {
      for (const [first, last] of [
        [4, 2999],
        [200, 300],
        [700, 2300],
      ] as const) {
        const index = errors.findIndex(
          (error, knot) => knot >= first && knot <= last && Math.abs(error) > share * largest,
        );
        expect(firstKnotBeyond(unasked(wander), share * largest, first, last)).toBe(index < 0 ? null : index);
        if (index >= 0) found += 1;
      }
    }
    expect(found).toBeGreaterThan(8);
    expect(found).toBeLessThan(15);
  });
});
