/** What happens in the world, in words: one sentence per event, without its consequences. */
import type { DevicePlan, EventPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { deviceBehind, deviceById, endsAt, linkById, pictureAt, type Told } from "./picture.ts";
import {
  cable,
  cables,
  capital,
  deviceHead,
  duration,
  inSentence,
  isPlural,
  listed,
  path,
  ppm,
  source,
  theDevice,
} from "./words.ts";

/** Ends with a full stop. With a run, it says of an event that could not do what it says why. */
export function eventSentence(plan: Plan, event: EventPlan, told: Told | null = null): string {
  const vain = told === null ? null : (vainWords(told, event) ?? portWords(told, event));
  return `${vain ?? eventWords(plan, event)}.`;
}

/** How a device is at the instant of an event, before it: from the rows above the event's own. */
function deviceBefore({ plan, record }: Told, device: string, event: EventPlan): { state: string; isHung: boolean } {
  const index = plan.events.indexOf(event);
  let [state, isHung] = ["off", false];
  for (const { subject, fact } of record.rows) {
    if (fact.kind === "event" && fact.index === index) break;
    if (subject !== `device ${device}`) continue;
    if (fact.kind === "clock") state = fact.state;
    if (fact.kind === "hung") isHung = fact.hung;
  }
  return { state, isHung };
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
  if (event.do === "unplug" || event.do === "plug") return vainPlugWords(plan, event);
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
    default:
      return null;
  }
}

function vainPlugWords(plan: Plan, event: Extract<EventPlan, { do: "plug" | "unplug" }>): string | null {
  const link = linkById(plan, event.link);
  if (link === undefined) return null;
  const isOut = { there: link.atStart === "unplugged", back: link.atStart === "unplugged" };
  const waysOf = ({ way }: { way: "there" | "back" | null }) => (way === null ? (["there", "back"] as const) : [way]);
  for (const one of plan.events.slice(0, plan.events.indexOf(event))) {
    if ((one.do !== "unplug" && one.do !== "plug") || one.link !== event.link) continue;
    for (const way of waysOf(one)) isOut[way] = one.do === "unplug";
  }
  const ways = waysOf(event);
  if (event.do === "unplug" && ways.every((way) => isOut[way])) return `${capital(cable(link.id))} is out already`;
  if (event.do === "plug" && event.into === null && ways.every((way) => !isOut[way]))
    return `${capital(cable(link.id))} is in already`;
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
  const set = plan.events
    .slice(0, plan.events.indexOf(event))
    .filter((one) => one.do === "set-clock-sources" && one.device === device.id)
    .at(-1);
  const sources = set?.do === "set-clock-sources" ? set.clockSources : device.clockSources;
  const listened = sources.includes(String(before.port)) || device.clockSources.includes(String(before.port));
  if (!listened || sources.includes(String(event.into))) return null;
  const follows = pictureAt(told, at).standings.get(device.id)?.upstream != null;
  const plural = isPlural(device.name);
  const still = follows ? "" : `; ${plural ? "they" : "it"} still ${plural ? "do" : "does"} not follow`;
  return `${eventWords(plan, event)}: port ${event.into} is not among ${plural ? "their" : "its"} clock sources${still}`;
}

function eventWords(plan: Plan, event: EventPlan): string {
  const at = secondsFromNs(event.atNs);
  const device = "device" in event && event.device !== null ? deviceById(plan, event.device) : undefined;
  const name = device === undefined ? "" : deviceHead(device);
  const verb = (one: string, many: string) => (device !== undefined && isPlural(device.name) ? many : one);
  switch (event.do) {
    case "unplug":
    case "plug":
      return linkWords(plan, event);
    case "cut":
    case "mend": {
      const taken = plan.links.filter((link) => link.laidAlong.includes(event.path)).map(({ id }) => id);
      const all = taken.length === 0 ? "" : `: ${cables(taken)}`;
      if (event.do === "mend") return `Cables along ${path(event.path)} are whole again${all}`;
      return `Everything laid along ${path(event.path)} is cut${all}`;
    }
    case "reboot": {
      if (event.part === "engine") return `${name}: the engine reboots, the surface stays up`;
      if (event.part === "all") return `${name} ${verb("reboots", "reboot")}`;
      const boot = device === undefined ? "" : ` for ${duration(device.bootSeconds)}`;
      return `${name}: only the surface reboots. Audio and clock go on; nobody can mute from it${boot}`;
    }
    case "power-cut":
      return powerWords(plan, true, event.device, event.supply);
    case "power-back":
      if (device !== undefined && isFirstPower(plan, event, device)) return `${name} ${verb("is", "are")} switched on`;
      return powerWords(plan, false, event.device, event.supply);
    case "hang":
      return `${name} ${verb("hangs", "hang")}: the clock goes on, the audio stops, the mute on it may not work`;
    case "unhang":
      return `${name} ${verb("works", "work")} again`;
    case "set-clock-sources": {
      if (event.clockSources.length === 0) return `${name} ${verb("is", "are")} told to listen to nothing`;
      const sources = event.clockSources.map((entry) => named(plan, event.device, entry, at));
      return `${name} ${verb("is", "are")} told to listen to ${sources.join(", then ")}`;
    }
    case "choose-source":
      return `${name} ${verb("is", "are")} told to go to ${named(plan, event.device, event.source, at)}`;
    case "set-port-clock":
      return `${name}: port ${event.port} is set to ${event.clock} clock`;
    case "step-frequency": {
      if (event.offsetPpm === null) return `${name}: its own clock steps back to where it was`;
      if (Math.abs(event.offsetPpm) < 0.0005) return `${name}: its own clock steps to exactly nominal`;
      const side = event.offsetPpm < 0 ? "slow" : "fast";
      return `${name}: its own clock steps to ${ppm(event.offsetPpm)} ${side}`;
    }
    case "temperature": {
      const where = device === undefined ? "The air around the rig" : `The air around ${theDevice(device)}`;
      const over = event.overSeconds > 0 ? ` within ${duration(event.overSeconds)}` : "";
      return `${where} goes to ${event.toCelsius} °C${over}`;
    }
  }
}

function linkWords(plan: Plan, event: Extract<EventPlan, { do: "plug" | "unplug" }>): string {
  const link = linkById(plan, event.link);
  const head = capital(cable(event.link));
  if (link === undefined) return head;
  const way = wayWords(plan, link, event.way);
  const at = event.end === null ? undefined : deviceById(plan, link[event.end].device);
  if (event.do === "unplug") return `${head} out${way}${at === undefined ? "" : `, at ${theDevice(at)}`}`;
  if (event.into !== null && at !== undefined) return `${head} goes into port ${event.into} of ${theDevice(at)}${way}`;
  return event.undoes === null ? `${head} plugged in${way}` : `${head} back in${way}`;
}

function wayWords(plan: Plan, link: LinkPlan, way: "there" | "back" | null): string {
  if (way === null || !(link.hasReturn || link.twoWay)) return "";
  const [from, to] = way === "there" ? [link.a, link.b] : [link.b, link.a];
  const names = [from, to]
    .map(({ device }) => deviceById(plan, device))
    .map((device) => (device ? theDevice(device) : ""));
  return `, only the way from ${names[0]} to ${names[1]}`;
}

/** It was off when the show began, and nothing has happened to its power since. */
function isFirstPower(plan: Plan, event: EventPlan, device: DevicePlan): boolean {
  const before = plan.events.slice(0, plan.events.indexOf(event));
  return device.atStart === "off" && !before.some((one) => one.do === "power-back" && one.device === device.id);
}

function powerWords(plan: Plan, isCut: boolean, id: string | null, supply: string | null): string {
  if (supply === null) {
    const device = id === null ? undefined : deviceById(plan, id);
    const name = device === undefined ? "A device" : deviceHead(device);
    const plural = device !== undefined && isPlural(device.name);
    return isCut ? `${name} ${plural ? "lose" : "loses"} power` : `${name} ${plural ? "have" : "has"} power again`;
  }
  const fed = plan.devices.filter((device) => device.power.includes(supply));
  const only = fed.filter((device) => device.power.length === 1).map(theDevice);
  const both = fed.filter((device) => device.power.length > 1).map(theDevice);
  if (!isCut) return `Supply ${supply} is back`;
  const dark = only.length === 0 ? "" : `: it feeds ${listed(only)}`;
  const kept =
    both.length === 0
      ? ""
      : `${dark === "" ? ":" : ";"} ${listed(both)} ${both.length > 1 ? "have" : "has"} another supply`;
  return `Supply ${supply} fails${dark}${kept}`;
}

/** "port 1 (FOH desk)": a source with what is behind it. */
export function named(plan: Plan, device: string, entry: string, seconds: number): string {
  const behind = deviceBehind(plan, device, entry, seconds);
  return behind === null ? source(entry) : `${source(entry)} (${inSentence(behind.name)})`;
}

/** "this desk", "this box": a device that the sentence before has just named. */
export function thisDevice(device: DevicePlan): string {
  if (device.kind === "desk") return "this desk";
  return device.kind === "stage-box" ? "this box" : "this device";
}
