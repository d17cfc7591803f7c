/** What becomes of a rig when something is pulled or fails at one moment of a show as planned: played, never guessed. */
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import type { RunRecord } from "../../shared/record.ts";
import type { DeviceLookKey } from "../../shared/states.ts";
import type { FeedCourse } from "../../shared/summary.ts";
import { later, type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { coursesOf } from "../hear.ts";
import { carrierLine } from "../hearing/carriers.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import { deviceBehind } from "../tell/picture.ts";
import { type Looks, looksOf, nextChangeAfter, type Timeline, valueAt } from "../timeline.ts";
import { type FeedHarm, harmOf, newSilences, type Span } from "../trials/harm.ts";
import { type Fault, withFaults } from "../trials/list.ts";
import { Past } from "../trials/past.ts";
import { recordOf } from "../trials/trial.ts";

export interface Rehearsed {
  /** With what was done in it. */
  readonly plan: Plan;
  readonly record: RunRecord;
  readonly looks: Looks;
  readonly atNs: Ns;
  readonly endNs: Ns;
  /** In the order of the plan's feeds. */
  readonly harms: readonly FeedHarm[];
  /** Of any feed, in seconds of show time: where the show as planned has none. */
  readonly silences: readonly Span[];
}

/** What a device is, as one in front of it would be told. */
export interface Sight {
  readonly key: DeviceLookKey;
  readonly source: string | null;
  /** Whom it follows, or pulls in to. */
  readonly upstream: DevicePlan | null;
}

export interface Sighting extends Sight {
  /** Since the beginning of the fault, s. */
  readonly afterSeconds: number;
}

export class Rehearser {
  readonly plan: Plan;
  readonly atNs: Ns;
  private readonly past: Past;
  private readonly planned = new Map<Ns, readonly FeedCourse[]>();

  /** @param plan the show as planned, long enough for all that is watched */
  constructor(plan: Plan, atNs: Ns) {
    this.plan = plan;
    // Before its first instant a show has nothing to compare with.
    this.atNs = Math.max(atNs, 1) as Ns;
    this.past = new Past(plan);
  }

  /** The faults begin together. */
  play(faults: readonly Fault[], watchSeconds: number): Rehearsed {
    const { atNs } = this;
    const endNs = later(atNs, nsFromSeconds(watchSeconds));
    const plan = withFaults(this.plan, faults, atNs);
    const record = recordOf(plan, this.past.playOtherwise(plan, atNs, endNs), endNs);
    const planned = this.plannedTo(endNs);
    const looks = looksOf(record);
    const heard = coursesOf(plan, looks, atNs);
    const harms = heard.map((feed, place) =>
      harmOf(feed, planned[place] as FeedCourse, secondsFromNs(atNs), secondsFromNs(endNs)),
    );
    const silences = heard.flatMap((feed, place) =>
      newSilences(feed, planned[place] as FeedCourse, secondsFromNs(atNs)),
    );
    return { plan, record, looks, atNs, endNs, harms, silences };
  }

  private plannedTo(endNs: Ns): readonly FeedCourse[] {
    const known = this.planned.get(endNs);
    if (known !== undefined) return known;
    const found = coursesOf(this.plan, this.past.looksOn(this.atNs, endNs), this.atNs);
    this.planned.set(endNs, found);
    return found;
  }
}

export function justBefore(at: Ns): Ns {
  return (at - 1) as Ns;
}

/** All devices at one instant; of those that only pass packets on whether they work. */
export function sightsAt(
  { plan, record, looks }: Pick<Rehearsed, "plan" | "record" | "looks">,
  at: Ns,
): ReadonlyMap<string, Sight> {
  const seconds = secondsFromNs(at);
  const open = plan.devices.map((device) => {
    const line = looks.devices.get(device.id);
    const look = line === undefined ? undefined : valueAt(line, at);
    const state = look?.state ?? "off";
    const source = look?.source ?? null;
    const listens = state === "locked" || state === "acquiring";
    return {
      device,
      state,
      source,
      upstream: listens ? deviceBehind({ plan, record }, device.id, source, seconds) : null,
    };
  });
  const upstreams = new Map(open.map(({ device, upstream }) => [device.id, upstream?.id ?? null]));
  const leader = leaderAmong(
    plan,
    open.filter(({ state }) => state === "free-run").map(({ device }) => device.id),
    upstreams,
  );
  return new Map(
    open.map(({ device, state, source, upstream }): [string, Sight] => {
      const isLater = state === "locked" && source !== null && source !== device.clockSources[0];
      const isUp = state !== "off" && state !== "starting";
      const key: DeviceLookKey = isPlainSwitch(plan, device)
        ? isUp
          ? "works"
          : state
        : device.id === leader
          ? "leading"
          : isLater
            ? "locked-later"
            : state;
      return [device.id, { key, source, upstream }];
    }),
  );
}

/** Of those on their own clock the one that most follow, down the whole tree; named leaders alone where the plan names any. */
function leaderAmong(
  { leaders }: Plan,
  free: readonly string[],
  upstreams: ReadonlyMap<string, string | null>,
): string | null {
  const may = leaders.length === 0 ? free : leaders.filter((id) => free.includes(id));
  const counts = may.map((id) => ({
    id,
    count: [...upstreams.keys()].filter((each) => isBehind(each, id, upstreams)).length,
  }));
  const [first] = counts.toSorted((one, other) => other.count - one.count);
  return first === undefined || first.count === 0 ? null : first.id;
}

function isBehind(id: string, root: string, upstreams: ReadonlyMap<string, string | null>): boolean {
  const seen = new Set<string>();
  for (let each = upstreams.get(id) ?? null; each !== null && !seen.has(each); each = upstreams.get(each) ?? null) {
    if (each === root) return true;
    seen.add(each);
  }
  return false;
}

/** What each device changes to between two instants, beginning with what it was before; by device in the order of the plan. */
export function sightings(rehearsed: Rehearsed, fromNs: Ns, toNs: Ns): ReadonlyMap<string, readonly Sighting[]> {
  const instants = [
    ...new Set([...rehearsed.looks.devices.values()].flatMap((line) => instantsIn(line, fromNs, toNs))),
  ];
  instants.sort((one, other) => one - other);
  const found = new Map<string, Sighting[]>();
  for (const at of [justBefore(fromNs), ...instants]) {
    const afterSeconds = secondsFromNs((at - rehearsed.atNs) as Ns);
    for (const [id, sight] of sightsAt(rehearsed, at)) {
      const known = found.get(id);
      const last = known?.at(-1);
      if (known === undefined) found.set(id, [{ ...sight, afterSeconds }]);
      else if (last === undefined || !isSame(last, sight)) known.push({ ...sight, afterSeconds });
    }
  }
  return found;
}

function instantsIn(line: Timeline<unknown>, fromNs: Ns, toNs: Ns): Ns[] {
  const found: Ns[] = [];
  for (let at = nextChangeAfter(line, (fromNs - 1) as Ns); at < toNs; at = nextChangeAfter(line, at)) found.push(at);
  return found;
}

export function isSame(one: Sight, other: Sight): boolean {
  return one.key === other.key && one.source === other.source && one.upstream?.id === other.upstream?.id;
}

export interface CarrierChange {
  readonly spare: string;
  readonly link: string;
  readonly afterSeconds: number;
}

/** Which link of each spare group carries, from the fault on: the link at its beginning, then each that takes over. */
export function carriersIn({ plan, looks, atNs, endNs }: Rehearsed): readonly CarrierChange[] {
  const found = new Map<string, CarrierChange>();
  for (const { hops } of plan.feeds) {
    for (const hop of hops) {
      if (hop.spare === null) continue;
      const line = carrierLine(plan, hop, looks);
      const first = valueAt(line, justBefore(atNs))?.link;
      const changes = line.changes.filter((change) => change.atNs >= atNs && change.atNs <= endNs);
      for (const { atNs: at, link } of [
        ...(first === undefined ? [] : [{ atNs: atNs, link: first }]),
        ...changes.map((change) => ({ atNs: change.atNs, link: change.value.link })),
      ]) {
        const afterSeconds = secondsFromNs((at - atNs) as Ns);
        found.set(`${hop.spare} ${link} ${afterSeconds}`, { spare: hop.spare, link, afterSeconds });
      }
    }
  }
  return [...found.values()].sort((one, other) => one.afterSeconds - other.afterSeconds);
}

/** What a fault does, as events of a plan, for whoever asks who has failed. */
export function deedsOf(faults: readonly Fault[]): readonly EventPlan[] {
  return faults.flatMap(({ course }) =>
    course.map(({ afterSeconds, deed }): EventPlan => ({ atNs: nsFromSeconds(afterSeconds), undoes: null, ...deed })),
  );
}
