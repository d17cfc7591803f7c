/** Availability and survival against published numbers. */
import { expect, test } from "vitest";
import { availability, inParallel, inSeries, someOf, survival } from "../../sim/chance/availability.ts";

// A high-availability cookbook's page "Series calculations": two of 0.99999 in series are 0.99998; a year of 31,536,000 s
// is then 630 s down, one alone 315 s.
test("two in series", () => {
  const both = inSeries([0.99999, 0.99999]);
  expect(both).toBeCloseTo(0.99998, 9);
  expect(31_536_000 * (1 - both)).toBeCloseTo(630.7, 0);
  expect(31_536_000 * (1 - 0.99999)).toBeCloseTo(315.4, 0);
});

// reliabilitycalc.com, "System reliability": three of 0.90 in series 72.9 %, two of three 97.2 %, parallel 99.9 %.
test("three of 0.90", () => {
  const three = [0.9, 0.9, 0.9];
  expect(inSeries(three)).toBeCloseTo(0.729, 9);
  expect(someOf(2, three)).toBeCloseTo(0.972, 9);
  expect(inParallel(three)).toBeCloseTo(0.999, 9);
});

// Any one of n is parallel, all of n is series, none is certain; with different parts as well.
test("some of n between series and parallel", () => {
  const parts = [0.995, 0.987, 0.973];
  expect(someOf(3, parts)).toBeCloseTo(inSeries(parts), 12);
  expect(someOf(1, parts)).toBeCloseTo(inParallel(parts), 12);
  expect(someOf(0, parts)).toBeCloseTo(1, 12);
  expect(inSeries(parts)).toBeCloseTo(0.955549, 6);
});

// Tutorial of a public library for system reliability: λ = 1e-4/h, R(1000 h) = 0.904837418, R(100 h) = 0.990049834.
test("survival", () => {
  expect(survival(10_000, 1000)).toBeCloseTo(0.904837418, 9);
  expect(survival(10_000, 100)).toBeCloseTo(0.990049834, 9);
});

// "Reference Data for Engineers", chapter 45: A = MTBF/(MTBF + MTTR); the figures are computed.
test("1000 h between failures, 1 h to repair", () => {
  const one = availability(1000, 1);
  expect(one).toBeCloseTo(0.999000999, 9);
  expect(inParallel([one, one])).toBeCloseTo(0.999999002, 9);
});
