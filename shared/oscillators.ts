/**
 * Types of oscillator and their numbers. Lombardi: M. A. Lombardi (NIST), "Fundamentals of time and frequency",
 * *Mechatronics Handbook*, CRC 2002, "Summary of Oscillator Types" (read). Vig: J. R. Vig, SLCET-TR-92-1 (1992),
 * Table 1 (read for accuracy and ageing). Brown and Hwang: R. G. Brown and P. Y. C. Hwang, *Introduction to Random
 * Signals and Applied Kalman Filtering*, 4th ed., table of power-law coefficients (as quoted in public code).
 *
 * The signs of ageing, temperature coefficient and warm-up are unknown; plus is assumed for all, so two oscillators of
 * one type move together. Ageing by type counts in runs of more than a day only: an offset that somebody measured has
 * the ageing up to that day in it, and within a show even a plain crystal ages by less than temperature does in minutes,
 * while over several days nothing else moves a clock as steadily.
 *
 * Wander by Brown and Hwang's rows. Where Lombardi's σy(1 s) disagrees: TCXO 4.9e-10, he has 1e-8 to 1e-9; OCXO 2.2e-12,
 * he has 1e-12; rubidium 1.0e-11, within his 5e-11 to 5e-12. Of the two TCXO rows the low-quality one is taken, which is
 * the nearer to him.
 */
import type { Sourced } from "./link-types.ts";
import { flickerFromFloor, wanderFromPowerLaw } from "./noise-numbers.ts";

export const OSCILLATOR_TYPES = ["crystal", "tcxo", "ocxo", "rubidium", "gnss"] as const;
export type OscillatorTypeName = (typeof OSCILLATOR_TYPES)[number];

/** Runs up to this long leave ageing by type out; an ageing that the file gives counts in any run. */
export const AGES_BEYOND_SECONDS = 86_400;

export interface OscillatorType {
  readonly type: OscillatorTypeName;
  /** In words. */
  readonly name: string;
  readonly tolerancePpm: Sourced;
  readonly ageingPpbPerDay: Sourced;
  readonly tempcoPpmPerCelsius: Sourced;
  readonly warmUpPpm: Sourced;
  readonly warmUpSeconds: Sourced;
  readonly coolDownSeconds: Sourced;
  /** White FM, s^½. */
  readonly sigma1: Sourced;
  /** Random-walk FM, s^−½. */
  readonly sigma2: Sourced;
  /** Flicker FM, dimensionless. */
  readonly hMinus1: Sourced;
}

function sourced(value: number, origin: Sourced["origin"], source: string): Sourced {
  return { value, origin, source };
}

/** A row of Brown and Hwang's table, in our numbers. */
function brownAndHwang(row: string, h0: number, hMinus1: number, hMinus2: number) {
  const { sigma1, sigma2 } = wanderFromPowerLaw({ h0, hMinus1, hMinus2 });
  return {
    sigma1: sourced(sigma1, "handbook", `Brown and Hwang, ${row}: h0 = ${h0} s`),
    sigma2: sourced(sigma2, "handbook", `Brown and Hwang, ${row}: h−2 = ${hMinus2} per s`),
    hMinus1: sourced(hMinus1, "handbook", `Brown and Hwang, ${row}: h−1 = ${hMinus1}`),
  };
}

const TABLE: Readonly<Record<OscillatorTypeName, OscillatorType>> = {
  crystal: {
    type: "crystal",
    name: "plain crystal",
    tolerancePpm: sourced(50, "handbook", "a data sheet of an Ethernet controller: ±50 ppm typical"),
    ageingPpbPerDay: sourced(10, "assumed", "from memory: some ppm in the first year"),
    tempcoPpmPerCelsius: sourced(0.1, "assumed", "no source; a few ppm over the temperatures of a show"),
    warmUpPpm: sourced(2, "assumed", "the coefficient times 20 °C of self-heating"),
    warmUpSeconds: sourced(300, "assumed", "no source; a case that is warm after a quarter of an hour"),
    coolDownSeconds: sourced(900, "assumed", "no source; slower than warming"),
    sigma1: sourced(1e-9, "assumed", "no source; three times the TCXO, and what Lombardi has for one at 1 s"),
    sigma2: sourced(1e-9, "assumed", "no source; 0.1 ppm in three hours, as from air that drifts by 1 °C"),
    hMinus1: sourced(flickerFromFloor(1e-9), "assumed", "no source; a floor of 1e-9, Lombardi's for a TCXO"),
  },
  tcxo: {
    type: "tcxo",
    name: "temperature-compensated crystal (TCXO)",
    tolerancePpm: sourced(2, "handbook", "Vig: accuracy per year 2e-6"),
    ageingPpbPerDay: sourced(1.37, "handbook", "Lombardi and Vig: 5e-7 a year"),
    tempcoPpmPerCelsius: sourced(0.01, "assumed", "5e-7 over some 50 °C (Vig, from memory)"),
    warmUpPpm: sourced(2, "assumed", "no source; twice what Lombardi has left after 10 s"),
    warmUpSeconds: sourced(14, "handbook", "Lombardi: less than 10 s to 1e-6; from 2 ppm that is 10 s / ln 2"),
    coolDownSeconds: sourced(42, "assumed", "no source; three times the warming"),
    ...brownAndHwang("low-quality TCXO", 2e-19, 7e-21, 2e-20),
  },
  ocxo: {
    type: "ocxo",
    name: "oven-controlled crystal (OCXO)",
    tolerancePpm: sourced(0.01, "handbook", "Vig: accuracy per year 1e-8"),
    ageingPpbPerDay: sourced(0.0137, "handbook", "Lombardi and Vig: 5e-9 a year"),
    tempcoPpmPerCelsius: sourced(2e-5, "assumed", "1e-9 over some 50 °C (Vig, from memory)"),
    warmUpPpm: sourced(5, "assumed", "no source; a cold oven is some ppm off"),
    warmUpSeconds: sourced(48, "handbook", "Lombardi: less than 5 min to 1e-8; from 5 ppm that is 300 s / ln 500"),
    coolDownSeconds: sourced(600, "assumed", "no source; an insulated oven cools slowly"),
    ...brownAndHwang("OCXO", 2e-25, 7e-25, 6e-25),
  },
  rubidium: {
    type: "rubidium",
    name: "rubidium",
    tolerancePpm: sourced(5e-4, "handbook", "Lombardi: offset after warm-up 5e-10 to 5e-12"),
    ageingPpbPerDay: sourced(2.74e-4, "handbook", "Lombardi: 1e-10 a year"),
    tempcoPpmPerCelsius: sourced(1e-5, "assumed", "no source"),
    warmUpPpm: sourced(1, "assumed", "no source; its crystal before the lamp has locked it"),
    warmUpSeconds: sourced(39, "handbook", "Lombardi: less than 5 min to 5e-10; from 1 ppm that is 300 s / ln 2000"),
    coolDownSeconds: sourced(600, "assumed", "no source; as an oven"),
    ...brownAndHwang("rubidium", 2e-22, 4.5e-26, 1e-30),
  },
  gnss: {
    type: "gnss",
    name: "disciplined by satellites",
    tolerancePpm: sourced(1e-7, "handbook", "NIST on disciplined oscillators: near 1e-13 after a day of averaging"),
    ageingPpbPerDay: sourced(0, "none needed", "corrected all the time"),
    tempcoPpmPerCelsius: sourced(0, "none needed", "corrected all the time"),
    warmUpPpm: sourced(5, "assumed", "as an oven-controlled crystal"),
    warmUpSeconds: sourced(48, "assumed", "as an oven-controlled crystal"),
    coolDownSeconds: sourced(600, "assumed", "as an oven-controlled crystal"),
    // An OCXO's random walk would be 6e-10 at a day. White FM alone is some ten times too much at 1 s, 30 ps, and right
    // where it matters: it neither walks away nor averages down faster than NIST says.
    sigma1: sourced(2.9e-11, "assumed", "white FM that has averaged to 1e-13 after a day, as NIST has it"),
    sigma2: sourced(0, "none needed", "corrected all the time: it does not walk away"),
    hMinus1: sourced(0, "none needed", "corrected all the time"),
  },
};

export function oscillatorType(type: OscillatorTypeName): OscillatorType {
  return TABLE[type];
}
