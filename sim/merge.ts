/**
 * Two companies' plans as one rig: what they do not agree about, and ways to join them, each as a file of its own that was
 * checked and rehearsed. Nothing is said about which is best: these are facts for those who have to agree.
 *
 * @example
 * const merge = readMerge({ plans: [house, tour], names: null, same: [], joins });
 * const ways = merge.isBlocked ? [] : joinThem(merge);
 */
import type { Finding } from "../shared/finding.ts";
import { addTo } from "../shared/lists.ts";
import type { Plan } from "../shared/plan.ts";
import type { ExpectSummary } from "../shared/summary.ts";
import { deviceOf } from "./by-id.ts";
import { checkAll } from "./check/index.ts";
import { type Company, companyOf, namesFor, type PlanRead } from "./merge/company.ts";
import { type Companies, type Conflict, inOrder } from "./merge/conflict.ts";
import { fileOf } from "./merge/file.ts";
import { type Case, casesFor, type Heard, playedIn } from "./merge/heard.ts";
import { type Join, portConflicts } from "./merge/join.ts";
import { bothIn, planFrom } from "./merge/joined.ts";
import { oneLeader } from "./merge/one-leader.ts";
import { converters, houseClock } from "./merge/other-ways.ts";
import { boxesIn, cablesIn, type Setting, settingsIn } from "./merge/settings.ts";
import { settingsConflicts } from "./merge/settings-conflicts.ts";
import { thingConflicts, twinsOf } from "./merge/things.ts";
import { united } from "./merge/union.ts";
import type { Joined, Made } from "./merge/ways.ts";
import { feedsInOrder } from "./tell/pieces.ts";
import { theDevice } from "./tell/words.ts";

export interface MergeRequest {
  readonly plans: readonly [PlanRead, PlanRead];
  /** What to call the two companies in ids; null: by their files. */
  readonly names: readonly [string, string] | null;
  /** Ids of what is one thing in both plans. */
  readonly same: readonly string[];
  readonly joins: readonly Join[];
}

export interface Merge {
  readonly companies: Companies;
  /** Somebody has named them. */
  readonly areNamed: boolean;
  readonly joins: readonly Join[];
  readonly conflicts: readonly Conflict[];
  /** Some conflict leaves no file that could be read. */
  readonly isBlocked: boolean;
  /** Something joins the two: a cable, or a device that is in both. */
  readonly isJoined: boolean;
  readonly twins: ReturnType<typeof twinsOf>;
}

export function readMerge({ plans, names, same, joins }: MergeRequest): Merge {
  const [first, second] = names ?? namesFor(plans);
  const companies: Companies = [companyOf(plans[0], first), companyOf(plans[1], second)];
  const asked = new Set(same);
  const twins = twinsOf(companies, asked);
  const conflicts = inOrder([
    ...thingConflicts(companies, { twins, same: asked }),
    ...settingsConflicts(companies, { joins, twins }),
    ...portConflicts(companies, joins, twins),
  ]);
  return {
    ...{ companies, areNamed: names !== null, joins, conflicts, twins },
    isBlocked: conflicts.some(({ isBlocking }) => isBlocking),
    isJoined: joins.length > 0 || twins.some(({ kind, isOne }) => kind === "device" && isOne),
  };
}

export interface Way {
  /** "one-leader-house": part of the name of its file. */
  readonly id: string;
  /** "House leads", "converters", "house clock". */
  readonly name: string;
  /** Why it cannot be made, as half a sentence; else null, and the rest is there. */
  readonly whyNot: string | null;
  /** The scenario file. */
  readonly text: string;
  readonly plan: Plan | null;
  /** What the plan check finds that it does not find in either plan alone, gravest first. */
  readonly findings: readonly Finding[];
  readonly settings: readonly Setting[];
  readonly cables: readonly string[];
  readonly boxes: readonly string[];
  /** By case, then by feed. */
  readonly heard: readonly (readonly Heard[])[];
  /** Expectations of either plan that this misses with nothing added, and that were met alone. */
  readonly missed: readonly ExpectSummary[];
}

export interface FeedOwned {
  readonly id: string;
  /** Of the company whose listeners hear it. */
  readonly company: string;
  /** Who hears it, wherever it goes on to. */
  readonly ears: readonly string[];
  /** It comes over a joining cable, and neither plan has it alone. */
  readonly crosses: boolean;
}

export interface MergeOutcome {
  readonly cases: readonly Case[];
  /** Of the joined file; the companies' own first. */
  readonly feeds: readonly FeedOwned[];
  /** Both alone, together: by case, then by feed. */
  readonly alone: readonly (readonly Heard[])[];
  readonly ways: readonly Way[];
  /** By case: names of ways in which every listener hears the same; one that is like no other is left out. */
  readonly alike: readonly (readonly (readonly string[])[])[];
  /** Both plans and the joining cables, no setting changed: for names. */
  readonly plan: Plan;
  /** Whose a device is, to people; null: in both plans. */
  companyOf(device: string): string | null;
}

/** Builds every way, checks it and plays it. Throws where conflicts block: they leave no file. */
export function joinThem(merge: Merge): MergeOutcome {
  const { joined, parts, common, crossings } = bothIn(merge);
  const { companies } = merge;
  const { order } = joined;
  const alone = parts.map((part, side) => united([part], common, `${(order[side] as Company).label} alone`));
  const alonePlans = alone.map(planFrom);
  const leaders = companies.flatMap((company) => joined.leaderOf(company) ?? []);
  const cases = casesFor(joined.plan, leaders);
  const playedAlone = alone.map((draft, side) => playedIn(draft, alonePlans[side] as Plan, cases));
  const missedAlone = new Set(playedAlone.flatMap(({ missed }) => missed.map(({ expected }) => expected)));
  const known = aboutOf(alonePlans.flatMap((plan) => checkAll(plan).findings));
  const madeWays: readonly (readonly [id: string, name: string, made: Made])[] = [
    ...(leaders.length === 2 && leaders[0] === leaders[1]
      ? [["one-leader", "one leader", oneLeader(joined, order[0])] as const]
      : companies.map(
          (company) => [`one-leader-${company.name}`, `${company.label} leads`, oneLeader(joined, company)] as const,
        )),
    ["converters", "converters", converters(joined)],
    ["house-clock", "house clock", houseClock(joined)],
  ];
  const ways = madeWays.map(([id, name, made]) =>
    wayOf({ id, name, made }, { joined, companies, cases, known, missedAlone }),
  );
  return {
    cases,
    feeds: [
      ...alonePlans.flatMap((plan, side) => {
        const company = (order[side] as Company).name;
        return feedsInOrder({ plan }).map(({ id, heardBy }) => ({ id, company, ears: heardBy, crosses: false }));
      }),
      ...crossings.map(({ feed, hears, ears }) => ({ id: String(feed.id), company: hears, ears, crosses: true })),
    ].filter(({ id }, index, all) => all.findIndex((one) => one.id === id) === index),
    alone: cases.map((_, at) => playedAlone.flatMap(({ heard }) => heard[at] ?? [])),
    ways,
    alike: cases.map((_, at) => alikeIn(ways, at)),
    plan: joined.plan,
    companyOf: (device) => joined.companyOf(device)?.label ?? null,
  };
}

/** By rule: all that is found of either plan alone, the devices and links that it is about. */
function aboutOf(findings: readonly Finding[]): ReadonlyMap<string, ReadonlySet<string>> {
  const about = new Map<string, Set<string>>();
  for (const { rule, devices, links } of findings)
    about.set(rule, new Set([...(about.get(rule) ?? []), ...devices, ...links]));
  return about;
}

/** One finding may be about many things: it is new where one of these was in none of that rule before. */
function isNew({ rule, devices, links }: Finding, known: ReadonlyMap<string, ReadonlySet<string>>): boolean {
  const before = known.get(rule);
  return before === undefined || [...devices, ...links].some((id) => !before.has(id));
}

function wayOf(
  { id, name, made }: { readonly id: string; readonly name: string; readonly made: Made },
  {
    joined,
    companies,
    cases,
    known,
    missedAlone,
  }: {
    readonly joined: Joined;
    readonly companies: Companies;
    readonly cases: readonly Case[];
    readonly known: ReadonlyMap<string, ReadonlySet<string>>;
    /** Expectations that are missed where each company stands alone. */
    readonly missedAlone: ReadonlySet<string>;
  },
): Way {
  const cannot = (whyNot: string): Way => ({
    ...{ id, name, whyNot, text: "", plan: null },
    ...{ findings: [], settings: [], cables: [], boxes: [], heard: [], missed: [] },
  });
  if ("whyNot" in made) return cannot(made.whyNot);
  const { draft } = made;
  const [one, other] = companies;
  draft.title = `${one.label} and ${other.label}: ${name}`;
  draft.story = `Made of ${one.file} and ${other.file}: ${storyOf(id, joined)}`;
  const { text, plan, issues } = fileOf(draft);
  if (plan === null) {
    const [issue] = issues;
    return cannot(issue === undefined ? "it makes no file" : `expected ${issue.expected}, received ${issue.received}`);
  }
  const { heard, missed } = playedIn(draft, plan, cases);
  return {
    ...{ id, name, whyNot: null, text, plan },
    findings: checkAll(plan).findings.filter((finding) => isNew(finding, known)),
    settings: settingsIn(joined.plan, plan),
    cables: cablesIn(joined.plan, plan, joined.joins),
    boxes: boxesIn(joined.plan, plan),
    heard,
    missed: missed.filter(({ expected }) => !missedAlone.has(expected)),
  };
}

function storyOf(id: string, { order, leaderOf, plan }: Joined): string {
  const leaders = order.map((company) => {
    const leader = leaderOf(company);
    return leader === null ? `nobody in ${company.label}` : theDevice(deviceOf(plan, leader));
  });
  if (id === "converters") return `${leaders.join(" and ")} each lead their own; converters stand where audio crosses.`;
  if (id === "house-clock") return `${leaders.join(" and ")} take word clock from one house clock.`;
  return "one of the two leaders leads both.";
}

function alikeIn(ways: readonly Way[], at: number): readonly (readonly string[])[] {
  const groups = new Map<string, string[]>();
  for (const { name, heard, whyNot } of ways) {
    if (whyNot !== null) continue;
    const feeds = [...(heard[at] ?? [])].sort((one, two) => (one.feed < two.feed ? -1 : 1));
    addTo(groups, JSON.stringify(feeds.map(({ feed, words }) => [feed, words])), name);
  }
  return [...groups.values()].filter((names) => names.length > 1);
}
