/**
 * The oracle's oscillator: y(t) = offset + ageing·t + heat(T(t)) + warm-up + slope of wander, and the exact integral of
 * it. Heat is tempco·(T − 25 °C), or a table of offsets with straight lines between.
 *
 * Only the warm-up has a state of its own (how much of the cold offset is left); everything else is a plain function
 * of show time. `atSeconds` is show time throughout, so ageing runs from the start of the show, not from power-on.
 */
import type { OscillatorPlan } from "../../shared/plan.ts";
import type { WanderCourse } from "./wander.ts";

const SECONDS_PER_DAY = 86_400;
/** The temperature at which the offset is stated. */
const ROOM_CELSIUS = 25;

/** A straight line between two instants, flat after the second; a change in no time has both instants equal. */
export interface TemperatureCourse {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly fromCelsius: number;
  readonly toCelsius: number;
}

export interface Oscillator {
  readonly plan: OscillatorPlan;
  /** Fractional; a frequency step replaces it. */
  offset: number;
  temperature: TemperatureCourse;
  readonly wander: WanderCourse;
  /** What is left of the warm-up offset now, fractional. */
  warmUpLeft: number;
}

export function makeOscillator(
  plan: OscillatorPlan,
  offsetPpm: number,
  begin: "warm" | "cold",
  wander: WanderCourse,
): Oscillator {
  const { startCelsius } = plan;
  return {
    plan,
    offset: offsetPpm * 1e-6,
    temperature: { fromSeconds: 0, toSeconds: 0, fromCelsius: startCelsius, toCelsius: startCelsius },
    wander,
    warmUpLeft: begin === "warm" ? 0 : plan.warmUpPpm * 1e-6,
  };
}

export function temperatureAt(course: TemperatureCourse, atSeconds: number): number {
  if (atSeconds >= course.toSeconds) return course.toCelsius;
  const share = (atSeconds - course.fromSeconds) / (course.toSeconds - course.fromSeconds);
  return course.fromCelsius + share * (course.toCelsius - course.fromCelsius);
}

/** Fractional offset that heat makes. */
function heatAt({ tempcoTable, tempcoPpmPerCelsius }: OscillatorPlan, celsius: number): number {
  if (tempcoTable === null) return tempcoPpmPerCelsius * 1e-6 * (celsius - ROOM_CELSIUS);
  const next = tempcoTable.find((point) => point.celsius >= celsius) ?? tempcoTable.at(-1);
  const last = tempcoTable.findLast((point) => point.celsius <= celsius) ?? tempcoTable[0];
  if (next === undefined || last === undefined) return 0;
  const share = next.celsius > last.celsius ? (celsius - last.celsius) / (next.celsius - last.celsius) : 0;
  return 1e-6 * (last.ppm + share * (next.ppm - last.ppm));
}

/** Fractional frequency of the oscillator alone, while powered, wander apart. */
export function steadyRateAt(oscillator: Oscillator, atSeconds: number): number {
  const { plan, temperature, warmUpLeft, offset } = oscillator;
  const ageing = (plan.ageingPpbPerDay * 1e-9 * atSeconds) / SECONDS_PER_DAY;
  return offset + ageing + heatAt(plan, temperatureAt(temperature, atSeconds)) + warmUpLeft;
}

/** Fractional frequency of the oscillator alone, while powered. */
export function ownRateAt(oscillator: Oscillator, atSeconds: number): number {
  return steadyRateAt(oscillator, atSeconds) + oscillator.wander.slopeAt(atSeconds);
}

/** Exact integral of y over a stretch in which the oscillator is powered; `warmUpLeft` is that of its beginning. */
export function ownPhaseGained(oscillator: Oscillator, fromSeconds: number, toSeconds: number): number {
  const { plan, offset, warmUpLeft, wander } = oscillator;
  const seconds = toSeconds - fromSeconds;
  const ageing = (plan.ageingPpbPerDay * 1e-9 * seconds * (fromSeconds + toSeconds)) / 2 / SECONDS_PER_DAY;
  const tau = plan.warmUpSeconds;
  const warmUp = warmUpLeft === 0 || tau === 0 ? 0 : -warmUpLeft * tau * Math.expm1(-seconds / tau);
  const byChance = wander.phaseAt(toSeconds) - wander.phaseAt(fromSeconds);
  return offset * seconds + ageing + heatGained(oscillator, fromSeconds, toSeconds) + warmUp + byChance;
}

/** Heat is a straight line in time between the corner of the course and where it passes points of the table. */
function heatGained({ plan, temperature }: Oscillator, fromSeconds: number, toSeconds: number): number {
  const { tempcoTable } = plan;
  const { fromCelsius, toCelsius } = temperature;
  const lasts = temperature.toSeconds - temperature.fromSeconds;
  const passings = (tempcoTable ?? []).map(
    ({ celsius }) => temperature.fromSeconds + (lasts * (celsius - fromCelsius)) / (toCelsius - fromCelsius),
  );
  const cuts = [temperature.toSeconds, ...passings]
    .filter((cut) => cut > fromSeconds && cut < toSeconds)
    .sort((a, b) => a - b);
  let gained = 0;
  let begin = fromSeconds;
  for (const end of [...cuts, toSeconds]) {
    // A straight line has the mean of its ends in its middle.
    gained += (end - begin) * heatAt(plan, temperatureAt(temperature, (begin + end) / 2));
    begin = end;
  }
  return gained;
}

/** Lets the crystal warm (w' = −w/τ) or creep back towards its cold offset. */
export function passTime(oscillator: Oscillator, seconds: number, powered: boolean): void {
  const { warmUpPpm, warmUpSeconds, coolDownSeconds } = oscillator.plan;
  const target = powered ? 0 : warmUpPpm * 1e-6;
  if (oscillator.warmUpLeft === target) return;
  const tau = powered ? warmUpSeconds : coolDownSeconds;
  const left = tau > 0 ? Math.exp(-seconds / tau) : 0;
  oscillator.warmUpLeft = target + (oscillator.warmUpLeft - target) * left;
}

/** From the present temperature in a straight line to another. */
export function changeTemperature(
  oscillator: Oscillator,
  atSeconds: number,
  toCelsius: number,
  overSeconds: number,
): void {
  oscillator.temperature = {
    fromSeconds: atSeconds,
    toSeconds: atSeconds + overSeconds,
    fromCelsius: temperatureAt(oscillator.temperature, atSeconds),
    toCelsius,
  };
}
