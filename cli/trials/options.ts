/** What was typed behind `pulltest faults`, read all at once. */
import { readDuration, readInstant, type ShowClock } from "../../shared/as-said.ts";
import { type Issue, quote, withoutLine } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import type { Plan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";
import { FAULT_KINDS, REPAIR_SECONDS, type RepairName } from "../../sim/trials/list.ts";
import { type Audience, audiencesOf, CONCERNS, type Concern } from "../../sim/trials/rank.ts";
import { WANTED, type Wanted } from "../../sim/trials/setup.ts";

/** As typed; null: not at all. A verb that has no such option leaves it out. */
export interface TypedWanted {
  readonly at?: string | null;
  readonly everyMoment?: boolean;
  readonly pairs?: boolean;
  readonly draws?: string | null;
  readonly only?: string | null;
  readonly repair?: readonly string[];
  readonly order?: string | null;
  readonly threads?: string | null;
  readonly shard?: string | null;
}

export interface WantedRead {
  readonly wanted: Wanted;
  readonly concerns: readonly Concern[];
  readonly threads: number | null;
  /** Which of how many parts, from 1; null: all of it. */
  readonly shard: { readonly part: number; readonly parts: number } | null;
  readonly issues: readonly Issue[];
  /** How something was read that may mean two things; whole sentences. */
  readonly notes: readonly string[];
}

/** More draws than this tell nothing new, and take days. */
const DRAWS_MAX = 10_000;
/** There are many pairs, and what one draw says of them is not refined by the next. */
const DRAWS_OF_PAIRS = 2;
const THREADS_MAX = 256;
const PARTS_MAX = 100_000;

/** @param clock of the show, for times of day */
export function readWanted(given: TypedWanted, clock: ShowClock): WantedRead {
  const typed = {
    ...{
      at: null,
      everyMoment: false,
      pairs: false,
      draws: null,
      only: null,
      repair: [],
      order: null,
      threads: null,
      shard: null,
    },
    ...given,
  };
  const issues: Issue[] = [];
  const refuse = (option: string, expected: string, received: string, remedy: string) => {
    issues.push({ ...withoutLine(option), expected, received: quote(received), remedy });
  };
  const whole = (option: string, text: string | null, most: number, remedy: string): number | null => {
    const { count, issues: found } = readCount(option, text, most, remedy);
    issues.push(...found);
    return count;
  };

  const at = typed.at === null ? null : readInstant(typed.at, clock);
  const atNs = at !== null && "value" in at ? at.value : null;
  const notes: string[] = [];
  if (typed.at !== null && at !== null) {
    if ("expected" in at) refuse("--at", at.expected, typed.at, at.remedy);
    else if (at.understood !== null) notes.push(`--at: read ${typed.at} as ${at.understood}.`);
  }
  if (typed.at !== null && typed.everyMoment)
    refuse("--at", "--at or --every-moment, not both", typed.at, "leave one of them out");

  return {
    wanted: {
      atNs,
      everyMoment: typed.everyMoment,
      pairs: typed.pairs,
      draws:
        whole("--draws", typed.draws, DRAWS_MAX, "write it like --draws 10") ??
        (typed.pairs ? DRAWS_OF_PAIRS : WANTED.draws),
      kinds: typed.only === null ? null : new Set(chosen("--only", typed.only, FAULT_KINDS, refuse)),
      ...readRepairs(typed.repair, refuse),
    },
    concerns: readOrder(typed.order, refuse),
    threads: whole("--threads", typed.threads, THREADS_MAX, "leave it out to use every core"),
    shard: readShard(typed.shard, refuse),
    issues,
    notes,
  };
}

/** A whole number from 1 on; null where nothing was typed, or nothing that is one. */
export function readCount(
  option: string,
  text: string | null,
  most: number,
  remedy: string,
): { readonly count: number | null; readonly issues: readonly Issue[] } {
  if (text === null) return { count: null, issues: [] };
  const value = /^\d+$/.test(text) ? Number(text) : Number.NaN;
  if (value >= 1 && value <= most) return { count: value, issues: [] };
  const expected = `a whole number from 1 to ${most}`;
  return {
    count: null,
    issues: [{ ...withoutLine(option), expected, received: quote(text), remedy }],
  };
}

/** Whose trouble counts; the first of those there are where nobody says. */
export function readAudience(
  text: string | null,
  present: readonly Audience[],
): { readonly audience: Audience; readonly issues: readonly Issue[] } {
  const [first = "pa"] = present;
  const issues: Issue[] = [];
  if (text === null) {
    if (present.length === 0)
      issues.push({
        ...withoutLine("rig.feeds"),
        expected: "a feed with heardBy",
        received: "none",
        remedy: "say in the file who hears what",
      });
    return { audience: first, issues };
  }
  const refuse: Refuse = (file, expected, received, remedy) =>
    issues.push({ ...withoutLine(file), expected, received: quote(received), remedy });
  // A feed is heard by "in-ears" in the file: that is on the ears.
  const [said = text] = audiencesOf([text.trim().toLowerCase()]);
  const [audience = first] = chosen("--heard-by", said, present, refuse);
  return { audience, issues };
}

export type Refuse = (option: string, expected: string, received: string, remedy: string) => unknown;

export function chosen<T extends string>(option: string, text: string, names: readonly T[], refuse: Refuse): T[] {
  return text.split(",").flatMap((item) => {
    const name = item.trim().toLowerCase();
    const known = names.find((each) => each === name);
    if (known !== undefined) return [known];
    const meant = nearest(name, names);
    refuse(option, `of ${names.join(", ")}`, item, meant === null ? "choose among them" : `did you mean ${meant}`);
    return [];
  });
}

/** "cable=5m": whoever works alone in the rain takes longer. */
function readRepairs(texts: readonly string[], refuse: Refuse): Pick<Wanted, "repairs" | "repairsGiven"> {
  const repairs: Record<RepairName, number> = { ...REPAIR_SECONDS };
  const repairsGiven = new Set<RepairName>();
  const names = Object.keys(REPAIR_SECONDS) as RepairName[];
  for (const text of texts) {
    const [what = "", duration = ""] = text.split(/=(.*)/s);
    const [known] = chosen("--repair", what, names, refuse);
    if (known === undefined) continue;
    const read = readDuration(duration);
    if (!("value" in read) || read.value <= 0)
      refuse("--repair", "a duration behind =, like 90s or 5m", text, `write it like --repair ${known}=5m`);
    else {
      repairs[known] = read.value;
      repairsGiven.add(known);
    }
  }
  return { repairs, repairsGiven };
}

/** Those named first, then the others as they stood. */
function readOrder(text: string | null, refuse: Refuse): readonly Concern[] {
  if (text === null) return CONCERNS;
  const first = chosen("--order", text, CONCERNS, refuse);
  return [...new Set([...first, ...CONCERNS])];
}

function readShard(text: string | null, refuse: Refuse): WantedRead["shard"] {
  if (text === null) return null;
  const [, part, parts] = /^(\d+)\/(\d+)$/.exec(text) ?? [];
  const shard = { part: Number(part), parts: Number(parts) };
  if (shard.part >= 1 && shard.part <= shard.parts && shard.parts <= PARTS_MAX) return shard;
  refuse("--shard", "which part of how many, like 2/8", text, "count parts from 1");
  return null;
}

/** Of a plan that was read, or not. */
export function clockOf(plan: Plan | null): ShowClock {
  return { startsAt: plan?.startsAt ?? null, lengthNs: plan?.lengthNs ?? null };
}

/** Where nobody is said to hear anything no fault is heard, and the emptiest plan would look best. */
export function feedIssues(file: string, plan: Plan | null): Issue[] {
  if (plan === null || plan.feeds.length > 0) return [];
  return [
    {
      ...withoutLine(file),
      expected: "feeds, which say who hears what",
      received: "none",
      remedy: "write them under feeds, or into a table of feeds: without them no fault is heard by anybody",
    },
  ];
}

export function timeIssues(atNs: Ns | null, plan: Plan | null): Issue[] {
  if (atNs === null || plan === null || atNs < plan.lengthNs) return [];
  const expected = `an instant within the show, before ${formatShowTime(plan.lengthNs)}`;
  const received = formatShowTime(atNs);
  return [{ ...withoutLine("--at"), expected, received, remedy: "name an earlier one" }];
}
