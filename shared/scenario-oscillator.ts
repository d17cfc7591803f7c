/** The oscillator of a device: numbers by type filled in, noise converted, and what the schema cannot say of it checked. */
import { defaultOf } from "./defaults.ts";
import type { AllanPoint } from "./noise-numbers.ts";
import { fitAllanPoints, wanderFromPowerLaw } from "./noise-numbers.ts";
import type { OscillatorType } from "./oscillators.ts";
import { AGES_BEYOND_SECONDS, oscillatorType } from "./oscillators.ts";
import type { OscillatorPlan, WanderPlan } from "./plan.ts";
import type { Place, Report } from "./scenario-draft.ts";
import type { DeviceTypeFile, ScenarioFile } from "./scenario-schema.ts";
import type { Ns } from "./time.ts";
import { secondsFromNs } from "./time.ts";
import { offsetAtCelsius, REFERENCE_CELSIUS } from "./timebase.ts";

type OscillatorFile = NonNullable<DeviceTypeFile["oscillator"]>;
type WanderFile = Exclude<OscillatorFile["wander"], boolean | undefined>;

/** What of the run an oscillator's defaults hang from. */
export interface RunWords {
  readonly lengthNs: Ns | null;
  readonly wander: ScenarioFile["run"]["wander"];
  readonly startCelsius: ScenarioFile["run"]["startCelsius"];
}

/** Takes note of a default that was filled in. */
type Note = (name: string, value: unknown, unit: string) => void;

/** `over` on top of `base`; another type brings its own numbers, and a table of heat takes the place of a coefficient. */
export function joinOscillators(
  base: OscillatorFile | undefined,
  over: OscillatorFile | undefined,
): OscillatorFile | undefined {
  if (over?.type !== undefined && over.type !== base?.type) return over;
  const { tempcoPpmPerCelsius, tempcoTable, ...rest } = base ?? {};
  const isTold = over?.tempcoPpmPerCelsius !== undefined || over?.tempcoTable !== undefined;
  const heat = {
    ...(tempcoPpmPerCelsius === undefined ? {} : { tempcoPpmPerCelsius }),
    ...(tempcoTable && { tempcoTable }),
  };
  return base || over ? { ...rest, ...(isTold ? {} : heat), ...over } : undefined;
}

export function plannedOscillator(fields: DeviceTypeFile, run: RunWords, note: Note): OscillatorPlan {
  const given = fields.oscillator ?? {};
  const type = given.type ?? defaultOf("device", "oscillator.type");
  if (given.type === undefined) note("oscillator.type", type, "");
  const row = oscillatorType(type);
  const noted = (name: keyof OscillatorType & string, value: number, unit: string): number => {
    note(`oscillator.${name}`, value, unit);
    return value;
  };
  type Numbered = "tolerancePpm" | "tempcoPpmPerCelsius" | "warmUpPpm" | "warmUpSeconds" | "coolDownSeconds";
  const number = (name: Numbered, unit: string): number => given[name] ?? noted(name, row[name].value, unit);

  const offsetPpm = given.offsetPpm ?? null;
  if (offsetPpm === null) note("oscillator.offsetPpm", null, "");
  const isLong = run.lengthNs !== null && secondsFromNs(run.lengthNs) > AGES_BEYOND_SECONDS;
  const ageingByType = isLong ? row.ageingPpbPerDay.value : 0;
  const startCelsius = fields.startCelsius ?? run.startCelsius ?? null;
  if (startCelsius === null) note("startCelsius", defaultOf("run", "startCelsius"), "°C");
  const tempcoTable = given.tempcoTable ? againstReference(given.tempcoTable) : null;
  return {
    type,
    offsetPpm,
    tolerancePpm: number("tolerancePpm", "ppm"),
    ageingPpbPerDay: given.ageingPpbPerDay ?? noted("ageingPpbPerDay", ageingByType, "ppb/day"),
    tempcoPpmPerCelsius: tempcoTable === null ? number("tempcoPpmPerCelsius", "ppm/°C") : 0,
    tempcoTable,
    startCelsius: startCelsius ?? defaultOf("run", "startCelsius"),
    warmUpPpm: number("warmUpPpm", "ppm"),
    warmUpSeconds: number("warmUpSeconds", "s"),
    coolDownSeconds: number("coolDownSeconds", "s"),
    wander: plannedWander(given.wander ?? run.wander ?? defaultOf("run", "wander"), row, noted),
  };
}

function plannedWander(
  given: boolean | WanderFile,
  row: OscillatorType,
  noted: (name: "sigma1" | "sigma2" | "hMinus1", value: number, unit: string) => number,
): WanderPlan | null {
  if (given === false) return null;
  const wander =
    given === true
      ? {
          sigma1: noted("sigma1", row.sigma1.value, "s^½"),
          sigma2: noted("sigma2", row.sigma2.value, "s^−½"),
          sigma3: 0,
          hMinus1: noted("hMinus1", row.hMinus1.value, ""),
        }
      : wanderOf(given);
  const { sigma1, sigma2, sigma3, hMinus1 } = wander;
  return sigma1 === 0 && sigma2 === 0 && sigma3 === 0 && hMinus1 === 0 ? null : wander;
}

function wanderOf(given: WanderFile): WanderPlan {
  if ("allan" in given) return fitAllanPoints(given.allan).wander;
  if ("h0" in given) return wanderFromPowerLaw({ h0: given.h0, hMinus1: given.hMinus1 ?? 0, hMinus2: given.hMinus2 });
  return { sigma1: given.sigma1, sigma2: given.sigma2, sigma3: given.sigma3 ?? 0, hMinus1: given.hMinus1 ?? 0 };
}

type TempcoTable = NonNullable<OscillatorPlan["tempcoTable"]>;

/** So that the offset of the oscillator goes on being the one at 25 °C, whatever the table is told against. */
function againstReference(table: TempcoTable): TempcoTable {
  const points = table.map(({ celsius, ppm }) => ({ celsius, offset: ppm }));
  const atReference = offsetAtCelsius(points, REFERENCE_CELSIUS);
  return points.map(({ celsius, offset }) => ({ celsius, ppm: offset - atReference }));
}

/**
 * A fit may lie this far from a point of a data sheet, as a ratio of deviations. Typical curves have kinks and humps of
 * that size, and nobody's oscillator is nearer to its data sheet (common practice, no source).
 */
const FIT_RATIO_MAX = 1.25;

/** Reports what is wrong within one entry of the file, a device's or a type's. */
export function checkOscillator(item: Place, oscillator: OscillatorFile | undefined, report: Report): void {
  if (oscillator === undefined) return;
  const { tempcoTable, tempcoPpmPerCelsius, wander } = oscillator;
  if (tempcoTable !== undefined) {
    if (tempcoPpmPerCelsius !== undefined)
      report(item, ["oscillator", "tempcoTable"], {
        expected: "either tempcoPpmPerCelsius or tempcoTable",
        received: "both",
        remedy: "keep the one that was measured",
      });
    checkRising(item, ["oscillator", "tempcoTable"], tempcoTable, "celsius", "°C", report);
  }
  if (typeof wander !== "object" || !("allan" in wander)) return;
  if (checkRising(item, ["oscillator", "wander", "allan"], wander.allan, "seconds", "s", report))
    checkFit(item, wander.allan, report);
}

/** True if every point lies above the one before. */
function checkRising<K extends string>(
  item: Place,
  path: readonly string[],
  points: readonly Readonly<Record<K, number>>[],
  key: K,
  unit: string,
  report: Report,
): boolean {
  let isRising = true;
  for (const [index, point] of points.entries()) {
    const before = points[index - 1]?.[key];
    if (before === undefined || point[key] > before) continue;
    isRising = false;
    report(item, [...path, index, key], {
      expected: `more than in the point before (${before} ${unit})`,
      remedy: `put the points in rising order of ${key}, each once`,
    });
  }
  return isRising;
}

function checkFit(item: Place, points: readonly AllanPoint[], report: Report): void {
  const { index, deviation } = fitAllanPoints(points).furthest;
  const { seconds, deviation: given } = points[index] as AllanPoint;
  const ratio = deviation / given;
  if (ratio <= FIT_RATIO_MAX && ratio >= 1 / FIT_RATIO_MAX) return;
  report(item, ["oscillator", "wander", "allan", index, "deviation"], {
    expected: `points within ${Math.round((FIT_RATIO_MAX - 1) * 100)} % of a sum of white, flicker and random-walk FM`,
    received: `${given} at ${seconds} s, where the nearest such sum has ${deviation.toPrecision(2)}`,
    remedy: "check that point; leave out those where deviation falls faster than 1/√τ or rises faster than √τ",
  });
}
