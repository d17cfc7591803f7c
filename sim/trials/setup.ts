/** From a plan and what somebody wants to know of it to a sweep. */
import type { Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds } from "../../shared/time.ts";
import { rehearse } from "../rehearse.ts";
import { type Fault, type FaultKind, faultsIn, REPAIR_SECONDS, type RepairName, type Repairs } from "./list.ts";
import { asPlanned, mainStanding, type Standing, standingsOf } from "./moments.ts";
import { pairsOf } from "./pairs.ts";
import { type Sweep, watchedEnough } from "./trial.ts";

export interface Wanted {
  /** Null: the middle of the longest standing of the show. */
  readonly atNs: Ns | null;
  /** One instant in each standing of the show. */
  readonly everyMoment: boolean;
  readonly draws: number;
  /** Null: all. */
  readonly kinds: ReadonlySet<FaultKind> | null;
  readonly repairs: Repairs;
  /** Repairs of which somebody has said how long they take; the others are assumed. */
  readonly repairsGiven: ReadonlySet<RepairName>;
  /** Two at once as well. */
  readonly pairs: boolean;
}

export const WANTED: Wanted = {
  atNs: null,
  everyMoment: false,
  draws: 10,
  kinds: null,
  repairs: REPAIR_SECONDS,
  repairsGiven: new Set(),
  pairs: false,
};

export interface SetUp {
  readonly sweep: Sweep;
  /** Events of the file that are faults themselves and are not played. */
  readonly leftOut: number;
  /** Pairs that cannot make each other worse and are not tried. */
  readonly pairsLeftOut: number;
}

/** Draws after the first are spread over this much time at most, s: see `trial.ts`. */
const ROOM_SECONDS = 30;
/** While the first is noticed and talked about, and before anybody has mended it; *assumed*. */
const APART_SECONDS = 10;

/** Singles first, pairs behind them. */
export function singleFaults(filed: Plan, wanted: Wanted): SetUp {
  const { plan, leftOut } = asPlanned(filed);
  const faults = faultsIn(plan, wanted.repairs).filter(({ kind }) => wanted.kinds?.has(kind) ?? true);
  const singles = faults.map((fault) => [fault]);
  const sweep = sweepOf(plan, singles, wanted, wanted.pairs ? APART_SECONDS : 0);
  if (!wanted.pairs) return { sweep, leftOut, pairsLeftOut: 0 };
  const pairs = pairsOf({ ...sweep, seeds: sweep.seeds.slice(0, 1), standings: sweep.standings.slice(0, 1) });
  return {
    sweep: sweepOf(plan, [...singles, ...pairs.cases], wanted, APART_SECONDS),
    leftOut,
    pairsLeftOut: pairs.leftOut,
  };
}

/** The same faults, the same chance: one seed for all, so that a device that two layouts share has one oscillator in both. */
export function layoutSweeps(plans: readonly Plan[], wanted: Wanted, seed: string): Sweep[] {
  const sweeps = plans.map((plan) => singleFaults({ ...plan, seed }, wanted).sweep);
  const fewest = Math.min(...sweeps.map(({ standings }) => standings.length));
  return sweeps.map((sweep) => ({ ...sweep, standings: sweep.standings.slice(0, fewest) }));
}

export function sweepOf(
  plan: Plan,
  cases: readonly (readonly Fault[])[],
  { atNs, everyMoment, draws }: Pick<Wanted, "atNs" | "everyMoment" | "draws">,
  apartSeconds: number,
): Sweep {
  const all = standingsOf(plan, rehearse(plan).record);
  const standings = everyMoment ? all : atNs === null ? [mainStanding(all)] : [standingAt(all, atNs, plan.lengthNs)];
  const watchSeconds = watchedEnough(plan, cases, apartSeconds);
  const last = standings.reduce<Ns>((most, each) => (each.atNs > most ? each.atNs : most), 0 as Ns);
  const neededNs = later(last, nsFromSeconds(watchSeconds + ROOM_SECONDS));
  return {
    plan: { ...plan, lengthNs: neededNs > plan.lengthNs ? neededNs : plan.lengthNs },
    standings,
    seeds: Array.from({ length: draws }, (_, index) => (index === 0 ? plan.seed : `${plan.seed} draw ${index + 1}`)),
    cases,
    watchSeconds,
    apartSeconds,
  };
}

/** The instant that was asked for; all stands as it does then until the standing around it ends. */
function standingAt(all: readonly Standing[], atNs: Ns, endNs: Ns): Standing {
  const around = all.find(({ fromNs, toNs }) => fromNs <= atNs && atNs < toNs);
  return { atNs, fromNs: around?.fromNs ?? atNs, toNs: around?.toNs ?? endNs };
}
