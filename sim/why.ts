/**
 * Why something is as it is: the causes that the record keeps, from a state back to the first of them. Pure, and made
 * from plan and record alone, so that the command and the page give the same answer.
 *
 * A row names one cause. Where a deadline of the same machine lies between the two (a boot, a hold-off, a holdover, a
 * link that comes up), the record names what set the deadline; the state that was waited in is put back in between.
 */
import type { FeedPlan, Plan } from "../shared/plan.ts";
import type { Fact, Row, RunRecord } from "../shared/record.ts";
import { FROM_START } from "../shared/record.ts";
import type { FeedStretch, FeedSummary } from "../shared/summary.ts";
import type { Ns } from "../shared/time.ts";
import { nsFromSeconds, secondsFromNs } from "../shared/time.ts";
import { deviceById, feedOf } from "./by-id.ts";
import { BY_WANDER } from "./device/phase.ts";
import { hear, slipsHeard } from "./hear.ts";
import { carrierLine } from "./hearing/carriers.ts";
import { looksOf, valueAt } from "./timeline.ts";

export type WhySubject =
  | { readonly kind: "device"; readonly id: string }
  /** `way` null: whatever ways it has. */
  | { readonly kind: "link"; readonly id: string; readonly way: "there" | "back" | null }
  | { readonly kind: "feed"; readonly id: string };

/**
 * What brought a step about: an event (an event's own row, too), a deadline of the same machine, what another machine
 * sent, how the rig stood as the show began, or wander.
 */
export type CauseKind = "event" | "timeout" | "message" | "beginning" | "chance";

export interface WhyStep {
  /** Index in the record. */
  readonly row: number;
  readonly atNs: Ns;
  /** As in the record: "device foh", "link main there", "port foh.1", "world". */
  readonly subject: string;
  readonly fact: Fact;
  readonly by: CauseKind;
}

/** What a feed is at the instant, and through what. */
export interface FeedAnswer {
  readonly stretch: FeedStretch;
  /** Where it clicks: what arrives at `listener` over `link` is not in step with its own clock. */
  readonly clicks: { readonly link: string; readonly sender: string; readonly listener: string } | null;
  /** The device on the way whose clock jumps at the instant, which is heard as a dropout; null: none does. */
  readonly jumps: string | null;
  /** Since when it is so: since its stretch began, or since a clock has jumped in it. */
  readonly sinceNs: Ns;
}

export interface Why {
  readonly subject: WhySubject;
  readonly atNs: Ns;
  /** Of a feed only; null where the run has no instant. */
  readonly heard: FeedAnswer | null;
  /** Each from the state that holds to its first cause. One; two where the ways of a link differ; none for a clean feed. */
  readonly chains: readonly (readonly WhyStep[])[];
  /** When the answer next becomes another one; null: never in this run. */
  readonly nextNs: Ns | null;
}

/** Everything of the plan that goes by this name: "foh", or "device foh", "link main back", "feed pa-mix". */
export function subjectsNamed(plan: Plan, text: string): WhySubject[] {
  const found: WhySubject[] = [];
  for (const { id } of plan.devices) if (text === id || text === `device ${id}`) found.push({ kind: "device", id });
  for (const { id } of plan.links) {
    if (text === id || text === `link ${id}` || text === `link ${id} both`) found.push({ kind: "link", id, way: null });
    for (const way of ["there", "back"] as const)
      if (text === `link ${id} ${way}`) found.push({ kind: "link", id, way });
  }
  for (const { id } of plan.feeds) if (text === id || text === `feed ${id}`) found.push({ kind: "feed", id });
  return found;
}

/** `feeds`: what was heard, if somebody has it already. */
export function whyOf(
  plan: Plan,
  record: RunRecord,
  subject: WhySubject,
  atNs: Ns,
  feeds?: readonly FeedSummary[],
): Why {
  if (subject.kind === "feed") return whyOfFeed(plan, record, feeds ?? hear(plan, record), subject, atNs);
  const rows = subject.kind === "device" ? rowsOfDevice(record, subject.id, atNs) : rowsOfLink(record, subject, atNs);
  const own = subject.kind === "device" ? [`device ${subject.id}`] : waysOf(subject);
  const next = record.rows.find((row) => row.atNs > atNs && own.includes(row.subject) && isState(row.fact));
  return {
    subject,
    atNs,
    heard: null,
    chains: rows.map((row) => chainFrom(record.rows, row)),
    nextNs: next?.atNs ?? null,
  };
}

// ---- where a chain begins

function lastRow(record: RunRecord, atNs: Ns, isMeant: (row: Row) => boolean): number {
  return record.rows.findLastIndex((row) => row.atNs <= atNs && isMeant(row));
}

/** A device that hangs answers with that: its clock goes on, which is no news. */
function rowsOfDevice(record: RunRecord, id: string, atNs: Ns): number[] {
  const of = (kind: Fact["kind"]) =>
    lastRow(record, atNs, ({ subject, fact }) => subject === `device ${id}` && fact.kind === kind);
  const hung = record.rows[of("hung")]?.fact;
  const row = hung?.kind === "hung" && hung.hung ? of("hung") : of("clock");
  return row < 0 ? [] : [row];
}

function waysOf({ id, way }: { readonly id: string; readonly way: "there" | "back" | null }): string[] {
  const ways = way === null ? ["there", "back"] : [way];
  return [`link ${id} both`, ...ways.map((each) => `link ${id} ${each}`)];
}

/** Of two ways that are alike since the same instant one will do. */
function rowsOfLink(record: RunRecord, link: Parameters<typeof waysOf>[0], atNs: Ns): number[] {
  const rows = waysOf(link)
    .map((whole) => lastRow(record, atNs, ({ subject, fact }) => subject === whole && fact.kind === "link"))
    .filter((row) => row >= 0);
  const looks = rows.map((row) => `${record.rows[row]?.atNs} ${JSON.stringify(record.rows[row]?.fact)}`);
  return rows.filter((_, index) => looks.indexOf(looks[index] as string) === index);
}

function whyOfFeed(
  plan: Plan,
  record: RunRecord,
  feeds: readonly FeedSummary[],
  subject: Extract<WhySubject, { kind: "feed" }>,
  atNs: Ns,
): Why {
  const feed = feedOf(plan, subject.id);
  const states = feeds.find(({ id }) => id === subject.id)?.states ?? [];
  const at = secondsFromNs(atNs);
  const index = states.findLastIndex(({ fromSeconds }) => fromSeconds <= at);
  const stretch = states[index];
  if (stretch === undefined) return { subject, atNs, heard: null, chains: [], nextNs: null };
  const jumps = jumpsHeard(record, feed, states);
  const last = jumps.findLast((jump) => jump.atNs <= atNs);
  const now = last !== undefined && atNs - last.atNs < INSTANT_NS ? last : undefined;
  const row = now === undefined ? feedRow(plan, record, feed, stretch, atNs) : { rows: [now.row], clicks: null };
  const beganNs = nsFromSeconds(stretch.fromSeconds);
  const next = states[index + 1];
  const nexts = [
    ...(next === undefined ? [] : [nsFromSeconds(next.fromSeconds)]),
    ...jumps.filter((jump) => jump.atNs > atNs).map((jump) => jump.atNs),
  ];
  return {
    subject,
    atNs,
    heard: {
      stretch,
      clicks: row.clicks,
      jumps: now?.device ?? null,
      sinceNs: last !== undefined && last.atNs > beganNs ? last.atNs : beganNs,
    },
    chains: row.rows.map((each) => chainFrom(record.rows, each)),
    nextNs: nexts.length === 0 ? null : nexts.reduce((least, at) => (at < least ? at : least)),
  };
}

/** People ask for an instant in whole milliseconds. */
const INSTANT_NS = 1e6;

/** Jumps of clocks on a feed's way, each heard as a dropout; in a silence nobody hears them. */
function jumpsHeard(
  record: RunRecord,
  { through }: FeedPlan,
  states: readonly FeedStretch[],
): readonly { readonly row: number; readonly atNs: Ns; readonly device: string }[] {
  return record.rows.flatMap(({ atNs, subject, fact }, row) => {
    const device = through.find((id) => subject === `device ${id}`);
    if (fact.kind !== "re-aligned" || device === undefined) return [];
    const at = secondsFromNs(atNs);
    const state = states.findLast(({ fromSeconds }) => fromSeconds <= at)?.state;
    return state === "silent" || state === "not-carried" ? [] : [{ row, atNs, device }];
  });
}

/** The row that a feed's trouble begins with: of a device, of a link, or of the port at which it clicks. */
function feedRow(
  plan: Plan,
  record: RunRecord,
  feed: FeedPlan,
  { state, silence, because }: FeedStretch,
  atNs: Ns,
): { readonly rows: readonly number[]; readonly clicks: FeedAnswer["clicks"] } {
  const only = (row: number) => ({ rows: row < 0 ? [] : [row], clicks: null });
  const inputIs = (isMeant: (fact: Extract<Fact, { kind: "input" }>) => boolean): number => {
    const ears = earsAt(plan, record, feed, atNs);
    return lastRow(
      record,
      atNs,
      ({ fact }) => fact.kind === "input" && ears.includes(`${fact.link} ${fact.way}`) && isMeant(fact),
    );
  };
  if (state === "clean" || because === null) {
    return state === "slipping" ? clickRow(plan, record, feed, atNs) : { rows: [], clicks: null };
  }
  const device = deviceById(plan, because);
  switch (silence) {
    case "device-down":
      return { rows: rowsOfDevice(record, because, atNs), clicks: null };
    case "link-down": {
      const hop = feed.hops.find(({ over }) => over.some(({ link }) => link === because));
      const way = hop?.over.find(({ link }) => link === because)?.way ?? null;
      return { rows: rowsOfLink(record, { id: because, way }, atNs), clicks: null };
    }
    case "muted": // unmuting takes its time: the state that muted may be over
      return only(
        lastRow(
          record,
          atNs,
          ({ subject, fact }) =>
            subject === `device ${because}` && fact.kind === "clock" && device?.muteWhile.includes(fact.state) === true,
        ),
      );
    case "finding-rate":
      return only(
        lastRow(
          record,
          atNs,
          ({ subject, fact }) =>
            subject.startsWith(`port ${because}.`) && fact.kind === "converter" && fact.state === "finding",
        ),
      );
    case "out-of-step":
      return only(
        lastRow(
          record,
          atNs,
          ({ subject, fact }) => subject.startsWith(`port ${because}.`) && fact.kind === "input" && !fact.inStep,
        ),
      );
    case null:
      return only(inputIs(({ link, decodes }) => link === because && !decodes));
  }
}

/** What carries each hop at the instant: "main there". */
function earsAt(plan: Plan, record: RunRecord, feed: FeedPlan, atNs: Ns): string[] {
  const looks = looksOf(record);
  return feed.hops.flatMap((hop) => {
    const carrier = valueAt(carrierLine(plan, hop, looks), atNs) ?? null;
    return carrier === null ? [] : [`${carrier.link} ${carrier.way}`];
  });
}

/** Of the trains that it clicks by at the instant, the longest. Step was lost there before the first slip. */
function clickRow(
  plan: Plan,
  record: RunRecord,
  feed: FeedPlan,
  atNs: Ns,
): { readonly rows: readonly number[]; readonly clicks: FeedAnswer["clicks"] } {
  const heard = slipsHeard(plan, record).get(feed.id) ?? [];
  const away = ({ fromNs, toNs }: { fromNs: Ns; toNs: Ns }) =>
    fromNs > atNs ? fromNs - atNs : toNs < atNs ? atNs - toNs : 0;
  const [nearest] = [...heard].sort((a, b) => away(a) - away(b) || b.count - a.count);
  if (nearest === undefined) return { rows: [], clicks: null };
  const { link, way } = nearest.train;
  const hop = feed.hops.find(({ over }) => over.some((each) => each.link === link && each.way === way));
  const clicks = hop === undefined ? null : { link, sender: hop.from, listener: hop.to };
  const by = nearest.fromNs > atNs ? nearest.fromNs : atNs;
  const step = lastRow(record, by, ({ fact }) => fact.kind === "input" && fact.link === link && fact.way === way);
  const input = record.rows[step]?.fact;
  const train = record.rows.findIndex(({ fact }) => fact === nearest.train);
  return { rows: [input?.kind === "input" && !input.inStep ? step : train], clicks };
}

// ---- the chain

function isState({ kind }: Fact): boolean {
  return kind === "clock" || kind === "link" || kind === "converter" || kind === "hung";
}

/** Rows that say no more than the row they come from, which they share the instant with. */
function isBeside(row: Row, next: Row | undefined): boolean {
  const { kind } = row.fact;
  if (kind === "re-aligned" || kind === "wrapped") return true;
  return kind === "flow" && next?.subject === row.subject && next.atNs === row.atNs;
}

/** From a row to its first cause. */
export function chainFrom(rows: readonly Row[], first: number): WhyStep[] {
  const way: number[] = [];
  for (let at = first; at !== FROM_START; at = rowBefore(rows, at)) way.push(at);
  const told = way.filter((at, index) => index === 0 || !isBeside(rows[at] as Row, rows[way[index + 1] as number]));
  return told.map((at, index) => {
    const { atNs, subject, fact } = rows[at] as Row;
    return { row: at, atNs, subject, fact, by: kindOf(rows[at] as Row, rows[told[index + 1] as number]) };
  });
}

function kindOf({ subject, fact }: Row, next: Row | undefined): CauseKind {
  if (fact.kind === "event") return "event";
  if (fact.kind === "clock" && fact.reason === BY_WANDER) return "chance";
  if (next === undefined) return "beginning";
  if (next.subject === subject) return "timeout";
  return next.fact.kind === "event" ? "event" : "message";
}

/** The cause, or the state of the same machine between the two that was waited in. */
function rowBefore(rows: readonly Row[], index: number): number {
  const { cause, subject, fact } = rows[index] as Row;
  if (fact.kind === "clock" && fact.reason === BY_WANDER) return FROM_START;
  // What a device puts out comes of what its clock does.
  const wanted = fact.kind === "flow" ? "clock" : isState(fact) ? fact.kind : null;
  if (wanted === null) return cause;
  for (let at = index - 1; at > cause; at -= 1) {
    const row = rows[at] as Row;
    if (row.subject !== subject || row.fact.kind !== wanted) continue;
    // Out of lock nobody goes by waiting.
    const isWaiting = fact.kind === "flow" || row.fact.kind !== "clock" || row.fact.state !== "locked";
    return isWaiting && passesThrough(rows, at, cause) ? at : cause;
  }
  return cause;
}

function passesThrough(rows: readonly Row[], from: number, wanted: number): boolean {
  let at = from;
  while (at > wanted) at = (rows[at] as Row).cause;
  return at === wanted;
}
