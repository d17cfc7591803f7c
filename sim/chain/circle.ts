/**
 * Mean of a function over the angles from 0 to π, by equal steps of a variable that lingers at both ends:
 *
 *   θ = π·(s − sin(2πs)/2π),  ∫₀¹ value(θ(s))·(1 − cos 2πs) ds
 *
 * For what is periodic and analytic the plain rule of equal steps converges as fast as any (Trefethen and Weideman, "The
 * exponentially convergent trapezoidal rule", SIAM Review 56, 2014; from memory), and the lingering makes a function that
 * has a kink at an end, as flicker has at 0, as good as smooth. Neither end is ever asked for. Points are doubled until
 * nothing changes any more.
 */
import { cos, PI, sin } from "../../shared/maths.ts";

const POINTS_MOST = 1_048_576;
const SETTLED = 1e-11;

/**
 * @param pointsAtLeast fine enough to see the narrowest feature; in the middle two neighbours are 2π/points apart.
 * @throws RangeError where it takes more than a million points.
 */
export function meanOverAngles(value: (angle: number) => number, pointsAtLeast: number): number {
  const weighed = (s: number): number => value(PI * s - 0.5 * sin(2 * PI * s)) * (1 - cos(2 * PI * s));
  let points = 32;
  while (points < pointsAtLeast) points *= 2;
  if (points <= POINTS_MOST / 2) {
    let sum = 0;
    for (let n = 1; n < points; n++) sum += weighed(n / points);
    let mean = sum / points;
    for (; points <= POINTS_MOST / 2; points *= 2) {
      for (let n = 0; n < points; n++) sum += weighed((n + 0.5) / points);
      const finer = sum / (2 * points);
      if (Math.abs(finer - mean) <= SETTLED * Math.abs(finer)) return finer;
      mean = finer;
    }
  }
  throw new RangeError(`expected a mean that a million points settle, received one for ${pointsAtLeast} or more`);
}
