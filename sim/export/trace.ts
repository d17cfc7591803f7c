/**
 * A run as trace events in JSON, which general trace viewers open: a complete event for each state of each lane, an
 * instant for each thing that happens in the world, an arrow from what one lane did to what that brought about in
 * another. Thread by thread complete events never overlap, as viewers ask for.
 *
 * Shape: the Trace Event Format, "JSON Object Format", from memory: phases M, X, i, s and f; instants in microseconds,
 * here with three decimals, which are whole nanoseconds.
 */
import { addTo } from "../../shared/lists.ts";
import type { Row } from "../../shared/record.ts";
import { type Ns, nsFromSeconds } from "../../shared/time.ts";
import { type Lane, lanesOf, type Stretch } from "../lanes/lane.ts";
import type { Run } from "../rehearse.ts";
import { eventSentence } from "../tell/events.ts";
import { toldOf } from "../tell/picture.ts";
import { type Looks, looksOf } from "../timeline.ts";

type TraceEvent = { readonly ph: "M" | "X" | "i" | "s" | "f"; readonly pid: number; readonly [field: string]: unknown };

/** Each a process, in this order. */
const GROUPS = { world: 1, device: 2, network: 3, stream: 4, link: 5, feed: 6 } as const;
const GROUP_NAMES: Readonly<Record<keyof typeof GROUPS, string>> = {
  world: "Events",
  device: "Devices",
  network: "Networks",
  stream: "Streams",
  link: "Links",
  feed: "Feeds",
};

interface Thread {
  readonly pid: number;
  readonly tid: number;
}

/** One event a line. */
export function traceText(run: Run, version: string): string {
  const { summary } = run;
  const about = {
    generator: `Pulltest ${version}`,
    title: summary.scenario.title,
    seed: summary.seed,
    scenarioSha256: summary.scenario.sha256,
    assumedNumbers: summary.assumed.length,
  };
  const lines = traceEvents(run).map((event) => JSON.stringify(event));
  return `{"displayTimeUnit":"ms","otherData":${JSON.stringify(about)},"traceEvents":[\n${lines.join(",\n")}\n]}\n`;
}

function traceEvents(run: Run): readonly TraceEvent[] {
  const { all } = lanesOf(run);
  const events: TraceEvent[] = [];
  let threads = 0;
  /** @param place among the threads of its process; what stands beside a lane has the lane's own */
  const thread = (group: keyof typeof GROUPS, name: string, place: number): Thread => {
    threads += 1;
    const here = { pid: GROUPS[group], tid: threads };
    events.push({ ph: "M", ...here, name: "thread_name", args: { name: bare(name) } });
    events.push({ ph: "M", ...here, name: "thread_sort_index", args: { sort_index: place } });
    return here;
  };
  const used = new Set<keyof typeof GROUPS>(["world", ...all.map(({ kind }) => kind)]);
  for (const group of used) {
    const pid = GROUPS[group];
    events.push({ ph: "M", pid, name: "process_name", args: { name: GROUP_NAMES[group] } });
    events.push({ ph: "M", pid, name: "process_sort_index", args: { sort_index: pid } });
  }
  const told = toldOf(run);
  const happened = run.plan.events.map((event) => bare(eventSentence(run.plan, event, told)));
  const world = thread("world", "Events", 0);
  for (const [index, { atNs, do: deed }] of run.plan.events.entries()) {
    // "g": a line through everything.
    events.push({ ph: "i", ...world, s: "g", cat: "world", name: happened[index], ts: micros(atNs), args: { deed } });
  }
  const threadsOf = new Map<string, Thread>(
    all.map((lane, place) => [lane.key, thread(lane.kind, titleOf(lane), place)]),
  );
  const causes = causesIn(run, threadsOf);
  const { trains } = looksOf(run.record);
  for (const [place, lane] of all.entries()) {
    const main = threadsOf.get(lane.key) as Thread;
    const becauseOf = ({ fromSeconds }: Stretch): string | undefined => {
      const cause = causes.get(`${lane.key} ${nsFromSeconds(fromSeconds)}`);
      if (cause === undefined) return undefined;
      return cause.fact.kind === "event" ? happened[cause.fact.index] : cause.subject;
    };
    for (const stretch of lane.stretches) events.push(complete(lane, main, stretch, becauseOf(stretch)));
    for (const { atSeconds, look, says } of lane.marks)
      events.push({
        ...{ ph: "i", ...main, s: "t", cat: lane.kind, name: look.word, ts: micros(nsFromSeconds(atSeconds)) },
        args: { words: bare(says) },
      });
    // Strips of one kind at one end never overlap; two kinds may.
    for (const strips of grouped(lane.strips, ({ key, edge }) => `${key} ${edge}`)) {
      const beside = thread(lane.kind, `${titleOf(lane)}: ${strips[0]?.says ?? ""}`, place);
      for (const strip of strips) events.push(complete(lane, beside, strip));
    }
    for (const [index, line] of lane.lines.entries()) {
      const beside = thread(lane.kind, `${titleOf(lane)}: network ${index + 1}`, place);
      for (const stretch of line) events.push(complete(lane, beside, stretch));
    }
    events.push(...slipEvents(lane, trains, (way) => thread(lane.kind, `${lane.id} ${way}: slips`, place)));
  }
  return [...events, ...arrows(causes, threadsOf)];
}

function complete(lane: Lane, thread: Thread, stretch: Stretch, because?: string): TraceEvent {
  const { fromSeconds, toSeconds, key, look, says } = stretch;
  const [from, to] = [nsFromSeconds(fromSeconds), nsFromSeconds(toSeconds)];
  return {
    ...{ ph: "X", ...thread, cat: lane.kind, name: look.word, ts: micros(from), dur: micros(to - from) },
    args: {
      ...{ id: lane.id, state: key.slice(key.indexOf("-") + 1), words: bare(says) },
      ...(because !== undefined && { because }),
    },
  };
}

/** Of a lane that is a link: a train of slips as one event, however many there are in it. */
function slipEvents({ key, id }: Lane, trains: Looks["trains"], threadFor: (way: string) => Thread): TraceEvent[] {
  return ["there", "back"].flatMap((way) => {
    const isHere = key === `link ${id} ${way}` || key === `link ${id} both`;
    const slips = isHere ? (trains.get(`${id} ${way}`) ?? []) : [];
    if (slips.length === 0) return [];
    const beside = threadFor(way);
    return slips.map(({ fromNs, toNs, sign, count, slipSamples }): TraceEvent => {
      const name = sign > 0 ? "Drops" : "Repeats";
      const args = { id, way, count, slipSamples };
      const phase = count === 1 ? { ph: "i", s: "t" } : { ph: "X", dur: micros(toNs - fromNs) };
      return { ...(phase as { ph: "i" | "X" }), ...beside, cat: "slips", name, ts: micros(fromNs), args };
    });
  });
}

/**
 * By lane and instant ("device foh 1200000000000"), what brought about the state that begins there: the nearest row up
 * the causes that is an event or a state of another lane.
 */
function causesIn({ record }: Run, threadsOf: ReadonlyMap<string, Thread>): ReadonlyMap<string, Row> {
  const { rows } = record;
  const isState = ({ subject, fact }: Row) => (fact.kind === "clock" || fact.kind === "link") && threadsOf.has(subject);
  const found = new Map<string, Row>();
  for (const row of rows) {
    if (!isState(row)) continue;
    const key = `${row.subject} ${row.atNs}`;
    found.delete(key);
    for (let cause = rows[row.cause]; cause !== undefined; cause = rows[cause.cause]) {
      if (cause.fact.kind !== "event" && (cause.subject === row.subject || !isState(cause))) continue;
      found.set(key, cause);
      break;
    }
  }
  return found;
}

/** From lane to lane; events of the world are instants, which no arrow can begin at. */
function arrows(causes: ReadonlyMap<string, Row>, threadsOf: ReadonlyMap<string, Thread>): readonly TraceEvent[] {
  const events: TraceEvent[] = [];
  let id = 0;
  for (const [key, cause] of causes) {
    const from = threadsOf.get(cause.subject);
    const space = key.lastIndexOf(" ");
    const to = threadsOf.get(key.slice(0, space));
    if (cause.fact.kind === "event" || from === undefined || to === undefined) continue;
    id += 1;
    const arrow = { cat: "cause", name: "brings about", id };
    events.push({ ph: "s", ...from, ...arrow, ts: micros(cause.atNs) });
    // "e": at the slice that holds then, not at the next one.
    events.push({ ph: "f", bp: "e", ...to, ...arrow, ts: micros(Number(key.slice(space + 1)) as Ns) });
  }
  return events;
}

function titleOf({ id, name, note }: Lane): string {
  return [name, name === id ? "" : `(${id})`, note === "" ? "" : `, ${note}`].join(" ").replace(/ +,/, ",").trim();
}

function grouped<T>(items: readonly T[], keyOf: (item: T) => string): readonly (readonly T[])[] {
  const groups = new Map<string, T[]>();
  for (const item of items) addTo(groups, keyOf(item), item);
  return [...groups.values()];
}

/** Nanoseconds as the format wants them; a difference of whole ones stays one. */
function micros(ns: number): number {
  return ns / 1000;
}

/** Without the marks that set names apart in running text. */
function bare(text: string): string {
  return text.replaceAll(/[\u2066-\u2069]/g, "");
}
