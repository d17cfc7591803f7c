/**
 * The oracle's oscillator: y(t) = offset + ageing·t + tempco·(T(t) − 25 °C) + warm-up, and the exact integral of it.
 *
 * Only the warm-up has a state of its own (how much of the cold offset is left); everything else is a plain function
 * of show time. `atSeconds` is show time throughout, so ageing runs from the start of the show, not from power-on.
 */
import type { OscillatorPlan } from "../../shared/plan.ts";

const SECONDS_PER_DAY = 86_400;
/** The temperature at which the offset is stated, and at which a show begins. */
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
  /** What is left of the warm-up offset now, fractional. */
  warmUpLeft: number;
}

export function makeOscillator(plan: OscillatorPlan, offsetPpm: number, begin: "warm" | "cold"): Oscillator {
  return {
    plan,
    offset: offsetPpm * 1e-6,
    temperature: { fromSeconds: 0, toSeconds: 0, fromCelsius: ROOM_CELSIUS, toCelsius: ROOM_CELSIUS },
    warmUpLeft: begin === "warm" ? 0 : plan.warmUpPpm * 1e-6,
  };
}

export function temperatureAt(course: TemperatureCourse, atSeconds: number): number {
  if (atSeconds >= course.toSeconds) return course.toCelsius;
  const share = (atSeconds - course.fromSeconds) / (course.toSeconds - course.fromSeconds);
  return course.fromCelsius + share * (course.toCelsius - course.fromCelsius);
}

/** Fractional frequency of the oscillator alone, while powered. */
export function ownRateAt(oscillator: Oscillator, atSeconds: number): number {
  const { plan, temperature, warmUpLeft, offset } = oscillator;
  const ageing = (plan.ageingPpbPerDay * 1e-9 * atSeconds) / SECONDS_PER_DAY;
  const heat = plan.tempcoPpmPerCelsius * 1e-6 * (temperatureAt(temperature, atSeconds) - ROOM_CELSIUS);
  return offset + ageing + heat + warmUpLeft;
}

/** Exact integral of y over a stretch in which the oscillator is powered; `warmUpLeft` is that of its beginning. */
export function ownPhaseGained(oscillator: Oscillator, fromSeconds: number, toSeconds: number): number {
  const { plan, offset, warmUpLeft, temperature } = oscillator;
  const seconds = toSeconds - fromSeconds;
  const ageing = (plan.ageingPpbPerDay * 1e-9 * seconds * (fromSeconds + toSeconds)) / 2 / SECONDS_PER_DAY;
  // A straight line has the mean of its ends, so the integral is exact on either side of the corner.
  const corner = Math.min(Math.max(temperature.toSeconds, fromSeconds), toSeconds);
  const degreeSeconds =
    (corner - fromSeconds) * (temperatureAt(temperature, (fromSeconds + corner) / 2) - ROOM_CELSIUS) +
    (toSeconds - corner) * (temperature.toCelsius - ROOM_CELSIUS);
  const heat = plan.tempcoPpmPerCelsius * 1e-6 * degreeSeconds;
  const tau = plan.warmUpSeconds;
  const warmUp = warmUpLeft === 0 || tau === 0 ? 0 : -warmUpLeft * tau * Math.expm1(-seconds / tau);
  return offset * seconds + ageing + heat + warmUp;
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
