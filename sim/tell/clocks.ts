/** Who follows whom, in words, as it stands at an instant; `moves.ts` tells what changed between two. */
import { clockRateAt } from "../../shared/clock-phase.ts";
import { addTo } from "../../shared/lists.ts";
import type { DevicePlan, FeedPlan, LinkPlan } from "../../shared/plan.ts";
import type { Fact, LinkClock } from "../../shared/record.ts";
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { deviceById, linkById } from "../by-id.ts";
import { leadsBehindConverters } from "../clock-graph.ts";
import { timebasesOf } from "../lives.ts";
import { fillRateAt } from "../slips.ts";
import { looksOf, valueAt } from "../timeline.ts";
import {
  deviceBehind,
  endsAt,
  type Picture,
  ringsIn,
  type Standing,
  statesOf,
  stretchAt,
  type Told,
  turnsOf,
} from "./picture.ts";
import { agree, cable, capital, deviceHead, grouped, isPlural, listed, ppm, rhythm, theDevice } from "./words.ts";

/** Names as they stand in a sentence; a long list is cut to "…, the monitor desk and 6 others". */
export function namesOf(devices: readonly DevicePlan[], most = 4): string {
  if (devices.length <= most) return listed(devices.map(theDevice));
  const shown = devices.slice(0, most - 1).map(theDevice);
  return `${shown.join(", ")} and ${grouped(devices.length - shown.length)} others`;
}

export function isMany(devices: readonly DevicePlan[]): boolean {
  return devices.length > 1 || (devices[0] !== undefined && isPlural(devices[0].name));
}

/** "the stage box follows", "the stage box and the truck follow". */
export function verbs(devices: readonly DevicePlan[], one: string, several: string): string {
  return `${namesOf(devices)} ${agree(isMany(devices), one, several)}`;
}

export function itOf(device: DevicePlan): string {
  return isPlural(device.name) ? "them" : "it";
}

// ---- as it stands

/** Whose clock the plan means everyone to be on, as far as it runs; null where nobody runs free, as in a ring. */
export function primaryOf({ plan }: Told, picture: Picture): DevicePlan | null {
  const runs = (id: string) => ["free-run", "holdover"].includes(picture.standings.get(id)?.state ?? "off");
  const planned = plan.leaders.find(runs);
  if (planned !== undefined) return picture.standings.get(planned)?.device ?? null;
  return picture.leaders[0] ?? null;
}

/** Sentences about the clock as it stands: who leads, then what is not as it should be. */
export function standingSentences(told: Told, picture: Picture): string[] {
  const primary = primaryOf(told, picture);
  const leads = primary === null ? [] : [leaderSentence(told, picture, primary)];
  return [...leads, ...clockTroubles(told, picture)];
}

/** Rings, those on a clock of their own, links whose ends do not agree; empty where all follow as planned. */
export function clockTroubles(told: Told, picture: Picture): string[] {
  const standings = [...picture.standings.values()];
  const rings = ringsIn(picture).map((ring) => ringSentence(told, ring, standings));
  return [...rings, ...ownSentences(told, picture), ...linkClockSentences(told, picture.at)];
}

function leaderSentence(told: Told, picture: Picture, leader: DevicePlan): string {
  const followers = followersOf(picture, leader);
  const others = told.plan.devices.filter(
    (device) => device !== leader && (picture.standings.get(device.id)?.state ?? "off") !== "off",
  );
  if (followers.length === 0)
    return others.length === 0 ? `${deviceHead(leader)} is alone.` : `Nobody follows ${theDevice(leader)}.`;
  const isAll = followers.length > 2 && followers.length === others.length;
  const who = isAll ? "the other devices follow" : verbs(followers, "follows", "follow");
  return `${deviceHead(leader)} ${agree(isPlural(leader.name), "leads", "lead")}; ${who} ${itOf(leader)}.`;
}

/** All that hang on a leader, through others as well. */
export function followersOf(picture: Picture, leader: DevicePlan): DevicePlan[] {
  return [...picture.standings.values()]
    .filter(({ root, upstream }) => upstream !== null && root === leader)
    .map(({ device }) => device);
}

/** "… the FOH desk takes its clock from the stage box, and the stage box from the FOH desk." */
function ringSentence({ summary }: Told, ring: readonly DevicePlan[], standings: readonly Standing[]): string {
  const names = ring.map(theDevice);
  const steps = names.map((name, index) => {
    const next = names[(index + 1) % names.length]!;
    return index === 0 ? `${name} takes its clock from ${next}` : `${name} from ${next}`;
  });
  const last = steps.pop()!;
  const offset = summary.devices.find(({ id }) => id === ring[0]!.id)?.offsetPpm ?? null;
  const end = offset === null ? "" : `: ${ppm(offset)} ${offset < 0 ? "slow" : "fast"} at the end`;
  const behind = standings
    .filter(({ device, root, upstream }) => root === null && upstream !== null && !ring.includes(device))
    .map(({ device }) => device);
  const tail = behind.length === 0 ? "" : ` ${capital(verbs(behind, "follows", "follow"))} the ring.`;
  return `A ring of sources: ${steps.join(", ")}, and ${last}. Nobody leads; their lock lamps may be lit while they run off together${end}.${tail}`;
}

/** Those on a clock of their own that the plan does not mean to lead, while somebody else's clock is there for them. */
export function onTheirOwn(told: Told, picture: Picture): readonly Standing[] {
  const primary = primaryOf(told, picture);
  return [...picture.standings.values()].filter(
    ({ state, device }) => state === "free-run" && device !== primary && !leadsBehindConverters(told.plan, device.id),
  );
}

function ownSentences(told: Told, picture: Picture): string[] {
  const refused = refusedBy(told, picture);
  const isRefused = (standing: Standing) => [...refused.values()].some((standings) => standings.includes(standing));
  const own = onTheirOwn(told, picture).filter((standing) => !isRefused(standing));
  return [
    ...own.flatMap((standing) => ownClockSentences(told, picture, standing)),
    ...[...refused].flatMap(([leader, standings]) => captureSentences(told, picture, leader, standings)),
  ];
}

/** "Monitor desk is on its own clock, 6.2 ppm faster than the FOH desk. It receives the link; it is not in step with it …" */
export function ownClockSentences(told: Told, picture: Picture, standing: Standing): string[] {
  const { device } = standing;
  const plural = isPlural(device.name);
  const is = agree(plural, "is", "are");
  const its = agree(plural, "its", "their");
  const it = agree(plural, "It", "They");
  const against = slipsAgainst(told, picture, device)[0];
  const distance =
    against === undefined
      ? ""
      : `, ${ppm(against.aheadPpm)} ${against.aheadPpm > 0 ? "faster" : "slower"} than ${theDevice(against.other)}`;
  const followers = followersOf(picture, device);
  const tail = followers.length === 0 ? "" : `; ${verbs(followers, "follows", "follow")} ${itOf(device)}`;
  const sentences = [`${deviceHead(device)} ${is} on ${its} own clock${distance}${tail}.`];
  if (against?.receives && receives(told, device, picture.at)) {
    const lamp = `${capital(its)} lock lamp may be lit.`;
    const subject = followers.length === 0 ? it : deviceHead(device);
    sentences.push(
      `${subject} ${agree(plural, "receives", "receive")} the link; ${it.toLowerCase()} ${is} not in step with it. ${lamp}`,
    );
  }
  return sentences;
}

/** Neighbours it slips against whose clock is there at this instant. */
export function slipsAgainst(told: Told, picture: Picture, device: DevicePlan): readonly NeighbourSlips[] {
  const isThere = (id: string) => !["off", "starting"].includes(picture.standings.get(id)?.state ?? "off");
  return neighbourSlips(told, device, picture.at).filter(({ other }) => isThere(other.id));
}

/** The device whose clock arrives where it is listened for, and is too far off nominal to be taken; else null. */
export function outOfCapture(told: Told, { device }: Standing, seconds: number): DevicePlan | null {
  for (const entry of device.clockSources) {
    if (entry === "internal") return null;
    const sender = deviceBehind(told, device.id, entry, seconds);
    const offsetPpm = sender === null ? null : offsetPpmAt(told, sender, seconds);
    if (offsetPpm !== null && Math.abs(offsetPpm) > device.capturePpm) return sender;
  }
  return null;
}

/** Against nominal at an instant, with all that warmth, heat and wander do to it; null where no clock leaves it. */
function offsetPpmAt({ plan, record }: Told, { id }: DevicePlan, seconds: number): number | null {
  const at = nsFromSeconds(seconds);
  const flow = valueAt(looksOf(record).flows.get(id) ?? { changes: [] }, at) ?? null;
  return flow === null ? null : clockRateAt(timebasesOf(plan), flow, at) * 1e6;
}

/** Those that are refused a clock at an instant, by whose clock it is. */
export function refusedBy(told: Told, picture: Picture): ReadonlyMap<DevicePlan, readonly Standing[]> {
  const refused = new Map<DevicePlan, Standing[]>();
  for (const standing of onTheirOwn(told, picture)) {
    const leader = outOfCapture(told, standing, picture.at);
    if (leader !== null) addTo(refused, leader, standing);
  }
  return refused;
}

export function captureSentences(
  told: Told,
  picture: Picture,
  leader: DevicePlan,
  standings: readonly Standing[],
): string[] {
  const devices = standings.map(({ device }) => device);
  const offsetPpm = offsetPpmAt(told, leader, picture.at) ?? 0;
  const them = agree(isMany(devices), "it", "they");
  const is = isMany(devices) ? "are each on a clock of their own" : "is on its own clock";
  const off = `${theDevice(leader)} is ${ppm(offsetPpm)} off nominal, more than ${them} can pull in`;
  const tails = devices
    .map((device) => ({ device, followers: followersOf(picture, device) }))
    .filter(({ followers }) => followers.length > 0);
  return [
    `${capital(namesOf(devices))} ${is}: ${off}.`,
    ...tails.map(({ device, followers }) => `${capital(verbs(followers, "follows", "follow"))} ${theDevice(device)}.`),
  ];
}

/** Links whose ends do not agree who gives, at an instant. */
function linkClockSentences(told: Told, seconds: number): string[] {
  return told.plan.links.flatMap((link) => {
    const halves = told.summary.links.filter(({ id }) => id === link.id);
    const clock = halves
      .map(({ states }) => stretchAt(states, seconds)?.clock)
      .find((found) => found === "disputed" || found === "unclaimed");
    return clock === undefined ? [] : [linkClockSentence(told, link, clock, seconds)];
  });
}

function linkClockSentence(told: Told, link: LinkPlan, clock: LinkClock, seconds: number): string {
  const head = capital(cable(link.id));
  const trains = told.record.rows.flatMap(({ fact }) =>
    fact.kind === "slips" && fact.link === link.id && secondsFromNs(fact.toNs) >= seconds ? [fact] : [],
  );
  const clicks =
    trains.length > 0
      ? `and what passes over it ${trains.some((train) => isHeard(told, train)) ? "clicks" : "slips, where all is silent"}`
      : "yet nothing slips: who gives is one question, who clicks another";
  return `${head}: both ends ${clock === "disputed" ? "give clock (disputed)" : "take clock (unclaimed)"}, ${clicks}.`;
}

/** A port of the device decodes and is not in step, while the device is as it is at this instant, and its cable is in. */
function receives({ record, summary }: Told, device: DevicePlan, seconds: number): boolean {
  const subject = `port ${device.id}.`;
  const stretch = stretchAt(statesOf(summary, device.id), seconds);
  const [from, to] = [stretch?.fromSeconds ?? 0, stretch?.toSeconds ?? summary.runSeconds];
  const { links } = looksOf(record);
  const isOut = (link: string, way: string) => {
    const line = links.get(`${link} ${way}`);
    return line !== undefined && valueAt(line, nsFromSeconds(seconds))?.state === "down";
  };
  return record.rows.some(
    ({ subject: port, fact, atNs }) =>
      fact.kind === "input" &&
      port.startsWith(subject) &&
      fact.decodes &&
      !fact.inStep &&
      !(fact.link !== null && fact.way !== null && isOut(fact.link, fact.way)) &&
      secondsFromNs(atNs) >= from &&
      secondsFromNs(atNs) <= to,
  );
}

export interface NeighbourSlips {
  readonly other: DevicePlan;
  /** How far this device's clock runs ahead of the other's. */
  readonly aheadPpm: number;
  /** This device is the one that receives; else the other does. */
  readonly receives: boolean;
  readonly slips: number;
  /** Of them, on cables that carry audio, and not while all that listen there are silent: these click. */
  readonly clicks: number;
  /** Mean time between two; 0 with one. */
  readonly gapSeconds: number;
}

/** Slips between a device and each neighbour while it is as it is at this instant; those it receives first, then the most. */
export function neighbourSlips(told: Told, device: DevicePlan, seconds: number): readonly NeighbourSlips[] {
  const { plan, record, summary } = told;
  const stateUntil = stretchAt(statesOf(summary, device.id), seconds)?.toSeconds ?? summary.runSeconds;
  const turn = turnsOf(plan).find((at) => at > seconds) ?? summary.runSeconds;
  const until = Math.min(stateUntil, turn);
  const found = new Map<string, NeighbourSlips & { from: number; to: number; longest: number }>();
  for (const { fact } of record.rows) {
    if (fact.kind !== "slips") continue;
    const from = secondsFromNs(fact.fromNs);
    const to = secondsFromNs(fact.toNs);
    const link = linkById(plan, fact.link);
    if (link === undefined || to <= seconds || from >= until) continue;
    const { a, b } = endsAt(plan, link, from);
    const [sender, receiver] = fact.way === "there" ? [a, b] : [b, a];
    const isReceiver = receiver.device === device.id;
    if (sender.device !== device.id && !isReceiver) continue;
    const other = deviceById(plan, isReceiver ? sender.device : receiver.device);
    if (other === undefined) continue;
    // Fill grows with what the sender is faster than the receiver; the middle of a parabola has its mean slope.
    const middle = (Math.max(from, seconds) + Math.min(to, until)) / 2;
    const perSecond = fillRateAt(fact.curve, nsFromSeconds(middle));
    const senderAheadPpm = (perSecond / plan.sampleRateHz) * 1e6;
    const key = `${other.id} ${isReceiver}`;
    const before = found.get(key);
    const isLongest = before === undefined || fact.count > before.longest;
    const span = { from: Math.min(before?.from ?? from, from), to: Math.max(before?.to ?? to, to) };
    const slips = (before?.slips ?? 0) + fact.count;
    found.set(key, {
      other,
      receives: isReceiver,
      aheadPpm: isLongest ? (isReceiver ? -senderAheadPpm : senderAheadPpm) : before.aheadPpm,
      slips,
      clicks: (before?.clicks ?? 0) + (link.channels > 0 && isHeard(told, fact) ? fact.count : 0),
      gapSeconds: (span.to - span.from) / Math.max(1, slips - 1),
      ...span,
      longest: isLongest ? fact.count : before.longest,
    });
  }
  return [...found.values()].sort(
    (one, two) => Number(two.receives) - Number(one.receives) || two.clicks - one.clicks || two.slips - one.slips,
  );
}

/** Some feed clicks while the train runs; of a link that no feed goes over nothing is known. */
function isHeard({ plan, summary }: Told, { link, way, fromNs, toNs }: Extract<Fact, { kind: "slips" }>): boolean {
  const feeds = plan.feeds.filter(({ hops }) =>
    hops.some(({ over }) => over.some((one) => one.link === link && one.way === way)),
  );
  const [from, to] = [secondsFromNs(fromNs), secondsFromNs(toNs)];
  const clicks = ({ id }: FeedPlan) =>
    summary.feeds
      .find((feed) => feed.id === id)
      ?.states.some(({ slips, fromSeconds, toSeconds }) => slips > 0 && fromSeconds <= to && toSeconds >= from) ===
    true;
  return feeds.length === 0 || feeds.some(clicks);
}

/** "What it takes from the FOH desk clicks every 3.4 s: 1,607 times in this show." `isNamed`: of it, one has just spoken. */
export function takenClicks(
  told: Told,
  device: DevicePlan,
  { seconds, isNamed }: { readonly seconds: number; readonly isNamed: boolean },
): string | null {
  const worst = neighbourSlips(told, device, seconds).find(({ clicks }) => clicks > 2);
  if (worst === undefined) return null;
  const plural = isPlural(device.name);
  const subject = isNamed ? agree(plural, "it", "they") : theDevice(device);
  const object = isNamed ? itOf(device) : theDevice(device);
  const what = worst.receives
    ? `What ${subject} ${agree(plural, "takes", "take")} from ${theDevice(worst.other)}`
    : `What ${theDevice(worst.other)} ${agree(isPlural(worst.other.name), "takes", "take")} from ${object}`;
  return `${what} clicks ${rhythm(worst.gapSeconds)}: ${grouped(worst.clicks)} times in this show.`;
}
