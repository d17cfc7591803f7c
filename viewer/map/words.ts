/** What the map says of a device, of a cable and of the whole, in words. */
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { deviceById } from "../../sim/by-id.ts";
import type { Following } from "../../sim/lanes/follow.ts";
import { cableIn, capital, counted, listed, source, theCableIn } from "../../sim/tell/words.ts";
import { isUntested, testedOf } from "../../sim/tested.ts";
import { isolated } from "../dom.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import type { Clocks } from "./clocks.ts";
import type { LinkMoment, Moment } from "./moments.ts";

/** Show time as the lanes write it in a show of this length. */
export function timeIn(lengthSeconds: number, seconds: number): string {
  return fineTime(seconds, decimalsFor(lengthSeconds));
}

export interface Said {
  readonly name: string;
  readonly state: string;
  readonly since: string;
  /** What holds beside its state, and what it is on its networks. */
  readonly beside: string;
  /** Whom it listens to, or which way clock goes. */
  readonly clock: string;
  readonly next: string;
  /** Of a cable: whether anybody has pulled it. */
  readonly onSite: string;
  /** Whether it is new or changed; empty: as it was. */
  readonly plan: string;
}

function saidOf(moment: Moment, name: string, clock: string, onSite: string, lengthSeconds: number): Said {
  const { stretch, next, beside, lines } = moment;
  return {
    name,
    state: stretch.says,
    since: stretch.fromSeconds === 0 ? "the beginning" : timeIn(lengthSeconds, stretch.fromSeconds),
    beside: [...beside, ...lines].map(({ says }) => says).join("; "),
    clock,
    onSite,
    plan: "",
    next: next === null ? "stays so to the end" : `${next.says} at ${timeIn(lengthSeconds, next.fromSeconds)}`,
  };
}

export function deviceSaid(moment: Moment, { standings }: Following, lengthSeconds: number): Said {
  const { lane } = moment;
  const standing = standings.get(lane.id);
  return saidOf(moment, isolated(lane.name), standing === undefined ? "" : listensTo(standing), "", lengthSeconds);
}

function listensTo({
  state,
  source: current,
  upstream,
}: Following["standings"] extends ReadonlyMap<string, infer S> ? S : never): string {
  if (upstream !== null && current !== null) return `listens to ${isolated(upstream.name)} at ${source(current)}`;
  if (state === "off" || state === "starting") return "listens to nobody";
  return state === "holdover" ? "listens to nobody, and keeps its frequency" : "listens to nobody but its own clock";
}

export function linkSaid(
  plan: Plan,
  link: LinkPlan,
  moment: LinkMoment,
  { arrivals }: Clocks,
  lengthSeconds: number,
): Said {
  const [a, b] = [nameOf(plan, link.a.device), nameOf(plan, link.b.device)];
  const [toA, toB] = [arrivals.has(`${link.id} a`), arrivals.has(`${link.id} b`)];
  const main = spareOf(plan, link.id);
  const way = link.stream === undefined ? `between ${a} and ${b}` : "";
  const name = [capital(cableIn(plan, link.id)), way, main === null ? "" : `(a spare for ${theCableIn(plan, main)})`];
  const clock =
    toA && toB
      ? `${a} and ${b} listen to each other over it`
      : toA
        ? `${a} has its clock over it`
        : toB
          ? `${b} has its clock over it`
          : "nobody has a clock over it";
  return saidOf(
    moment,
    name.filter((part) => part !== "").join(" "),
    link.stream === undefined ? clock : "carries no clock",
    onSiteWords(plan, link),
    lengthSeconds,
  );
}

/** The main cable of a spare; null for what is no spare. */
export function spareOf(plan: Plan, link: string): string | null {
  const group = plan.spares.find(({ links }) => links.indexOf(link) > 0);
  return group?.links[0] ?? null;
}

function onSiteWords(plan: Plan, link: LinkPlan): string {
  if (link.stream !== undefined) return "";
  const tested = testedOf(plan, link);
  if (tested === null) return "untested on site";
  if (tested.isChanged)
    return `untested on site since it, a spare of it or a device at an end changed: it was pulled on ${tested.date}, as it was then`;
  const pulled = `pulled on site on ${tested.date}`;
  const main = spareOf(plan, link.id);
  // A spare takes over when its main is pulled, not when it is pulled itself.
  const isMainUntested = plan.links.some((each) => each.id === main && isUntested(plan, each));
  return main !== null && isMainUntested
    ? `${pulled}, but not ${theCableIn(plan, main)}: its taking over is untested`
    : pulled;
}

/** How many cables nobody has pulled as they are, in a sentence; empty where there is no cable. */
export function testedSentence(plan: Plan): string {
  // The taps of a line are one cable.
  const cables = plan.links.filter(
    ({ stream, line, id }) => stream === undefined && (line === undefined || line.id === id),
  );
  if (cables.length === 0) return "";
  const untested = cables.filter((link) => isUntested(plan, link)).length;
  const changed = cables.filter((link) => testedOf(plan, link)?.isChanged === true).length;
  if (untested === 0) {
    const first = cables.map(({ tested = "" }) => tested).sort()[0];
    return `Every cable has been pulled on site, the first of them on ${first}.`;
  }
  const since = changed === 0 ? "" : `, ${counted(changed, "", "").trim()} of them since something there changed`;
  if (untested < cables.length)
    return `${capital(counted(untested, "cable is", "cables are"))} untested, of ${counted(cables.length, "", "").trim()}${since}.`;
  if (changed > 0)
    return cables.length === 1
      ? "The cable is untested since something there changed."
      : `Every cable is untested${changed === cables.length ? " since something there changed" : since}.`;
  return cables.length === 1
    ? "The cable is untested: no date says that anybody pulled it on site."
    : "Every cable is untested: no date says that anybody pulled one on site.";
}

export function sentence({ name, state, since, beside, clock, next, onSite, plan }: Said): string {
  const parts = [
    `${state}, since ${since}`,
    beside,
    clock,
    next.startsWith("stays") ? next : `next: ${next}`,
    onSite,
    plan,
  ];
  return `${name}: ${parts.filter((part) => part !== "").join("; ")}.`;
}

/** One sentence for the whole. */
export function summaryWords(
  { standings, leader }: Following,
  { domains }: Clocks,
  links: readonly LinkMoment[],
): string {
  if (standings.size === 0) return "No devices in this rig.";
  const leads = leader === null ? "nobody leads" : `${isolated(standings.get(leader)!.device.name)} leads`;
  const led = domains.find(({ members }) => leader !== null && members.includes(leader));
  const others = standings.size - (led?.members.length ?? (leader === null ? 0 : 1));
  const dead = (isStream: boolean) =>
    links.filter(({ lane, carries }) => carries === "dead" && (lane.kind === "stream") === isStream).length;
  const on =
    led === undefined
      ? ""
      : others === 0
        ? led.members.length === 1
          ? ""
          : ", and everybody is on that clock"
        : `, ${led.members.length === 1 ? "nobody else is" : counted(led.members.length - 1, "other is", "others are")} on that clock and ${counted(others, "is", "are")} not`;
  const broken = [
    dead(false) > 0 ? counted(dead(false), "cable", "cables") : "",
    dead(true) > 0 ? counted(dead(true), "stream", "streams") : "",
  ].filter((part) => part !== "");
  const isOne = dead(false) + dead(true) === 1;
  const cables =
    links.length === 0
      ? ""
      : broken.length === 0
        ? "; no cable is dead"
        : `; ${listed(broken)} ${isOne ? "is" : "are"} dead`;
  return `${leads}${on}${cables}.`;
}

function nameOf(plan: Plan, id: string): string {
  return isolated(deviceById(plan, id)?.name ?? id);
}
