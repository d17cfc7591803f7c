/** How often things fail and how long they take to mend, as somebody gives it. */
import { exp, log } from "../../shared/maths.ts";
import type { Fault, Repairs } from "./list.ts";

/** A number that is known, or lies somewhere between two. */
export interface Range {
  readonly low: number;
  readonly high: number;
}

export interface Rate {
  /** A kind, or one fault by its name: "cable-out", "cable-out main". The closest that is said of a fault holds. */
  readonly fault: string;
  /** Mean time between failures of one such thing, hours. */
  readonly mtbfHours: Range;
}

export interface Rates {
  readonly rates: readonly Rate[];
  /** Seconds; what is left out is as `faults` has it. */
  readonly repairs: Partial<Record<keyof Repairs, Range>>;
}

export function rateOf({ id, kind }: Fault, rates: readonly Rate[]): Rate | null {
  return rates.find(({ fault }) => fault === id) ?? rates.find(({ fault }) => fault === kind) ?? null;
}

/** Evenly over the ratio: of what is known to a factor, no size is likelier than another. */
export function between({ low, high }: Range, share: number): number {
  return low === high ? low : low * exp(log(high / low) * share);
}

export function middleOf({ low, high }: Range): number {
  return Math.sqrt(low * high);
}
