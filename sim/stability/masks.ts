/**
 * Limits of wander from standards, as data: below each curve a clock or a signal of that class has to stay.
 *
 * None of the standards themselves could be read; every row says where its numbers were read instead. Where two pieces
 * meet and disagree (by rounding in the standard), the lower limit counts, so that nothing hangs on which of them owns
 * the joint.
 */
import { exp, log } from "../../shared/maths.ts";

/** limit(τ) = offsetSeconds + coefficient · τ^exponent, in seconds, τ in seconds, both ends included. */
export interface MaskPiece {
  readonly fromSeconds: number;
  /** Infinity where the standard names no end. */
  readonly toSeconds: number;
  readonly offsetSeconds: number;
  /** Seconds per second to the exponent. */
  readonly coefficient: number;
  readonly exponent: number;
}

export interface Mask {
  readonly id: string;
  /** What must stay below it, for people. */
  readonly title: string;
  /** What is compared: a statistic over the observation interval, or the size of the phase itself at every instant. */
  readonly statistic: "mtie" | "tdev" | "phase";
  /** In order of τ. One piece from 0 to Infinity for a limit of phase, which knows no interval. */
  readonly pieces: readonly MaskPiece[];
  /** Document and clause. */
  readonly source: string;
  /** Where the numbers were read, and with how much trust. */
  readonly status: string;
}

const flat = (fromSeconds: number, toSeconds: number, limitSeconds: number): MaskPiece => {
  return { fromSeconds, toSeconds, offsetSeconds: limitSeconds, coefficient: 0, exponent: 0 };
};
const power = (fromSeconds: number, toSeconds: number, coefficient: number, exponent: number): MaskPiece => {
  return { fromSeconds, toSeconds, offsetSeconds: 0, coefficient, exponent };
};
const line = (fromSeconds: number, toSeconds: number, offsetSeconds: number, coefficient: number): MaskPiece => {
  return { fromSeconds, toSeconds, offsetSeconds, coefficient, exponent: 1 };
};

const ALLANTOOLS = "read in allantools' mask.py, which cites the document";
const TIMETOOLS = "read in timeTools' ituTG8262/eecOption1, which cites the table; not in the document itself";

/** Masks over the observation interval. */
export const MASKS: readonly Mask[] = [
  {
    id: "g811-mtie",
    title: "Primary reference clock, MTIE",
    statistic: "mtie",
    pieces: [line(0.1, 1000, 0.025e-6, 0.275e-9), line(1000, Number.POSITIVE_INFINITY, 0.29e-6, 1e-11)],
    source: "ITU-T G.811 (1997) Amendment 1 (2016)",
    status: `${ALLANTOOLS}; beginning at 0.1 s from memory`,
  },
  {
    id: "g811-tdev",
    title: "Primary reference clock, TDEV",
    statistic: "tdev",
    pieces: [flat(0.1, 100, 3e-9), power(100, 1000, 0.03e-9, 1), flat(1000, 10_000, 30e-9)],
    source: "ITU-T G.811 (1997) Amendment 1 (2016)",
    status: `${ALLANTOOLS}; beginning at 0.1 s and end at 10,000 s from memory`,
  },
  {
    id: "g8272-prtc-a-mtie",
    title: "Primary reference time clock A, MTIE",
    statistic: "mtie",
    pieces: [line(0.1, 273, 0.025e-6, 0.275e-9), flat(273, Number.POSITIVE_INFINITY, 100e-9)],
    source: "ITU-T G.8272, table 1",
    status: `${ALLANTOOLS}; beginning at 0.1 s from memory`,
  },
  {
    id: "sec1-generation-mtie",
    title: "Equipment clock option 1, locked: wander it makes, MTIE",
    statistic: "mtie",
    pieces: [flat(0.1, 1, 40e-9), power(1, 100, 40e-9, 0.1), power(100, 1000, 25.25e-9, 0.2)],
    source: "ITU-T G.8262 (2010) table 1, constant temperature; G.813 option 1",
    status: TIMETOOLS,
  },
  {
    id: "sec1-generation-tdev",
    title: "Equipment clock option 1, locked: wander it makes, TDEV",
    statistic: "tdev",
    pieces: [flat(0.1, 25, 3.2e-9), power(25, 100, 0.64e-9, 0.5), flat(100, 1000, 6.4e-9)],
    source: "ITU-T G.8262 (2010) table 3, constant temperature; G.813 option 1",
    status: TIMETOOLS,
  },
  {
    id: "sec1-tolerance-mtie",
    title: "Equipment clock option 1: wander at its input that it has to bear, MTIE",
    statistic: "mtie",
    pieces: [flat(0.1, 2.5, 0.25e-6), power(2.5, 20, 0.1e-6, 1), flat(20, 400, 2e-6), power(400, 1000, 0.005e-6, 1)],
    source: "ITU-T G.8262 (2010) table 7; G.813 option 1",
    status: TIMETOOLS,
  },
];

/**
 * AES11's allowances as limits of phase: an output within 5 % of a sample period of its reference, an input that still
 * works at 25 %. In seconds; the standard prints the first at 48 kHz as 1.0 µs, cut from 1.0417.
 *
 * @param rateHz sample rate, above 0
 */
export function aes11Masks(rateHz: number): Mask[] {
  const status = "read in a public requirements file that cites the clause (machine-assisted); agrees with memory";
  const kilohertz = String(rateHz / 1000);
  return [
    {
      id: "aes11-output-phase",
      title: `Output within 5 % of a sample at ${kilohertz} kHz`,
      statistic: "phase",
      pieces: [flat(0, Number.POSITIVE_INFINITY, 0.05 / rateHz)],
      source: "AES11-2009, 5.3.1.1",
      status,
    },
    {
      id: "aes11-input-phase",
      title: `Input that bears 25 % of a sample at ${kilohertz} kHz`,
      statistic: "phase",
      pieces: [flat(0, Number.POSITIVE_INFINITY, 0.25 / rateHz)],
      source: "AES11-2009, 5.3.1.2",
      status,
    },
  ];
}

/**
 * The limit of a mask at an observation interval.
 *
 * @param tauSeconds observation interval in seconds
 * @returns seconds; null where the mask says nothing. At a joint the lower of both pieces.
 */
export function maskLimitSeconds(mask: Mask, tauSeconds: number): number | null {
  let least: number | null = null;
  for (const piece of mask.pieces) {
    if (!(tauSeconds >= piece.fromSeconds && tauSeconds <= piece.toSeconds)) continue;
    const limit = pieceLimitSeconds(piece, tauSeconds);
    if (least === null || limit < least) least = limit;
  }
  return least;
}

/** The formula of one piece, inside its ends or not; for showing both sides of a joint. */
export function pieceLimitSeconds({ offsetSeconds, coefficient, exponent }: MaskPiece, tauSeconds: number): number {
  if (coefficient === 0) return offsetSeconds;
  return offsetSeconds + coefficient * toThe(tauSeconds, exponent);
}

function toThe(tau: number, exponent: number): number {
  if (exponent === 1) return tau;
  return exponent === 0.5 ? Math.sqrt(tau) : exp(exponent * log(tau));
}

/**
 * Phase that an equipment clock of option 1 may have gathered a time after it lost every reference.
 *
 *     ΔT(S) = (a1 + a2) S + b S² / 2 + c
 *
 * with a1 = 50 ns/s (the frequency it held on to), a2 = 2000 ns/s (temperature), b = 1.16e-4 ns/s² (ageing, 1e-8 a day)
 * and c = 120 ns (the switch itself).
 *
 * @param holdoverSeconds S, time since the loss, 0 or above
 * @returns seconds
 *
 * Source: ITU-T G.8262 (2010), holdover of option 1, as read in timeTools (p. 17 of the document); not in the document.
 */
export function sec1HoldoverSeconds(holdoverSeconds: number): number {
  const s = holdoverSeconds;
  return 1e-9 * ((50 + 2000) * s + 0.5 * 1.16e-4 * s * s + 120);
}
