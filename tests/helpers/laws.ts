/**
 * How often a law is tried, and from which seed: fixed, so that two runs of the suite are alike. To explore, set
 * LAW_SEED to any whole number and LAW_RUNS to a factor; a failure prints the seed and path that repeat it.
 */
import type fc from "fast-check";

const seed = Number(process.env.LAW_SEED ?? 48_000);
const factor = Number(process.env.LAW_RUNS ?? 1);

export function tries<T>(count: number): fc.Parameters<T> {
  return { numRuns: Math.max(1, Math.round(count * factor)), seed };
}

/** A law that takes longer than vitest's patience on a slow machine. */
export const PATIENCE_MS = 60_000 * Math.max(1, factor);

/** True if the law is found broken; stops at the first counterexample, since nobody needs it small. */
export function isCaught<T>(
  check: (law: fc.IRawProperty<T>, parameters: fc.Parameters<T>) => unknown,
  law: fc.IRawProperty<T>,
  count: number,
): boolean {
  const { failed } = check(law, { numRuns: count, seed, endOnFailure: true }) as fc.RunDetails<T>;
  return failed;
}

/** For what is asked at every event of every run, where vitest's own question costs more than what it asks about. */
export function must(isSo: boolean, law: string): void {
  if (!isSo) throw new Error(law);
}
