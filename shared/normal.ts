/**
 * Normal deviates by the inverse of their distribution: one uniform each, in fixed arithmetic, so that how many draws a
 * number costs never depends on the number.
 *
 * M. J. Wichura, "Algorithm AS 241: The Percentage Points of the Normal Distribution", Applied Statistics 37(3), 1988,
 * the variant of 16 digits, without its last branch: a stream has 2^32 values, so p is never below 2^−33.
 */
import { exp, log, PI } from "./maths.ts";

/** No deviate is greater: the inverse at 2^−33 is −6.3386. */
export const LARGEST_NORMAL = 6.34;

/** 2^−32, the step of a uniform. A deviate is taken at the middle of its step, so that 0 is never met. */
const STEP = 1 / 4294967296;

/**
 * The distance to the nearer end, in half steps, is odd and has 1 to 32 digits (binary). Its octave is their number, its
 * cell the five digits after the first: 32 to an octave, narrower the nearer to the end.
 */
const OCTAVES = 32;
const CELLS = 32 * OCTAVES;

/** Numbers to a cell: c0 … c3 of a cubic in the half steps from where it begins. */
const ROW = 4;
const HALF = ROW * CELLS;

/** Cubics through the exact values and slopes at the ends of each cell: of the lower half, then of its mirror image. */
function fillCubics(table: Float64Array): void {
  const slopeAt = (x: number): number => Math.sqrt(2 * PI) * exp(0.5 * x * x) * STEP; // 1/φ(x), to a step
  let from = 0.5;
  let width = 0;
  for (let cell = 0; cell < CELLS; cell++, from += width) {
    if (cell % 32 === 0) width = from / 32;
    const low = inverseNormal(from * STEP);
    const high = inverseNormal((from + width) * STEP);
    const first = slopeAt(low);
    const last = slopeAt(high);
    const chord = (high - low) / width;
    const bend = (3 * chord - 2 * first - last) / width;
    const twist = (first + last - 2 * chord) / (width * width);
    table.set([low, first / 2, bend / 4, twist / 8], ROW * cell);
    table.set([-low, -first / 2, -bend / 4, -twist / 8], HALF + ROW * cell);
  }
}

interface Normal {
  /** To be called before the first deviate: makes the table, once. */
  readonly ready: () => void;
  /**
   * Standard normal deviate of a uniform of 2^32 steps in [0, 1). Within 1e-8 of the exact inverse (tested), which no
   * statistic of a run could tell. All are made in one way, near the ends as well: a branch would cost more than the rest.
   */
  readonly deviateOf: (uniform: number) => number;
}

/**
 * The table is a constant of a closure, and every part of a place in it is masked, so that the compiler knows that no
 * place lies outside: its checks would cost a third more. 7: digits that a row and a cell take; 124: the row; 3968: the
 * octave; 4096: HALF. A bundle makes variables of names at the top of a file.
 */
export const { ready: readyNormal, deviateOf } = ((): Normal => {
  const table = new Float64Array(2 * HALF);
  return {
    ready: () => {
      if (table[0] === 0) fillCubics(table);
    },
    deviateOf: (uniform) => {
      const steps = (uniform * 4294967296) | 0; // negative in the upper half
      const upper = steps >> 31;
      const halfSteps = ((steps ^ upper) << 1) | 1;
      const zeros = Math.clz32(halfSteps);
      const digits = halfSteps << zeros;
      const at = (((31 - zeros) << 7) & 3968) + ((digits >>> 24) & 124) + (upper & 4096);
      const past = (digits & 0x3ffffff) >>> zeros;
      return (
        (table[at] as number) +
        past * ((table[at + 1] as number) + past * ((table[at + 2] as number) + past * (table[at + 3] as number)))
      );
    },
  };
})();

/** Turns uniforms into standard normal deviates, in place. */
export function makeNormal(uniforms: Float64Array): void {
  readyNormal();
  for (let k = 0; k < uniforms.length; k++) uniforms[k] = deviateOf(uniforms[k] as number);
}

/** Inverse of the normal distribution for p from 2^−34 to 1 − 2^−34. */
export function inverseNormal(p: number): number {
  const q = p - 0.5;
  if (q >= -0.425 && q <= 0.425) {
    const r = 0.180625 - q * q;
    return (
      ((((((((2509.0809287301227 * r + 33430.57558358813) * r + 67265.7709270087) * r + 45921.95393154987) * r +
        13731.69376550946) *
        r +
        1971.5909503065513) *
        r +
        133.14166789178438) *
        r +
        3.3871328727963665) *
        q) /
      (((((((5226.495278852854 * r + 28729.085735721943) * r + 39307.89580009271) * r + 21213.794301586597) * r +
        5394.196021424751) *
        r +
        687.1870074920579) *
        r +
        42.31333070160091) *
        r +
        1)
    );
  }
  const r = Math.sqrt(-log(q < 0 ? p : 1 - p)) - 1.6;
  const x =
    (((((((0.0007745450142783414 * r + 0.022723844989269184) * r + 0.2417807251774506) * r + 1.2704582524523684) * r +
      3.6478483247632045) *
      r +
      5.769497221460691) *
      r +
      4.630337846156546) *
      r +
      1.4234371107496835) /
    (((((((1.0507500716444169e-9 * r + 0.0005475938084995345) * r + 0.015198666563616457) * r + 0.14810397642748008) *
      r +
      0.6897673349851) *
      r +
      1.6763848301838038) *
      r +
      2.053191626637759) *
      r +
      1);
  return q < 0 ? -x : x;
}
