/**
 * Availability and survival in closed form. Formulas: "Reference Data for Engineers", chapter 45 (A = MTBF / (MTBF +
 * MTTR)), and the RIAC START sheet 11-5 on series, parallel and k-out-of-n.
 */
import { exp } from "../../shared/maths.ts";

/** Of one thing that fails and is repaired, in the long run; both in one unit. */
export function availability(mtbf: number, mttr: number): number {
  return mtbf / (mtbf + mttr);
}

/** All have to work. */
export function inSeries(parts: readonly number[]): number {
  return parts.reduce((all, part) => all * part, 1);
}

/** Any one is enough. */
export function inParallel(parts: readonly number[]): number {
  return someOf(1, parts);
}

/** At least `needed` of them have to work; they may differ, and fail for themselves. */
export function someOf(needed: number, parts: readonly number[]): number {
  // working[k]: the probability that exactly k of those seen so far work.
  let working = [1];
  for (const part of parts) {
    const next = new Array<number>(working.length + 1).fill(0);
    for (const [count, probability] of working.entries()) {
      next[count] = (next[count] as number) + probability * (1 - part);
      next[count + 1] = (next[count + 1] as number) + probability * part;
    }
    working = next;
  }
  return working.slice(needed).reduce((sum, probability) => sum + probability, 0);
}

/** That nothing with this rate fails in this time: e^(−time/MTBF). */
export function survival(mtbf: number, time: number): number {
  return exp(-time / mtbf);
}
