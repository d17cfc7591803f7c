/**
 * Whether one layout wins only by numbers that nobody has entered: each assumed number in turn at what else it may be,
 * in all layouts at the same time, and who has the less silence then.
 */
import { type Assumption, assumptionsByName, withAssumed } from "./assumptions.ts";
import type { LayoutTried } from "./compare.ts";
import { type Audience, audiencesIn } from "./rank.ts";
import { verdictOf } from "./sensitivity.ts";
import type { Sweep } from "./trial.ts";

export interface Flip {
  readonly audience: Audience;
  readonly on: Assumption["on"];
  readonly name: string;
  readonly at: Assumption["value"];
  /** Places of layouts, least silence first, as it is and with the number at that value. */
  readonly order: readonly number[];
  readonly instead: readonly number[];
}

export interface Flips {
  /** Numbers that were turned. */
  readonly tried: number;
  readonly flips: readonly Flip[];
}

/** Nobody tells two layouts apart by less, s of silence over all faults. */
const APART_SECONDS = 0.5;

/** Played with the first draw alone: the question is which number, not how much. */
export function flipsOf(
  layouts: readonly LayoutTried[],
  onProgress: (done: number, of: number) => void = () => {},
): Flips {
  const sweeps = layouts.map(({ sweep }): Sweep => ({ ...sweep, seeds: sweep.seeds.slice(0, 1) }));
  const [first, ...others] = sweeps.map(({ plan }) => audiencesIn(plan));
  const audience = first?.find((each) => others.every((present) => present.includes(each)));
  const numbers = numbersOf(sweeps);
  if (audience === undefined) return { tried: 0, flips: [] };
  const now = orderOf(sweeps.map((sweep) => verdictOf(sweep, audience).silentSeconds));
  const flips: Flip[] = [];
  for (const [place, { on, name, others }] of numbers.entries()) {
    for (const at of others) {
      const seconds = sweeps.map((sweep) => {
        const own = assumptionsByName(sweep.plan).find((each) => each.on === on && each.name === name);
        const plan = own === undefined ? sweep.plan : withAssumed(sweep.plan, own, at);
        return verdictOf({ ...sweep, plan }, audience).silentSeconds;
      });
      const instead = orderOf(seconds);
      if (isTurned(now, instead)) flips.push({ audience, on, name, at, order: now.flat(), instead: instead.flat() });
    }
    onProgress(place + 1, numbers.length);
  }
  return { tried: numbers.length, flips };
}

/** Of any layout, each once. */
function numbersOf(sweeps: readonly Sweep[]): Assumption[] {
  const found = new Map<string, Assumption>();
  for (const { plan } of sweeps)
    for (const each of assumptionsByName(plan))
      found.set(`${each.on} ${each.name}`, found.get(`${each.on} ${each.name}`) ?? each);
  return [...found.values()];
}

/** Places by silence, those that nobody tells apart together. */
function orderOf(seconds: readonly number[]): number[][] {
  const sorted = seconds.map((value, place) => ({ value, place })).sort((one, other) => one.value - other.value);
  const groups: number[][] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const { value, place } of sorted) {
    if (value - last < APART_SECONDS) (groups.at(-1) as number[]).push(place);
    else groups.push([place]);
    last = value;
  }
  return groups;
}

/** Two layouts that stood apart stand the other way round. */
function isTurned(now: readonly (readonly number[])[], instead: readonly (readonly number[])[]): boolean {
  const rank = (groups: readonly (readonly number[])[], place: number) =>
    groups.findIndex((group) => group.includes(place));
  const places = now.flat();
  return places.some((one) =>
    places.some((other) => rank(now, one) < rank(now, other) && rank(instead, one) > rank(instead, other)),
  );
}
