/**
 * What a chain of loops makes of its leader's wander: Allan deviation of the last box over that of the leader, at one τ.
 *
 * Wander lives at the knots of a grid, T apart, with straight lines of phase between them, and every loop hands on its
 * phase at the knots, straight lines between them again. So frequency is held from knot to knot, and one loop's answer
 * from knot to knot is exact. With p the e^(sT) of its two poles, b the error at the end of a step per unit of frequency
 * that came at its beginning,
 *
 *   H(z) = 1 − (b/T)·(z − 1)²/(z² − (p₁ + p₂)·z + p₁·p₂)
 *
 * which is |H(jω)| where ωT is small and lies nearer to 1 where it is not: a loop faster than the grid settles between
 * two knots, so all that it does to wander is not to be seen. Loops that are joined without a grid between them have
 * Σ_k ∏H(j(ω + 2πk/T))·sinc²((ω + 2πk/T)·T/2) instead, the same for one loop; for slow ones the two agree.
 *
 * Leader: white FM of σ1 (s^½) and random-walk FM of σ2 (s^−½), the two-state model of C. Zucca and P. Tavella, IEEE
 * Trans. UFFC 52(2), 2005, and flicker FM, h−1/f. Its mean frequency from knot to knot has the spectrum, θ = ωT,
 *
 *   σ1²/T  +  σ2²·T·(2 + cos θ)/3 / (4·sin²(θ/2))  +  h−1·sin²(θ/2)/(2π²)·Σ_k |θ/2π + k|⁻³
 *
 * the second from the mean of a random walk over a step, whose differences have variance 2/3·σ2²T and, one step apart,
 * covariance 1/6·σ2²T; the third is h−1/f, averaged over the step, with all that the knots fold back. Allan variance at
 * τ = m·T is (1/2m²)·mean of 4·sin⁴(mθ/2)/sin²(θ/2) times that: σ1²/τ + σ2²·τ/3 + 2·ln 2·h−1, as it must be.
 */
import { cos, exp, PI, sin } from "../../shared/maths.ts";
import { motionAt } from "../../shared/motion.ts";
import type { WanderPlan } from "../../shared/plan.ts";
import { loopShape } from "../loop.ts";
import { meanOverAngles } from "./circle.ts";
import type { ChainLoop } from "./response.ts";

/** Drift noise is left out. */
export type LeaderNoise = Pick<WanderPlan, "sigma1" | "sigma2" | "hMinus1">;

/**
 * Allan deviation after the chain over that before it. The boxes' own oscillators are quiet.
 *
 * @param tauSeconds a whole number of grid steps.
 * @throws RangeError for another τ, for a leader without noise, and where it takes more than a million points: loops
 * that are slower than some hundred thousand steps, or as long a τ.
 */
export function allanRatio(
  chain: readonly ChainLoop[],
  noise: LeaderNoise,
  tauSeconds: number,
  gridSeconds: number,
): number {
  const loops = chain.map((loop) => steppedLoop(loop, gridSeconds));
  const narrowest = Math.min(...loops.map(({ width }) => width));
  const before = allanVariance(noise, () => 1, { tauSeconds, gridSeconds, narrowest });
  const after = allanVariance(noise, (angle) => gainSquaredThrough(loops, angle), {
    tauSeconds,
    gridSeconds,
    narrowest,
  });
  return Math.sqrt(after / before);
}

interface AllanAt {
  readonly tauSeconds: number;
  readonly gridSeconds: number;
  /** Angle of the narrowest feature of the gain. */
  readonly narrowest: number;
}

/** Allan variance of noise at the knots behind a gain |H|²; `gainSquared` of an angle θ = ωT. */
export function allanVariance(
  { sigma1, sigma2, hMinus1 }: LeaderNoise,
  gainSquared: (angle: number) => number,
  { tauSeconds, gridSeconds, narrowest }: AllanAt,
): number {
  const steps = Math.round(tauSeconds / gridSeconds);
  if (!(gridSeconds > 0) || steps < 1 || Math.abs(steps * gridSeconds - tauSeconds) > 1e-9 * tauSeconds)
    throw new RangeError(`expected a tau of whole steps of ${gridSeconds} s, received ${tauSeconds} s`);
  if (!(sigma1 >= 0 && sigma2 >= 0 && hMinus1 >= 0 && sigma1 + sigma2 + hMinus1 > 0))
    throw new RangeError(
      `expected a leader with noise, received sigma1 ${sigma1}, sigma2 ${sigma2}, hMinus1 ${hMinus1}`,
    );
  const white = (sigma1 * sigma1) / gridSeconds;
  const walk = (sigma2 * sigma2 * gridSeconds) / 12;
  const flicker = hMinus1 / (2 * PI * PI);
  const mean = meanOverAngles(
    (angle) => {
      const half = sin(angle / 2);
      const swing = sin((steps * angle) / 2);
      const square = (swing * swing) / (half * half);
      const spectrum =
        4 * square * swing * swing * white +
        4 * square * square * walk * (2 + cos(angle)) +
        (flicker === 0 ? 0 : 4 * swing * swing * swing * swing * flicker * cubesOver(angle / (2 * PI)));
      return spectrum * gainSquared(angle);
    },
    (8 * PI) / Math.min(PI / (2 * steps), narrowest),
  );
  return mean / (2 * steps * steps);
}

/** Σ |ν + k|⁻³ over all whole k, 0 < ν < 1: some terms, and the rest by Euler and Maclaurin. */
function cubesOver(nu: number): number {
  let sum = 0;
  for (const from of [nu, 1 - nu]) {
    for (let k = 0; k < 10; k++) sum += 1 / ((from + k) * (from + k) * (from + k));
    const far = 1 / ((from + 10) * (from + 10));
    sum += far * (0.5 + 0.5 / (from + 10) + far * (0.25 - far / 12));
  }
  return sum;
}

/** ∏|H|² at θ = ωT. */
function gainSquaredThrough(loops: readonly SteppedLoop[], angle: number): number {
  const half = sin(angle / 2);
  const across = sin(angle);
  let gain = 1;
  for (const { product, atOne, lost, lead } of loops) {
    // Divided by z: z − 2 + 1/z = −4·sin²(θ/2), and the polynomial of the poles in the same way.
    const real = atOne - 2 * (1 + product) * half * half;
    const imaginary = lost * across;
    const through = real + 4 * lead * half * half;
    gain *= (through * through + imaginary * imaginary) / (real * real + imaginary * imaginary);
  }
  return gain;
}

/** One loop from knot to knot. */
interface SteppedLoop {
  /** p₁·p₂. */
  readonly product: number;
  /** (1 − p₁)·(1 − p₂), and 1 − p₁·p₂: each formed without taking near equals from each other. */
  readonly atOne: number;
  readonly lost: number;
  /** b/T. */
  readonly lead: number;
  /** How far from the circle its nearest pole lies, as an angle. */
  readonly width: number;
}

function steppedLoop({ naturalFrequencyHz, damping }: ChainLoop, gridSeconds: number): SteppedLoop {
  const shape = loopShape(naturalFrequencyHz, damping);
  const decay = shape.zeta * shape.omega * gridSeconds;
  const split = shape.split * gridSeconds;
  const lead = motionAt(shape, 0, 1, gridSeconds).z / gridSeconds;
  const lost = oneMinusExp(2 * decay);
  const product = exp(-2 * decay);
  if (damping < 1) {
    const fading = oneMinusExp(decay);
    const half = sin(split / 2);
    return { product, atOne: fading * fading + 4 * exp(-decay) * half * half, lost, lead, width: decay };
  }
  const slow = decay - split;
  return { product, atOne: oneMinusExp(slow) * oneMinusExp(decay + split), lost, lead, width: slow };
}

/** 1 − e^(−x) for x ≥ 0, to all digits also where x is small. */
function oneMinusExp(x: number): number {
  return x < 0.01 ? x * (1 - (x / 2) * (1 - (x / 3) * (1 - (x / 4) * (1 - (x / 5) * (1 - x / 6))))) : 1 - exp(-x);
}
