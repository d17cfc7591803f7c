/**
 * The shortest pull test: which cables to pull, which devices to reboot and which supplies to switch off, so that every
 * spare carries once, either of two streams by itself, every clock source that somebody has in reserve is taken once, every
 * cable of a spare group has been out once, and a device with two supplies has gone on with either (common practice, no
 * source). What a pull exercises is read from a rehearsal of that very pull, as are the times.
 */

import { cableOf } from "../../shared/lines.ts";
import type { Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds } from "../../shared/time.ts";
import { linkById } from "../by-id.ts";
import { risksWithoutSpare } from "../check/risks.ts";
import { testedOf } from "../tested.ts";
import type { FeedHarm } from "../trials/harm.ts";
import { type Fault, faultsIn, REPAIR_SECONDS } from "../trials/list.ts";
import { watchedEnough } from "../trials/trial.ts";
import { type Cover, coverOf } from "./cover.ts";
import { type Duty, dutiesOf, isDone, linksBefore } from "./duties.ts";
import {
  type CarrierChange,
  carriersIn,
  isSame,
  type Rehearsed,
  Rehearser,
  type Sight,
  type Sighting,
  sightings,
} from "./rehearsed.ts";
import { type SoundBack, soundBackIn } from "./sound-back.ts";

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
  /** Cables, by id, for which nothing takes over, or not for all that goes over them: that a pull cannot prove. */
  readonly alone: readonly string[];
  /** How long each cable stays out, and each supply off. */
  readonly outSeconds: number;
}

/** Long enough to look at every end and write it down, *assumed*; more where something waits for longer. */
const OUT_SECONDS = 60;

/** @param filed the show as planned @param atNs when it stands as it will at the pull test */
export function pullTest(filed: Plan, atNs: Ns): PullTest {
  const outSeconds = outLongEnough(filed);
  const repairs = { ...REPAIR_SECONDS, cable: outSeconds, supply: outSeconds };
  const faults = faultsIn(filed, repairs);
  const pullable = faults.filter(({ kind }) => kind === "cable-out");
  const isSecond = (supply: string) => filed.devices.some(({ power }) => power.length > 1 && power.includes(supply));
  const others = faults.filter(({ kind, on }) => kind === "reboot" || (kind === "supply-out" && isSecond(on)));
  const watchSeconds = watchedEnough(filed, [[...pullable, ...others]], 0) + longestWait(filed);
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
  const single = tried([...pullable, ...others].map((each) => [each]));
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
    alone: withoutSpare(plan, single),
    outSeconds,
  };
}

/** Those that silence a feed by themselves, and those of which a pull exercises nothing. */
function withoutSpare(plan: Plan, single: readonly { readonly pull: Pull }[]): readonly string[] {
  const risks = plan.feeds.flatMap((feed) => risksWithoutSpare(plan, feed));
  const cut = new Set(risks.flatMap(({ kind, name }) => (kind === "cable" ? [name] : [])));
  const taken = new Set(
    single.flatMap(({ pull }) => (pull.duties.length > 0 ? pull.faults.flatMap(({ links }) => links) : [])),
  );
  const cables = plan.links.filter(({ stream }) => stream === undefined);
  const covered = new Set(cables.filter((link) => taken.has(link.id) || taken.has(cableOf(link))).map(cableOf));
  const bare = cables.filter((link) => cut.has(cableOf(link)) || !covered.has(cableOf(link)));
  // A word-clock line is one cable and as many links as it has taps.
  return bare
    .filter((link, place) => bare.findIndex((each) => cableOf(each) === cableOf(link)) === place)
    .map(({ id }) => id);
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
    duties: duties.filter((duty) => isDone(duty, faults, rehearsed, seen, backSeconds)),
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
