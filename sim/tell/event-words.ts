/** What happens in the world, in the words of the plan alone: one clause per event, without its consequences. */
import { cableOf } from "../../shared/lines.ts";
import type { DevicePlan, EventPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { DevicePower } from "../../shared/power.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { deviceById, linkById } from "../by-id.ts";
import { sourcesChanges } from "../lives.ts";
import { deviceAcross, networkBehind } from "./picture.ts";
import {
  agree,
  along,
  cableIn,
  cables,
  capital,
  deviceHead,
  duration,
  grouped,
  inSentence,
  isPlural,
  listed,
  ppm,
  short,
  source,
  theDevice,
  theNetwork,
  times,
} from "./words.ts";

/** Where it stands in the plan: the same event may come from there, or from a record that was read. */
export function indexOf({ events }: Plan, event: EventPlan): number {
  const same = events.indexOf(event);
  if (same >= 0) return same;
  const text = JSON.stringify(event);
  return events.findIndex((each) => each.atNs === event.atNs && JSON.stringify(each) === text);
}

/** What happens before it, also at the same instant. */
export function eventsBefore(plan: Plan, event: EventPlan): readonly EventPlan[] {
  return plan.events.slice(0, Math.max(0, indexOf(plan, event)));
}

/** A cable that comes and goes is one event, told as it begins. */
export function isTold(event: EventPlan): boolean {
  return !("intermittent" in event) || (event.do === "lose-contact" && event.intermittent.turn === 1);
}

export function eventWords(plan: Plan, event: EventPlan): string {
  const at = secondsFromNs(event.atNs);
  const device = "device" in event && event.device !== null ? deviceById(plan, event.device) : undefined;
  const name = device === undefined ? "" : deviceHead(device);
  const verb = (one: string, many: string) => (device !== undefined && isPlural(device.name) ? many : one);
  switch (event.do) {
    case "unplug":
    case "plug":
      return linkWords(plan, event);
    case "lose-contact":
    case "make-contact":
      return contactWords(plan, event);
    case "cut":
    case "mend": {
      const laid = plan.links.filter((link) => link.laidAlong.includes(event.path));
      const taken = [...new Set(laid.map(cableOf))];
      const all = taken.length === 0 ? "" : `: ${cables(taken, { name: (id) => cableIn(plan, id) })}`;
      if (event.do === "mend") return `Cables ${along(event.path)} are whole again${all}`;
      return `Everything laid ${along(event.path)} is cut${all}`;
    }
    case "reboot": {
      const after = comesBackWith(plan, event);
      if (event.part === "engine") return `${name}: the engine reboots, the surface stays up${after}`;
      if (event.part === "all") return `${name} ${verb("reboots", "reboot")}${after}`;
      const boot = device === undefined ? "" : ` for ${duration(device.surfaceBootSeconds)}`;
      return `${name}: only the surface reboots. Audio and clock go on; nobody can mute from it${boot}`;
    }
    case "power-cut":
      return event.batterySeconds === undefined || event.supply === null
        ? powerWords(plan, event)
        : batteryWords(plan, event, event.supply, event.batterySeconds);
    case "battery-empty":
      return `The battery of supply ${event.supply} is empty${feedsWords(plan, event, event.supply)}`;
    case "power-back": {
      if (device !== undefined && isFirstPower(plan, event, device)) return `${name} ${verb("is", "are")} switched on`;
      return powerWords(plan, event) + comesBackWith(plan, event);
    }
    case "hang":
      return `${name} ${verb("hangs", "hang")}: the clock goes on, the audio stops, the mute on it may not work`;
    case "unhang":
      return `${name} ${verb("works", "work")} again`;
    case "stop-sync": {
      const itself = verb("itself", "themselves");
      return `${name} ${verb("stops", "stop")} sending sync and ${verb("goes", "go")} on announcing ${itself} to the network`;
    }
    case "start-sync":
      return `${name} ${verb("sends", "send")} sync again`;
    case "stick": {
      const it = verb("it has", "they have");
      return `${name} ${verb("sticks", "stick")} to the clock source ${it}: ${verb("it takes", "they take")} no other, by ${verb("itself", "themselves")} or told`;
    }
    case "unstick":
      return `${name} ${verb("chooses", "choose")} ${verb("its", "their")} clock source again`;
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
  const head = capital(cableIn(plan, event.link));
  if (link === undefined) return head;
  const way = wayWords(plan, link, event.way);
  const at = event.end === null ? undefined : deviceById(plan, link[event.end].device);
  if (link.stream !== undefined)
    return `${head} ${event.do === "unplug" ? "stops" : event.undoes === null ? "starts" : "runs again"}`;
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
  const before = eventsBefore(plan, event);
  return device.atStart === "off" && !before.some((one) => one.do === "power-back" && one.device === device.id);
}

function powerWords(plan: Plan, event: Extract<EventPlan, { do: "power-cut" } | { do: "power-back" }>): string {
  const { device: id, supply } = event;
  const isCut = event.do === "power-cut";
  if (supply === null) {
    const device = id === null ? undefined : deviceById(plan, id);
    const name = device === undefined ? "A device" : deviceHead(device);
    const plural = device !== undefined && isPlural(device.name);
    return isCut ? `${name} ${plural ? "lose" : "loses"} power` : `${name} ${plural ? "have" : "has"} power again`;
  }
  return isCut ? `Supply ${supply} fails${feedsWords(plan, event, supply)}` : `Supply ${supply} is back`;
}

/** ": it feeds the FOH desk; the monitor desk has another supply" */
function feedsWords(plan: Plan, event: EventPlan, supply: string): string {
  const fed = plan.devices.filter((device) => device.power.includes(supply));
  const before = eventsBefore(plan, event);
  const [only, both]: [DevicePlan[], DevicePlan[]] = [[], []];
  for (const device of fed) {
    const power = new DevicePower(device);
    for (const one of before) power.play(one);
    const wasOn = power.isOn;
    power.play(event);
    if (power.isOn) both.push(device);
    else if (wasOn) only.push(device);
  }
  const verb = (devices: readonly DevicePlan[], one: string, many: string) =>
    agree(devices.length > 1 || devices.some(({ name }) => isPlural(name)), one, many);
  // An empty battery feeds nobody any more.
  const goes =
    event.do === "battery-empty"
      ? `${listed(only.map(theDevice))} ${verb(only, "loses", "lose")} power`
      : `it feeds ${listed(only.map(theDevice))}`;
  const dark = only.length === 0 ? "" : `: ${goes}`;
  const kept =
    both.length === 0
      ? ""
      : `${dark === "" ? ":" : ";"} ${listed(both.map(theDevice))} ${verb(both, "has", "have")} another supply`;
  return `${dark}${kept}`;
}

/** That a battery is full again at once is the better case, and said where it counts. */
function batteryWords(plan: Plan, event: EventPlan, supply: string, batterySeconds: number): string {
  const before = eventsBefore(plan, event).filter((one) => "supply" in one && one.supply === supply);
  const last = before.at(-1)?.do;
  if (last === "battery-empty") return `Supply ${supply} is dead already: its battery is empty`;
  if (last === "power-cut") return `Supply ${supply} has failed already and is on its battery`;
  const fed = plan.devices.filter((device) => device.power.includes(supply)).map(theDevice);
  const again = before.some((one) => one.do === "power-cut") ? ", if it is full again," : "";
  return `Supply ${supply} fails: its battery${again} feeds ${listed(fed)} for ${duration(batterySeconds)}`;
}

/** Who comes back from this with other clock sources than it had: "; it comes back listening to its own clock". */
function comesBackWith(plan: Plan, event: EventPlan): string {
  const index = indexOf(plan, event);
  const turned = plan.devices.flatMap((device) => {
    if (device.afterReboot === undefined) return [];
    const changes = sourcesChanges(plan, device);
    const at = changes.findIndex((change) => change.event === index && change.isAfterReboot);
    const change = changes[at];
    if (change === undefined) return [];
    const before = changes[at - 1]?.clockSources ?? device.clockSources;
    if (String(before) === String(change.clockSources)) return [];
    const seconds = secondsFromNs(event.atNs);
    return [{ device, to: change.clockSources.map((entry) => named(plan, device.id, entry, seconds)).join(", then ") }];
  });
  const isNamed = "device" in event && event.device !== null;
  return turned
    .map(({ device, to }) => {
      const plural = isPlural(device.name);
      const who = isNamed ? agree(plural, "it", "they") : theDevice(device);
      return `; ${who} ${agree(plural, "comes", "come")} back listening to ${to}, not to what ${agree(plural, "it was", "they were")} set to`;
    })
    .join("");
}

/** One turn of a cable that comes and goes; the first speaks for all of them. */
function contactWords(plan: Plan, event: Extract<EventPlan, { do: "lose-contact" | "make-contact" }>): string {
  const { turn, turns, everySeconds, outSeconds } = event.intermittent;
  const link = linkById(plan, event.link);
  const head = capital(cableIn(plan, event.link));
  const end = link === undefined || event.end === null ? undefined : deviceById(plan, link[event.end].device);
  const where = link === undefined ? "" : wayWords(plan, link, event.way);
  const at = end === undefined ? "" : `, at ${theDevice(end)}`;
  // As it was given: 0.15 s is not 0.1 s.
  const each =
    Math.abs(outSeconds * 10 - Math.round(outSeconds * 10)) < 1e-9 ? duration(outSeconds) : short(outSeconds);
  if (event.do === "make-contact")
    return `${head} has contact again${where}${turns === 1 ? "" : `, after time ${grouped(turn)} of ${grouped(turns)}`}`;
  if (turns === 1) return `${head} loses contact for ${each}${where}${at}`;
  if (turn > 1) return `${head} still comes and goes${where}: time ${grouped(turn)} of ${grouped(turns)}, ${each} each`;
  return `${head} comes and goes${where}${at}: ${times(turns)}, ${each} each, every ${duration(everySeconds)}`;
}

/** "port 1 (FOH desk)", "port 1 (the Red network)": a source with what is behind it. */
export function named(plan: Plan, device: string, entry: string, seconds: number): string {
  const network = networkBehind(plan, device, entry);
  if (network !== null) return `${source(entry)} (${theNetwork(plan, network.id)})`;
  const behind = deviceAcross(plan, device, entry, seconds);
  return behind === null ? source(entry) : `${source(entry)} (${inSentence(behind.name)})`;
}
