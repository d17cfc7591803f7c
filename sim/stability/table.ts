/** Every statistic at every averaging time, with intervals: what a report prints and a chart draws. */
import { adev, mdev, oadev, tdev } from "./allan.ts";
import { confidenceInterval, degreesOfFreedom, type IntervalStatistic } from "./confidence.ts";
import { hdev, ohdev } from "./hadamard.ts";
import { identifyNoise, type NoiseType } from "./noise.ts";
import { sampleDeviation } from "./sample-deviation.ts";
import { octaveTaus, type PreparedSamples, prepare, type Samples, type StabilityIssue } from "./samples.ts";
import type { StabilityValue } from "./statistic.ts";
import { mtie, tieRms } from "./time-error.ts";
import { totdev } from "./total.ts";

/** By name: what computes it, its long name, its unit. The order is that of a report. */
export const STATISTICS = {
  adev: { title: "Allan deviation", unit: "fractional", compute: adev },
  oadev: { title: "Overlapping Allan deviation", unit: "fractional", compute: oadev },
  mdev: { title: "Modified Allan deviation", unit: "fractional", compute: mdev },
  tdev: { title: "Time deviation", unit: "seconds", compute: tdev },
  hdev: { title: "Hadamard deviation", unit: "fractional", compute: hdev },
  ohdev: { title: "Overlapping Hadamard deviation", unit: "fractional", compute: ohdev },
  totdev: { title: "Total deviation", unit: "fractional", compute: totdev },
  sampleDeviation: { title: "Sample deviation of frequency", unit: "fractional", compute: sampleDeviation },
  tieRms: { title: "RMS time interval error", unit: "seconds", compute: tieRms },
  mtie: { title: "Maximum time interval error", unit: "seconds", compute: mtie },
} as const;

export type StatisticName = keyof typeof STATISTICS;

const WITHOUT_INTERVAL: readonly StatisticName[] = ["tieRms", "mtie"];

export type TableCell =
  | {
      readonly value: number;
      readonly terms: number;
      /** Ends of the interval, in the unit of the value; null where no formula gives one. */
      readonly interval: { readonly low: number; readonly high: number } | null;
      readonly degreesOfFreedom: number | null;
    }
  | { readonly issue: StabilityIssue };

export interface TableRow {
  readonly tauSeconds: number;
  /** The noise that the intervals assume, for the Hadamard family and for all others; null where it is not known. */
  readonly noise: {
    readonly allan: NoiseType | null;
    readonly hadamard: NoiseType | null;
    /** From the longest shorter tau that could tell. */
    readonly isTakenOver: boolean;
  };
  readonly cells: Readonly<Record<StatisticName, TableCell>>;
}

/**
 * The table of a record.
 *
 * With gaps in the record the degrees of freedom are an approximation: those of the whole record times the share of its
 * terms that is there.
 *
 * @param samples phase in seconds or fractional frequency
 * @param tausSeconds averaging times; octaves where left out
 * @param noise a named type for every averaging time, or "identified" (the default): found at each tau, and where too
 *   few points are left, taken over from the longest shorter tau that was asked for
 * @param confidence probability that the interval holds the true value; 0.95 where left out
 * @returns one row per averaging time, in their order
 */
export function stabilityTable(
  samples: Samples | PreparedSamples,
  {
    tausSeconds,
    noise = "identified",
    confidence = 0.95,
  }: {
    readonly tausSeconds?: readonly number[];
    readonly noise?: NoiseType | "identified";
    readonly confidence?: number;
  } = {},
): TableRow[] {
  const prepared = prepare(samples);
  const taus = tausSeconds ?? octaveTaus(prepared);
  const names = Object.keys(STATISTICS) as StatisticName[];
  const columns = new Map(names.map((name) => [name, STATISTICS[name].compute(prepared, taus)]));
  const types =
    noise === "identified"
      ? noiseAt(prepared, taus)
      : taus.map(() => ({ allan: noise, hadamard: noise, isTakenOver: false }));
  return taus.map((tauSeconds, row) => {
    const type = types[row] as TableRow["noise"];
    const cellOf = (name: StatisticName) => {
      const found = columns.get(name)?.[row] as StabilityValue;
      return cell(prepared, found, name, name === "hdev" || name === "ohdev" ? type.hadamard : type.allan, confidence);
    };
    return {
      tauSeconds,
      noise: type,
      cells: Object.fromEntries(names.map((name) => [name, cellOf(name)])) as Record<StatisticName, TableCell>,
    };
  });
}

function cell(
  prepared: PreparedSamples,
  found: StabilityValue,
  name: StatisticName,
  noise: NoiseType | null,
  confidence: number,
): TableCell {
  if ("issue" in found) return { issue: found.issue };
  const { value, terms, averagingFactor } = found;
  const degrees =
    noise === null || WITHOUT_INTERVAL.includes(name)
      ? null
      : degreesOfFreedom({
          statistic: name as IntervalStatistic,
          noise,
          points: prepared.points,
          averagingFactor,
          terms,
        });
  return {
    value,
    terms,
    degreesOfFreedom: degrees,
    interval: degrees === null ? null : confidenceInterval({ deviation: value, degreesOfFreedom: degrees, confidence }),
  };
}

/** In the order of `taus`; where a record is too short to tell, the noise at the longest shorter one. */
function noiseAt(prepared: PreparedSamples, taus: readonly number[]): TableRow["noise"][] {
  const found = new Map<number, TableRow["noise"]>();
  let last: TableRow["noise"] = { allan: null, hadamard: null, isTakenOver: false };
  for (const tau of [...taus].sort((a, b) => a - b)) {
    const allan = identifyNoise(prepared, tau, "allan");
    const hadamard = identifyNoise(prepared, tau, "hadamard");
    last = {
      allan: typeof allan === "string" ? allan : last.allan,
      hadamard: typeof hadamard === "string" ? hadamard : last.hadamard,
      isTakenOver: typeof allan !== "string" && last.allan !== null,
    };
    found.set(tau, last);
  }
  return taus.map((tau) => found.get(tau) as TableRow["noise"]);
}
