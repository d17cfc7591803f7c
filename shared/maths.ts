/**
 * exp, log, sin, cos, atan2 and cbrt in fixed arithmetic.
 *
 * The language lets each engine round `Math.exp` and its kin as it likes, so one scenario could give different bytes in
 * different places. These use only operations that IEEE 754 rounds exactly, in a fixed order. They are good to a few
 * units in the last place (tested against `Math`), which is plenty: formulas guess, whole nanoseconds settle.
 *
 * Method: argument reduction and Taylor series (exp, sin, cos), the atanh series (log), halved angles (atan).
 */

const LN2_HIGH = 0.6931471803691238; // ln 2 to 33 bits: k·LN2_HIGH is exact for |k| < 2^20 (Cody and Waite)
const LN2_LOW = 1.9082149292705877e-10;
const HALF_PI_HIGH = 1.5707963267341256; // π/2 to 33 bits
const HALF_PI_MIDDLE = 6.077100506303966e-11; // the next 33
const HALF_PI_LOW = 2.0222662487959506e-21;
export const PI = 3.141592653589793;

const POWERS = new Float64Array(2100); // 2^(i − 1075)
{
  let power = 1;
  for (let k = 0; k <= 1023; k++) {
    POWERS[1075 + k] = power;
    power *= 2;
  }
  power = 1;
  for (let k = 0; k >= -1075; k--) {
    POWERS[1075 + k] = power;
    power /= 2;
  }
}

/** e^x; 0 below −745, Infinity above 709.78. */
export function exp(x: number): number {
  if (x < -745.2) return 0;
  if (x > 709.78) return Number.POSITIVE_INFINITY;
  const k = Math.round(x * 1.4426950408889634);
  const r = x - k * LN2_HIGH - k * LN2_LOW;
  // Taylor to r^13/13!, |r| ≤ 0.347: the rest is below 5e-18.
  const series =
    1 +
    r *
      (1 +
        r *
          (1 / 2 +
            r *
              (1 / 6 +
                r *
                  (1 / 24 +
                    r *
                      (1 / 120 +
                        r *
                          (1 / 720 +
                            r *
                              (1 / 5040 +
                                r *
                                  (1 / 40320 +
                                    r *
                                      (1 / 362880 +
                                        r *
                                          (1 / 3628800 +
                                            r * (1 / 39916800 + r * (1 / 479001600 + r / 6227020800))))))))))));
  return k > 1000 ? series * 2 * (POWERS[1074 + k] as number) : series * (POWERS[1075 + k] as number);
}

// A double and its two halves: the exponent is read rather than searched for.
const DOUBLE = new Float64Array([1]);
const HALVES = new Uint32Array(DOUBLE.buffer);
const HIGH = HALVES[1] === 0x3ff00000 ? 1 : 0; // which half holds it depends on the machine
const TWO_TO_54 = 18014398509481984;

/** Natural logarithm of a positive number; −Infinity at 0, NaN below. */
export function log(x: number): number {
  if (!(x > 0)) return x === 0 ? Number.NEGATIVE_INFINITY : Number.NaN;
  if (x === Number.POSITIVE_INFINITY) return x;
  const isNormal = x >= 2.2250738585072014e-308;
  DOUBLE[0] = isNormal ? x : x * TWO_TO_54;
  const high = HALVES[HIGH] as number;
  HALVES[HIGH] = (high & 0x000fffff) | 0x3ff00000;
  let exponent = (high >>> 20) - (isNormal ? 1023 : 1077);
  let mantissa = DOUBLE[0] as number;
  if (mantissa > 1.4142135623730951) {
    mantissa /= 2;
    exponent += 1;
  }
  const s = (mantissa - 1) / (mantissa + 1);
  const z = s * s;
  // 2·atanh(s), |s| ≤ 0.1716: the rest is below 1e-18.
  const sum =
    z *
    (1 / 3 +
      z *
        (1 / 5 +
          z *
            (1 / 7 +
              z *
                (1 / 9 +
                  z *
                    (1 / 11 +
                      z * (1 / 13 + z * (1 / 15 + z * (1 / 17 + z * (1 / 19 + z * (1 / 21 + z * (1 / 23)))))))))));
  return exponent * LN2_HIGH + (2 * s + (2 * s * sum + exponent * LN2_LOW));
}

function sinSmall(r: number): number {
  const z = r * r;
  return (
    r +
    r *
      z *
      (-1 / 6 +
        z *
          (1 / 120 +
            z * (-1 / 5040 + z * (1 / 362880 + z * (-1 / 39916800 + z * (1 / 6227020800 - z / 1307674368000))))))
  );
}

function cosSmall(r: number): number {
  const z = r * r;
  return (
    1 -
    z / 2 +
    z *
      z *
      (1 / 24 +
        z *
          (-1 / 720 +
            z * (1 / 40320 + z * (-1 / 3628800 + z * (1 / 479001600 + z * (-1 / 87178291200 + z / 20922789888000))))))
  );
}

/** Sine of an angle in radians, to a few units in the last place for |x| up to 1e5. */
export function sin(x: number): number {
  const k = Math.round(x / (PI / 2));
  const r = x - k * HALF_PI_HIGH - k * HALF_PI_MIDDLE - k * HALF_PI_LOW;
  const quarter = ((k % 4) + 4) % 4;
  if (quarter === 0) return sinSmall(r);
  if (quarter === 1) return cosSmall(r);
  return quarter === 2 ? -sinSmall(r) : -cosSmall(r);
}

/** Cosine of an angle in radians, as {@link sin}. */
export function cos(x: number): number {
  const k = Math.round(x / (PI / 2));
  const r = x - k * HALF_PI_HIGH - k * HALF_PI_MIDDLE - k * HALF_PI_LOW;
  const quarter = ((k % 4) + 4) % 4;
  if (quarter === 0) return cosSmall(r);
  if (quarter === 1) return -sinSmall(r);
  return quarter === 2 ? -cosSmall(r) : sinSmall(r);
}

function atan(x: number): number {
  // atan x = 2·atan(x / (1 + √(1 + x²))), three times: |y| ≤ tan(π/32).
  let y = x;
  for (let i = 0; i < 3; i++) y /= 1 + Math.sqrt(1 + y * y);
  const z = y * y;
  let sum = 0;
  for (let n = 19; n >= 3; n -= 2) sum = (1 / n - sum) * z;
  return 8 * (y - y * sum);
}

/** Angle of the point (x, y) in radians, in (−π, π]; 0 at the origin. */
export function atan2(y: number, x: number): number {
  if (x === 0 && y === 0) return 0;
  const angle = Math.abs(y) <= Math.abs(x) ? atan(Math.abs(y) / Math.abs(x)) : PI / 2 - atan(Math.abs(x) / Math.abs(y));
  const folded = x < 0 ? PI - angle : angle;
  return y < 0 ? -folded : folded;
}

/** Cube root of a number that is not negative. Newton from a power of two; for step lengths, so speed before digits. */
export function cbrt(x: number): number {
  if (!(x > 0)) return x === 0 ? 0 : Number.NaN;
  if (x === Number.POSITIVE_INFINITY) return x;
  let guess = 1;
  let rest = x;
  while (rest >= 4096) {
    rest /= 4096;
    guess *= 16;
  }
  while (rest >= 8) {
    rest /= 8;
    guess *= 2;
  }
  while (rest < 1 / 4096) {
    rest *= 4096;
    guess /= 16;
  }
  while (rest < 1) {
    rest *= 8;
    guess /= 2;
  }
  for (let i = 0; i < 6; i++) guess -= (guess - x / (guess * guess)) / 3;
  return guess;
}
