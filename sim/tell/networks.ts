/** Networks in words: who takes over as leader and why, a network in parts, bridges that find another way. */
import type { Plan } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import type { Fact, Row } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { NetworkSummary } from "../../shared/summary.ts";
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { deviceById } from "../by-id.ts";
import { networkOfBridging } from "../network/outcome.ts";
import { looksOf, valueAt } from "../timeline.ts";
import { heldBack, nameIn, networkReason, stormWords } from "./network-words.ts";
import type { Told } from "./picture.ts";
import {
  agree,
  capital,
  counted,
  duration,
  grouped,
  isPlural,
  listed,
  showTime,
  theCable,
  theDevice,
  theNetwork,
} from "./words.ts";

/** Something that a network does, at the instant at which it is done. */
export interface NetworkNews {
  readonly at: number;
  /** A sentence without its first capital and its full stop: something may stand before it. */
  readonly clause: string;
  /** Who begins to lead by it; null: it is about something else. */
  readonly leader: string | null;
}

/** By instant. */
export function networkNews(told: Told): readonly NetworkNews[] {
  const news = [
    ...told.summary.networks.flatMap((network) => leaderNews(told, network)),
    ...withoutSync(told),
    ...bridgingNews(told),
  ];
  return news.sort((one, other) => one.at - other.at);
}

/** Networks as the show begins: of one that `primary` leads alone there is nothing to say. */
export function networkStanding(told: Told, primary: string | null): string[] {
  return told.summary.networks.flatMap((network) => {
    const first = leadingAt(network, 0);
    const storms = network.bridging.some(({ storm, fromSeconds }) => storm && fromSeconds === 0);
    const isSaid = network.devices.length === 0 || (first.length === 1 && first[0] === primary);
    return [
      ...(storms ? [`${capital(stormWords(told.plan, network.id))}.`] : []),
      ...(isSaid ? [] : [`${capital(standsSo(told, network, first, true))}.`]),
    ];
  });
}

function leadingAt({ leaders }: NetworkSummary, seconds: number): string[] {
  return leaders
    .filter(({ fromSeconds, toSeconds }) => fromSeconds <= seconds && seconds < toSeconds)
    .map(({ leader }) => leader)
    .sort();
}

function leadsVerb({ plan }: Pick<Told, "plan">, ids: readonly string[]): string {
  const [only] = ids;
  const isMany = ids.length > 1 || isPlural(deviceById(plan, only ?? "")?.name ?? "");
  return agree(isMany, "leads", "lead");
}

function standsSo(told: Told, { id }: NetworkSummary, leaders: readonly string[], isFirst = false): string {
  const network = theNetwork(told.plan, id);
  const [first] = leaders;
  if (first === undefined) return `nobody leads ${network}${isFirst ? "" : " any more"}`;
  if (leaders.length === 1) return `${nameIn(told.plan, first)} ${leadsVerb(told, leaders)} ${network}`;
  return `${network} has ${counted(leaders.length, "leader", "leaders")}: ${listed(leaders.map((each) => nameIn(told.plan, each)))}`;
}

// ---- who leads

/** Changes of who leads, as long as one comes after the other before the network can have agreed, and nothing happens between. */
interface Turn {
  readonly from: number;
  readonly to: number;
  readonly before: readonly string[];
  readonly after: readonly string[];
  readonly changes: number;
}

/** More changes in one turn are told as what they are: no end in sight. */
const IN_TURN_FROM = 7;

function turnsIn({ plan, summary }: Told, network: NetworkSummary): Turn[] {
  const { announceSeconds, receiptTimeoutCount, receiptSpreadCount } = ptpProfile(network.profile);
  // Whoever is to lead has been silent for a receipt timeout, and two announcements make him heard.
  const agreeSeconds = announceSeconds.value * (receiptTimeoutCount.value + receiptSpreadCount.value + 2);
  const edges = new Set<number>();
  for (const { fromSeconds, toSeconds } of network.leaders) edges.add(fromSeconds).add(toSeconds);
  const turns: { from: number; to: number; before: readonly string[]; after: readonly string[]; changes: number }[] =
    [];
  let standing = leadingAt(network, 0);
  for (const at of [...edges].sort((one, other) => one - other)) {
    if (at <= 0 || at >= summary.runSeconds) continue;
    const after = leadingAt(network, at);
    if (String(after) === String(standing)) continue;
    const last = turns.at(-1);
    if (last !== undefined && at - last.to < agreeSeconds && !happensBetween(plan, last.to, at)) {
      last.to = at;
      last.after = after;
      last.changes += 1;
    } else turns.push({ from: at, to: at, before: standing, after, changes: 1 });
    standing = after;
  }
  return turns;
}

function happensBetween({ events }: Plan, fromSeconds: number, toSeconds: number): boolean {
  return events.some(({ atNs }) => fromSeconds < secondsFromNs(atNs) && secondsFromNs(atNs) <= toSeconds);
}

function leaderNews(told: Told, network: NetworkSummary): NetworkNews[] {
  const turns = turnsIn(told, network);
  return turns.map((turn): NetworkNews => {
    if (turn.changes >= IN_TURN_FROM) return { at: turn.from, clause: byTurns(told, network, turn), leader: null };
    const [leader] = turn.after;
    if (turn.after.length !== 1 || leader === undefined)
      return { at: turn.to, clause: standsSo(told, network, turn.after), leader: null };
    if (turn.before.includes(leader)) return besides(told, network, turn, leader);
    const stretch = network.leaders.findLast((each) => each.leader === leader && each.fromSeconds <= turn.to);
    const at = stretch?.fromSeconds ?? turn.to;
    return { at, clause: takesOver(told, network, leader, at), leader };
  });
}

/** "The monitor desk takes over as leader of the Red network: nobody announced for 6.2 s." */
function takesOver(told: Told, network: NetworkSummary, leader: string, at: number): string {
  const name = theNetwork(told.plan, network.id);
  const plural = isPlural(deviceById(told.plan, leader)?.name ?? "");
  const hasLed = network.leaders.some((each) => each.leader === leader && each.toSeconds < at);
  const does = hasLed
    ? `${agree(plural, "leads", "lead")} ${name} again`
    : `${agree(plural, "takes", "take")} over as ${plural ? "leaders" : "leader"} of ${name}`;
  const node = looksOf(told.record).nodes.get(`${leader} ${network.id}`);
  const reason = node === undefined ? undefined : valueAt(node, nsFromSeconds(at))?.reason;
  return `${nameIn(told.plan, leader)} ${does}${reason === undefined ? "" : `: ${networkReason(told.plan, reason)}`}`;
}

/** One goes on, or comes back: what others did meanwhile. */
function besides(told: Told, network: NetworkSummary, { from, to, before }: Turn, leader: string): NetworkNews {
  const name = theNetwork(told.plan, network.id);
  const who = nameIn(told.plan, leader);
  const inside = network.leaders.filter((each) => each.fromSeconds < to && each.toSeconds > from);
  const others = [...new Set(inside.map((each) => each.leader))].filter((each) => each !== leader);
  const gap = inside.some((each) => each.leader === leader && each.fromSeconds > from);
  if (before.length > 1) return { at: to, clause: `${name} has one leader again, ${who}`, leader };
  const names = listed(others.map((each) => nameIn(told.plan, each)));
  if (gap) {
    const meanwhile = others.length === 0 ? "" : `; meanwhile ${names} did`;
    return { at: to, clause: `${who} ${leadsVerb(told, [leader])} ${name} again${meanwhile}`, leader };
  }
  const clause = `${names} ${leadsVerb(told, others)} on ${name} beside ${who} for ${duration(to - from)}`;
  return { at: from, clause, leader: null };
}

function byTurns(told: Told, network: NetworkSummary, { from, to, changes }: Turn): string {
  const inside = network.leaders.filter((each) => each.fromSeconds < to && each.toSeconds > from);
  const names = [...new Set(inside.map(({ leader }) => leader))].map((id) => nameIn(told.plan, id));
  return `the lead of ${theNetwork(told.plan, network.id)} goes to and fro between ${listed(names)}, ${grouped(changes)} changes until ${showTime(to)}`;
}

/** A leader that sends no sync leads on, where announcing is enough for that. */
function withoutSync({ plan, summary }: Told): NetworkNews[] {
  return plan.events.flatMap((event): NetworkNews[] => {
    if (event.do !== "stop-sync") return [];
    const at = secondsFromNs(event.atNs);
    const device = deviceById(plan, event.device);
    const led = summary.networks.filter(
      (network) => !ptpProfile(network.profile).electsWithoutSync && leadingAt(network, at).includes(event.device),
    );
    if (device === undefined || led.length === 0) return [];
    const does = agree(isPlural(device.name), "leads", "lead");
    const all = listed(led.map(({ id }) => theNetwork(plan, id)));
    const clause = `${theDevice(device)} still ${does} ${all}: to announce is enough for that, so nobody takes over`;
    return [{ at, clause, leader: null }];
  });
}

// ---- bridges

function bridgingNews(told: Told): NetworkNews[] {
  const { plan, record } = told;
  const { rows } = record;
  const news: NetworkNews[] = [];
  for (const key of looksOf(record).bridging.keys()) {
    const own = rows.flatMap(({ subject, fact }, row) =>
      subject === `bridging ${key}` && fact.kind === "bridging" ? [{ row, fact, first: firstCause(rows, row) }] : [],
    );
    // All that one event brings about is one thing, however long a switch takes to be back.
    for (let index = 1; index < own.length; ) {
      const first = own[index] as (typeof own)[number];
      let end = index + 1;
      while (end < own.length && own[end]?.first === first.first) end += 1;
      const last = own[end - 1] as (typeof own)[number];
      const before = (own[index - 1] as (typeof own)[number]).fact;
      const clause = bridgesDo(plan, networkOfBridging(key), before, last.fact);
      if (clause !== null) news.push({ at: secondsFromNs((rows[last.row] as Row).atNs), clause, leader: null });
      index = end;
    }
  }
  return news;
}

function firstCause(rows: readonly Row[], row: number): number {
  let at = row;
  while ((rows[at] as Row).cause !== FROM_START) at = (rows[at] as Row).cause;
  return at;
}

type Bridging = Extract<Fact, { kind: "bridging" }>;

function bridgesDo(plan: Plan, id: string, before: Bridging, after: Bridging): string | null {
  const network = theNetwork(plan, id);
  if (after.storm !== before.storm)
    return after.storm ? stormWords(plan, id) : `packets no longer go round on ${network}`;
  const taken = after.forwards.filter((link) => !before.forwards.includes(link));
  const left = before.forwards.filter((link) => !after.forwards.includes(link));
  if (taken.length === 0 || left.length === 0) return null;
  if (left.some((link) => !after.blocked.includes(link)))
    return `${network} has found another way; ${listed(taken.map(theCable))} ${agree(taken.length > 1, "carries", "carry")}`;
  return `${network} goes over ${listed(taken.map(theCable))} again; ${heldBack(left)}`;
}
