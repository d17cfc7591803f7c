/**
 * One plan under five policies for a leader that goes away and comes back. Only what the policy is about is changed: how
 * the direct followers go back, what the old leader listens to when it is back, or who leads from the start.
 */
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import { later, nsFromSeconds } from "../../shared/time.ts";
import { deviceOf } from "../by-id.ts";
import { mid } from "../check/finding.ts";
import { type ClockGraph, clockGraph, portsThatHear, rigParts } from "../clock-graph.ts";
import { leadBy } from "../lead-by.ts";
import { sitesOf } from "../network/sites.ts";
import { duration, inSentence, listed, showTime, source } from "../tell/words.ts";
import type { Absence } from "./absence.ts";

export const POLICIES = ["at-once", "after-wait", "stay", "follows", "another-leads"] as const;
export type Policy = (typeof POLICIES)[number];

export type Variant = { readonly policy: Policy; readonly isAsFiled: boolean } & (
  | { readonly plan: Plan; readonly words: string; readonly whyNot: null }
  | { readonly plan: null; readonly words: null; readonly whyNot: string }
);

/** The default of ITU-T G.781, 5 min, as quoted in equipment manuals; for a plan that has no wait of its own. */
const WAIT_SECONDS = 300;

/** @param neverDown those that ran from beginning to end when the plan was played as it is */
export function variantsOf(plan: Plan, absence: Absence, neverDown: ReadonlySet<string>): readonly Variant[] {
  const makers: Readonly<Record<Policy, () => Made>> = {
    "at-once": () => atOnce(plan, absence),
    "after-wait": () => afterWait(plan, absence),
    stay: () => stay(plan, absence),
    follows: () => follows(plan, absence),
    "another-leads": () => anotherLeads(plan, absence, neverDown),
  };
  return POLICIES.map((policy): Variant => {
    const made = makers[policy]();
    if ("whyNot" in made) return { policy, plan: null, words: null, whyNot: made.whyNot, isAsFiled: false };
    return { policy, ...made, whyNot: null, isAsFiled: JSON.stringify(made.plan) === JSON.stringify(plan) };
  });
}

type Made = { readonly plan: Plan; readonly words: string } | { readonly whyNot: string };

function atOnce(plan: Plan, absence: Absence): Made {
  return goingBack(plan, absence, { revertive: true, waitToRestoreSeconds: 0 }, (who) => ({
    words: `${who}: go back at once (revertive, wait-to-restore 0)`,
    keepsOrders: false,
  }));
}

function afterWait(plan: Plan, absence: Absence): Made {
  const own = absence.followers.map((id) => deviceOf(plan, id).waitToRestoreSeconds);
  const longest = Math.max(0, ...own);
  const wait = longest > 0 ? longest : WAIT_SECONDS;
  const isOver = nsFromSeconds(absence.backAtSeconds + wait) < plan.lengthNs;
  return goingBack(plan, absence, { revertive: true, waitToRestoreSeconds: wait }, (who) => ({
    words: `${who}: go back after a wait of ${duration(wait)} (revertive, wait-to-restore)${isOver ? "" : "; the run ends before it is over"}`,
    keepsOrders: false,
  }));
}

function stay(plan: Plan, absence: Absence): Made {
  return goingBack(plan, absence, { revertive: false, waitToRestoreSeconds: 0 }, (who) => {
    const told = plan.events.find((event) => isOrderToGoBack(event, absence));
    const until =
      told === undefined
        ? "stay until told (not revertive); nobody tells them in this run"
        : `stay until told (not revertive), at ${showTime(told.atNs / 1e9)}`;
    return { words: `${who}: ${until}`, keepsOrders: true };
  });
}

function goingBack(
  plan: Plan,
  absence: Absence,
  change: Pick<DevicePlan, "revertive" | "waitToRestoreSeconds">,
  tell: (who: string) => { readonly words: string; readonly keepsOrders: boolean },
): Made {
  const goBack = whoGoesBack(plan, absence);
  if (goBack.length === 0) return { whyNot: noSecond(plan, absence) };
  const { words, keepsOrders } = tell(namesOf(plan, goBack));
  return { plan: withDevices(withoutOrders(plan, absence, { keepsOrders }), goBack, change), words };
}

function noSecond(plan: Plan, { leader, followers }: Absence): string {
  if (followers.length === 0) return `no device listens to ${mid(plan, leader)}`;
  return `no device that listens to ${mid(plan, leader)} has a second source on another clock, so there is nothing to go back from`;
}

/** The leader is told while it starts (or, where only its cables are out, meanwhile); the others stay where they are. */
function follows(plan: Plan, absence: Absence): Made {
  const { leader } = absence;
  const goBack = whoGoesBack(plan, absence);
  if (goBack.length === 0) return { whyNot: noSecond(plan, absence) };
  const without = clockGraph(plan, leader);
  const port = portsThatHear(plan, leader).find(({ from }) => isOnAnotherClock(without, from));
  if (
    port === undefined &&
    sitesOf(plan).sites.some(({ device, isInElection }) => device.id === leader && isInElection)
  )
    return {
      whyNot: `on a network whoever has the better priority1 leads, as soon as it announces itself: give ${mid(plan, leader)} a higher number than the next, and it comes back as a follower`,
    };
  if (port === undefined)
    return { whyNot: `no clock that does not come from ${mid(plan, leader)} itself arrives at any port of it` };
  // Crews do not count milliseconds; where there is no whole second, the middle will do.
  const middle = (absence.startsAtSeconds + absence.backAtSeconds) / 2;
  const at = Math.floor(middle) > absence.startsAtSeconds ? Math.floor(middle) : middle;
  const order: EventPlan = {
    atNs: nsFromSeconds(at),
    undoes: null,
    do: "set-clock-sources",
    device: leader,
    clockSources: [String(port.port), "internal"],
  };
  const still = withDevices(withoutOrders(plan, absence, { keepsOrders: false }), goBack, {
    revertive: false,
    waitToRestoreSeconds: 0,
  });
  // With its cables out it runs on, on its own clock, and has to turn to the port by itself when that is there again.
  const willing = absence.how === "unplugged" ? withDevices(still, [leader], { revertive: true }) : still;
  const meanwhile = absence.how === "unplugged" ? "while its cables are out" : "while it starts";
  return {
    plan: withEvent(willing, order),
    words: `${bare(plan, leader)}: ${meanwhile}, at ${showTime(at)}, set its clock source to ${source(String(port.port))} (${deviceOf(plan, port.from).name}), then its own clock; ${namesOf(plan, goBack)}: stay (not revertive)`,
  };
}

function anotherLeads(plan: Plan, absence: Absence, neverDown: ReadonlySet<string>): Made {
  const part = rigParts(plan).find((ids) => ids.includes(absence.leader)) ?? [];
  const kinds = ["house-clock", "stage-box"];
  const rank = (id: string) => {
    const place = kinds.indexOf(deviceOf(plan, id).kind);
    if (place >= 0) return place;
    return plan.leaders.includes(id) ? kinds.length : kinds.length + 1;
  };
  const candidates = part
    .filter((id) => id !== absence.leader && rank(id) <= kinds.length && neverDown.has(id))
    .sort((one, two) => rank(one) - rank(two) || (one < two ? -1 : 1));
  const free = withoutOrders(plan, absence, { keepsOrders: false });
  for (const id of candidates) {
    const led = leadBy(free, part, id);
    if (led !== null)
      return { plan: led, words: `${bare(plan, id)}: leads from the start; everyone else listens only towards it` };
  }
  return {
    whyNot:
      candidates.length === 0
        ? "there is no house clock, no stage box and no next leader that runs from beginning to end"
        : `not everyone can hear ${listed(
            candidates.map((id) => mid(plan, id)),
            "or",
          )}`,
  };
}

/** Direct followers that have somebody else's clock, or are meant to lead themselves, when the leader is not there. */
export function whoGoesBack(plan: Plan, { leader, followers }: Absence): readonly string[] {
  const without = clockGraph(plan, leader);
  return followers.filter((id) => isOnAnotherClock(without, id) && without.used(id) !== null);
}

/** Whether this device gives a clock that is not the leader's when the leader is not there. */
function isOnAnotherClock(without: ClockGraph, id: string): boolean {
  const used = without.used(id);
  if (used === null) return false;
  return used.heard.kind === "own" || without.trace(used).ends !== null;
}

/** What crews do about a leader that comes back: orders to its followers, and what it is itself told to listen to. */
function withoutOrders(plan: Plan, absence: Absence, { keepsOrders }: { readonly keepsOrders: boolean }): Plan {
  const isTaken = (event: EventPlan) =>
    isOrderToLeader(event, absence) || (!keepsOrders && isOrderToGoBack(event, absence));
  const taken = new Set(plan.events.flatMap((event, index) => (isTaken(event) ? [index] : [])));
  if (taken.size === 0) return plan;
  const kept = plan.events.flatMap((event, was) =>
    taken.has(was) || (event.undoes !== null && taken.has(event.undoes)) ? [] : [{ event, was }],
  );
  const index = new Map(kept.map(({ was }, now) => [was, now]));
  const events = kept.map(({ event }) =>
    event.undoes === null ? event : { ...event, undoes: index.get(event.undoes) ?? null },
  );
  return { ...plan, events };
}

function isOrderToGoBack(event: EventPlan, { followers, goneAtSeconds }: Absence): boolean {
  return event.do === "choose-source" && event.atNs > nsFromSeconds(goneAtSeconds) && followers.includes(event.device);
}

function isOrderToLeader(event: EventPlan, { leader, goneAtSeconds }: Absence): boolean {
  return event.do === "set-clock-sources" && event.device === leader && event.atNs >= nsFromSeconds(goneAtSeconds);
}

function withDevices(plan: Plan, ids: readonly string[], change: Partial<DevicePlan>): Plan {
  return {
    ...plan,
    devices: plan.devices.map((device) => (ids.includes(device.id) ? { ...device, ...change } : device)),
  };
}

/** Whoever is sent back, is sent back later by this much. */
export function withLaterOrders(plan: Plan, absence: Absence, shiftSeconds: number): Plan {
  const shift = nsFromSeconds(shiftSeconds);
  return inOrder(
    plan,
    plan.events.map((event) =>
      isOrderToGoBack(event, absence) ? { ...event, atNs: later(event.atNs, shift) } : event,
    ),
  );
}

function withEvent(plan: Plan, added: EventPlan): Plan {
  return inOrder(plan, [...plan.events, added]);
}

/** Events as they stand, some of them moved or added behind: sorted again, `undoes` pointing at the same ones. */
function inOrder(plan: Plan, events: readonly EventPlan[]): Plan {
  const sorted = events.map((event, was) => ({ event, was })).sort((one, two) => one.event.atNs - two.event.atNs);
  const index = new Map(sorted.map(({ was }, now) => [was, now]));
  return {
    ...plan,
    events: sorted.map(({ event }) =>
      event.undoes === null ? event : { ...event, undoes: index.get(event.undoes) ?? null },
    ),
  };
}

/** Names at the head of an instruction, without articles; a long list is counted. */
function namesOf(plan: Plan, ids: readonly string[]): string {
  return ids.length <= 4 ? listed(ids.map((id) => bare(plan, id))) : `the ${ids.length} devices with a second source`;
}

function bare(plan: Plan, id: string): string {
  return inSentence(deviceOf(plan, id).name);
}
