/** What happens in the world, in words: one sentence per event; and where it finds nothing to do, that it does not. */
import { isAbout } from "../../shared/lines.ts";
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import type { Fact, Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { deviceById, linkById } from "../by-id.ts";
import { sourcesChanges } from "../lives.ts";
import { eventsBefore, eventWords, indexOf } from "./event-words.ts";
import { endsAt, pictureAt, type Told } from "./picture.ts";
import { cableIn, capital, deviceHead, isPlural } from "./words.ts";

/** Ends with a full stop. With a run, it says of an event that could not do what it says why. */
export function eventSentence(plan: Plan, event: EventPlan, told: Told | null = null): string {
  const vain = told === null ? null : (vainWords(told, event) ?? portWords(told, event));
  return `${vain ?? eventWords(plan, event)}.`;
}

/** Rows above the event's own. */
function rowsBefore({ plan, record }: Told, event: EventPlan): readonly Row[] {
  const index = indexOf(plan, event);
  const own = record.rows.findIndex(({ fact }) => fact.kind === "event" && fact.index === index);
  return own < 0 ? record.rows : record.rows.slice(0, own);
}

/** How a device is at the instant of an event, before it. */
function deviceBefore(told: Told, device: string, event: EventPlan): { state: string; isHung: boolean } {
  let [state, isHung] = ["off", false];
  const own = `device ${device}`;
  for (const { subject, fact } of rowsBefore(told, event)) {
    if (subject !== own) continue;
    if (fact.kind === "clock") state = fact.state;
    if (fact.kind === "hung") isHung = fact.hung;
  }
  return { state, isHung };
}

/** Whether a device leads a network just before an event; null: it is in none that was recorded. */
function leadsBefore(told: Told, device: string, event: EventPlan): boolean | null {
  const roles = new Map<string, Extract<Fact, { kind: "election" }>["role"]>();
  for (const { subject, fact } of rowsBefore(told, event))
    if (fact.kind === "election" && subject.startsWith(`node ${device} `))
      roles.set(`${subject} ${fact.port}`, fact.role);
  return roles.size === 0 ? null : [...roles.values()].includes("leads");
}

/** Since when a device has taken no other clock source, at an instant after what is recorded for it; null: it chooses. */
export function stuckSince(
  { plan, record }: Pick<Told, "plan" | "record">,
  device: string,
  atNs: Ns,
  rows: readonly Row[] = record.rows,
): Ns | null {
  let [state, since] = ["off", null as Ns | null];
  for (const row of rows) {
    if (row.atNs > atNs) break;
    const { fact, subject } = row;
    if (subject === `device ${device}` && fact.kind === "clock") state = fact.state;
    if (state === "off" || state === "starting") since = null;
    else if (fact.kind === "event" && "device" in fact.event && fact.event.device === device) {
      if (fact.event.do === "stick") since ??= row.atNs;
      if (fact.event.do === "unstick") since = null;
    }
  }
  return plan.events.some((event) => event.do === "stick" && event.device === device) ? since : null;
}

/** It hangs at an instant, in seconds. */
export function isHungAt({ record }: Told, device: string, seconds: number): boolean {
  let isHung = false;
  for (const { subject, fact, atNs } of record.rows) {
    if (secondsFromNs(atNs) > seconds) break;
    if (fact.kind === "hung" && subject === `device ${device}`) isHung = fact.hung;
  }
  return isHung;
}

/** What is true where an event finds nothing to do, or only part of it; null where it does what it says. */
function vainWords(told: Told, event: EventPlan): string | null {
  const { plan, summary } = told;
  if (event.do === "unplug" || event.do === "plug" || event.do === "lose-contact") return vainPlugWords(plan, event);
  const device = "device" in event && event.device !== null ? deviceById(plan, event.device) : undefined;
  if (device === undefined) return null;
  const { state, isHung } = deviceBefore(told, device.id, event);
  const plural = isPlural(device.name);
  const head = deviceHead(device);
  const is = plural ? "are" : "is";
  const isOff = state === "off";
  switch (event.do) {
    case "reboot":
      return isOff ? `${head} ${is} off: nothing to reboot` : null;
    case "power-cut":
      return isOff && event.supply === null ? `${head} ${is} off already` : null;
    case "power-back":
      return !isOff && event.supply === null ? `${head} ${plural ? "have" : "has"} power already` : null;
    case "hang": {
      if (isOff) return `${head} ${is} off: nothing to hang`;
      if (isHung) return `${head} ${plural ? "hang" : "hangs"} already`;
      const still = isHungAt(told, device.id, summary.runSeconds)
        ? `, and still ${plural ? "hang" : "hangs"} at the end`
        : "";
      if (state === "starting")
        return `${head} ${plural ? "hang" : "hangs"} while starting: the audio stays off even when the boot is over${still}`;
      return still === "" ? null : `${eventWords(plan, event)}${still}`;
    }
    case "unhang": {
      if (isOff) return `${head} ${is} off, and cannot work again`;
      if (state === "starting")
        return isHung
          ? `${head} no longer ${plural ? "hang" : "hangs"}; ${plural ? "they are" : "it is"} still booting`
          : `${head} ${is} still booting; the reboot has ended the hang`;
      return isHung ? null : `${head} ${plural ? "work" : "works"} already; the hang had ended before`;
    }
    case "stop-sync":
      if (isOff) return `${head} ${is} off, and ${plural ? "send" : "sends"} no sync anyway`;
      return leadsBefore(told, device.id, event) === false
        ? `${head} ${plural ? "stop" : "stops"} sending sync; ${plural ? "they lead" : "it leads"} nobody now, so nobody misses it`
        : null;
    case "start-sync":
      if (isOff) return `${head} ${is} off, and cannot send sync`;
      return hasBootedSince(told, device.id, event)
        ? `${head} ${plural ? "send" : "sends"} sync already; the reboot had ended that`
        : null;
    case "stick":
      return isOff || state === "starting"
        ? `${head} ${is} ${isOff ? "off" : "still booting"}, and ${plural ? "have" : "has"} no clock source to stick to`
        : null;
    case "unstick":
      if (isOff) return `${head} ${is} off, and ${plural ? "choose" : "chooses"} nothing`;
      return isStuckBefore(told, device.id, event)
        ? null
        : `${head} ${plural ? "choose" : "chooses"} already; the reboot had ended that`;
    case "choose-source":
    case "set-clock-sources":
      return isStuckBefore(told, device.id, event)
        ? `${eventWords(plan, event)}, and ${plural ? "do" : "does"} not move: ${plural ? "they are" : "it is"} stuck`
        : null;
    default:
      return null;
  }
}

function isStuckBefore(told: Told, device: string, event: EventPlan): boolean {
  return stuckSince(told, device, event.atNs, rowsBefore(told, event)) !== null;
}

/** Since what this event undoes. */
function hasBootedSince(told: Told, device: string, event: EventPlan): boolean {
  const from = event.undoes === null ? undefined : told.plan.events[event.undoes];
  return rowsBefore(told, event).some(
    ({ subject, fact, atNs }) =>
      from !== undefined &&
      atNs >= from.atNs &&
      subject === `device ${device}` &&
      fact.kind === "clock" &&
      (fact.state === "starting" || fact.state === "off"),
  );
}

function vainPlugWords(
  plan: Plan,
  event: Extract<EventPlan, { do: "plug" | "unplug" | "lose-contact" | "make-contact" }>,
): string | null {
  const links = plan.links.filter((link) => isAbout(event, link));
  const waysOf = ({ way }: { way: "there" | "back" | null }) => (way === null ? (["there", "back"] as const) : [way]);
  const out = new Set<string>();
  const cut = new Set<string>();
  for (const link of links) {
    if (link.atStart === "unplugged") for (const way of ["there", "back"]) out.add(`${link.id} ${way}`);
    for (const one of eventsBefore(plan, event)) {
      const isAlong = (one.do === "cut" || one.do === "mend") && link.laidAlong.includes(one.path);
      if (isAlong && one.do === "cut") cut.add(`${link.id} ${one.path}`);
      if (isAlong && one.do === "mend") cut.delete(`${link.id} ${one.path}`);
      // A new cable is run.
      if (one.do === "plug" && isAbout(one, link)) for (const path of link.laidAlong) cut.delete(`${link.id} ${path}`);
      if ((one.do !== "unplug" && one.do !== "plug") || !isAbout(one, link)) continue;
      for (const way of waysOf(one)) {
        if (one.do === "unplug") out.add(`${link.id} ${way}`);
        else out.delete(`${link.id} ${way}`);
      }
    }
  }
  const keys = links.flatMap((link) => waysOf(event).map((way) => `${link.id} ${way}`));
  if (keys.length === 0) return null;
  const isOut = keys.every((key) => out.has(key));
  const name = cableIn(plan, event.link);
  if (event.do === "lose-contact") return isOut ? `${eventWords(plan, event)}; ${name} is out` : null;
  if (event.do === "unplug" && isOut) return `${capital(name)} is out already`;
  if (event.do === "plug" && event.into === null && cut.size === 0 && !keys.some((key) => out.has(key)))
    return `${capital(name)} is in already`;
  return null;
}

/** A clock that the device listened to at the old port goes into one that it does not listen to. */
function portWords(told: Told, event: EventPlan): string | null {
  const { plan } = told;
  if (event.do !== "plug" || event.into === null || event.end === null) return null;
  const at = secondsFromNs(event.atNs);
  const link = linkById(plan, event.link);
  const before = link === undefined ? null : endsAt(plan, link, at - 1e-6)[event.end];
  const device = before === null ? undefined : deviceById(plan, before.device);
  if (before === null || device === undefined) return null;
  const index = indexOf(plan, event);
  const set = sourcesChanges(plan, device).findLast((change) => change.event < index);
  const sources = set?.clockSources ?? device.clockSources;
  const listened = sources.includes(String(before.port)) || device.clockSources.includes(String(before.port));
  if (!listened || sources.includes(String(event.into))) return null;
  const follows = pictureAt(told, at).standings.get(device.id)?.upstream != null;
  const plural = isPlural(device.name);
  const still = follows ? "" : `; ${plural ? "they" : "it"} still ${plural ? "do" : "does"} not follow`;
  return `${eventWords(plan, event)}: port ${event.into} is not among ${plural ? "their" : "its"} clock sources${still}`;
}

/** "this desk", "this box": a device that the sentence before has just named. */
export function thisDevice(device: DevicePlan): string {
  if (device.kind === "desk") return "this desk";
  return device.kind === "stage-box" ? "this box" : "this device";
}
