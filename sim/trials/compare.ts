/**
 * Layouts side by side: the same faults, the same chance. What differs between two layouts in one draw is then not luck,
 * and what is luck shows as an interval around the difference.
 */
import { type Interval, meanOf } from "../chance/intervals.ts";
import { type AudienceFigures, figuresOf, type Needs, needsOf } from "./figures.ts";
import { worstOf } from "./harm.ts";
import type { Fault } from "./list.ts";
import { AUDIENCES, type Audience, audiencesOf, type CaseToll, tollsOf } from "./rank.ts";
import type { Sweep, TrialResult } from "./trial.ts";
import { trialAt } from "./trial.ts";

export interface LayoutTried {
  readonly name: string;
  readonly sweep: Sweep;
  /** All of them, by index. */
  readonly results: readonly TrialResult[];
}

/** What is counted of one audience. */
export const MEASURES = ["silence", "disturbances"] as const;
/** Seconds of silence; clicks and dropouts, each one. */
export type Measure = (typeof MEASURES)[number];

export interface LayoutFigures {
  readonly name: string;
  readonly needs: Needs;
  readonly faults: number;
  readonly audiences: readonly AudienceFigures[];
  readonly tolls: readonly CaseToll[];
  /** Faults that no other layout has. */
  readonly own: readonly string[];
  /** No other layout is better in one thing without being worse in another. */
  readonly isUndominated: boolean;
}

/** Of one audience and measure, the second layout less the first; per draw, then its mean. */
export interface Difference extends Interval {
  readonly first: number;
  readonly second: number;
  readonly mean: number;
  /** "same": in every draw; "unclear": the interval holds 0. */
  readonly verdict: "same" | "more" | "less" | "unclear";
}

export interface FaultDifference {
  readonly fault: string;
  readonly parts: readonly Fault[];
  readonly audience: Audience;
  readonly silence: Difference;
  readonly disturbances: Difference;
}

export interface PairCompared {
  /** Places of the two. */
  readonly layouts: readonly [number, number];
  /** Faults that both have. */
  readonly common: number;
  /** Those in which any audience's trouble differs in some draw, most silence first. */
  readonly faults: readonly FaultDifference[];
  /** Over all faults of each layout, whether the other has them or not, each once. */
  readonly totals: readonly {
    readonly audience: Audience;
    readonly silence: Difference;
    readonly disturbances: Difference;
  }[];
}

export interface Comparison {
  readonly layouts: readonly LayoutFigures[];
  readonly pairs: readonly PairCompared[];
}

const CONFIDENCE = 0.95;

/** At least two, with as many draws and moments each. */
export function compareLayouts(tried: readonly LayoutTried[]): Comparison {
  const counted = tried.map((layout) => ({ ...layout, amounts: amountsOf(layout) }));
  const names = counted.map(({ sweep }) => new Set(sweep.cases.map(nameOfCase)));
  const figures = counted.map((layout, place): Omit<LayoutFigures, "isUndominated"> => {
    const tolls = tollsOf(layout.sweep, layout.results);
    return {
      name: layout.name,
      needs: needsOf(layout.sweep.plan),
      faults: layout.sweep.cases.length,
      audiences: figuresOf(layout.sweep.plan, tolls, AUDIENCES).audiences,
      tolls,
      own: [...(names[place] as ReadonlySet<string>)].filter((name) =>
        names.every((others, other) => other === place || !others.has(name)),
      ),
    };
  });
  const pairs: PairCompared[] = [];
  for (const [one, first] of counted.entries())
    for (const [other, second] of counted.entries())
      if (one < other) pairs.push({ layouts: [one, other], ...compared(first, second) });
  return {
    layouts: figures.map((layout) => ({
      ...layout,
      isUndominated: !figures.some((other) => other !== layout && isBetter(other, layout)),
    })),
    pairs,
  };
}

interface Amounts {
  /** Fault, audience and measure → one value a draw, the moments of it added up. */
  readonly of: ReadonlyMap<string, readonly number[]>;
  readonly audiences: ReadonlySet<Audience>;
}

type Counted = LayoutTried & { readonly amounts: Amounts };

function amountsOf({ sweep, results }: LayoutTried): Amounts {
  const of = new Map<string, number[]>();
  const heardBy = sweep.plan.feeds.map((feed) => audiencesOf(feed.heardBy));
  const audiences = new Set(heardBy.flatMap((each) => [...each]));
  const add = (key: string, seed: number, amount: number) => {
    const known = of.get(key) ?? new Array<number>(sweep.seeds.length).fill(0);
    known[seed] = (known[seed] as number) + amount;
    of.set(key, known);
  };
  for (const { index, harms } of results) {
    const trial = trialAt(sweep, index);
    const name = nameOfCase(sweep.cases[trial.case] as readonly Fault[]);
    for (const audience of audiences) {
      const theirs = harms.filter((_, place) => heardBy[place]?.has(audience));
      const worst = worstOf(theirs);
      for (const measure of MEASURES) {
        const amount = measure === "silence" ? worst.silentSeconds : worst.disturbances;
        add(keyOf(name, audience, measure), trial.seed, amount);
        add(keyOf(ALL, audience, measure), trial.seed, amount);
      }
    }
  }
  return { of, audiences };
}

/** No fault is called so. */
const ALL = "";

function keyOf(fault: string, audience: Audience, measure: Measure): string {
  return `${measure} ${audience} ${fault}`;
}

export function nameOfCase(faults: readonly Fault[]): string {
  return faults.map(({ id }) => id).join(" + ");
}

function compared(first: Counted, second: Counted): Omit<PairCompared, "layouts"> {
  const audiences = AUDIENCES.filter(
    (audience) => first.amounts.audiences.has(audience) || second.amounts.audiences.has(audience),
  );
  const theirs = new Set(second.sweep.cases.map(nameOfCase));
  const common = first.sweep.cases.filter((faults) => theirs.has(nameOfCase(faults)));
  const between = (fault: string, audience: Audience, measure: Measure): Difference => {
    const key = keyOf(fault, audience, measure);
    const none = first.sweep.seeds.map(() => 0);
    return differenceOf(first.amounts.of.get(key) ?? none, second.amounts.of.get(key) ?? none);
  };
  const faults = common.flatMap((parts) =>
    audiences.flatMap((audience): FaultDifference[] => {
      const fault = nameOfCase(parts);
      const silence = between(fault, audience, "silence");
      const disturbances = between(fault, audience, "disturbances");
      if (silence.verdict === "same" && disturbances.verdict === "same") return [];
      return [{ fault, parts, audience, silence, disturbances }];
    }),
  );
  const size = ({ silence, disturbances }: FaultDifference): readonly [number, number] => [
    Math.abs(silence.mean),
    Math.abs(disturbances.mean),
  ];
  return {
    common: common.length,
    faults: faults.toSorted((one, other) => {
      const [mine, theirs] = [size(one), size(other)];
      return theirs[0] - mine[0] || theirs[1] - mine[1] || (one.fault < other.fault ? -1 : 1);
    }),
    totals: audiences.map((audience) => ({
      audience,
      silence: between(ALL, audience, "silence"),
      disturbances: between(ALL, audience, "disturbances"),
    })),
  };
}

/** Silences that nobody could tell apart are the same, s; half of what one is told by. */
const SAME_SECONDS = 0.05;

export function differenceOf(first: readonly number[], second: readonly number[]): Difference {
  const each = second.map((value, draw) => value - (first[draw] as number));
  const { mean, low, high } = meanOf(each, CONFIDENCE);
  const ends = { first: meanOf(first, CONFIDENCE).mean, second: meanOf(second, CONFIDENCE).mean };
  if (each.every((value) => Math.abs(value) < SAME_SECONDS)) return { ...ends, mean, low, high, verdict: "same" };
  // One draw has no interval; what differs in it differs there.
  if (each.length === 1) return { ...ends, mean, low: mean, high: mean, verdict: mean > 0 ? "more" : "less" };
  return { ...ends, mean, low, high, verdict: low > 0 ? "more" : high < 0 ? "less" : "unclear" };
}

/** In nothing worse, and in something better: what an audience suffers, and what the layout needs. */
function isBetter(one: Omit<LayoutFigures, "isUndominated">, other: Omit<LayoutFigures, "isUndominated">): boolean {
  const [mine, theirs] = [criteriaOf(one), criteriaOf(other)];
  return (
    mine.every((value, place) => value <= (theirs[place] as number)) &&
    mine.some((value, place) => value < (theirs[place] as number))
  );
}

function criteriaOf({ needs, audiences }: Omit<LayoutFigures, "isUndominated">): number[] {
  return [
    needs.devices,
    needs.cables,
    needs.metres,
    needs.ports,
    ...AUDIENCES.flatMap((audience) => {
      const found = audiences.find((each) => each.audience === audience);
      const silence = Math.round((found?.longestSilence?.seconds ?? 0) * 10) / 10;
      return [found?.hears ?? 0, silence, found?.mostClicks ?? 0, found?.atFullLevel ?? 0];
    }),
  ];
}
