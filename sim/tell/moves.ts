/** What changed between two pictures of a run, in words: who leads, who follows whom now, who is left alone. */
import { addTo } from "../../shared/lists.ts";
import type { DevicePlan } from "../../shared/plan.ts";
import { rigParts } from "../clock-graph.ts";
import { followersOf, isMany, itOf, namesOf, ownClockSentences, primaryOf, slipsAgainst, verbs } from "./clocks.ts";
import {
  deviceBehind,
  linkInPort,
  networkBehind,
  type Picture,
  type Standing,
  statesOf,
  stretchAt,
  type Told,
} from "./picture.ts";
import { BEFORE_SECONDS } from "./scenes.ts";
import {
  agree,
  capital,
  deviceHead,
  duration,
  grouped,
  isPlural,
  source,
  theCableIn,
  theDevice,
  theNetwork,
} from "./words.ts";

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
  /** Ids of those of whom it has just been said that they take over a network. */
  readonly takenOver: ReadonlySet<string>;
}

/** More in one sentence nobody takes in; the lanes of the page have them all. */
const CLAUSES_MOST = 5;

/** What is different in `after`, for everyone but `named`. */
export function movesBetween(told: Told, before: Picture, after: Picture, options: MovesOptions): Moves {
  const { named } = options;
  const moved: DevicePlan[] = [];
  const followers = new Map<string, Group & { readonly devices: DevicePlan[] }>();
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
        const isReturn = !isNew && hasFollowed(told, now, before.at);
        const over = networkWords(told, now, was);
        const key = `${upstream.id} ${isReturn} ${over}`;
        const group = followers.get(key) ?? { upstream, isReturn, over, devices: [] };
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
  // Beside one that goes on leading as planned, another does not lead: it has come loose. Nor does one lead that passes
  // on the time of a leader whose sync it has lost.
  const primary = primaryOf(told, after);
  const isLoose = (leader: DevicePlan) =>
    passesOnAt(told, leader, after.at) ||
    (primary !== null &&
      leader !== primary &&
      after.leaders.includes(primary) &&
      (before.leaders.includes(primary) || !isPlanned(told, leader, primary)));
  const leads = after.leaders.filter((leader) => isNewLeader(leader) && !isLoose(leader));
  const loose = after.leaders.filter((leader) => isNewLeader(leader) && isLoose(leader));
  for (const leader of loose) if (!moved.includes(leader)) moved.push(leader);
  for (const leader of leads) if (!moved.includes(leader)) moved.push(leader);
  const isToldOf = ({ id }: DevicePlan) => leadsNetworkAt(told, id, after.at);
  const clauses = leads
    .filter((leader) => !isToldOf(leader))
    .map((leader) => {
      const again = options.ledBefore.has(leader.id) ? " again" : "";
      return `${theDevice(leader)} ${agree(isPlural(leader.name), "leads", "lead")}${again}`;
    });
  const justNamed = leads.filter((leader) => !isToldOf(leader) || options.takenOver.has(leader.id));
  for (const group of followers.values()) clauses.push(followClause(after, group, { ...options, leads: justNamed }));
  for (const { device, upstream } of pulling) {
    clauses.push(
      `${theDevice(device)} ${agree(isPlural(device.name), "is", "are")} pulling in to ${throughWords(after, upstream!)}`,
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

/** Who is followed where `primary` leads as planned does not lead itself, unless the plan says so: it is on its own clock. */
function isPlanned({ plan }: Told, { id }: DevicePlan, primary: DevicePlan): boolean {
  return plan.leaders.includes(id) || !rigParts(plan).some((part) => part.includes(id) && part.includes(primary.id));
}

/** Those of whom it can be said that they lead, by the plan or for want of anybody else. */
export function whoLeads(told: Told, picture: Picture): readonly DevicePlan[] {
  const primary = primaryOf(told, picture);
  if (primary === null || !picture.leaders.includes(primary)) return picture.leaders;
  return picture.leaders.filter((leader) => leader === primary || isPlanned(told, leader, primary));
}

/** Of who leads a network, and takes it over, what is said of networks tells. */
function leadsNetworkAt({ summary }: Told, id: string, seconds: number): boolean {
  return summary.networks.some(({ leaders }) =>
    leaders.some((each) => each.leader === id && each.fromSeconds <= seconds && seconds < each.toSeconds),
  );
}

/** Follows a leader as the network has it, and so hands on whatever clock it is on. */
function passesOnAt({ summary }: Told, { id, kind }: DevicePlan, seconds: number): boolean {
  if (kind !== "switch") return false;
  return summary.networks.some(({ devices }) => {
    const node = devices.find(({ device }) => device === id);
    return node !== undefined && stretchAt(node.roles, seconds)?.role === "follows";
  });
}

/** Those who turn to the same clock in the same manner. */
interface Group {
  readonly upstream: DevicePlan;
  readonly isReturn: boolean;
  /** " over the Blue network", where they could take their clock over another; else nothing. */
  readonly over: string;
}

function networkWords({ plan }: Told, now: Standing, was: Standing): string {
  const network = networkBehind(plan, now.device.id, now.source);
  const choices = new Set(now.device.clockSources.flatMap((entry) => networkBehind(plan, now.device.id, entry) ?? []));
  // A switch that follows and leads on is on one network: to name it is to name that.
  const isClear = choices.size < 2 || now.upstream?.kind === "switch";
  if (network === null || now.source === was.source || isClear) return "";
  return ` over ${theNetwork(plan, network.id)}`;
}

/** "the FOH desk through the switch on stage": a switch that passes on a leader's time is nobody to follow. */
export function throughWords(picture: Picture, upstream: DevicePlan): string {
  const root = picture.standings.get(upstream.id)?.root ?? null;
  if (upstream.kind !== "switch" || root === null || root === upstream) return theDevice(upstream);
  return `${theDevice(root)} through ${theDevice(upstream)}`;
}

function followClause(
  after: Picture,
  { upstream, isReturn, over, devices }: Group & { readonly devices: readonly DevicePlan[] },
  { named, leads, isUnprompted }: MovesOptions & { readonly leads: readonly DevicePlan[] },
): string {
  const isIt = upstream === named || (leads.length === 1 && upstream === leads[0]);
  const whom = (isIt ? itOf(upstream) : throughWords(after, upstream)) + over;
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

/** Locked to this source before; on a network, where a source is nobody in particular, to this device there. */
function hasFollowed(told: Told, { device, source: entry, upstream }: Standing, before: number): boolean {
  const isNetwork = networkBehind(told.plan, device.id, entry) !== null;
  return statesOf(told.summary, device.id).some(({ state, source: used, fromSeconds, toSeconds }) => {
    if (fromSeconds >= before || used !== entry || state !== "locked") return false;
    if (!isNetwork) return true;
    const ends = [fromSeconds, Math.min(before, toSeconds) - BEFORE_SECONDS];
    return ends.some((at) => deviceBehind(told, device.id, used, at) === upstream);
  });
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
  const onNetworks = new Map<string, DevicePlan[]>();
  for (const standing of standings) {
    const network = networkBehind(told.plan, standing.device.id, standing.source);
    if (network !== null) {
      addTo(onNetworks, network.id, standing.device);
      continue;
    }
    const link = standing.source === null ? null : linkInPort(told.plan, standing.device.id, standing.source, seconds);
    const spares = told.plan.spares.find(({ links }) => link !== null && links.includes(link.id));
    groups[spares === undefined || link === null ? "other" : spares.links[0] === link.id ? "main" : "spare"].push(
      standing,
    );
  }
  const byWords = (standings: readonly Standing[]) => {
    const byPort = new Map<string, DevicePlan[]>();
    for (const { device, source: entry } of standings) {
      const words = cableWords(told, device, entry, seconds);
      addTo(byPort, words, device);
    }
    return [...byPort].map(([words, devices]) => `${verbs(devices, "is", "are")} on ${words}`);
  };
  const together = (kind: "main" | "spare") => {
    const devices = groups[kind].map(({ device }) => device);
    return devices.length < 3 ? byWords(groups[kind]) : [`${namesOf(devices)} are on their ${kind}s`];
  };
  const over = [...onNetworks].map(([id, devices]) => `${verbs(devices, "is", "are")} on ${theNetwork(told.plan, id)}`);
  return [...together("spare"), ...together("main"), ...byWords(groups.other), ...over];
}

/** "the spare", "the main cable", "port 2". */
function cableWords({ plan }: Told, device: DevicePlan, entry: string | null, seconds: number): string {
  if (entry === null) return "no source";
  const link = linkInPort(plan, device.id, entry, seconds);
  if (link === null) return source(entry);
  const group = plan.spares.find(({ links }) => links.includes(link.id));
  if (group === undefined) return source(entry);
  if (group.links[0] === link.id)
    return link.id === "main" ? "the main cable" : `the main (${theCableIn(plan, link.id)})`;
  return link.id === "spare" ? "the spare" : `the spare (${theCableIn(plan, link.id)})`;
}
