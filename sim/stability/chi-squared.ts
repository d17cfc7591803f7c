/**
 * Quantiles of the chi-squared distribution for any number of degrees of freedom, whole or not.
 *
 * The distribution is the regularized incomplete gamma function P(df / 2, x / 2): its power series below the middle,
 * a continued fraction above (NIST Digital Library of Mathematical Functions, 8.11.4 and 8.9.2, from memory). The
 * quantile is found by Newton steps on the logarithm of x, kept inside a bracket. Good to about 1e-9 for 0.1 to 1e7
 * degrees of freedom and probabilities from 1e-6 to 1 − 1e-6.
 */
import { exp, log, PI } from "../../shared/maths.ts";

/** ln Γ(a) for a > 0: Stirling's series after moving a to 15 or above, where its rest is below 1e-16. */
export function logGamma(a: number): number {
  let shifted = a;
  let product = 1;
  while (shifted < 15) {
    product *= shifted;
    shifted += 1;
  }
  const inverse = 1 / shifted;
  const square = inverse * inverse;
  const series =
    inverse * (1 / 12 - square * (1 / 360 - square * (1 / 1260 - square * (1 / 1680 - square * (1 / 1188)))));
  return (shifted - 0.5) * log(shifted) - shifted + 0.5 * log(2 * PI) + series - log(product);
}

/** Terms at the middle of a wide distribution: the series and the fraction need some √a of them. */
const TERMS_MAX = 200_000;

/** P(a, x), the lower incomplete gamma function over Γ(a). */
function gammaBelow(a: number, x: number, logGammaA: number): number {
  if (x <= 0) return 0;
  const factor = exp(a * log(x) - x - logGammaA);
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; n < TERMS_MAX && term > sum * 1e-17; n++) {
      term *= x / (a + n);
      sum += term;
    }
    return factor * sum;
  }
  // Lentz's method for the fraction of Γ(a, x).
  const tiny = 1e-300;
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let fraction = d;
  for (let n = 1; n < TERMS_MAX; n++) {
    const numerator = -n * (n - a);
    b += 2;
    d = numerator * d + b;
    if (Math.abs(d) < tiny) d = tiny;
    d = 1 / d;
    c = b + numerator / c;
    if (Math.abs(c) < tiny) c = tiny;
    const step = c * d;
    fraction *= step;
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return 1 - factor * fraction;
}

/**
 * The x below which a chi-squared variable falls with the given probability.
 *
 * @param probability above 0 and below 1
 * @param degreesOfFreedom above 0, not necessarily whole
 * @returns x ≥ 0; NaN outside those ranges
 *
 * @example
 * Math.round(1000 * chiSquaredQuantile(0.95, 10)) // => 18307
 */
export function chiSquaredQuantile(probability: number, degreesOfFreedom: number): number {
  if (!(probability > 0 && probability < 1 && degreesOfFreedom > 0) || degreesOfFreedom > 1e12) return Number.NaN;
  const a = degreesOfFreedom / 2;
  const logGammaA = logGamma(a);
  // u = ln(x / 2). P rises with u, at the rate e^(a u − x / 2) / Γ(a).
  let u = firstGuess(probability, a, logGammaA);
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  for (let step = 0; step < 200; step++) {
    const half = exp(u);
    const miss = gammaBelow(a, half, logGammaA) - probability;
    if (miss > 0) high = u;
    else low = u;
    let next = u - miss / exp(a * u - half - logGammaA);
    // Also where the density is too small to divide by.
    if (!(next > low && next < high)) next = Number.isFinite(low + high) ? (low + high) / 2 : u + (miss > 0 ? -1 : 1);
    if (Math.abs(next - u) < 1e-13) return 2 * exp(next);
    u = next;
  }
  return 2 * exp(u);
}

/** ln(x / 2): Wilson and Hilferty's cube where it holds, else the first term of the power series. */
function firstGuess(probability: number, a: number, logGammaA: number): number {
  const small = (log(probability) + log(a) + logGammaA) / a;
  const spread = 1 / (9 * a);
  const root = 1 - spread + normalQuantile(probability) * Math.sqrt(spread);
  if (root <= 0.1) return small;
  const guess = log(a * root * root * root);
  return guess < -1 ? small : guess;
}

/** Within 5e-4: Abramowitz and Stegun, 26.2.23 (from memory). Only a beginning for the Newton steps. */
function normalQuantile(probability: number): number {
  const tail = Math.min(probability, 1 - probability);
  const t = Math.sqrt(-2 * log(tail));
  const z = t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
  return probability < 0.5 ? -z : z;
}
