/** Who follows whom, in words: as it stands at an instant, and what changed between two pictures of a run. */
import { clockRateAt } from "../../shared/clock-phase.ts";
import type { DevicePlan, LinkPlan } from "../../shared/plan.ts";
import type { LinkClock } from "../../shared/record.ts";
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { leadsBehindConverters } from "../clock-graph.ts";
import { timebasesOf } from "../lives.ts";
import { fillRateAt } from "../slips.ts";
import { looksOf, valueAt } from "../timeline.ts";
import {
  deviceBehind,
  endsAt,
  linkById,
  linkInPort,
  type Picture,
  ringsIn,
  type Standing,
  statesOf,
  stretchAt,
  type Told,
  turnsOf,
} from "./picture.ts";
import {
  agree,
  cable,
  capital,
  deviceHead,
  duration,
  grouped,
  isPlural,
  listed,
  ppm,
  rhythm,
  source,
  theCable,
  theDevice,
} from "./words.ts";

/** Names as they stand in a sentence; a long list is cut to "…, the monitor desk and 6 others". */
export function namesOf(devices: readonly DevicePlan[], most = 4): string {
  if (devices.length <= most) return listed(devices.map(theDevice));
  const shown = devices.slice(0, most - 1).map(theDevice);
  return `${shown.join(", ")} and ${grouped(devices.length - shown.length)} others`;
}

function isMany(devices: readonly DevicePlan[]): boolean {
  return devices.length > 1 || (devices[0] !== undefined && isPlural(devices[0].name));
}

/** "the stage box follows", "the stage box and the truck follow". */
function verbs(devices: readonly DevicePlan[], one: string, several: string): string {
  return `${namesOf(devices)} ${agree(isMany(devices), one, several)}`;
}

function itOf(device: DevicePlan): string {
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
    (device) => device !== leader && picture.standings.get(device.id)?.state !== "off",
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
function slipsAgainst(told: Told, picture: Picture, device: DevicePlan): readonly NeighbourSlips[] {
  const isThere = (id: string) => !["off", "starting"].includes(picture.standings.get(id)?.state ?? "off");
  return neighbourSlips(told, device, picture.at).filter(({ other }) => isThere(other.id));
}

/** The device whose clock arrives where it is listened for, and is too far off nominal to be taken; else null. */
export function outOfCapture(told: Told, { device }: Standing, seconds: number): DevicePlan | null {
  for (const entry of device.clockSources) {
    if (entry === "internal") return null;
    const sender = deviceBehind(told.plan, device.id, entry, seconds);
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
    if (leader !== null) refused.set(leader, [...(refused.get(leader) ?? []), standing]);
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
  const slips = told.record.rows.some(
    ({ fact }) => fact.kind === "slips" && fact.link === link.id && secondsFromNs(fact.toNs) >= seconds,
  );
  const clicks = slips
    ? "and what passes over it clicks"
    : "yet nothing slips: who gives is one question, who clicks another";
  return `${head}: both ends ${clock === "disputed" ? "give clock (disputed)" : "take clock (unclaimed)"}, ${clicks}.`;
}

/** A port of the device decodes and is not in step, while the device is as it is at this instant. */
function receives({ record, summary }: Told, device: DevicePlan, seconds: number): boolean {
  const subject = `port ${device.id}.`;
  const stretch = stretchAt(statesOf(summary, device.id), seconds);
  const [from, to] = [stretch?.fromSeconds ?? 0, stretch?.toSeconds ?? summary.runSeconds];
  return record.rows.some(
    ({ subject: port, fact, atNs }) =>
      fact.kind === "input" &&
      port.startsWith(subject) &&
      fact.decodes &&
      !fact.inStep &&
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
  /** Of them, on cables that carry audio: these click. */
  readonly clicks: number;
  /** Mean time between two; 0 with one. */
  readonly gapSeconds: number;
}

/** Slips between a device and each neighbour while it is as it is at this instant; those it receives first, then the most. */
export function neighbourSlips(
  { plan, record, summary }: Told,
  device: DevicePlan,
  seconds: number,
): readonly NeighbourSlips[] {
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
    const other = plan.devices.find(({ id }) => id === (isReceiver ? sender.device : receiver.device));
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
      clicks: (before?.clicks ?? 0) + (link.channels > 0 ? fact.count : 0),
      gapSeconds: (span.to - span.from) / Math.max(1, slips - 1),
      ...span,
      longest: isLongest ? fact.count : before.longest,
    });
  }
  return [...found.values()].sort(
    (one, two) => Number(two.receives) - Number(one.receives) || two.clicks - one.clicks || two.slips - one.slips,
  );
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

// ---- what changed

/** Devices that turn to another clock, or lose theirs, between two pictures. */
export interface Moves {
  /** Parts of one sentence: "the monitor desk leads", "the stage box follows it". */
  readonly clauses: readonly string[];
  /** Whole sentences to stand behind it. */
  readonly sentences: readonly string[];
  readonly moved: readonly DevicePlan[];
}

export interface MovesOptions {
  /** Of whom the same sentence has just spoken. */
  readonly named: DevicePlan | null;
  /** Ids of those who led at any time before: they lead "again". */
  readonly ledBefore: ReadonlySet<string>;
  /** Nothing happens in the world just now: who goes back, goes back by itself. */
  readonly isUnprompted: boolean;
}

/** More in one sentence nobody takes in; the lanes of the page have them all. */
const CLAUSES_MOST = 5;

/** What is different in `after`, for everyone but `named`. */
export function movesBetween(told: Told, before: Picture, after: Picture, options: MovesOptions): Moves {
  const { named } = options;
  const moved: DevicePlan[] = [];
  const followers = new Map<string, { upstream: DevicePlan; isReturn: boolean; devices: DevicePlan[] }>();
  const pulling: Standing[] = [];
  const otherPorts: Standing[] = [];
  const coasting: DevicePlan[] = [];
  const ended: Standing[] = [];
  const own: Standing[] = [];
  for (const [id, now] of after.standings) {
    const was = before.standings.get(id);
    if (was === undefined || now.state === "off" || now.state === "starting" || now.device === named) continue;
    const isNew = was.state === "off" || was.state === "starting";
    const { upstream, device } = now;
    if (upstream !== null) {
      if (was.upstream === upstream && !isNew) {
        if (was.source === now.source) continue;
        otherPorts.push(now);
      } else if (now.state === "acquiring") pulling.push(now);
      else {
        const isReturn = !isNew && hasFollowed(told, device, now.source, before.at);
        const key = `${upstream.id} ${isReturn}`;
        const group = followers.get(key) ?? { upstream, isReturn, devices: [] };
        followers.set(key, { ...group, devices: [...group.devices, device] });
      }
    } else if (now.state === "holdover" && was.state !== "holdover") coasting.push(device);
    else if (now.state === "free-run" && was.state === "holdover") ended.push(now);
    else if (now.state === "free-run" && was.state !== "free-run" && !after.leaders.includes(device)) own.push(now);
    else continue;
    moved.push(device);
  }

  const isNewLeader = (leader: DevicePlan) =>
    !before.leaders.includes(leader) && leader !== named && !coasting.includes(leader);
  // Beside one that goes on leading as planned, another does not lead: it has come loose.
  const primary = primaryOf(told, after);
  const isLoose = (leader: DevicePlan) =>
    primary !== null && leader !== primary && before.leaders.includes(primary) && after.leaders.includes(primary);
  const leads = after.leaders.filter((leader) => isNewLeader(leader) && !isLoose(leader));
  const loose = after.leaders.filter((leader) => isNewLeader(leader) && isLoose(leader));
  for (const leader of loose) if (!moved.includes(leader)) moved.push(leader);
  for (const leader of leads) if (!moved.includes(leader)) moved.push(leader);
  const clauses = leads.map((leader) => {
    const again = options.ledBefore.has(leader.id) ? " again" : "";
    return `${theDevice(leader)} ${agree(isPlural(leader.name), "leads", "lead")}${again}`;
  });
  for (const group of followers.values()) clauses.push(followClause(after, group, { ...options, leads }));
  for (const { device, upstream } of pulling) {
    clauses.push(
      `${theDevice(device)} ${agree(isPlural(device.name), "is", "are")} pulling in to ${theDevice(upstream!)}`,
    );
  }
  clauses.push(...portClauses(told, otherPorts, after.at));
  const sentences: string[] = [];
  sentences.push(...coastingSentences(after, coasting));
  for (const standing of ended) {
    const [first = "", ...rest] = ownClockSentences(told, after, standing);
    sentences.push(
      first.replace(/ (is|are) on (its|their) own clock/, " no longer coasts and $1 on $2 own clock"),
      ...rest,
    );
  }
  for (const { id } of loose) {
    const standing = after.standings.get(id);
    if (standing !== undefined && !ended.includes(standing))
      sentences.push(...ownClockSentences(told, after, standing));
  }
  for (const standing of own) {
    // With nothing to slip against, a clock of one's own is not to be heard.
    if (slipsAgainst(told, after, standing.device).length > 0)
      sentences.push(...ownClockSentences(told, after, standing));
  }
  const shown =
    clauses.length <= CLAUSES_MOST
      ? clauses
      : [...clauses.slice(0, CLAUSES_MOST - 1), `${grouped(clauses.length - CLAUSES_MOST + 1)} others change clock`];
  return { clauses: shown, sentences, moved };
}

/** "Stage box is coasting; the broadcast truck goes on following it." Those whom nobody follows stand together. */
function coastingSentences(after: Picture, devices: readonly DevicePlan[]): string[] {
  const followed = devices.filter((device) => followersOf(after, device).length > 0);
  const rest = devices.filter((device) => !followed.includes(device));
  const alone =
    rest.length < 2
      ? rest.map((device) => coastingSentence(after, device))
      : [`${capital(namesOf(rest))} are coasting.`];
  return [...followed.map((device) => coastingSentence(after, device)), ...alone];
}

function coastingSentence(after: Picture, device: DevicePlan): string {
  const followers = followersOf(after, device);
  const goes =
    followers.length === 0 ? "" : `; ${verbs(followers, "goes on following", "go on following")} ${itOf(device)}`;
  return `${deviceHead(device)} ${agree(isPlural(device.name), "is", "are")} coasting${goes}.`;
}

function followClause(
  after: Picture,
  {
    upstream,
    isReturn,
    devices,
  }: { readonly upstream: DevicePlan; readonly isReturn: boolean; readonly devices: readonly DevicePlan[] },
  { named, leads, isUnprompted }: MovesOptions & { readonly leads: readonly DevicePlan[] },
): string {
  const isIt = upstream === named || (leads.length === 1 && upstream === leads[0]);
  const whom = isIt ? itOf(upstream) : theDevice(upstream);
  if (!isReturn) return `${verbs(devices, "follows", "follow")} ${whom}`;
  if (isUnprompted) {
    const [by, wait] = [agree(isMany(devices), "goes back by itself", "go back by themselves"), commonWait(devices)];
    return `${namesOf(devices)} ${by} to ${whom}${wait}`;
  }
  const who =
    named !== null && isEveryoneElse(after, named, devices) ? "the others return" : verbs(devices, "returns", "return");
  return `${who} to ${whom}`;
}

function commonWait(devices: readonly DevicePlan[]): string {
  const waits = new Set(devices.map(({ waitToRestoreSeconds }) => waitToRestoreSeconds));
  const [wait = 0] = waits;
  return waits.size === 1 && wait > 0 ? ` after a wait of ${duration(wait)} (wait-to-restore)` : "";
}

function hasFollowed({ summary }: Told, device: DevicePlan, entry: string | null, before: number): boolean {
  return statesOf(summary, device.id).some(
    ({ state, source: used, fromSeconds }) => fromSeconds < before && used === entry && state === "locked",
  );
}

/** Nobody who runs is on another clock. */
function isEveryoneElse(picture: Picture, named: DevicePlan, devices: readonly DevicePlan[]): boolean {
  const others = [...picture.standings.values()].filter(
    ({ device, state }) => device !== named && state !== "off" && state !== "starting",
  );
  const direct = others.filter(({ upstream }) => upstream === named);
  return devices.length > 1 && direct.length === devices.length && others.every(({ root }) => root === named);
}

/** "the stage box is on the spare", "stage-1, stage-2 and 8 others are on their spares", "the truck is on port 2". */
function portClauses(told: Told, standings: readonly Standing[], seconds: number): string[] {
  const groups = { main: [] as Standing[], spare: [] as Standing[], other: [] as Standing[] };
  for (const standing of standings) {
    const link = standing.source === null ? null : linkInPort(told.plan, standing.device.id, standing.source, seconds);
    const spares = told.plan.spares.find(({ links }) => link !== null && links.includes(link.id));
    groups[spares === undefined || link === null ? "other" : spares.links[0] === link.id ? "main" : "spare"].push(
      standing,
    );
  }
  const alone = ({ device, source: entry }: Standing) =>
    `${theDevice(device)} ${agree(isPlural(device.name), "is", "are")} on ${cableWords(told, device, entry, seconds)}`;
  const together = (kind: "main" | "spare") => {
    const devices = groups[kind].map(({ device }) => device);
    return devices.length < 3 ? groups[kind].map(alone) : [`${namesOf(devices)} are on their ${kind}s`];
  };
  return [...together("spare"), ...together("main"), ...groups.other.map(alone)];
}

/** "the spare", "the main cable", "port 2". */
function cableWords({ plan }: Told, device: DevicePlan, entry: string | null, seconds: number): string {
  if (entry === null) return "no source";
  const link = linkInPort(plan, device.id, entry, seconds);
  if (link === null) return source(entry);
  const group = plan.spares.find(({ links }) => links.includes(link.id));
  if (group === undefined) return source(entry);
  if (group.links[0] === link.id) return link.id === "main" ? "the main cable" : `the main (${theCable(link.id)})`;
  return link.id === "spare" ? "the spare" : `the spare (${theCable(link.id)})`;
}
