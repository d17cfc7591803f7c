/** One fault at one moment of one draw of a show, and what it did to those who listen. */
import type { Plan } from "../../shared/plan.ts";
import { stream } from "../../shared/random.ts";
import type { Row, RunRecord } from "../../shared/record.ts";
import type { FeedCourse } from "../../shared/summary.ts";
import { later, type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { coursesOf } from "../hear.ts";
import { type FeedHarm, harmOf } from "./harm.ts";
import { courseSeconds, type Fault, withFaults } from "./list.ts";
import type { Standing } from "./moments.ts";
import { Past } from "./past.ts";

/** What is to be tried. Plain data, so that it can be handed to another thread or machine. */
export interface Sweep {
  /** The show as planned, at least as long as the last moment is watched. */
  readonly plan: Plan;
  readonly standings: readonly Standing[];
  /** One run each; the first is the plan's own. */
  readonly seeds: readonly string[];
  /** Each a fault, or several that begin one after another. */
  readonly cases: readonly (readonly Fault[])[];
  /** How long each is watched, s. */
  readonly watchSeconds: number;
  /** From the beginning of one fault of a case to that of the next. */
  readonly apartSeconds: number;
}

/** By its place in {@link trialsOf}, so that results of several machines come together in one order. */
export interface Trial {
  readonly index: number;
  readonly seed: number;
  readonly standing: number;
  readonly case: number;
}

export interface TrialResult {
  readonly index: number;
  /** Of the first fault. */
  readonly atSeconds: number;
  /** Of each feed, in the order of the plan. */
  readonly harms: readonly FeedHarm[];
}

/** Draws first, then moments, then cases: neighbours share their past. */
export function trialCount({ seeds, standings, cases }: Sweep): number {
  return seeds.length * standings.length * cases.length;
}

export function trialAt({ standings, cases }: Sweep, index: number): Trial {
  const perSeed = standings.length * cases.length;
  return {
    index,
    seed: Math.floor(index / perSeed),
    standing: Math.floor((index % perSeed) / cases.length),
    case: index % cases.length,
  };
}

/** Trials by their index, from the first to before the last. */
export interface Batch {
  readonly from: number;
  readonly to: number;
}

/** Plays trials of one sweep; keeps the past of the draw that it is at. */
export class Trier {
  private readonly sweep: Sweep;
  private seed = -1;
  private past: Past | null = null;
  private plan: Plan;
  private readonly planned = new Map<string, readonly FeedCourse[]>();

  constructor(sweep: Sweep) {
    this.sweep = sweep;
    this.plan = sweep.plan;
  }

  play(index: number): TrialResult {
    const trial = trialAt(this.sweep, index);
    const faults = this.sweep.cases[trial.case] as readonly Fault[];
    const past = this.pastOf(trial.seed);
    const atNs = instantOf(this.sweep, trial);
    const endNs = later(atNs, nsFromSeconds(this.sweep.watchSeconds));
    const plan = withFaults(this.plan, faults, atNs, this.sweep.apartSeconds);
    const faulty = coursesOf(plan, past.looksOtherwise(plan, atNs, endNs), atNs);
    const planned = this.plannedAt(past, atNs, endNs);
    const [atSeconds, endSeconds] = [secondsFromNs(atNs), secondsFromNs(endNs)];
    const harms = faulty.map((feed, place) => harmOf(feed, planned[place] as FeedCourse, atSeconds, endSeconds));
    return { index, atSeconds, harms };
  }

  playAll({ from, to }: Batch): TrialResult[] {
    return Array.from({ length: to - from }, (_, place) => this.play(from + place));
  }

  /** Rows of a trial that the show as planned has not. */
  newRows(index: number): readonly Row[] {
    const trial = trialAt(this.sweep, index);
    const past = this.pastOf(trial.seed);
    const atNs = instantOf(this.sweep, trial);
    const endNs = later(atNs, nsFromSeconds(this.sweep.watchSeconds));
    const keyOf = ({ atNs, subject, fact }: Row) => `${atNs} ${subject} ${fact.kind}`;
    const planned = new Set(past.playedOn(atNs, endNs).map(keyOf));
    const faults = this.sweep.cases[trial.case] as readonly Fault[];
    const plan = withFaults(this.plan, faults, atNs, this.sweep.apartSeconds);
    return past.playOtherwise(plan, atNs, endNs).filter((row) => !planned.has(keyOf(row)));
  }

  private pastOf(seed: number): Past {
    if (this.past !== null && this.seed === seed) return this.past;
    this.seed = seed;
    this.plan = { ...this.sweep.plan, seed: this.sweep.seeds[seed] as string };
    this.past = new Past(this.plan);
    this.planned.clear();
    return this.past;
  }

  private plannedAt(past: Past, atNs: Ns, endNs: Ns): readonly FeedCourse[] {
    const known = this.planned.get(`${atNs}`);
    if (known !== undefined) return known;
    const found = coursesOf(this.plan, past.looksOn(atNs, endNs), atNs);
    this.planned.set(`${atNs}`, found);
    return found;
  }
}

/** Fault instants of further draws lie up to this much later: which fraction of a sample a return meets is luck. */
const SPREAD_SECONDS = 20;

/** The same for all cases of a draw, so that what differs between two of them is not luck. */
function instantOf({ standings, seeds }: Sweep, { seed, standing }: Trial): Ns {
  const { atNs, toNs } = standings[standing] as Standing;
  if (seed === 0) return atNs;
  const spread = Math.min(SPREAD_SECONDS, secondsFromNs((toNs - atNs) as Ns) / 2);
  return later(atNs, nsFromSeconds(spread * stream(seeds[seed] as string, "trial", "instant", standing)()));
}

export function recordOf(plan: Plan, rows: readonly Row[], endNs: Ns): RunRecord {
  return { format: 1, scenarioSha256: "", seed: plan.seed, endNs, rows, worstErrorSamples: null, assumed: [] };
}

/** How long a case must be watched for its repair to be seen, s: its course, what boots after it, and a while. */
export function watchedEnough(plan: Plan, cases: readonly (readonly Fault[])[], apartSeconds: number): number {
  const boots = plan.devices.reduce(
    (most, { bootSeconds, unmuteSeconds }) => Math.max(most, bootSeconds + unmuteSeconds),
    0,
  );
  const courses = cases.flatMap((faults) => faults.map((fault, place) => courseSeconds(fault) + place * apartSeconds));
  return courses.reduce((most, each) => Math.max(most, each), 0) + boots + AFTERWARDS_SECONDS;
}

/** For locking, waiting to restore, and hearing that it is over; *assumed*. */
const AFTERWARDS_SECONDS = 600;
