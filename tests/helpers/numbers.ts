/**
 * Numbers for property tests. fast-check's own doubles are even over exponents, so nearly all of them are tiny; and
 * shrinking a number that stands for a whole range takes minutes and explains nothing.
 */
import fc from "fast-check";

/** Evenly spread over [min, max]. */
export function even(min: number, max: number): fc.Arbitrary<number> {
  const steps = 2 ** 31 - 1;
  return fc.noShrink(fc.integer({ min: 0, max: steps })).map((step) => min + ((max - min) * step) / steps);
}

/** Evenly spread over the powers of ten from `min` to `max`, both positive. */
export function evenInDecades(min: number, max: number): fc.Arbitrary<number> {
  const [low, high] = [Math.log(min), Math.log(max)];
  return even(low, high).map((exponent) => Math.min(Math.max(Math.exp(exponent), min), max));
}
