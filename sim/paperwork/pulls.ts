/**
 * The shortest pull test: which cables to pull, and which devices to reboot, so that every spare carries once, every
 * clock source that somebody has in reserve is taken once, and every cable of a spare group has been out once (common
 * practice, no source). What a pull exercises is read from a rehearsal of that very pull, as are the times.
 */

import type { Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { linkById } from "../by-id.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import { linkInPort } from "../tell/picture.ts";
import { testedOf } from "../tested.ts";
import { valueAt } from "../timeline.ts";
import type { FeedHarm } from "../trials/harm.ts";
import { type Fault, faultsIn, REPAIR_SECONDS } from "../trials/list.ts";
import { watchedEnough } from "../trials/trial.ts";
import { type Cover, coverOf } from "./cover.ts";
import {
  type CarrierChange,
  carriersIn,
  isSame,
  justBefore,
  type Rehearsed,
  Rehearser,
  type Sight,
  type Sighting,
  sightings,
} from "./rehearsed.ts";
import { type SoundBack, soundBackIn } from "./sound-back.ts";

/** What has to be seen once. */
export type Duty =
  /** A cable of a spare group has been out. */
  | { readonly kind: "out"; readonly spare: string; readonly link: string }
  /** A spare carries. */
  | { readonly kind: "carries"; readonly spare: string; readonly link: string }
  /** A device takes a source that is not its first; "internal" is its own clock. */
  | { readonly kind: "source"; readonly device: string; readonly source: string }
  /** Whoever leads has been away. */
  | { readonly kind: "away"; readonly device: string }
  /** Somebody else leads a network. */
  | { readonly kind: "leads"; readonly network: string }
  /** A cable that a network holds back passes packets on. */
  | { readonly kind: "passes"; readonly network: string; readonly link: string };

export interface Pull {
  readonly faults: readonly Fault[];
  readonly duties: readonly Duty[];
  /** What each device was before it, of those that change. */
  readonly before: ReadonlyMap<string, Sight>;
  /** By device: what it has come to when all has settled while it is out; of those that are not as before. */
  readonly out: ReadonlyMap<string, Sighting>;
  /** From the pull until the last of that; 0: nothing changes. */
  readonly outAfterSeconds: number;
  /** When it goes back, or has booted, since the pull. */
  readonly backSeconds: number;
  /** What is not as before in the end. */
  readonly left: ReadonlyMap<string, Sighting>;
  /** From then until the last change. */
  readonly againAfterSeconds: number;
  readonly carriers: readonly CarrierChange[];
  readonly harms: readonly FeedHarm[];
  /** When sound is back that the pull took away. */
  readonly soundBack: SoundBack;
  /** Last date on which all of its cables were pulled; null: untested, changed since, or no cable. */
  readonly tested: string | null;
}

export interface PullTest {
  readonly pulls: readonly Pull[];
  readonly duties: readonly Duty[];
  /** No single pull, nor the ones before it together, brings these about in a rehearsal. */
  readonly undone: readonly Duty[];
  readonly cover: Pick<Cover, "isFewest" | "atLeast">;
  /** How long each cable stays out. */
  readonly outSeconds: number;
}

/** Long enough to look at every end and write it down, *assumed*; more where something waits for longer. */
const OUT_SECONDS = 60;

/** @param filed the show as planned @param atNs when it stands as it will at the pull test */
export function pullTest(filed: Plan, atNs: Ns): PullTest {
  const outSeconds = outLongEnough(filed);
  const repairs = { ...REPAIR_SECONDS, cable: outSeconds };
  const faults = faultsIn(filed, repairs);
  const pullable = faults.filter(({ kind }) => kind === "cable-out");
  const rebootable = faults.filter(({ kind }) => kind === "reboot");
  const watchSeconds = watchedEnough(filed, [[...pullable, ...rebootable]], 0) + longestWait(filed);
  // Nothing else goes on at a pull test.
  const plan = {
    ...filed,
    events: filed.events.filter((event) => event.atNs <= atNs),
    lengthNs: later(atNs, nsFromSeconds(watchSeconds)),
  };
  const rehearser = new Rehearser(plan, atNs);
  const rest = rehearser.play([], watchSeconds);
  const duties = dutiesOf(rest);
  const ids = new Map(duties.map((duty, place) => [JSON.stringify(duty), place]));
  const tried = (cases: readonly (readonly Fault[])[]) =>
    cases.map((each) => {
      const pull = pullOf(each, rehearser.play(each, watchSeconds), duties, rest.harms);
      return { pull, has: pull.duties.map((duty) => ids.get(JSON.stringify(duty)) as number) };
    });
  const single = tried([...pullable, ...rebootable].map((each) => [each]));
  const done = new Set(single.flatMap(({ has }) => has));
  const together = duties.flatMap((duty, place) => {
    const both = done.has(place) ? null : behindAllBefore(plan, duty, pullable);
    return both === null ? [] : [both];
  });
  const all = [...single, ...tried(together)];
  const cover = coverOf(all.map(({ has, pull }) => ({ has, cost: pull.backSeconds + pull.againAfterSeconds })));
  const covered = new Set(all.flatMap(({ has }) => has));
  return {
    pulls: cover.taken.map((place) => (all[place] as (typeof all)[number]).pull),
    duties,
    undone: duties.filter((_, place) => !covered.has(place)),
    cover,
    outSeconds,
  };
}

/** In tens of seconds. */
function outLongEnough({ spares, devices }: Plan): number {
  const waits = [
    ...spares.map(({ switchSeconds }) => switchSeconds),
    ...devices.map(({ holdOffSeconds, reactionSeconds }) => holdOffSeconds + reactionSeconds),
  ];
  const longest = waits.reduce((most, each) => Math.max(most, each), 0);
  return Math.ceil((OUT_SECONDS + (longest > OUT_SECONDS / 2 ? longest : 0)) / 10) * 10;
}

function longestWait({ spares, devices }: Plan): number {
  return [...spares, ...devices].reduce((most, { waitToRestoreSeconds }) => Math.max(most, waitToRestoreSeconds), 0);
}

/** Of the rig as it stands. */
export function dutiesOf({ plan, looks, record, atNs, endNs }: Rehearsed): readonly Duty[] {
  const inPlan = new Set(plan.links.filter(({ stream }) => stream === undefined).map(({ id }) => id));
  const rest = sightings({ plan, looks, record, atNs, endNs, harms: [], silences: [] }, atNs, atNs);
  const before = justBefore(atNs);
  const duties: Duty[] = plan.spares.flatMap(({ id, links }): Duty[] => [
    ...links.filter((link) => inPlan.has(link)).map((link): Duty => ({ kind: "out", spare: id, link })),
    // Where no feed goes over the group, nobody could tell which of them carries.
    ...(plan.feeds.some(({ hops }) => hops.some(({ spare }) => spare === id))
      ? links.slice(1).map((link): Duty => ({ kind: "carries", spare: id, link }))
      : []),
  ]);
  for (const device of plan.devices) {
    const sight = rest.get(device.id)?.[0];
    if (sight === undefined || isPlainSwitch(plan, device) || sight.key === "off") continue;
    for (const source of device.clockSources.slice(1)) duties.push({ kind: "source", device: device.id, source });
    if (sight.key === "leading") duties.push({ kind: "away", device: device.id });
  }
  for (const network of plan.networks ?? []) {
    const nodes = [...looks.nodes].filter(([key]) => key.endsWith(` ${network.id}`));
    const may = nodes.filter(([key]) => {
      const device = plan.devices.find(({ id }) => `${id} ${network.id}` === key);
      return device?.ptp !== undefined && !device.ptp.followerOnly;
    });
    if (may.length > 1) duties.push({ kind: "leads", network: network.id });
  }
  for (const [key, line] of looks.bridging) {
    const network = key.split(" ")[0] as string;
    for (const link of valueAt(line, before)?.blocked ?? []) duties.push({ kind: "passes", network, link });
  }
  return duties;
}

/** Whether a rehearsed pull brings it about. */
function isDone(
  duty: Duty,
  faults: readonly Fault[],
  rehearsed: Rehearsed,
  seen: ReturnType<typeof sightings>,
): boolean {
  const { looks, atNs } = rehearsed;
  const before = justBefore(atNs);
  switch (duty.kind) {
    case "out":
      return faults.some(({ kind, links }) => kind === "cable-out" && links.includes(duty.link));
    case "carries": {
      const changes = carriersIn(rehearsed).filter(({ spare }) => spare === duty.spare);
      return changes[0]?.link !== duty.link && changes.some(({ link }) => link === duty.link);
    }
    case "source": {
      // Who boots tries all that it has: that proves nothing.
      if (faults.some(({ devices }) => devices.includes(duty.device))) return false;
      const [first, ...later] = seen.get(duty.device) ?? [];
      const isTaken = ({ key, source }: Sight) =>
        source === duty.source && (duty.source === "internal" || key === "locked" || key === "locked-later");
      return first?.source !== duty.source && later.some(isTaken);
    }
    case "away":
      return faults.some(({ kind, on }) => kind === "reboot" && on === duty.device);
    case "leads":
      return [...looks.nodes].some(
        ([key, line]) =>
          key.endsWith(` ${duty.network}`) &&
          valueAt(line, before)?.role !== "leads" &&
          line.changes.some((change) => change.atNs >= atNs && change.value.role === "leads"),
      );
    case "passes":
      return [...looks.bridging.values()].some((line) =>
        line.changes.some((change) => change.atNs >= atNs && change.value.forwards.includes(duty.link)),
      );
  }
}

/** @param anyway what nobody has to pull anything for */
function pullOf(
  faults: readonly Fault[],
  rehearsed: Rehearsed,
  duties: readonly Duty[],
  anyway: readonly FeedHarm[],
): Pull {
  const { plan, atNs, endNs } = rehearsed;
  const harms = rehearsed.harms.map((harm, place) => ({
    ...harm,
    mayBeSilent: harm.mayBeSilent && anyway[place]?.mayBeSilent !== true,
  }));
  const seen = sightings(rehearsed, atNs, endNs);
  const [fault] = faults;
  const booted = seen
    .get(fault?.on ?? "")
    ?.find(({ key, afterSeconds }, place) => place > 0 && afterSeconds > 0 && key !== "off" && key !== "starting");
  const backSeconds = fault?.repairedAfterSeconds ?? booted?.afterSeconds ?? 0;
  const before = new Map<string, Sight>();
  const out = new Map<string, Sighting>();
  const left = new Map<string, Sighting>();
  let [outAfter, againAfter] = [0, backSeconds];
  const carriers = carriersIn(rehearsed);
  const lasts: number[] = carriers
    .filter(({ afterSeconds }) => afterSeconds > 0)
    .map(({ afterSeconds }) => afterSeconds);
  for (const [id, all] of seen) {
    const [first] = all;
    if (first === undefined || all.length < 2) continue;
    before.set(id, first);
    const whileOut = all.findLast(({ afterSeconds }) => afterSeconds < backSeconds);
    if (whileOut !== undefined && whileOut !== first && !isSame(whileOut, first)) out.set(id, whileOut);
    const last = all.at(-1) as Sighting;
    if (!isSame(last, first)) left.set(id, last);
    lasts.push(...all.slice(1).map(({ afterSeconds }) => afterSeconds));
  }
  for (const each of lasts) {
    if (each < backSeconds) outAfter = Math.max(outAfter, each);
    else againAfter = Math.max(againAfter, each);
  }
  const dates = faults.flatMap(({ kind, links }) =>
    kind === "cable-out" ? links.map((id) => dateOf(plan, id)) : [null],
  );
  return {
    faults,
    duties: duties.filter((duty) => isDone(duty, faults, rehearsed, seen)),
    before,
    out,
    outAfterSeconds: outAfter,
    backSeconds,
    left,
    againAfterSeconds: againAfter - backSeconds,
    carriers,
    harms,
    soundBack: soundBackIn(rehearsed, backSeconds),
    tested: dates.every((date) => date !== null) ? ((dates as string[]).toSorted()[0] ?? null) : null,
  };
}

function dateOf(plan: Plan, id: string): string | null {
  const link = linkById(plan, id);
  const tested = link === undefined ? null : testedOf(plan, link);
  return tested === null || tested.isChanged ? null : tested.date;
}

/** All cables that come before it in its list, out together; null: it is the first, or some of these cannot be pulled. */
function behindAllBefore(plan: Plan, duty: Duty, pullable: readonly Fault[]): readonly Fault[] | null {
  const links = linksBefore(plan, duty);
  const faults = [...new Set(links)].map((id) => pullable.find(({ on }) => on === id));
  return faults.length > 1 && faults.every((each) => each !== undefined) ? (faults as Fault[]) : null;
}

function linksBefore(plan: Plan, duty: Duty): readonly string[] {
  if (duty.kind === "carries") {
    const links = plan.spares.find(({ id }) => id === duty.spare)?.links ?? [];
    return links.slice(0, links.indexOf(duty.link));
  }
  if (duty.kind !== "source") return [];
  const sources = plan.devices.find(({ id }) => id === duty.device)?.clockSources ?? [];
  return sources
    .slice(0, sources.indexOf(duty.source))
    .flatMap((source) => linkInPort(plan, duty.device, source, secondsFromNs(plan.lengthNs))?.id ?? []);
}
