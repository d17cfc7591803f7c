/** What the verdict of all faults hangs on: assumed numbers, one at a time, and the few that count together. */
import type { Plan } from "../../shared/plan.ts";
import { stream } from "../../shared/random.ts";
import { type SobolIndices, sobolIndices } from "../chance/sobol.ts";
import { type Assumption, withAssumed } from "./assumptions.ts";
import { worstOf } from "./harm.ts";
import { type Audience, audiencesOf } from "./rank.ts";
import { type Sweep, Trier, trialCount } from "./trial.ts";

/** What one audience has of all faults together: each fault once. */
export interface Verdict {
  readonly silentSeconds: number;
  /** Clicks and dropouts. */
  readonly disturbances: number;
  /** Faults after which it is back at full level. */
  readonly atFullLevel: number;
}

export interface Effect {
  readonly assumption: Assumption;
  /** Of the values that it may have, the one that changes most. */
  readonly at: Assumption["value"];
  readonly verdict: Verdict;
  /** Less what it is now. */
  readonly change: Verdict;
}

/** All trials of a sweep, the moments and draws of a fault averaged. */
export function verdictOf(sweep: Sweep, audience: Audience): Verdict {
  const trier = new Trier(sweep);
  const hears = sweep.plan.feeds.map(({ heardBy }) => audiencesOf(heardBy).has(audience));
  const sums = { silentSeconds: 0, disturbances: 0, atFullLevel: 0 };
  for (let index = 0; index < trialCount(sweep); index += 1) {
    const harms = trier.play(index).harms.filter((_, place) => hears[place]);
    const worst = worstOf(harms);
    sums.silentSeconds += worst.silentSeconds;
    sums.disturbances += worst.disturbances;
    sums.atFullLevel += worst.atFullLevel;
  }
  const each = sweep.seeds.length * sweep.standings.length;
  return {
    silentSeconds: sums.silentSeconds / each,
    disturbances: sums.disturbances / each,
    atFullLevel: sums.atFullLevel / each,
  };
}

export function lessBy(one: Verdict, other: Verdict): Verdict {
  return {
    silentSeconds: one.silentSeconds - other.silentSeconds,
    disturbances: one.disturbances - other.disturbances,
    atFullLevel: one.atFullLevel - other.atFullLevel,
  };
}

/** Whether anybody could tell: a tenth of a second, or one click or return in ten faults' worth of them. */
export function isChange({ silentSeconds, disturbances, atFullLevel }: Verdict): boolean {
  return Math.abs(silentSeconds) >= 0.1 || Math.abs(disturbances) >= 0.5 || Math.abs(atFullLevel) >= 0.5;
}

/**
 * Each assumption at each value that it may have, the others as they are; what changes most first. Faults are the same,
 * and take place at the same instants with the same chance.
 */
export function effectsOf(
  sweep: Sweep,
  assumptions: readonly Assumption[],
  audience: Audience,
  onProgress: (done: number) => void = () => {},
): { readonly now: Verdict; readonly effects: readonly Effect[] } {
  const now = verdictOf(sweep, audience);
  const effects = assumptions.map((assumption, place): Effect => {
    const tried = assumption.others.map((at) => {
      const verdict = verdictOf({ ...sweep, plan: withAssumed(sweep.plan, assumption, at) }, audience);
      return { assumption, at, verdict, change: lessBy(verdict, now) };
    });
    onProgress(place + 1);
    return tried.reduce((most, each) => (compareChanges(each, most) < 0 ? each : most));
  });
  return { now, effects: effects.toSorted(compareChanges) };
}

/** Levels before silence before clicks, as in the order of concerns. */
function compareChanges({ change: one }: Effect, { change: other }: Effect): number {
  const size = (value: number) => Math.round(Math.abs(value) * 10);
  return (
    size(other.silentSeconds) - size(one.silentSeconds) ||
    size(other.atFullLevel) - size(one.atFullLevel) ||
    size(other.disturbances) - size(one.disturbances)
  );
}

/** Numbers are spread evenly between the ends of what they may be; words and yes or no are drawn. */
export function valueBetween({ value, others }: Assumption, share: number): Assumption["value"] {
  if (typeof value !== "number") {
    const all = [value, ...others];
    return all[Math.min(all.length - 1, Math.floor(share * all.length))] as Assumption["value"];
  }
  const ends = [value, ...others] as number[];
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  return low + share * (high - low);
}

/** Shares of the variance of the silence of one audience, all of the assumptions free at the same time. */
export function jointly(
  sweep: Sweep,
  assumptions: readonly Assumption[],
  audience: Audience,
  samples: number,
  onProgress: (done: number) => void = () => {},
): SobolIndices {
  let done = 0;
  const model = (shares: readonly number[]): number => {
    const plan = assumptions.reduce<Plan>(
      (changed, assumption, place) =>
        withAssumed(changed, assumption, valueBetween(assumption, shares[place] as number)),
      sweep.plan,
    );
    done += 1;
    onProgress(done);
    return verdictOf({ ...sweep, plan }, audience).silentSeconds;
  };
  return sobolIndices(model, assumptions.length, samples, stream(sweep.plan.seed, "", "assumptions", 0));
}
