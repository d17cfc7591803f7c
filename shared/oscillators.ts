/**
 * Types of oscillator and their numbers. Lombardi: M. A. Lombardi (NIST), "Fundamentals of time and frequency",
 * *Mechatronics Handbook*, CRC 2002, "Summary of Oscillator Types" (read). Vig: J. R. Vig, SLCET-TR-92-1 (1992),
 * Table 1 (read for accuracy and ageing).
 *
 * The signs of ageing, temperature coefficient and warm-up are unknown; plus is assumed for all, so two oscillators of
 * one type move together. No type ages unless the file says so: a measured offset includes it, and within a show even
 * a plain crystal moves by less than 0.002 ppm.
 */
import type { Sourced } from "./link-types.ts";

export const OSCILLATOR_TYPES = ["crystal", "tcxo", "ocxo", "rubidium", "gnss"] as const;
export type OscillatorTypeName = (typeof OSCILLATOR_TYPES)[number];

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
}

function sourced(value: number, origin: Sourced["origin"], source: string): Sourced {
  return { value, origin, source };
}

const TABLE: Readonly<Record<OscillatorTypeName, OscillatorType>> = {
  crystal: {
    type: "crystal",
    name: "plain crystal",
    tolerancePpm: sourced(50, "handbook", "a data sheet of an Ethernet controller: ±50 ppm typical"),
    ageingPpbPerDay: sourced(0, "assumed", "some 10 ppb a day when new (from memory), too little for a show"),
    tempcoPpmPerCelsius: sourced(0.1, "assumed", "no source; a few ppm over the temperatures of a show"),
    warmUpPpm: sourced(2, "assumed", "the coefficient times 20 °C of self-heating"),
    warmUpSeconds: sourced(300, "assumed", "no source; a case that is warm after a quarter of an hour"),
    coolDownSeconds: sourced(900, "assumed", "no source; slower than warming"),
  },
  tcxo: {
    type: "tcxo",
    name: "temperature-compensated crystal (TCXO)",
    tolerancePpm: sourced(2, "handbook", "Vig: accuracy per year 2e-6"),
    ageingPpbPerDay: sourced(0, "assumed", "Lombardi and Vig: 5e-7 a year, 1.4 ppb a day, too little for a show"),
    tempcoPpmPerCelsius: sourced(0.01, "assumed", "5e-7 over some 50 °C (Vig, from memory)"),
    warmUpPpm: sourced(2, "assumed", "no source; twice what Lombardi has left after 10 s"),
    warmUpSeconds: sourced(14, "handbook", "Lombardi: less than 10 s to 1e-6; from 2 ppm that is 10 s / ln 2"),
    coolDownSeconds: sourced(42, "assumed", "no source; three times the warming"),
  },
  ocxo: {
    type: "ocxo",
    name: "oven-controlled crystal (OCXO)",
    tolerancePpm: sourced(0.01, "handbook", "Vig: accuracy per year 1e-8"),
    ageingPpbPerDay: sourced(0, "assumed", "Lombardi and Vig: 5e-9 a year, 0.014 ppb a day, too little for a show"),
    tempcoPpmPerCelsius: sourced(2e-5, "assumed", "1e-9 over some 50 °C (Vig, from memory)"),
    warmUpPpm: sourced(5, "assumed", "no source; a cold oven is some ppm off"),
    warmUpSeconds: sourced(48, "handbook", "Lombardi: less than 5 min to 1e-8; from 5 ppm that is 300 s / ln 500"),
    coolDownSeconds: sourced(600, "assumed", "no source; an insulated oven cools slowly"),
  },
  rubidium: {
    type: "rubidium",
    name: "rubidium",
    tolerancePpm: sourced(5e-4, "handbook", "Lombardi: offset after warm-up 5e-10 to 5e-12"),
    ageingPpbPerDay: sourced(0, "assumed", "Lombardi: 1e-10 a year, too little for a show"),
    tempcoPpmPerCelsius: sourced(1e-5, "assumed", "no source"),
    warmUpPpm: sourced(1, "assumed", "no source; its crystal before the lamp has locked it"),
    warmUpSeconds: sourced(39, "handbook", "Lombardi: less than 5 min to 5e-10; from 1 ppm that is 300 s / ln 2000"),
    coolDownSeconds: sourced(600, "assumed", "no source; as an oven"),
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
  },
};

export function oscillatorType(type: OscillatorTypeName): OscillatorType {
  return TABLE[type];
}
