/** Why something is as it is, in words: one line per step, from the state back to the first cause. */
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import type { Fact, Row, RunRecord } from "../../shared/record.ts";
import { type Ns, nsFromSeconds, secondsBetween, secondsFromNs, ZERO } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";
import { deviceById, feedOf, linkById } from "../by-id.ts";
import { BY_WANDER } from "../device/phase.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import { looksOf, valueAt } from "../timeline.ts";
import type { CauseKind, FeedAnswer, Why, WhyStep } from "../why.ts";
import { named } from "./event-words.ts";
import { eventSentence, stuckSince } from "./events.ts";
import { bridgingWords, electionWords, isNetworkReason, nameIn, networkReason } from "./network-words.ts";
import { networkBehind, type Told } from "./picture.ts";
import {
  agree,
  cableIn,
  capital,
  duration,
  isPlural,
  listed,
  listener,
  theCableIn,
  theDevice,
  theNetwork,
} from "./words.ts";

type Read = Pick<Told, "plan" | "record">;

export interface WhyTold {
  /** What holds at the instant, and since when. */
  readonly head: string;
  readonly lines: readonly WhyLine[];
  /** What to know beside it: another answer within the same second. Null: nothing. */
  readonly note: string | null;
}

export interface WhyLine {
  /** Show time, with milliseconds where they are not zero. */
  readonly at: string;
  readonly text: string;
  /** Steps that this line tells, by their place in the chain: what two rows say at one instant is told once. */
  readonly steps: readonly WhyStep[];
  readonly by: CauseKind;
}

/** One answer per chain; a clean feed has a head and no lines. */
export function whyTold(plan: Plan, record: RunRecord, why: Why): WhyTold[] {
  const chains = why.chains.length === 0 ? [[]] : why.chains;
  return chains.map((chain) => ({
    head: headOf(plan, record, why, chain),
    lines: linesOf(plan, record, chain),
    note: notesOf(plan, record, why),
  }));
}

function notesOf(plan: Plan, record: RunRecord, why: Why): string | null {
  const notes = [stuckNote(plan, record, why), leaderNote(plan, record, why), noteOf(why)].filter(
    (note) => note !== null,
  );
  return notes.length === 0 ? null : notes.join(" ");
}

/** What did not happen has no row that could be its cause. */
function stuckNote(plan: Plan, record: RunRecord, { subject, atNs }: Why): string | null {
  const since = subject.kind === "device" ? stuckSince({ plan, record }, subject.id, atNs) : null;
  return since === null ? null : `Stuck since ${formatShowTime(since)}: no other clock source is taken.`;
}

/** A device stays locked to its network while that gets another leader: no row of the device says so. */
function leaderNote(plan: Plan, record: RunRecord, { subject, atNs }: Why): string | null {
  if (subject.kind !== "device") return null;
  const looks = looksOf(record);
  const own = looks.devices.get(subject.id)?.changes.findLast((change) => change.atNs <= atNs);
  if (own === undefined || own.value.state !== "locked") return null;
  const network = networkBehind(plan, subject.id, own.value.source);
  if (network === null) return null;
  const changes = looks.nodes.get(`${subject.id} ${network.id}`)?.changes.filter((change) => change.atNs <= atNs) ?? [];
  const now = changes.at(-1)?.value;
  const since = changes.findLast(({ value }) => value.role !== now?.role || value.leader !== now?.leader);
  const first = since === undefined ? undefined : changes[changes.indexOf(since) + 1];
  if (first === undefined || first.atNs <= own.atNs || now?.role !== "follows" || now.leader === null) return null;
  return `What comes over ${theNetwork(plan, network.id)} is the time of ${nameIn(plan, now.leader)} since ${formatShowTime(first.atNs)}.`;
}

/** Another answer begins within the same second. */
function isBrief({ atNs, nextNs }: Pick<Why, "atNs" | "nextNs">): boolean {
  return nextNs !== null && nextNs < nsFromSeconds(Math.floor(secondsFromNs(atNs)) + 1);
}

/** People ask for a second; what else falls into it is said, with the instant to ask for. */
function noteOf({ atNs, nextNs }: Why): string | null {
  if (nextNs === null || !isBrief({ atNs, nextNs })) return null;
  const next = Math.ceil(nextNs / 1e6) * 1e6;
  return `It changes within this second: ask again for ${formatShowTime(next as Ns)}.`;
}

// ---- what holds

function headOf(
  plan: Plan,
  record: RunRecord,
  { subject, atNs, heard, nextNs }: Why,
  chain: readonly WhyStep[],
): string {
  const at = formatShowTime(atNs);
  const [first] = chain;
  if (heard !== null && subject.kind === "feed")
    return feedHead(plan, record, subject.id, heard, { at, first, isBrief: isBrief({ atNs, nextNs }) });
  if (first === undefined) return `At ${at} nothing is recorded of ${subject.id}.`;
  // A link is down from the break on, not from when that is noticed.
  const broke = chain[1]?.subject === first.subject && isBreak(first.fact, chain[1].fact) ? chain[1] : first;
  const since = broke.atNs === ZERO ? "since the show began" : `since ${formatShowTime(broke.atNs)}`;
  return `At ${at} ${whatHolds(plan, record, first)}, ${since}.`;
}

function isBreak(fact: Fact, before: Fact): boolean {
  return fact.kind === "link" && before.kind === "link" && fact.state === "down" && before.state === "down";
}

function whatHolds(plan: Plan, record: RunRecord, step: WhyStep): string {
  const { subject, fact, atNs } = step;
  if (fact.kind === "link") return `${wayName(plan, record, step)} ${linkState(fact)}`;
  const device = deviceNamedBy(plan, subject);
  if (device === undefined) return subject;
  const is = agree(isPlural(device.name), "is", "are");
  if (fact.kind === "hung") return `${theDevice(device)} ${agree(isPlural(device.name), "hangs", "hang")}`;
  if (fact.kind === "clock")
    return `${theDevice(device)} ${stateWords({ plan, record }, device, fact, secondsFromNs(atNs))}`;
  return `${theDevice(device)} ${is} as it was`;
}

/** "port 1 (FOH desk)", "port 1 (the FOH desk on the Red network)": on a network whose time it is, as far as it is anybody's. */
function sourceWords(read: Read, device: DevicePlan, entry: string, seconds: number): string {
  const network = networkBehind(read.plan, device.id, entry);
  if (network === null) return named(read.plan, device.id, entry, seconds);
  const node = looksOf(read.record).nodes.get(`${device.id} ${network.id}`);
  const look = node === undefined ? undefined : valueAt(node, nsFromSeconds(seconds));
  if (look?.role !== "follows" || look.leader === null) return named(read.plan, device.id, entry, seconds);
  return `port ${entry} (${nameIn(read.plan, look.leader)} on ${theNetwork(read.plan, network.id)})`;
}

/** "is on its own clock", "is locked to port 1 (FOH desk)": what follows the name of a device. */
function stateWords(
  read: Read,
  device: DevicePlan,
  { state, source }: Pick<Extract<Fact, { kind: "clock" }>, "state" | "source">,
  seconds: number,
): string {
  const plural = isPlural(device.name);
  const is = agree(plural, "is", "are");
  const its = agree(plural, "its", "their");
  const whom = source === null ? "nothing" : sourceWords(read, device, source, seconds);
  switch (state) {
    case "off":
      return `${is} off`;
    case "starting":
      return `${is} booting`;
    case "free-run":
      return isPlainSwitch(read.plan, device) ? agree(plural, "works", "work") : `${is} on ${its} own clock`;
    case "acquiring":
      return `${is} pulling in to ${whom}`;
    case "locked":
      return `${is} locked to ${whom}`;
    case "holdover":
      return `${is} coasting (holdover)`;
  }
}

function linkState({ state, clock }: Extract<Fact, { kind: "link" }>): string {
  const words = state === "coming-up" ? "is coming up" : `is ${state}`;
  const disagree =
    clock === "disputed" ? ": both ends give clock" : clock === "unclaimed" ? ": both ends take clock" : "";
  return words + disagree;
}

function feedHead(
  plan: Plan,
  record: RunRecord,
  id: string,
  { stretch, clicks, jumps, sinceNs }: FeedAnswer,
  { at, first, isBrief }: { readonly at: string; readonly first: WhyStep | undefined; readonly isBrief: boolean },
): string {
  const feed = feedOf(plan, id);
  const { mid, plural } = listener(feed, plan.feeds);
  if (jumps !== null)
    return `At ${at} ${mid} ${agree(plural, "drops", "drop")} out: the clock of ${nameIn(plan, jumps)} jumps.`;
  const since = sinceNs === ZERO ? "since the show began" : `since ${formatShowTime(sinceNs)}`;
  const is = agree(plural, "is", "are");
  const because = stretch.because === null ? "" : `: ${feedReason(plan, record, stretch, first)}`;
  switch (stretch.state) {
    case "clean":
      return `At ${at} ${mid} ${is} clean, ${since}${isBrief ? "" : ": there is no trouble to explain"}.`;
    case "silent":
      return `At ${at} ${mid} ${is} silent, ${since}${because}.`;
    case "not-carried":
      return `At ${at} ${mid} ${is} not carried, ${since}${because}.`;
    case "slipping": {
      const where = clicks === null ? "" : `: ${clickWords(plan, record, clicks, nsFromSeconds(stretch.fromSeconds))}`;
      return `At ${at} ${mid} ${agree(plural, "clicks", "click")}, ${since}${where}.`;
    }
  }
}

function feedReason(
  plan: Plan,
  record: RunRecord,
  { state, silence, because }: FeedAnswer["stretch"],
  first: WhyStep | undefined,
): string {
  const device = because === null ? undefined : deviceById(plan, because);
  const it = device === undefined ? "a device on the way" : theDevice(device);
  const over = because === null || device !== undefined ? "the cable" : theCableIn(plan, because);
  const verb = (one: string, many: string) => agree(device !== undefined && isPlural(device.name), one, many);
  if (state === "not-carried") return `${over} cannot carry it`;
  switch (silence) {
    case "device-down":
      return first === undefined ? `${it} ${verb("is", "are")} down` : whatHolds(plan, record, first);
    case "muted":
      return `${it} ${verb("mutes", "mute")}`;
    case "finding-rate":
      return `the converter in ${it} is finding the rate`;
    case "out-of-step":
      return `${it} ${verb("mutes", "mute")} what is out of step`;
    default:
      return `nothing comes over ${over}`;
  }
}

/** "the FOH desk is not in step with what comes over cable guest; the guest desk and the FOH desk are each on a clock of their own" */
function clickWords(
  plan: Plan,
  record: RunRecord,
  { link, sender, listener: ear }: NonNullable<FeedAnswer["clicks"]>,
  atNs: Ns,
): string {
  const ends = [sender, ear].map((id) => deviceById(plan, id));
  const [from, to] = ends;
  if (from === undefined || to === undefined) return `over ${theCableIn(plan, link)}`;
  const facts = [from, to].map(({ id }) => {
    const isOwn = (row: Row) => row.atNs <= atNs && row.subject === `device ${id}` && row.fact.kind === "clock";
    const fact = record.rows.findLast(isOwn)?.fact;
    return fact?.kind === "clock" ? fact : null;
  });
  const is = agree(isPlural(to.name), "is", "are");
  const how = facts.every((fact) => fact?.state === "free-run")
    ? `${listed([from, to].map(theDevice))} are each on a clock of their own`
    : listed(
        [from, to].flatMap((device, index) => {
          const fact = facts[index];
          return fact ? `${theDevice(device)} ${stateWords({ plan, record }, device, fact, secondsFromNs(atNs))}` : [];
        }),
      );
  return `${theDevice(to)} ${is} not in step with what comes over ${theCableIn(plan, link)}; ${how}`;
}

// ---- the steps

function linesOf(plan: Plan, record: RunRecord, chain: readonly WhyStep[]): WhyLine[] {
  const lines: WhyLine[] = [];
  for (let index = 0; index < chain.length; index += 1) {
    const step = chain[index] as WhyStep;
    let last = index;
    if (saysTheSame(step, chain[index + 1])) last += 1;
    // What is passed on from device to device is one line.
    else while (step.fact.kind === "flow" && chain[last + 1]?.fact.kind === "flow") last += 1;
    const steps = chain.slice(index, last + 1);
    const text =
      step.fact.kind === "flow" && steps.length > 1
        ? passedOn(plan, steps)
        : stepWords(plan, record, chain[last] as WhyStep, chain[last + 1]);
    lines.push({ at: formatShowTime(step.atNs), text: `${capital(text)}.`, steps, by: (steps.at(-1) as WhyStep).by });
    index = last;
  }
  return lines;
}

/** The event tells it better: a device that reboots is booting, a cable that is out is down. */
function saysTheSame({ fact, atNs }: WhyStep, next: WhyStep | undefined): boolean {
  if (next?.fact.kind !== "event" || next.atNs !== atNs) return false;
  if (fact.kind === "clock") return fact.state === "off" || fact.state === "starting";
  return fact.kind === "hung" || (fact.kind === "link" && fact.state === "down");
}

function passedOn(plan: Plan, steps: readonly WhyStep[]): string {
  // In a ring it goes round.
  const devices = [...new Set(steps.flatMap(({ subject }) => deviceNamedBy(plan, subject) ?? []).map(theDevice))];
  const [last, ...before] = [...devices].reverse();
  const through = before.length > 3 ? [...before.slice(0, 2), `${before.length - 2} others`] : before;
  return `what ${last} puts out changes, and ${listed(through)} ${agree(before.length > 1, "hands", "hand")} it on`;
}

function stepWords(plan: Plan, record: RunRecord, step: WhyStep, next: WhyStep | undefined): string {
  const { fact, subject, atNs } = step;
  const device = deviceNamedBy(plan, subject);
  const verb = (one: string, many: string) => agree(device !== undefined && isPlural(device.name), one, many);
  const who = device === undefined ? subject : theDevice(device);
  switch (fact.kind) {
    case "event":
      return withoutStop(eventSentence(plan, fact.event));
    case "clock":
      return device === undefined ? who : clockWords({ plan, record }, device, fact, step, next);
    case "link":
      return linkWords(plan, record, step, next);
    case "flow":
      return fact.flow === null ? `nothing leaves ${who}` : `what ${who} ${verb("puts", "put")} out changes`;
    case "hung":
      return `${who} ${fact.hung ? verb("hangs", "hang") : verb("works", "work")}`;
    case "surface":
      return `the surface of ${who} ${fact.works ? "works again" : "is down"}`;
    case "input": {
      const over = fact.link === null ? "a port" : theCableIn(plan, fact.link);
      if (!fact.decodes) return `${who} ${verb("gets", "get")} nothing that can be used over ${over}`;
      const since = next === undefined ? sinceWords(atNs) : "";
      if (fact.inStep) return `${who} ${verb("is", "are")} in step with what comes over ${over}${since}`;
      return `${who} ${verb("is", "are")} out of step with what comes over ${over}${since}`;
    }
    case "converter": {
      const over = fact.link === null ? "a port" : theCableIn(plan, fact.link);
      if (fact.state === "idle") return `the converter in ${who} gets nothing over ${over}`;
      return `the converter in ${who} ${fact.state === "finding" ? "begins to find the rate" : "knows the rate"} of what comes over ${over}`;
    }
    case "slips":
      return `what comes over ${theCableIn(plan, fact.link)} slips in ${who}${next === undefined ? sinceWords(atNs) : ""}`;
    case "re-aligned":
      return `the clock of ${who} jumps`;
    case "wrapped":
      return `the clock of ${who} is whole sample periods away from what it follows`;
    case "election":
      return electionWords(plan, subject, fact);
    case "bridging":
      return bridgingWords(plan, subject, fact);
  }
}

/** Of what nothing that happened brought about. */
function sinceWords(atNs: Ns): string {
  return atNs === ZERO ? " as the show begins" : ", by the clocks that the show begins with: no event did this";
}

function clockWords(
  read: Read,
  device: DevicePlan,
  fact: Extract<Fact, { kind: "clock" }>,
  { atNs, by }: WhyStep,
  next: WhyStep | undefined,
): string {
  const plural = isPlural(device.name);
  const its = agree(plural, "its", "their");
  const who = theDevice(device);
  const verb = (one: string, many: string) => agree(plural, one, many);
  const waited = next === undefined ? 0 : secondsBetween(next.atNs, atNs);
  const whom = fact.source === null ? "" : sourceWords(read, device, fact.source, secondsFromNs(atNs));
  if (fact.state === "free-run" && isPlainSwitch(read.plan, device))
    return `${who} ${verb("works", "work")}${waited > 0 ? ` after booting for ${duration(waited)}` : " as the show begins"}`;
  if (atNs === ZERO && next === undefined)
    return `${who} ${stateWords(read, device, fact, 0)} as the show begins${choiceWords(device, fact)}`;
  const because = reasonWords(read.plan, device, fact.reason, by === "timeout" ? waited : null, its);
  if (fact.reason.startsWith("it has started")) {
    const booted = waited > 0 ? ` after booting for ${duration(waited)}` : "";
    if (fact.state === "acquiring") return `${who} ${verb("pulls", "pull")} in to ${whom}${booted}`;
    if (fact.source === "internal") return `${who} ${verb("goes", "go")} to ${its} own clock${booted}`;
    return `${who} ${verb("is", "are")} left on ${its} own clock${booted}: no source can be used`;
  }
  switch (fact.state) {
    case "off":
      return `${who} ${verb("is", "are")} off${because}`;
    case "starting":
      return `${who} ${verb("boots", "boot")}${because}`;
    case "free-run":
      return fact.source === "internal"
        ? `${who} ${verb("goes", "go")} to ${its} own clock${because}`
        : `${who} ${verb("is", "are")} left on ${its} own clock${because}`;
    case "holdover":
      return `${who} ${verb("coasts", "coast")} (holdover)${because}`;
    case "acquiring":
      return `${who} ${verb("pulls", "pull")} in to ${whom}${because}`;
    case "locked":
      return by === "timeout"
        ? `${who} ${verb("is", "are")} locked to ${whom}, ${duration(waited)} after ${verb("it began", "they began")} to pull in`
        : `${who} ${verb("is", "are")} locked to ${whom}${because}`;
  }
}

/** Why a device is on its own clock from the first instant on. */
function choiceWords({ clockSources, name }: DevicePlan, { state, source }: Extract<Fact, { kind: "clock" }>): string {
  if (state !== "free-run") return "";
  const its = agree(isPlural(name), "its", "their");
  if (source === null) return `: none of ${its} clock sources can be used`;
  return clockSources[0] === source
    ? `: that is the first of ${its} clock sources`
    : `: of ${its} clock sources only that one can be used`;
}

/** `waitedSeconds`: null where nothing was waited for. */
function reasonWords(
  plan: Plan,
  device: DevicePlan,
  reason: string,
  waitedSeconds: number | null,
  its: string,
): string {
  switch (reason) {
    case "a source was chosen":
      return waitedSeconds === null ? "" : `, after a wait of ${duration(waitedSeconds)}`;
    case "its holdover has run out":
      return `, because ${its} holdover ran out after ${duration(device.holdoverSeconds)}`;
    case "its link went down":
      return ", because the link that carries the clock is down";
    case "the other end gives no clock it can use":
      return ", because the other end gives no clock that can be used";
    case "its source was taken off the list":
      return `, because the source in use is no longer among ${its} clock sources`;
    case "its phase left the unlock window":
      return ", because what arrives left the unlock window";
    case BY_WANDER:
      return ", because wander took it out of the unlock window: chance, no event did this";
    case "its phase stayed in the lock window":
      return ", because what arrives has come to rest";
    case "the same source is back within hold-off":
      return ": the same source is back before hold-off has run";
    case "power is lost":
      return ", without power";
    case "power is back":
      return ": power is back";
    default:
      return isNetworkReason(reason) ? `, because ${networkReason(plan, reason)}` : "";
  }
}

function linkWords(plan: Plan, record: RunRecord, step: WhyStep, next: WhyStep | undefined): string {
  const { subject, atNs, by, fact } = step;
  if (fact.kind !== "link") return subject;
  const who = wayName(plan, record, step);
  const waited = next === undefined ? 0 : secondsBetween(next.atNs, atNs);
  if (next === undefined) return `${who} ${linkState(fact)} as the show begins`;
  const before = next.fact.kind === "link" && next.subject === subject ? next.fact.state : null;
  if (fact.state === "down" && fact.noticed && before === "down")
    return `the ends notice that nothing comes over ${who}, ${duration(waited)} after the break`;
  if (fact.state === "up" && before === "coming-up") return `${who} is up, after ${duration(waited)} of coming up`;
  if (fact.state === "up" && before === "down" && by === "timeout") return `${who} is up again`;
  if (fact.state === "coming-up") return `${who} is whole and begins to come up`;
  const end = deviceNamedBy(plan, next.subject);
  if (fact.state === "down" && next.fact.kind === "clock" && end !== undefined)
    return `${who} is down, because ${theDevice(end)} ${stateWords({ plan, record }, end, next.fact, secondsFromNs(next.atNs))}`;
  return `${who} ${linkState(fact)}`;
}

// ---- names

/** "the main cable"; "main cable (from the FOH desk to the stage box)" where the other way is not in the same state. */
function wayName(plan: Plan, record: RunRecord, { subject, atNs, fact }: WhyStep): string {
  const [, id = "", way = ""] = /^link (.*) (there|back|both)$/s.exec(subject) ?? [];
  const link = linkById(plan, id);
  const name = theCableIn(plan, id);
  const tap = link?.line === undefined ? undefined : deviceById(plan, link.b.device);
  if (tap !== undefined) return `${name} (to ${theDevice(tap)})`;
  if (link === undefined || way === "both" || !link.hasReturn) return name;
  const other = `link ${id} ${way === "there" ? "back" : "there"}`;
  const beside = record.rows.findLast((row) => row.atNs <= atNs && row.subject === other && row.fact.kind === "link");
  if (beside?.fact.kind === "link" && fact.kind === "link" && beside.fact.state === fact.state) return name;
  const [from, to] = (way === "there" ? [link.a, link.b] : [link.b, link.a]).map(({ device }) =>
    deviceById(plan, device),
  );
  return from === undefined || to === undefined
    ? name
    : `${cableIn(plan, id)} (from ${theDevice(from)} to ${theDevice(to)})`;
}

/** "device foh", "port foh.1", "node foh red". */
function deviceNamedBy(plan: Plan, subject: string): DevicePlan | undefined {
  const [kind = "", id = ""] = [subject.slice(0, subject.indexOf(" ")), subject.slice(subject.indexOf(" ") + 1)];
  if (kind === "device") return deviceById(plan, id);
  if (kind === "node" || kind === "bridge") return deviceById(plan, id.slice(0, id.indexOf(" ")));
  return kind === "port" ? deviceById(plan, id.slice(0, id.lastIndexOf("."))) : undefined;
}

function withoutStop(sentence: string): string {
  return sentence.replace(/\.$/, "");
}
