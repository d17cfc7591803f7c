/**
 * Shows as chance has them: each fault comes by its own rate, at any instant, and is repaired as fast as people are that
 * night. Most shows have none, and cost nothing to play.
 */
import { log } from "../../shared/maths.ts";
import type { Plan } from "../../shared/plan.ts";
import { stream } from "../../shared/random.ts";
import type { FeedCourse } from "../../shared/summary.ts";
import { type Ns, nsFromSeconds, ZERO } from "../../shared/time.ts";
import type { Draw } from "../../shared/uniforms.ts";
import { type Interval, meanOf, shareOf } from "../chance/intervals.ts";
import { coursesOf } from "../hear.ts";
import { harmOf, worstOf } from "./harm.ts";
import { type Fault, faultsIn, REPAIR_SECONDS, type Repairs, withFaultsAt } from "./list.ts";
import { Past } from "./past.ts";
import { AUDIENCES, type Audience, audiencesOf } from "./rank.ts";
import { between, middleOf, type Range, type Rate, type Rates, rateOf } from "./rates.ts";

/** What one audience had of one show. */
export interface ShowHarm {
  readonly silentSeconds: number;
  readonly disturbances: number;
}

export interface ShowPlayed {
  readonly show: number;
  readonly faults: readonly { readonly id: string; readonly atSeconds: number }[];
  readonly harms: Readonly<Partial<Record<Audience, ShowHarm>>>;
}

export interface AudienceOdds {
  readonly audience: Audience;
  /** Per show, s. */
  readonly silentSeconds: Interval & { readonly mean: number };
  readonly disturbances: Interval & { readonly mean: number };
  /** Chance that a show has any silence of a second or more, and any disturbance at all. */
  readonly anySilence: Interval & { readonly share: number };
  readonly anything: Interval & { readonly share: number };
}

export interface Odds {
  readonly shows: number;
  readonly withFaults: number;
  readonly audiences: readonly AudienceOdds[];
  /** The chance of any silence is known closely enough for whom it was asked. */
  readonly isClear: boolean;
}

const CONFIDENCE = 0.95;
/** A show in which nobody would say that it was silent, s. */
const SILENCE_SECONDS = 1;
/** Clear: the interval of the chance is at most this share of the chance to either side, or this much in all. */
const CLOSE_SHARE = 0.1;
const CLOSE_CHANCE = 0.0005;

/** Plays shows of one plan by their number: a show is a function of plan, rates, seed and number. */
export class Shows {
  private readonly plan: Plan;
  private readonly rates: Rates;
  private readonly all: ReadonlyMap<string, Rate>;
  private readonly planned: readonly FeedCourse[];
  private readonly audiences: readonly Audience[];
  private readonly past: Past;

  /** @param plan the show as planned */
  constructor(plan: Plan, rates: Rates) {
    this.plan = plan;
    this.rates = rates;
    const faults = faultsIn(plan);
    this.all = new Map(
      faults.flatMap((fault): [string, Rate][] => {
        const rate = rateOf(fault, rates.rates);
        return rate === null ? [] : [[fault.id, rate]];
      }),
    );
    this.past = new Past(plan);
    this.planned = coursesOf(plan, this.past.looksOtherwise(plan, ZERO, plan.lengthNs));
    this.audiences = AUDIENCES.filter((audience) =>
      plan.feeds.some(({ heardBy }) => audiencesOf(heardBy).has(audience)),
    );
  }

  /** Faults that have a rate. */
  get rated(): number {
    return this.all.size;
  }

  /** Expected number of faults in a show, rates in the middle of what they may be. */
  get expectedFaults(): number {
    const hours = this.plan.lengthNs / 3.6e12;
    return [...this.all.values()].reduce((sum, { mtbfHours }) => sum + hours / middleOf(mtbfHours), 0);
  }

  play(show: number): ShowPlayed {
    const repairs = this.repairsOf(show);
    const faults = new Map(faultsIn(this.plan, repairs).map((fault) => [fault.id, fault]));
    const hours = this.plan.lengthNs / 3.6e12;
    const failures: { readonly fault: Fault; readonly atNs: Ns }[] = [];
    for (const [id, { fault: said, mtbfHours }] of this.all) {
      const draw = stream(this.plan.seed, id, "failures", show);
      // What is said of a kind is one number, whatever it is, for all of that kind in a show.
      const mtbf = between(mtbfHours, stream(this.plan.seed, said, "mtbf", show)());
      for (let at = waiting(mtbf, draw); at < hours; at += waiting(mtbf, draw))
        failures.push({ fault: faults.get(id) as Fault, atNs: nsFromSeconds(at * 3600) });
    }
    failures.sort((one, other) => one.atNs - other.atNs || (one.fault.id < other.fault.id ? -1 : 1));
    const told = failures.map(({ fault, atNs }) => ({ id: fault.id, atSeconds: atNs / 1e9 }));
    return { show, faults: told, harms: failures.length === 0 ? this.none() : this.harmsOf(failures) };
  }

  private harmsOf(failures: readonly { readonly fault: Fault; readonly atNs: Ns }[]): ShowPlayed["harms"] {
    const { plan } = this;
    const faulty = withFaultsAt(plan, failures);
    const atNs = failures[0]?.atNs ?? ZERO;
    // From the beginning: every show has instants of its own, and the rig is the same.
    const feeds = coursesOf(faulty, this.past.looksOtherwise(faulty, ZERO, plan.lengthNs), atNs);
    const harms = feeds.map((feed, place) =>
      harmOf(feed, this.planned[place] as FeedCourse, atNs / 1e9, plan.lengthNs / 1e9),
    );
    return Object.fromEntries(
      this.audiences.map((audience) => {
        const theirs = harms.filter((_, place) => audiencesOf(plan.feeds[place]?.heardBy ?? []).has(audience));
        const { silentSeconds, disturbances } = worstOf(theirs);
        return [audience, { silentSeconds, disturbances }];
      }),
    );
  }

  private none(): ShowPlayed["harms"] {
    return Object.fromEntries(this.audiences.map((audience) => [audience, { silentSeconds: 0, disturbances: 0 }]));
  }

  /** The same crew all night. */
  private repairsOf(show: number): Repairs {
    const repairs: Record<keyof Repairs, number> = { ...REPAIR_SECONDS };
    for (const [what, range] of Object.entries(this.rates.repairs) as [keyof Repairs, Range][])
      repairs[what] = between(range, stream(this.plan.seed, what, "repair", show)());
    return repairs;
  }
}

export function oddsOf(shows: readonly ShowPlayed[], asked: Audience): Odds {
  const audiences = AUDIENCES.filter((audience) => shows[0]?.harms[audience] !== undefined);
  const odds = audiences.map((audience): AudienceOdds => {
    const harms = shows.map(({ harms }) => harms[audience] as ShowHarm);
    const share = (isSo: (harm: ShowHarm) => boolean) => {
      const hits = harms.filter(isSo).length;
      return { share: hits / harms.length, ...shareOf(hits, harms.length, CONFIDENCE) };
    };
    return {
      audience,
      silentSeconds: meanOf(
        harms.map(({ silentSeconds }) => silentSeconds),
        CONFIDENCE,
      ),
      disturbances: meanOf(
        harms.map(({ disturbances }) => disturbances),
        CONFIDENCE,
      ),
      anySilence: share(({ silentSeconds }) => silentSeconds >= SILENCE_SECONDS),
      anything: share(({ silentSeconds, disturbances }) => silentSeconds > 0 || disturbances > 0),
    };
  });
  const chance = odds.find(({ audience }) => audience === asked)?.anySilence;
  return {
    shows: shows.length,
    withFaults: shows.filter(({ faults }) => faults.length > 0).length,
    audiences: odds,
    isClear: chance !== undefined && isClose(chance),
  };
}

function isClose({ share, low, high }: Interval & { readonly share: number }): boolean {
  const half = (high - low) / 2;
  return half <= CLOSE_SHARE * share || half <= CLOSE_CHANCE;
}

/** Exponential, as what has no memory is. A draw of 0 would wait for ever. */
function waiting(mtbf: number, draw: Draw): number {
  return -log(1 - draw()) * mtbf;
}
