/**
 * The closed form of the loop against things that know no closed form: a Runge-Kutta integration of its two equations,
 * the exponential of its matrix by series, sums over fine steps. Published figures are in `tests/published`.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { motionAt } from "../../shared/motion.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, nsFromSeconds, secondsBetween } from "../../shared/time.ts";
import type { LoopCourse, LoopShape } from "../../sim/loop.ts";
import {
  atRest,
  carriedTo,
  controlAt,
  errorCrosses,
  fitError,
  loopShape,
  modeChangesAt,
  phaseStepOvershoot,
  pointAt,
  quadraticRoots,
  restingError,
  startCourse,
  transientBounds,
} from "../../sim/loop.ts";
import { tries } from "../helpers/laws.ts";
import { even, evenInDecades } from "../helpers/numbers.ts";

const s = nsFromSeconds;
const sign = fc.constantFrom<1 | -1>(1, -1);
/** Ringing, split, and everything around the seam between the two: ζ = 1, and as near to it as doubles go. */
const damping = fc.oneof(
  { weight: 4, arbitrary: even(0.15, 1) },
  { weight: 4, arbitrary: even(1, 4) },
  { weight: 3, arbitrary: fc.tuple(sign, evenInDecades(1e-16, 1e-2)).map(([side, off]) => 1 + side * off) },
  { weight: 1, arbitrary: fc.constant(1) },
);
const shape = fc.tuple(evenInDecades(0.05, 50), damping).map(([hz, zeta]) => loopShape(hz, zeta));

/** Greatest control, of the order that real devices have: 60 ppm. */
const STOP = 60e-6;
/** Starts that lead through every mode: errors of up to ±1.5·R/ω, drifts that matter within some time constants. */
const start = fc
  .record({
    shape,
    atNs: fc.integer({ min: 0, max: 1e15 }).map((ns) => ns as Ns),
    error: even(-1.5, 1.5),
    integrator: fc.oneof({ weight: 3, arbitrary: even(-1, 1) }, { weight: 1, arbitrary: fc.constantFrom(-1, 1) }),
    need: even(-1.4, 1.4),
    drift: fc.oneof(fc.constant(0), even(-0.2, 0.2)),
  })
  .map(({ shape, atNs, error, integrator, need, drift }) => ({
    shape,
    course: startCourse(shape, atNs, {
      error: (error * STOP) / shape.omega,
      integrator: integrator * STOP,
      need: need * STOP,
      needPerSecond: drift * STOP * shape.omega,
      stop: STOP,
    }),
  }));
const linearStart = start.filter(({ course }) => course.mode === "linear");

const after = (course: LoopCourse, seconds: number): Ns => (course.atNs + s(seconds)) as Ns;
/** What an error of the loop is measured in: R/ω. */
const scaleOf = ({ omega }: LoopShape) => STOP / omega;

/** Some sixty instants inside a stretch. */
function instantsBetween(from: Ns, to: Ns): Ns[] {
  const instants = Array.from({ length: 64 }, (_, part) => Math.floor(from + (part / 64) * (to - from)) as Ns);
  return instants.filter((at) => at > from && at < to);
}

// ------------------------------------------------------------------------------------------------ the slow witness

interface Motion {
  readonly error: number;
  readonly integrator: number;
}

/** One classical Runge-Kutta step of the loop's two equations, clips and all; the integrator is taken back to its stops after it. */
function stepBy(h: number, at: number, { error, integrator }: Motion, loop: LoopShape, course: LoopCourse): Motion {
  const clip = (x: number) => Math.min(Math.max(x, -course.stop), course.stop);
  const slopes = (t: number, e: number, i: number): readonly [number, number] => [
    course.need + course.needPerSecond * t - clip(loop.twoZetaOmega * e + i),
    loop.omega2 * e,
  ];
  const [e1, i1] = slopes(at, error, integrator);
  const [e2, i2] = slopes(at + h / 2, error + (h / 2) * e1, integrator + (h / 2) * i1);
  const [e3, i3] = slopes(at + h / 2, error + (h / 2) * e2, integrator + (h / 2) * i2);
  const [e4, i4] = slopes(at + h, error + h * e3, integrator + h * i3);
  return {
    error: error + (h / 6) * (e1 + 2 * e2 + 2 * e3 + e4),
    integrator: clip(integrator + (h / 6) * (i1 + 2 * i2 + 2 * i3 + i4)),
  };
}

/** e^(Aτ) of z' = v, v' = −ω²z − 2ζωv, by a series of the 2^-k-th part and k squarings: no roots, no branches. */
function motionBySeries(
  { omega2, twoZetaOmega }: LoopShape,
  z0: number,
  v0: number,
  tau: number,
): { z: number; v: number } {
  type Matrix = readonly [number, number, number, number];
  const times = (a: Matrix, b: Matrix): Matrix => [
    a[0] * b[0] + a[1] * b[2],
    a[0] * b[1] + a[1] * b[3],
    a[2] * b[0] + a[3] * b[2],
    a[2] * b[1] + a[3] * b[3],
  ];
  // In units of 1/ω, so that both rows are alike.
  const omega = Math.sqrt(omega2);
  const angle = omega * tau;
  const halvings = Math.max(0, Math.ceil(Math.log2(angle * (2 + twoZetaOmega / omega))) + 4);
  const h = angle / 2 ** halvings;
  const one: Matrix = [0, h, -h, (-h * twoZetaOmega) / omega];
  let term: Matrix = [1, 0, 0, 1];
  let sum: Matrix = [1, 0, 0, 1];
  for (let n = 1; n <= 14; n++) {
    term = times(term, one).map((x) => x / n) as unknown as Matrix;
    sum = sum.map((x, i) => x + (term[i] as number)) as unknown as Matrix;
  }
  for (let n = 0; n < halvings; n++) sum = times(sum, sum);
  return { z: sum[0] * z0 + (sum[1] * v0) / omega, v: omega * (sum[2] * z0) + sum[3] * v0 };
}

/** Goes on from mode to mode, as a device does. */
function play(loop: LoopShape, first: LoopCourse, untilNs: Ns): LoopCourse[] {
  const courses = [first];
  for (let course = first; courses.length < 1000; ) {
    const at = modeChangesAt(loop, course, course.atNs, untilNs);
    if (at > untilNs) return courses;
    const here = carriedTo(loop, course, at);
    course = startCourse(loop, at, here);
    courses.push(course);
  }
  throw new Error("a thousand modes");
}

function pointOf(loop: LoopShape, courses: readonly LoopCourse[], at: Ns) {
  const course = courses.findLast(({ atNs }) => atNs <= at) as LoopCourse;
  return pointAt(loop, course, at);
}

// ---------------------------------------------------------------------------------------------------------- motion

describe("free motion", () => {
  test("is the matrix exponential, ringing, critical or split", () => {
    let nearCritical = 0;
    fc.assert(
      fc.property(shape, even(-1, 1), even(-1, 1), even(0, 12), (loop, z0, v, angle) => {
        const v0 = v * loop.omega;
        const tau = angle / loop.omega;
        const seen = motionAt(loop, z0, v0, tau);
        const slow = motionBySeries(loop, z0, v0, tau);
        // Twenty squarings cost some 1e6 roundings of 1e-16 at the most.
        expect(Math.abs(seen.z - slow.z)).toBeLessThan(2e-10);
        expect(Math.abs(seen.v - slow.v) / loop.omega).toBeLessThan(2e-10);
        if (Math.abs(loop.zeta - 1) < 1e-3) nearCritical += 1;
      }),
      tries(2000),
    );
    expect(nearCritical).toBeGreaterThan(200);
  });

  // ∂z/∂ζ at ζ = 1 is below 4 for |z0|, |v0/ω| ≤ 1: what the formulas do on the two sides must not differ by more.
  test.each([1e-15, 1e-12, 1e-9, 1e-8, 5e-7, 1e-6, 1e-4, 1e-3])(
    "passes through ζ = 1 without a step: ζ = 1 ± %d",
    (off) => {
      const critical = loopShape(1, 1);
      for (let angle = 0; angle <= 12; angle += 0.1) {
        for (const [z0, v0] of [
          [1, 0],
          [0, 1],
          [1, -1],
          [-0.3, 1],
        ] as const) {
          const at = (zeta: number) => motionAt(loopShape(1, zeta), z0, v0 * critical.omega, angle / critical.omega);
          const middle = at(1);
          for (const other of [at(1 - off), at(1 + off)]) {
            expect(Math.abs(other.z - middle.z)).toBeLessThan(4 * off + 4e-15);
            expect(Math.abs(other.v - middle.v) / critical.omega).toBeLessThan(4 * off + 4e-15);
          }
          // The mean of the two sides leaves the second derivative only: no formula leans to one side.
          expect(Math.abs((at(1 - off).z + at(1 + off).z) / 2 - middle.z)).toBeLessThan(16 * off * off + 4e-15);
        }
      }
    },
  );

  test("no step either where the series hands over to the formulas", () => {
    for (const zeta of [1 - 5e-7, 1 + 5e-7, 0.99, 1.01, 0.5, 2]) {
      const loop = loopShape(1, zeta);
      const seam = 1e-3 / loop.split;
      for (const [z0, v0] of [
        [1, 0],
        [0, loop.omega],
        [0.4, -loop.omega],
      ] as const) {
        const before = motionAt(loop, z0, v0, seam * (1 - 1e-12));
        const behind = motionAt(loop, z0, v0, seam * (1 + 1e-12));
        const moved = 2e-12 * seam * loop.omega * (3 + 2 * zeta);
        expect(Math.abs(before.z - behind.z)).toBeLessThan(1e-12 + moved);
        expect(Math.abs(before.v - behind.v) / loop.omega).toBeLessThan(1e-12 + moved);
      }
    }
  });

  test("two stretches are one", () => {
    fc.assert(
      fc.property(shape, even(-1, 1), even(-1, 1), even(0, 6), even(0, 6), (loop, z0, v, first, second) => {
        const v0 = v * loop.omega;
        const half = motionAt(loop, z0, v0, first / loop.omega);
        const whole = motionAt(loop, z0, v0, (first + second) / loop.omega);
        const twice = motionAt(loop, half.z, half.v, second / loop.omega);
        expect(Math.abs(twice.z - whole.z)).toBeLessThan(1e-12);
        expect(Math.abs(twice.v - whole.v) / loop.omega).toBeLessThan(1e-12);
      }),
      tries(1000),
    );
  });
});

describe("numbers of a shape", () => {
  test("the L1 norm is the way that the answer to a step of phase goes in all", () => {
    for (const zeta of [0.2, 0.35, 0.5, Math.SQRT1_2, 0.9, 0.999999, 1, 1.000001, 1.3, 2, 3.7]) {
      const loop = loopShape(1, zeta);
      let way = 0;
      let last = 0;
      const parts = 100_000;
      for (let n = 1; n <= parts; n++) {
        const tau = (n / parts) * (60 / Math.min(zeta, 1 / zeta) / loop.omega);
        const answer = 1 - motionAt(loop, 1, -loop.twoZetaOmega, tau).z;
        way += Math.abs(answer - last);
        last = answer;
      }
      // Turning points between the parts are cut off by the square of a part.
      expect(way).toBeCloseTo(loop.l1Norm, 4);
    }
    // 1.271 at ζ = 1 and 1.435 at ζ = √½: worked out apart from this code.
    expect(loopShape(1, 1).l1Norm).toBeCloseTo(1.271, 3);
    expect(loopShape(3, Math.SQRT1_2).l1Norm).toBeCloseTo(1.435, 3);
  });

  test("the peak of the impulse response is the greatest that a unit rate moves the error", () => {
    fc.assert(
      fc.property(shape, (loop) => {
        let top = 0;
        for (let angle = 0.001; angle < 6; angle += 0.001)
          top = Math.max(top, motionAt(loop, 0, 1, angle / loop.omega).z);
        expect(top).toBeLessThanOrEqual(loop.impulsePeakSeconds * (1 + 1e-12));
        expect(top).toBeGreaterThan(loop.impulsePeakSeconds * (1 - 1e-6));
      }),
      tries(50),
    );
  });

  test("overshoot after a step of phase is the greatest that the answer rises above it", () => {
    for (const zeta of [0.2, 0.5, Math.SQRT1_2, 0.9999999, 1, 1.0000001, 1.5, 4]) {
      const loop = loopShape(1, zeta);
      let top = 0;
      for (let angle = 0; angle < 20; angle += 1e-4)
        top = Math.max(top, -motionAt(loop, 1, -loop.twoZetaOmega, angle / loop.omega).z);
      expect(phaseStepOvershoot(zeta)).toBeCloseTo(top, 7);
    }
  });
});

// --------------------------------------------------------------------------------------------------------- courses

describe("a course", () => {
  test("through all its modes is what Runge and Kutta find", () => {
    const met = { linear: 0, clipped: 0, pinned: 0, changes: 0 };
    fc.assert(
      fc.property(start, ({ shape: loop, course }) => {
        const lengthSeconds = 12 / loop.omega;
        const courses = play(loop, course, after(course, lengthSeconds));
        for (const { mode } of courses) met[mode] += 1;
        met.changes += courses.length - 1;
        const h = 1e-3 / loop.omega;
        let motion: Motion = { error: course.error, integrator: course.integrator };
        for (let n = 1; n * h <= lengthSeconds; n++) {
          motion = stepBy(h, (n - 1) * h, motion, loop, course);
          if (n % 200 !== 0) continue;
          const point = pointOf(loop, courses, after(course, n * h));
          // A corner inside a step costs its square, 1e-6 of the scale, and ζ up to 4 makes it eight times as stiff.
          expect(Math.abs(point.error - motion.error) / scaleOf(loop)).toBeLessThan(2e-5);
          expect(Math.abs(point.integrator - motion.integrator) / STOP).toBeLessThan(2e-5);
        }
      }),
      tries(60),
    );
    for (const count of Object.values(met)) expect(count).toBeGreaterThan(20);
  });

  test("begins in the mode that its control and integrator say", () => {
    const loop = loopShape(1, 1);
    const begin = (error: number, integrator: number) =>
      startCourse(loop, s(1), { error, integrator, need: 0, needPerSecond: 0, stop: STOP });
    expect(begin(0, 0).mode).toBe("linear");
    expect(begin(0, 0.999 * STOP).mode).toBe("linear");
    expect([begin(STOP, 0).mode, begin(STOP, 0).side]).toEqual(["clipped", 1]);
    expect([begin(-STOP, 0).mode, begin(-STOP, 0).side]).toEqual(["clipped", -1]);
    expect([begin(1e-9, STOP).mode, begin(1e-9, STOP).side]).toEqual(["pinned", 1]);
    expect(begin(0, STOP).mode).toBe("pinned");
    expect([begin(-1e-9, -STOP).mode, begin(-1e-9, -STOP).side]).toEqual(["pinned", -1]);
    // An integrator from a wider device is kept within the stops; an error the other way takes the control off them.
    expect(begin(0, 3 * STOP).integrator).toBe(STOP);
    expect(begin(-1e-6, STOP).mode).toBe("linear");
  });

  test("its control is the clipped sum of both terms, and its error changes by what is still needed", () => {
    fc.assert(
      fc.property(start, even(0, 3), ({ shape: loop, course: first }, angle) => {
        const at = after(first, angle / loop.omega);
        const course = play(loop, first, at).at(-1) as LoopCourse;
        const point = pointAt(loop, course, at);
        const wanted = loop.twoZetaOmega * point.error + point.integrator;
        const control = Math.min(Math.max(wanted, -STOP), STOP);
        const tau = secondsBetween(course.atNs, at);
        expect(Math.abs(controlAt(loop, course, at) - control) / STOP).toBeLessThan(1e-9);
        expect(
          Math.abs(point.errorPerSecond - (course.need + course.needPerSecond * tau - control)) / STOP,
        ).toBeLessThan(1e-9);
      }),
      tries(500),
    );
  });

  test("seen from a later instant is the same course", () => {
    fc.assert(
      fc.property(start, even(0, 4), even(0, 4), ({ shape: loop, course }, first, second) => {
        const [middle, end] = [after(course, first / loop.omega), after(course, (first + second) / loop.omega)];
        const direct = pointAt(loop, course, end);
        const carried = pointAt(loop, carriedTo(loop, course, middle), end);
        // A clipped integrator grows with the cube of the angle, up to some 500 stops in 8/ω.
        expect(Math.abs(direct.error - carried.error) / scaleOf(loop)).toBeLessThan(1e-11);
        expect(Math.abs(direct.integrator - carried.integrator) / STOP).toBeLessThan(1e-10);
      }),
      tries(500),
    );
  });

  test("at rest stays at drift/ω², and every linear course comes to rest there", () => {
    fc.assert(
      fc.property(linearStart, even(0, 10), ({ shape: loop, course }, angle) => {
        const rest = restingError(loop, course);
        expect(rest).toBe(course.needPerSecond / loop.omega2);
        const still = pointAt(loop, atRest(loop, course), after(course, angle / loop.omega));
        expect([still.error, still.errorPerSecond]).toEqual([rest, 0]);
        // 60 time constants of the slower root, (ζ − √(ζ² − 1))·ω or ζω.
        const slower = loop.zeta > 1 ? loop.zeta * loop.omega - loop.split : loop.zeta * loop.omega;
        const end = pointAt(loop, course, after(course, 60 / slower));
        expect(Math.abs(end.error - rest) / scaleOf(loop)).toBeLessThan(1e-12);
      }),
      tries(100),
    );
  });
});

describe("bounds of the transient", () => {
  test("are never exceeded, by the motion or by its second and third derivative", () => {
    let closest = 0;
    fc.assert(
      fc.property(linearStart, ({ shape: loop, course }) => {
        const bounds = transientBounds(loop, course);
        const rest = restingError(loop, course);
        // What is subtracted, a drift's resting error, may be larger than z: its rounding remains.
        const rounding = 1e-14 * (Math.abs(rest) + scaleOf(loop)) * (1 + loop.zeta) ** 3;
        const above = { phase: 0, second: 0, third: 0 };
        for (let angle = 0; angle < 12; angle += 0.05) {
          const { error, errorPerSecond: v } = pointAt(loop, course, after(course, angle / loop.omega));
          const z = error - rest;
          const second = -loop.twoZetaOmega * v - loop.omega2 * z;
          const third = -loop.twoZetaOmega * second - loop.omega2 * v;
          above.phase = Math.max(above.phase, Math.abs(z) - bounds.phase * (1 + 1e-12));
          above.second = Math.max(above.second, (Math.abs(second) - bounds.second * (1 + 1e-12)) / loop.omega2);
          above.third = Math.max(
            above.third,
            (Math.abs(third) - bounds.third * (1 + 1e-12)) / loop.omega2 / loop.omega,
          );
          if (bounds.phase > 0) closest = Math.max(closest, Math.abs(z) / bounds.phase);
        }
        for (const each of Object.values(above)) expect(each).toBeLessThanOrEqual(rounding);
      }),
      tries(300),
    );
    expect(closest).toBeGreaterThan(0.8);
  });

  test("are nothing at rest and at a stop", () => {
    const loop = loopShape(1, 1);
    const at = (error: number, integrator: number) =>
      startCourse(loop, s(0), { error, integrator, need: 0, needPerSecond: 0, stop: STOP });
    for (const course of [at(0, 0), at(STOP, 0), at(STOP, STOP)])
      expect(transientBounds(loop, course)).toEqual({ phase: 0, second: 0, third: 0 });
  });
});

describe("a fitted piece", () => {
  test("stays within its tolerance to its end", () => {
    let used = 0;
    let many = 0;
    fc.assert(
      fc.property(linearStart, evenInDecades(1e-7, 1e-2), ({ shape: loop, course }, share) => {
        const tolerance = share * scaleOf(loop);
        const fit = fitError(loop, course, tolerance);
        fc.pre(fit.untilNs !== NEVER && transientBounds(loop, course).third > 0);
        const length = fit.untilNs - course.atNs;
        let worst = 0;
        for (let part = 0; part <= 1; part += 1 / 64) {
          const at = Math.floor(course.atNs + part * length) as Ns;
          const tau = secondsBetween(course.atNs, at);
          const told = fit.value + tau * (fit.perSecond + 0.5 * fit.perSecond2 * tau);
          worst = Math.max(worst, Math.abs(told - pointAt(loop, course, at).error));
        }
        // 1 ns of rounding of its end, at its rate of at most 3 R, beside the tolerance.
        expect(worst).toBeLessThanOrEqual(tolerance * (1 + 1e-6) + 3e-9 * STOP + 1e-13 * scaleOf(loop));
        many += 1;
        if (worst > tolerance / 4) used += 1;
      }),
      tries(500),
    );
    // The bound is on the whole of the future, the fit on a piece: often a good part of the tolerance is used.
    expect(used).toBeGreaterThan(many / 10);
  });

  test("at a stop is the parabola itself, and at rest it never ends", () => {
    const loop = loopShape(2, 0.7);
    const clipped = startCourse(loop, s(5), {
      error: STOP,
      integrator: 0,
      need: 1e-6,
      needPerSecond: 1e-8,
      stop: STOP,
    });
    expect(fitError(loop, clipped, 1e-12)).toEqual({
      value: STOP,
      perSecond: 1e-6 - STOP,
      perSecond2: 1e-8,
      untilNs: NEVER,
    });
    const resting = atRest(
      loop,
      startCourse(loop, s(5), { error: 0, integrator: 0, need: 0, needPerSecond: 1e-9, stop: STOP }),
    );
    expect(fitError(loop, resting, 1e-12)).toEqual({
      value: 1e-9 / loop.omega2,
      perSecond: 0,
      perSecond2: 0,
      untilNs: NEVER,
    });
  });
});

// ------------------------------------------------------------------------------------------------------- crossings

describe("a crossing of a window", () => {
  /** Checks what `errorCrosses` says against looks at many instants; returns it. */
  function crosses(loop: LoopShape, course: LoopCourse, level: number, to: "outside" | "inside", untilNs: Ns): Ns {
    const holds = (t: Ns) => Math.abs(pointAt(loop, course, t).error) > level === (to === "outside");
    const at = errorCrosses(loop, course, level, to, course.atNs, untilNs);
    if (at !== NEVER) {
      expect(at).toBeGreaterThan(course.atNs);
      expect(at).toBeLessThanOrEqual(untilNs);
      expect(holds(at)).toBe(true);
      expect(holds((at - 1) as Ns)).toBe(false);
    }
    const end = at === NEVER ? (untilNs === NEVER ? after(course, 40 / loop.omega) : untilNs) : at;
    expect(instantsBetween(course.atNs, end).filter(holds)).toEqual([]);
    return at;
  }

  test("outwards: the first nanosecond beyond the level, or never, in every mode", () => {
    const met = { linear: 0, clipped: 0, pinned: 0, never: 0 };
    fc.assert(
      fc.property(
        start,
        even(0, 1.5),
        even(0, 40),
        fc.boolean(),
        ({ shape: loop, course }, above, angle, isEndless) => {
          const level = Math.abs(course.error) + above * scaleOf(loop);
          const at = crosses(loop, course, level, "outside", isEndless ? NEVER : after(course, angle / loop.omega));
          if (at === NEVER) met.never += 1;
          else met[course.mode] += 1;
        },
      ),
      tries(1000),
    );
    for (const count of Object.values(met)) expect(count).toBeGreaterThan(10);
  });

  test("outwards from the very edge: the next nanosecond, in every mode", () => {
    const loop = loopShape(1, 1);
    const begin = (error: number, integrator: number) =>
      startCourse(loop, s(4), { error, integrator, need: 1.2 * STOP, needPerSecond: 0, stop: STOP });
    const courses = [begin(1e-7, 0), begin(STOP, 0), begin(1e-7, STOP)];
    expect(courses.map(({ mode }) => mode)).toEqual(["linear", "clipped", "pinned"]);
    for (const course of courses)
      expect(errorCrosses(loop, course, course.error, "outside", course.atNs, NEVER)).toBe(course.atNs + 1);
  });

  test("inwards: the first nanosecond at or below the level, or never, in every mode", () => {
    const met = { linear: 0, clipped: 0, pinned: 0, never: 0 };
    fc.assert(
      fc.property(
        start,
        even(0.01, 0.99),
        even(0, 40),
        fc.boolean(),
        ({ shape: loop, course }, share, angle, isEndless) => {
          const level = share * Math.abs(course.error);
          fc.pre(level > 1e-6 * scaleOf(loop));
          const at = crosses(loop, course, level, "inside", isEndless ? NEVER : after(course, angle / loop.omega));
          if (at === NEVER) met.never += 1;
          else met[course.mode] += 1;
        },
      ),
      tries(1000),
    );
    for (const count of Object.values(met)) expect(count).toBeGreaterThan(10);
  });

  /** Greatest |error| on whole nanoseconds around an instant. */
  function topAround(loop: LoopShape, course: LoopCourse, seconds: number): number {
    let top = 0;
    for (let step = -60; step <= 60; step++) {
      const at = (after(course, seconds) + step) as Ns;
      if (at >= course.atNs) top = Math.max(top, Math.abs(pointAt(loop, course, at).error));
    }
    return top;
  }

  /** Instants (in seconds) at which a sampled course turns, refined by thirds. */
  function turnings(loop: LoopShape, course: LoopCourse, lengthSeconds: number): number[] {
    const found: number[] = [];
    const height = (t: number) => Math.abs(pointAt(loop, course, after(course, t)).error);
    const parts = 200;
    for (let n = 1; n < parts; n++) {
      let [low, high] = [((n - 1) / parts) * lengthSeconds, ((n + 1) / parts) * lengthSeconds];
      if (!(height((n / parts) * lengthSeconds) > height(low) && height((n / parts) * lengthSeconds) > height(high)))
        continue;
      while (high - low > 1e-9) {
        const third = (high - low) / 3;
        if (height(low + third) < height(high - third)) low += third;
        else high -= third;
      }
      found.push((low + high) / 2);
    }
    return found;
  }

  test("a graze of an extremum is found, and a miss by as little is none", () => {
    const met = { linear: 0, clipped: 0, second: 0 };
    fc.assert(
      fc.property(start, evenInDecades(4e-15, 1e-9), ({ shape: loop, course }, little) => {
        fc.pre(course.mode !== "pinned");
        // Near ζ = 1 the difference of two like exponentials is rough by 2e-13 of itself.
        const share = course.mode === "linear" && Math.abs(loop.zeta - 1) < 0.1 ? Math.max(little, 1e-12) : little;
        const tops = turnings(loop, course, 10 / loop.omega).map((t) => ({ t, top: topAround(loop, course, t) }));
        // The highest so far: a course that was higher before has crossed long ago.
        let highest = Math.abs(course.error) * (1 + 1e-6);
        for (const [index, { t, top }] of tops.entries()) {
          if (top <= highest) continue;
          highest = top * (1 + 1e-6);
          const until = after(course, t + 0.05 / loop.omega);
          const at = errorCrosses(loop, course, top * (1 - share), "outside", course.atNs, until);
          expect(at).not.toBe(NEVER);
          expect(Math.abs(pointAt(loop, course, at).error)).toBeGreaterThan(top * (1 - share));
          expect(Math.abs(pointAt(loop, course, (at - 1) as Ns).error)).toBeLessThanOrEqual(top * (1 - share));
          expect(errorCrosses(loop, course, top * (1 + share), "outside", course.atNs, until)).toBe(NEVER);
          met[course.mode as "linear" | "clipped"] += 1;
          if (index > 0) met.second += 1;
        }
      }),
      tries(1500),
    );
    expect(met.linear).toBeGreaterThan(30);
    expect(met.clipped).toBeGreaterThan(30);
  });

  test("a graze that lasts some nanoseconds, by a quadrillionth of a second", () => {
    // 10 ppm at 1 Hz and ζ = 0.7071 peak at 725.7 ns; the window ends 1 fs below and above.
    const loop = loopShape(1, 7071 / 10_000);
    const course = startCourse(loop, s(3), { error: 0, integrator: 0, need: 10e-6, needPerSecond: 0, stop: STOP });
    const peak = turnings(loop, course, 4 / loop.omega).map((t) => topAround(loop, course, t))[0] as number;
    expect(peak * 1e9).toBeCloseTo(725.7, 1);
    expect(errorCrosses(loop, course, peak - 1e-15, "outside", course.atNs, NEVER)).not.toBe(NEVER);
    expect(errorCrosses(loop, course, peak + 1e-15, "outside", course.atNs, NEVER)).toBe(NEVER);
  });
});

describe("a change of mode", () => {
  /** |control| wanted: at a stop or beyond it while the course is linear. */
  const wanted = (loop: LoopShape, course: LoopCourse, t: Ns) => {
    const point = pointAt(loop, course, t);
    return loop.twoZetaOmega * point.error + point.integrator;
  };

  test("comes at the first nanosecond at which the law has changed", () => {
    const met: Record<string, number> = {};
    fc.assert(
      fc.property(start, even(0, 20), fc.boolean(), ({ shape: loop, course: first }, angle, isEndless) => {
        const untilNs = after(first, angle / loop.omega);
        for (const course of play(loop, first, untilNs)) {
          const at = modeChangesAt(loop, course, course.atNs, isEndless ? NEVER : untilNs);
          const leaves = (t: Ns) => {
            if (course.mode === "linear") return Math.abs(wanted(loop, course, t)) >= STOP;
            const { error, integrator } = pointAt(loop, course, t);
            const isPastStop = course.mode === "clipped" && integrator * course.side >= STOP && error * course.side > 0;
            return course.side * wanted(loop, course, t) < STOP || isPastStop;
          };
          if (at !== NEVER) {
            expect(leaves(at)).toBe(true);
            if (at - 1 > course.atNs) expect(leaves((at - 1) as Ns)).toBe(false);
            const to = startCourse(loop, at, carriedTo(loop, course, at)).mode;
            met[`${course.mode} → ${to}`] = (met[`${course.mode} → ${to}`] ?? 0) + 1;
          } else met[`${course.mode} for ever`] = (met[`${course.mode} for ever`] ?? 0) + 1;
          const end = at !== NEVER ? at : isEndless ? after(course, 30 / loop.omega) : untilNs;
          expect(instantsBetween(course.atNs, end).filter(leaves)).toEqual([]);
        }
      }),
      tries(300),
    );
    for (const change of [
      "linear → clipped",
      "clipped → linear",
      "clipped → pinned",
      "pinned → linear",
      "linear for ever",
    ])
      expect(met[change] ?? 0, change).toBeGreaterThan(10);
  });
});

describe("roots of a parabola", () => {
  test("are its zeros, also where it is almost a line", () => {
    fc.assert(
      fc.property(
        evenInDecades(1e-12, 1e3),
        sign,
        evenInDecades(1e-3, 1e3),
        sign,
        even(-5, 5),
        (a, signA, b, signB, c) => {
          const [p, q] = [signA * a, signB * b];
          for (const root of quadraticRoots(p, q, c)) {
            const size = Math.max(Math.abs(p * root * root), Math.abs(q * root), Math.abs(c));
            expect(Math.abs(p * root * root + q * root + c)).toBeLessThanOrEqual(1e-14 * size);
          }
          expect(quadraticRoots(p, q, c)).toHaveLength(q * q - 4 * p * c < 0 ? 0 : 2);
        },
      ),
      tries(500),
    );
    expect(quadraticRoots(0, 2, -6)).toEqual([3]);
    expect(quadraticRoots(0, 0, 1)).toEqual([]);
    expect(quadraticRoots(1, 0, 1)).toEqual([]);
  });
});
