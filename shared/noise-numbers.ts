/**
 * The noise of an oscillator in the numbers that people have: power-law coefficients, or points of Allan deviation from
 * a data sheet. Here they become the numbers of a run, and back.
 *
 * S_y(f) = h0 + h−1/f + h−2/f² (white, flicker and random-walk FM; f in Hz, so h0 in seconds, h−2 in 1/s).
 *
 *   σ1² = h0/2, σ2² = 2π²·h−2      R. G. Brown and P. Y. C. Hwang, *Introduction to Random Signals and Applied Kalman
 *                                  Filtering*, 4th ed., section 9.3 (as quoted in public code)
 *   σy²(τ) = h0/(2τ) + 2·ln 2·h−1 + (2π²/3)·τ·h−2      IEEE 1139 has it (from memory)
 *          = σ1²/τ + 2·ln 2·h−1 + σ2²·τ/3
 */
import { PI } from "./maths.ts";
import type { WanderPlan } from "./plan.ts";

const LN_2 = 0.6931471805599453;

export interface PowerLaw {
  readonly h0: number;
  readonly hMinus1: number;
  readonly hMinus2: number;
}

export function wanderFromPowerLaw({ h0, hMinus1, hMinus2 }: PowerLaw): WanderPlan {
  return { sigma1: Math.sqrt(h0 / 2), sigma2: Math.sqrt(2 * PI * PI * hMinus2), sigma3: 0, hMinus1 };
}

/** `sigma3` has no place in it: random-walk drift is a fourth law, of 1/f⁴. */
export function powerLawFromWander({ sigma1, sigma2, hMinus1 }: WanderPlan): PowerLaw {
  return { h0: 2 * sigma1 * sigma1, hMinus1, hMinus2: (sigma2 * sigma2) / (2 * PI * PI) };
}

/** The h−1 whose Allan deviation is the same at every τ. */
export function flickerFromFloor(deviation: number): number {
  return (deviation * deviation) / (2 * LN_2);
}

/** The same the other way round: σy(τ) of flicker FM, level at every τ. */
export function floorFromFlicker(hMinus1: number): number {
  return Math.sqrt(2 * LN_2 * hMinus1);
}

/** σy(τ), without `sigma3`: with it the Allan variance is not stationary. */
export function allanDeviationOf({ sigma1, sigma2, hMinus1 }: WanderPlan, tauSeconds: number): number {
  return Math.sqrt((sigma1 * sigma1) / tauSeconds + 2 * LN_2 * hMinus1 + (sigma2 * sigma2 * tauSeconds) / 3);
}

/** One point of a curve of Allan deviation. */
export interface AllanPoint {
  /** τ, above 0. */
  readonly seconds: number;
  /** σy(τ), dimensionless, above 0. */
  readonly deviation: number;
}

export interface AllanFit {
  readonly wander: WanderPlan;
  /** The point that lies furthest from the fit, by ratio, and the deviation that the fit has there. */
  readonly furthest: { readonly index: number; readonly deviation: number };
}

/**
 * The white, flicker and random-walk FM that come nearest to points of Allan deviation: σy²(τ) is linear in
 * (σ1², 2·ln 2·h−1, σ2²/3) with the shapes 1/τ, 1 and τ, so this is least squares with three unknowns that may not be
 * negative, each point weighted by 1/σy⁴ so that an error counts by its ratio. The best such answer is the plain least
 * squares answer over the shapes that it uses (C. L. Lawson and R. J. Hanson, *Solving Least Squares Problems*, ch. 23,
 * from memory), and there are only seven sets of shapes, so all are tried.
 *
 * Where several sets fit alike, the one of fewest shapes is taken. A single point fits each shape alone; flicker is
 * taken, whose deviation is the same everywhere: it is the middle one, and quartz is level around a second.
 *
 * @param points at least one, τ rising.
 */
export function fitAllanPoints(points: readonly AllanPoint[]): AllanFit {
  let best: readonly number[] = [0, 0, 0];
  let least = Number.POSITIVE_INFINITY;
  for (const shapes of SETS_OF_SHAPES) {
    if (shapes.length > points.length) continue;
    const shares = leastSquares(shapes.map((shape) => points.map((point) => relativeShape(shape, point))));
    if (shares === null || shares.some((share) => !(share >= 0))) continue;
    const all = [0, 0, 0];
    for (const [n, shape] of shapes.entries()) all[shape] = shares[n] as number;
    const rest = points.reduce((sum, point) => sum + squared(fittedRatio(all, point) - 1), 0);
    if (rest < least - FITS_ALIKE) {
      least = rest;
      best = all;
    }
  }
  const [white, flicker, walk] = best as readonly [number, number, number];
  const wander = {
    sigma1: Math.sqrt(white),
    sigma2: Math.sqrt(3 * walk),
    sigma3: 0,
    hMinus1: flicker / (2 * LN_2),
  };
  let furthest = { index: 0, deviation: 0 };
  let worst = 0;
  for (const [index, point] of points.entries()) {
    const ratio = fittedRatio(best, point);
    const distance = ratio >= 1 ? ratio : 1 / ratio;
    if (distance <= worst) continue;
    worst = distance;
    furthest = { index, deviation: point.deviation * Math.sqrt(ratio) };
  }
  return { wander, furthest };
}

const WHITE = 0;
const FLICKER = 1;
const WALK = 2;

/** In the order in which they are preferred. */
const SETS_OF_SHAPES = [
  [FLICKER],
  [WHITE],
  [WALK],
  [WHITE, FLICKER],
  [FLICKER, WALK],
  [WHITE, WALK],
  [WHITE, FLICKER, WALK],
] as const;

/** Sums of squared relative errors that are rounding: every point met to 1e-12. */
const FITS_ALIKE = 1e-24;

/** What a share of one adds at a point, in units of the variance there. */
function relativeShape(shape: number, { seconds, deviation }: AllanPoint): number {
  return (shape === WHITE ? 1 / seconds : shape === FLICKER ? 1 : seconds) / (deviation * deviation);
}

/** Variance of the fit over that of the point. */
function fittedRatio(shares: readonly number[], point: AllanPoint): number {
  return shares.reduce((sum, share, shape) => sum + share * relativeShape(shape, point), 0);
}

/**
 * Least squares of Σ share·column = 1 at every row, by the modified Gram-Schmidt process with the right-hand side carried
 * along, which is as stable as reflections (Å. Björck, BIT 7, 1967, from memory); normal equations would lose half the
 * digits. Null where a column is a combination of those before it.
 */
function leastSquares(columns: readonly (readonly number[])[]): number[] | null {
  const work = columns.map((column) => [...column]);
  const right = (work[0] as number[]).map(() => 1);
  const upper: number[][] = [];
  const projected: number[] = [];
  for (const [j, column] of work.entries()) {
    const full = norm(columns[j] as readonly number[]);
    const length = norm(column);
    if (!(length > COLUMN_IS_GONE * full)) return null;
    const unit = column.map((each) => each / length);
    const row = work.map((other, k) => (k < j ? 0 : k === j ? length : project(unit, other)));
    upper.push(row);
    projected.push(project(unit, right));
  }
  const shares = columns.map(() => 0);
  for (let j = columns.length - 1; j >= 0; j--) {
    const row = upper[j] as number[];
    let rest = projected[j] as number;
    for (let k = j + 1; k < columns.length; k++) rest -= (row[k] as number) * (shares[k] as number);
    shares[j] = rest / (row[j] as number);
  }
  return shares;
}

/** Of a column so much is left after the others are taken out of it that it could be their rounding. */
const COLUMN_IS_GONE = 1e-13;

/** Takes the part along `unit` out of `column`, and returns how much that was. */
function project(unit: readonly number[], column: number[]): number {
  let along = 0;
  for (const [n, each] of unit.entries()) along += each * (column[n] as number);
  for (const [n, each] of unit.entries()) column[n] = (column[n] as number) - along * each;
  return along;
}

function norm(column: readonly number[]): number {
  return Math.sqrt(column.reduce((sum, each) => sum + squared(each), 0));
}

function squared(x: number): number {
  return x * x;
}
