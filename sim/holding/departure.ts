/**
 * How a clock that was left alone leaves the clock it was on, in closed form.
 *
 * Its frequency against the other is y0 as the loop opens and changes by D a second (ageing, and temperature times
 * tempco, its own less the other's). So the phase between them moves by y0·t + ½·D·t², and a limit is reached at a root
 * of that. A device that keeps a frequency for a time and then goes on without it leaves in two stretches.
 */
import { NEVER, secondsFromNs } from "../../shared/time.ts";
import { quadraticRoots } from "../loop.ts";

/** One stretch: y(τ) = rate + perSecond·τ, dimensionless, τ from its beginning. The last one may be Infinity long. */
export interface Departure {
  readonly rate: number;
  readonly perSecond: number;
  readonly seconds: number;
}

/** How far the phase may move either way, in seconds, from where it stands. */
export interface Room {
  readonly ahead: number;
  readonly behind: number;
}

/** Later than time goes here (104 days) is never: what is left of two equal frequencies is rounding. */
const NEVER_SECONDS = secondsFromNs(NEVER);

/**
 * When the phase has used up its room, on either side.
 *
 * @returns seconds from the beginning of the first stretch; null: never, because it turns back, stands still, or would
 *   take longer than the 104 days that time holds here
 */
export function leavesAfter(stretches: readonly Departure[], { ahead, behind }: Room): number | null {
  let before = 0;
  let phase = 0;
  for (const stretch of stretches) {
    const seconds = reachesAfter(stretch, ahead - phase, -behind - phase);
    if (seconds !== null && seconds <= stretch.seconds)
      return before + seconds < NEVER_SECONDS ? before + seconds : null;
    if (stretch.seconds === Number.POSITIVE_INFINITY) return null;
    phase += movedBy(stretch, stretch.seconds);
    before += stretch.seconds;
  }
  return null;
}

/** The nearer of two levels, one above and one below; 0 where it is there already. */
function reachesAfter({ rate, perSecond }: Departure, above: number, below: number): number | null {
  if (above <= 0 || below >= 0) return 0;
  const roots = [above, below].flatMap((level) => quadraticRoots(0.5 * perSecond, rate, -level));
  const ahead = roots.filter((seconds) => seconds > 0);
  return ahead.length === 0 ? null : Math.min(...ahead);
}

function movedBy({ rate, perSecond }: Departure, seconds: number): number {
  return seconds * (rate + 0.5 * perSecond * seconds);
}

/** Frequency of one against the other after a time, dimensionless. */
export function rateAfter(stretches: readonly Departure[], seconds: number): number {
  let left = seconds;
  for (const { rate, perSecond, seconds: length } of stretches) {
    if (left <= length) return rate + perSecond * left;
    left -= length;
  }
  return 0;
}

/** What wander by white FM (σ1, s^½) and by random-walk FM (σ2, s^−½) an oscillator has; flicker and drift noise are left out. */
export interface Wandering {
  readonly sigma1: number;
  readonly sigma2: number;
}

/**
 * Variance of the phase that wander has added by a time after the loss, s²: σ1²·t for white FM and σ2²·t³/3 for
 * random-walk FM, so that the phase grows as √t and as t^1.5. Source: Q11 of C. Zucca and P. Tavella, IEEE Trans. UFFC
 * 52(2), 2005.
 */
export function wanderVariance({ sigma1, sigma2 }: Wandering, seconds: number): number {
  return seconds * (sigma1 * sigma1 + (sigma2 * sigma2 * seconds * seconds) / 3);
}

/**
 * Variance of the frequency that a device keeps against the one it should: wander up to the loss, dimensionless. Derived
 * here. A mean over A seconds: white FM leaves σ1²/A in it, and it lags random-walk FM by σ2²·A/3. The integrator of a
 * loop answers a frequency by ω²/(s² + 2ζωs + ω²): white FM leaves σ1²·ω/(4ζ), random-walk FM σ2²·(1 + 4ζ²)/(4ζω); no
 * more than σ1²/T of the first where wander is drawn on a grid of T seconds.
 */
export function keptVariance(
  { sigma1, sigma2 }: Wandering,
  by:
    | { readonly averageSeconds: number }
    | { readonly omega: number; readonly zeta: number; readonly gridSeconds: number },
): number {
  if ("averageSeconds" in by) return (sigma1 * sigma1) / by.averageSeconds + (sigma2 * sigma2 * by.averageSeconds) / 3;
  const { omega, zeta, gridSeconds } = by;
  return (
    sigma1 * sigma1 * Math.min(omega / (4 * zeta), 1 / gridSeconds) +
    (sigma2 * sigma2 * (1 + 4 * zeta * zeta)) / (4 * zeta * omega)
  );
}
