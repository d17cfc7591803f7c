/**
 * Stability of clocks: the statistics of the handbooks, on plain arrays, for any record of phase or frequency.
 *
 *     const clock = { phaseSeconds: Float64Array.from(measured), tau0Seconds: 1 };
 *     const [atTen] = oadev(clock, [10]);
 *     if ("issue" in atTen) …            // expected …, received …, what to do
 *     else atTen.value                    // dimensionless, from atTen.terms differences
 *
 * Every function takes {@link Samples} (or the result of `prepare`, to have them checked once) and averaging times in
 * seconds, and answers with one value or one issue per time, in their order. Nothing is thrown over bad input, nothing
 * given is changed, and a record that is too short has no value rather than a value of 0. NaN is a gap.
 *
 * | statistic | blind to | unit |
 * | --- | --- | --- |
 * | `adev`, `oadev`, `mdev`, `totdev` | phase, frequency offset | fractional frequency |
 * | `tdev` | phase, frequency offset | seconds |
 * | `hdev`, `ohdev` | phase, frequency offset, linear drift | fractional frequency |
 * | `sampleDeviation` | phase, frequency offset | fractional frequency |
 * | `tie`, `tieRms`, `mtie` | phase | seconds |
 *
 * `stabilityTable` has them all with intervals; `MASKS`, `aes11Masks` and `judgeStatistic`, `judgePhase` compare a record
 * with the limits of standards.
 */
export { adev, mdev, oadev, tdev } from "./allan.ts";
export { chiSquaredQuantile } from "./chi-squared.ts";
export { confidenceInterval, degreesOfFreedom, type IntervalStatistic } from "./confidence.ts";
export { hdev, ohdev } from "./hadamard.ts";
export { judgePhase, judgeStatistic, type MaskPoint, type MaskVerdict, marginOf } from "./judge.ts";
export {
  aes11Masks,
  MASKS,
  type Mask,
  maskLimitSeconds,
  pieceLimitSeconds,
  sec1HoldoverSeconds,
} from "./masks.ts";
export { identifyNoise, NOISE_TYPES, type NoiseType } from "./noise.ts";
export { sampleDeviation } from "./sample-deviation.ts";
export { octaveTaus, prepare, type Samples, type StabilityIssue } from "./samples.ts";
export type { StabilityValue } from "./statistic.ts";
export { STATISTICS, type StatisticName, stabilityTable, type TableRow } from "./table.ts";
export { mtie, tie, tieRms } from "./time-error.ts";
export { totdev } from "./total.ts";
