/**
 * Fault cards: what to do when something happens, one for each class of faults that look alike to those who listen, the
 * worst first; one for the loss of every cable and path that somebody hears, since cables are what goes first in a show
 * (common practice, no source); and one for the reboot of every device. What is seen and heard is of rehearsals; what to do is common
 * practice, no source.
 */
import type { Plan } from "../../shared/plan.ts";
import { deviceById, deviceOf } from "../by-id.ts";
import { failedBy, mutesFor } from "../muting.ts";
import { muteWords } from "../tell/muting.ts";
import { feedsInOrder } from "../tell/pieces.ts";
import {
  agree,
  capital,
  counted,
  deviceHead,
  duration,
  type Listener,
  listed,
  listener,
  theCableIn,
} from "../tell/words.ts";
import { alike } from "../trials/alike.ts";
import { type Fault, REPAIRED_BY, type RepairName } from "../trials/list.ts";
import { audiencesOf, type CaseToll, type FeedToll, isHeard, nameOf } from "../trials/rank.ts";
import { caseWords, normalAfter, tollWords } from "../trials/words.ts";
import { deedsOf, isSame, type Rehearsed, type Rehearser, type Sighting, sightings } from "./rehearsed.ts";
import { firstCheck, kindsFirst, neverWords, todoWords } from "./todo.ts";
import { afterWords, lowered, sightWords } from "./words.ts";

export interface Card {
  /** From 1. */
  readonly number: number;
  /** Ids of all faults that it stands for, its own first. */
  readonly faults: readonly string[];
  readonly title: string;
  /** What looks alike from the front. */
  readonly also: readonly string[];
  readonly sees: readonly string[];
  readonly hears: readonly string[];
  /** In this order; empty: nothing that the rehearsal heard asks for it. */
  readonly mutes: readonly string[];
  readonly todo: readonly string[];
  readonly never: readonly string[];
  readonly normal: string;
  /** Whether its return hurts. */
  readonly back: string;
}

/** More classes than this nobody carries, but for those of a cable. */
export const CLASSES_MOST = 12;
/** What else it may be, in full. */
const ALSO_MOST = 4;
/** Places to look at before one acts. */
const CHECKS_MOST = 3;
/** Devices on a card. */
const SEEN_MOST = 4;
/** Changes of one device on a card. */
const CHANGES_MOST = 3;
/** What is over sooner nobody in a hurry sees, *assumed*. */
const PASSING_SECONDS = 2;
/** A dropout of this number of clicks is over before a hand is at a mute, *assumed*. */
const CLICKS_TO_MUTE = 10;

const NO_FEEDS = "The plan has no feeds: it does not say who hears what.";

export interface CardsWish {
  readonly plan: Plan;
  /** Worst first. */
  readonly tolls: readonly CaseToll[];
  readonly rehearser: Rehearser;
  readonly watchSeconds: number;
  readonly classesMost: number;
  /** Whose time somebody has said; that of the others is assumed. */
  readonly repairsGiven: ReadonlySet<RepairName>;
}

export function cardsOf(wish: CardsWish): readonly Card[] {
  const all = alike(wish.tolls.filter(isHeard));
  const classes = [...all.slice(0, wish.classesMost), ...all.slice(wish.classesMost).filter(hasLostCable)];
  const heads = new Set(classes.map(([head]) => nameOf(head as CaseToll)));
  const reboots = wish.tolls.filter((toll) => toll.faults[0]?.kind === "reboot" && !heads.has(nameOf(toll)));
  return [...classes, ...reboots.map((toll) => [toll])].map((tolls, place) => cardOf(wish, tolls, place + 1));
}

function hasLostCable(tolls: readonly CaseToll[]): boolean {
  return tolls.some(({ faults }) => faults[0]?.kind === "cable-out" || faults[0]?.kind === "path-cut");
}

function cardOf(wish: CardsWish, tolls: readonly CaseToll[], number: number): Card {
  const { plan, rehearser, watchSeconds } = wish;
  const [head, ...others] = kindsFirst(tolls) as [CaseToll, ...CaseToll[]];
  const rehearsed = rehearser.play(head.faults, watchSeconds);
  const fault = head.faults[0] as Fault;
  const over = normalAfter(head);
  const shown = others.slice(0, ALSO_MOST).map((toll) => caseWords(plan, toll.faults));
  const more = others.length - shown.length;
  return {
    number,
    faults: tolls.map(nameOf),
    title: caseWords(plan, head.faults),
    also: more > 0 ? [...shown, `and ${counted(more, "other", "others")}`] : shown,
    sees: seesLines(plan, rehearsed, fault),
    hears: hearsLines(plan, head),
    mutes: muteLines(plan, tolls),
    todo: [...whichOne(plan, tolls), ...todoWords(plan, fault)],
    never: neverWords(plan, fault),
    normal:
      over === null
        ? "No end of it was seen: it goes on until somebody acts."
        : over === 0
          ? plan.feeds.length === 0
            ? NO_FEEDS
            : "Nothing is heard of it."
          : `${capital(duration(over))} from the fault, ${repairWords(fault, wish.repairsGiven)}.`,
    back: backWords(plan, head),
  };
}

/** Where several look alike, what tells them apart. */
function whichOne(plan: Plan, tolls: readonly CaseToll[]): string[] {
  const checks = [...new Set(kindsFirst(tolls).map(({ faults }) => firstCheck(plan, faults[0] as Fault)))];
  if (checks.length < 2) return [];
  const asked = checks.slice(0, CHECKS_MOST).map((each) => (each.endsWith("?") ? each : `${each}?`));
  return [`Look which it is. ${asked.join(" ")} The steps below are for the first.`];
}

function repairWords({ kind, repairedAfterSeconds }: Fault, given: ReadonlySet<RepairName>): string {
  if (repairedAfterSeconds === null) return "by itself";
  const by = REPAIRED_BY[kind];
  const isGiven = by !== null && given.has(by);
  return `with a repair after ${duration(repairedAfterSeconds)}${isGiven ? "" : " (assumed)"}`;
}

/** "Stage box: locked to monitor desk (port 2) after 0.3 s, as before after 1 min 17 s" */
export function seesLines(plan: Plan, rehearsed: Rehearsed, fault: Fault): string[] {
  const changed = [...sightings(rehearsed, rehearsed.atNs, rehearsed.endNs)].filter(([, all]) => all.length > 1);
  const rank = (id: string) => (fault.devices.includes(id) ? 0 : 1);
  const order = changed.toSorted(
    ([one, first], [other, second]) =>
      rank(one) - rank(other) || (first[1]?.afterSeconds ?? 0) - (second[1]?.afterSeconds ?? 0),
  );
  const shown = order.slice(0, SEEN_MOST).map(([id, all]) => `${deviceHead(deviceOf(plan, id))}: ${courseWords(all)}.`);
  const more = order.length - shown.length;
  const itself = itselfWords(plan, fault);
  if (shown.length + itself.length === 0) return ["No device changes what it is: its lamps may stay as they are."];
  const own = changed.some(([, all]) => lastingChanges(all).some(({ key }) => key === "free-run"));
  return [
    ...itself,
    ...shown,
    ...(more > 0 ? [`${capital(counted(more, "other device changes", "other devices change"))} too.`] : []),
    ...(own ? ["A lock lamp may be lit all the same: to the device's own clock."] : []),
  ];
}

/** What no state of a device tells. */
function itselfWords(plan: Plan, { kind, on, links, devices }: Fault): string[] {
  const device = deviceById(plan, devices[0]);
  const name = device === undefined ? on : deviceHead(device);
  switch (kind) {
    case "hang":
      return [`${name}: does not answer its own buttons; its lamps may stay as they were.`];
    case "surface-reboot":
      return [`${name}: its surface is dark or boots; nobody can mix there.`];
    case "no-sync":
      return [`${name}: goes on saying that it leads.`];
    case "bad-contact":
      return [`The lamps of ${listed(links.map((id) => theCableIn(plan, id)))} may flicker at both ends.`];
    case "cable-out":
    case "one-way-out":
    case "dead-spare":
    case "path-cut":
      return [`The lamps of ${listed(links.map((id) => theCableIn(plan, id)))} may go out.`];
    default:
      return [];
  }
}

/** Without what is over in a moment, and without coming back from there to what it was. */
function lastingChanges([before, ...changes]: readonly Sighting[]): readonly Sighting[] {
  const found: Sighting[] = [];
  for (const [place, each] of changes.entries()) {
    const next = changes[place + 1];
    if (next !== undefined && next.afterSeconds - each.afterSeconds < PASSING_SECONDS) continue;
    const last = found.at(-1) ?? before;
    if (last === undefined || !isSame(last, each)) found.push(each);
  }
  return found;
}

function courseWords(all: readonly Sighting[]): string {
  const [before] = all as [Sighting, ...Sighting[]];
  const changes = lastingChanges(all);
  const last = changes.at(-1);
  if (last === undefined) {
    const again = all.at(-1) as Sighting;
    return `another state for moments, as before ${afterWords(again.afterSeconds)}`;
  }
  const told = changes.length <= CHANGES_MOST ? changes : [...changes.slice(0, CHANGES_MOST - 1), last];
  const words = told.map((each, place) => {
    const state = isSame(each, before) ? "as before" : lowered(sightWords(each));
    const skipped = place === told.length - 1 && told.length < changes.length ? "in the end " : "";
    return `${skipped}${state} ${afterWords(each.afterSeconds)}`;
  });
  return words.join(", ");
}

function hearsLines(plan: Plan, toll: CaseToll): string[] {
  const quiet: Listener[] = [];
  const lines = feedsInOrder({ plan }).flatMap((feed) => {
    const found = toll.feeds.find((each) => each.feed === feed.id);
    const who = listener(feed, plan.feeds);
    const words = found === undefined ? null : tollWords(found);
    if (words === null) quiet.push(who);
    return words === null ? [] : [`${who.head}: ${words}.`];
  });
  if (plan.feeds.length === 0) return [NO_FEEDS];
  if (lines.length === 0) return ["Nothing: nobody hears it."];
  if (quiet.length === 0) return lines;
  return [...lines, `${capital(listed(quiet.map(({ mid }) => mid)))}: nothing of it.`];
}

/** Nobody can mute at what has failed, nor at what may have: of faults that look alike nobody knows which it is. */
function muteLines(plan: Plan, tolls: readonly CaseToll[]): string[] {
  const failed = failedBy(plan, deedsOf(tolls.flatMap(({ faults }) => faults)));
  const asking = new Set(tolls.flatMap(({ feeds }) => feeds.filter(asksForMute).map(({ feed }) => feed)));
  const hurting = plan.feeds.filter(({ id }) => asking.has(id));
  return mutesFor(plan, failed, hurting).map((mute) => muteWords({ plan }, mute));
}

function asksForMute({ silentSeconds, clicks, atFullLevel, dropoutsOnReturn, mayBeSilent }: FeedToll): boolean {
  return silentSeconds >= 1 || clicks >= CLICKS_TO_MUTE || atFullLevel > 0 || dropoutsOnReturn > 0 || mayBeSilent;
}

function backWords(plan: Plan, { feeds }: CaseToll): string {
  const who = (wanted: (toll: FeedToll) => boolean) =>
    feedsInOrder({ plan }).flatMap((feed) => {
      const found = feeds.find((each) => each.feed === feed.id);
      // A recording hurts nobody.
      const isHeardByEars = audiencesOf(feed.heardBy).size > (audiencesOf(feed.heardBy).has("record") ? 1 : 0);
      return found !== undefined && isHeardByEars && wanted(found) ? [listener(feed, plan.feeds)] : [];
    });
  const loud = who(({ atFullLevel }) => atFullLevel > 0);
  const again = who(({ dropoutsOnReturn, atFullLevel }) => dropoutsOnReturn > 0 && atFullLevel === 0);
  const unsure = who(({ mayBeSilent, atFullLevel }) => mayBeSilent && atFullLevel === 0);
  const names = (all: readonly Listener[]) => capital(listed(all.map(({ mid }) => mid)));
  const isMany = (all: readonly Listener[]) => all.length > 1 || all[0]?.plural === true;
  const said = [
    ...(loud.length === 0
      ? []
      : [`Yes. ${names(loud)} ${agree(isMany(loud), "comes", "come")} back at full level, with no fade.`]),
    ...(again.length === 0
      ? []
      : [
          `${loud.length === 0 ? "Yes. " : ""}${names(again)} ${agree(isMany(again), "drops", "drop")} out once more as it comes back.`,
        ]),
    ...(unsure.length === 0
      ? []
      : [
          `Nobody knows whether ${listed(unsure.map(({ mid }) => mid))} ${agree(isMany(unsure), "mutes", "mute")} or ${agree(isMany(unsure), "clicks", "click")}: expect full level.`,
        ]),
  ];
  return said.length === 0 ? "Nothing was heard on the return. Bring up slowly all the same." : said.join(" ");
}
