/**
 * The run as lanes: for each device, each way of each link and each feed, what it is over time, in the words and looks
 * of the one table of states. No drawing here: views draw these, tables and files list them.
 */
import type { FeedPlan, LinkPlan, Plan, Way } from "../../shared/plan.ts";
import {
  DEVICE_LOOKS,
  DEVICE_TROUBLE_LOOKS,
  FEED_LOOKS,
  LINK_CLOCK_LOOKS,
  LINK_END_LOOKS,
  LINK_LOOKS,
  REALIGNED_LOOK,
  type StateLook,
} from "../../shared/states.ts";
import type { DeviceSummary, FeedStretch, FeedSummary, LinkStretch, LinkSummary } from "../../shared/summary.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { deviceById, feedById, linkById } from "../by-id.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import type { Run } from "../rehearse.ts";
import { networkBehind } from "../tell/picture.ts";
import { cableIn, counted, grouped, interval, isolated, listener } from "../tell/words.ts";
import { createFollowers, cutByLead, type Followers, leadsOver } from "./follow.ts";
import { networkLane, roleLines, withHeldBack } from "./network-lanes.ts";

export interface Stretch {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  /** Key of the look in `ALL_LOOKS`. */
  readonly key: string;
  readonly look: StateLook;
  /** In words, without the lane's name and the time. */
  readonly says: string;
}

/** A second fact beside the state, drawn as a thin strip at one edge of the lane. */
export interface Strip extends Stretch {
  readonly edge: "top" | "bottom";
}

export interface Mark {
  readonly atSeconds: number;
  readonly key: string;
  readonly look: StateLook;
  readonly says: string;
}

export interface Lane {
  /** "device foh", "network red", "link main there", "feed pa-mix". */
  readonly key: string;
  readonly kind: "device" | "network" | "stream" | "link" | "feed";
  readonly id: string;
  readonly name: string;
  readonly note: string;
  /** What to know about the whole lane before its states are believed; empty: nothing. */
  readonly warning: string;
  readonly stretches: readonly Stretch[];
  readonly strips: readonly Strip[];
  /** Further lines below, each from beginning to end: what a device is on each of its networks. */
  readonly lines: readonly (readonly Stretch[])[];
  readonly marks: readonly Mark[];
}

export interface Lanes {
  readonly all: readonly Lane[];
  readonly followers: Followers;
  /** Whether anybody leads at any time. */
  readonly isLed: boolean;
}

export function lanesOf(run: Run): Lanes {
  const { plan, summary } = run;
  const followers = createFollowers(run);
  const leads = leadsOver(plan, summary, followers);
  const facts = factsBySubject(run);
  return {
    followers,
    isLed: leads.some(({ leader }) => leader !== null),
    all: [
      ...summary.devices.map((device) => deviceLane(run, device, followers, leads, facts)),
      ...summary.networks.flatMap((network) => [
        networkLane(run, network),
        ...summary.links
          .filter(({ id }) => linkById(plan, id)?.stream?.network === network.id)
          .map((link) => linkLane(run, link, facts)),
      ]),
      ...summary.links
        .filter(({ id }) => linkById(plan, id)?.stream === undefined)
        .map((link) => linkLane(run, link, facts)),
      ...summary.feeds.map((feed) => feedLane(plan, feed)),
    ],
  };
}

/** Nothing but what was intended, from beginning to end. */
export function isQuiet(lane: Lane): boolean {
  const isCalm = ({ look }: Stretch) => look.concern === 0;
  return (
    lane.strips.length === 0 &&
    lane.marks.length === 0 &&
    lane.stretches.every(isCalm) &&
    lane.lines.every((line) => line.every(isCalm))
  );
}

/** All instants at which a lane changes, sorted. */
export function changesOf(lane: Lane): readonly number[] {
  const instants = new Set<number>();
  for (const { fromSeconds } of [...lane.stretches, ...lane.lines.flat()]) instants.add(fromSeconds);
  for (const { fromSeconds, toSeconds } of lane.strips) instants.add(fromSeconds).add(toSeconds);
  for (const { atSeconds } of lane.marks) instants.add(atSeconds);
  return [...instants].sort((one, other) => one - other);
}

interface Facts {
  readonly devices: ReadonlyMap<string, readonly Dated<"re-aligned" | "surface" | "hung">[]>;
  /** By "link way". */
  readonly inputs: ReadonlyMap<string, readonly Dated<"input">[]>;
  readonly converters: ReadonlyMap<string, readonly Dated<"converter">[]>;
}

type Fact = Run["record"]["rows"][number]["fact"];
type Dated<Kind extends Fact["kind"]> = Extract<Fact, { kind: Kind }> & { readonly atSeconds: number };

function factsBySubject({ record }: Run): Facts {
  const devices = new Map<string, Dated<"re-aligned" | "surface" | "hung">[]>();
  const inputs = new Map<string, Dated<"input">[]>();
  const converters = new Map<string, Dated<"converter">[]>();
  for (const { atNs, subject, fact } of record.rows) {
    const atSeconds = secondsFromNs(atNs);
    if (fact.kind === "input" && fact.link !== null) {
      put(inputs, `${fact.link} ${fact.way}`, { ...fact, atSeconds });
    } else if (fact.kind === "converter" && fact.link !== null) {
      put(converters, `${fact.link} ${fact.way}`, { ...fact, atSeconds });
    } else if (fact.kind === "re-aligned" || fact.kind === "surface" || fact.kind === "hung") {
      put(devices, subject.replace(/^device /, ""), { ...fact, atSeconds });
    }
  }
  return { devices, inputs, converters };
}

function put<Value>(map: Map<string, Value[]>, key: string, value: Value): void {
  const list = map.get(key);
  if (list === undefined) map.set(key, [value]);
  else list.push(value);
}

function deviceLane(
  run: Run,
  summary: DeviceSummary,
  followers: Followers,
  leads: ReturnType<typeof leadsOver>,
  facts: Facts,
): Lane {
  const device = deviceById(run.plan, summary.id);
  const own = facts.devices.get(summary.id) ?? [];
  const isSwitch = device !== undefined && isPlainSwitch(run.plan, device);
  const stretches = cutByLead(summary.id, summary.states, leads).map(
    ({ state, source, leads, fromSeconds, toSeconds }) => {
      const rank =
        device === undefined || source === null ? 0 : followers.sourcesAt(device, fromSeconds).indexOf(source);
      const key = leads
        ? "leading"
        : isSwitch && state === "free-run"
          ? "works"
          : state === "locked" && rank > 0
            ? "locked-later"
            : state;
      const look = DEVICE_LOOKS[key];
      const behind = source === null ? null : followers.behind(summary.id, source, fromSeconds);
      const port = source === null || source === "internal" ? "" : `port ${source}`;
      // On a network that may change while the device stays as it is: a line of its own says whom it follows there.
      const network = networkBehind(run.plan, summary.id, source);
      const from =
        network !== null
          ? `${port}, ${isolated(network.name)}`
          : behind === null
            ? port
            : `${port}, ${isolated(behind.name)}`;
      const says =
        from === "" || isSwitch
          ? look.word
          : state === "acquiring"
            ? `${look.word}: ${from}`
            : `${look.word} to ${from}`;
      return {
        fromSeconds,
        toSeconds,
        key: `device-${key}`,
        look,
        says: key === "locked-later" ? `${look.word}: ${from}` : says,
      };
    },
  );
  const strips = [
    ...spans(own, "surface", (fact) => !fact.works, run.summary.runSeconds).map((span) => strip(span, "surface-down")),
    ...spans(own, "hung", (fact) => fact.hung, run.summary.runSeconds).map((span) => strip(span, "hung")),
  ];
  const marks = own.flatMap((fact) => {
    if (fact.kind !== "re-aligned") return [];
    const sizeMicroseconds = Math.abs(fact.bySeconds) * 1e6;
    const says = `Re-aligned by ${sizeMicroseconds.toFixed(1)} µs: one dropout on what runs through it`;
    return [{ atSeconds: fact.atSeconds, key: "mark-realigned", look: REALIGNED_LOOK, says }];
  });
  const note = run.plan.leaders[0] === summary.id ? "leads by plan" : "";
  return {
    key: `device ${summary.id}`,
    kind: "device",
    id: summary.id,
    name: summary.name,
    note,
    warning: "",
    stretches,
    strips,
    lines: roleLines(run, summary.id),
    marks,
  };
}

interface Span {
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

/** Stretches over which facts of one kind hold, the last until the end of the run. */
function spans<Kind extends Fact["kind"]>(
  facts: readonly Dated<Fact["kind"]>[],
  kind: Kind,
  holds: (fact: Dated<Kind>) => boolean,
  endSeconds: number,
): readonly Span[] {
  const found: Span[] = [];
  let since: number | null = null;
  for (const fact of facts) {
    if (fact.kind !== kind) continue;
    const is = holds(fact as unknown as Dated<Kind>);
    if (is && since === null) since = fact.atSeconds;
    if (!is && since !== null) {
      if (fact.atSeconds > since) found.push({ fromSeconds: since, toSeconds: fact.atSeconds });
      since = null;
    }
  }
  if (since !== null && since < endSeconds) found.push({ fromSeconds: since, toSeconds: endSeconds });
  return found;
}

function strip(span: Span, key: keyof typeof DEVICE_TROUBLE_LOOKS): Strip {
  const look = DEVICE_TROUBLE_LOOKS[key];
  return { ...span, key: `beside-${key}`, look, says: look.word, edge: "bottom" };
}

function linkLane(run: Run, summary: LinkSummary, facts: Facts): Lane {
  const link = linkById(run.plan, summary.id);
  // What goes over a network carries no clock of its own.
  const isPacket = link?.ethernet !== undefined || link?.stream !== undefined;
  const drawnStretches = summary.states.map((stretch) => ({ ...linkStretch(stretch, isPacket), ...timesOf(stretch) }));
  const stretches = withHeldBack(run, summary.id, drawnStretches);
  const up = summary.states.filter(({ state }) => state === "up");
  const ways = summary.way === "both" ? (["there", "back"] as const) : [summary.way];
  const strips = ways.flatMap((way) => {
    const inputs = facts.inputs.get(`${summary.id} ${way}`) ?? [];
    const edge = way === "there" ? "bottom" : "top";
    const at = link === undefined ? "" : ` at ${isolated(nameOf(run.plan, endOf(link, way)))}`;
    const end = run.summary.runSeconds;
    const drawn = (key: keyof typeof LINK_END_LOOKS, held: readonly Span[]) =>
      overlap(held, up).map((span) => {
        const look = LINK_END_LOOKS[key];
        return { ...span, key: `end-${key}`, look, says: `${look.word}${at}`, edge } as const;
      });
    return [
      ...drawn(
        "not-decoded",
        spans(inputs, "input", (fact) => !fact.decodes, end),
      ),
      ...drawn(
        "out-of-step",
        spans(inputs, "input", (fact) => fact.decodes && !fact.inStep, end),
      ),
      ...drawn(
        "converted",
        spans(
          facts.converters.get(`${summary.id} ${way}`) ?? [],
          "converter",
          (fact) => fact.state === "converting",
          end,
        ),
      ),
    ];
  });
  return {
    key: `link ${summary.id} ${summary.way}`,
    kind: link?.stream === undefined ? "link" : "stream",
    id: summary.id,
    name: summary.id,
    note: link === undefined ? "" : wayWords(run.plan, link, summary.way),
    warning: "",
    stretches,
    strips,
    lines: [],
    marks: [],
  };
}

function linkStretch({ state, clock }: LinkStretch, isPacket: boolean): { key: string; look: StateLook; says: string } {
  if (state === "up" && !isPacket)
    return { key: `clock-${clock}`, look: LINK_CLOCK_LOOKS[clock], says: LINK_CLOCK_LOOKS[clock].word };
  return { key: `link-${state}`, look: LINK_LOOKS[state], says: LINK_LOOKS[state].word };
}

function timesOf({ fromSeconds, toSeconds }: Span): Span {
  return { fromSeconds, toSeconds };
}

/** The device that receives what travels this way. */
function endOf(link: LinkPlan, way: "there" | "back"): string {
  return way === "there" ? link.b.device : link.a.device;
}

function wayWords(plan: Plan, link: LinkPlan, way: Way): string {
  const [a, b] = [isolated(nameOf(plan, link.a.device)), isolated(nameOf(plan, link.b.device))];
  if (way === "both") return `${a} ⇄ ${b}`;
  return way === "there" ? `${a} → ${b}` : `${b} → ${a}`;
}

export function nameOf(plan: Plan, id: string): string {
  return deviceById(plan, id)?.name ?? id;
}

function overlap(spans: readonly Span[], others: readonly Span[]): readonly Span[] {
  return spans.flatMap((span) =>
    others.flatMap((other) => {
      const fromSeconds = Math.max(span.fromSeconds, other.fromSeconds);
      const toSeconds = Math.min(span.toSeconds, other.toSeconds);
      return toSeconds > fromSeconds ? [{ fromSeconds, toSeconds }] : [];
    }),
  );
}

function feedLane(plan: Plan, summary: FeedSummary): Lane {
  const feed = feedById(plan, summary.id);
  const stretches = summary.states.map((stretch) => {
    const key = stretch.state === "silent" ? (stretch.silence ?? "muted") : stretch.state;
    return {
      ...timesOf(stretch),
      key: `feed-${key}`,
      look: FEED_LOOKS[key],
      says: feedWords(plan, stretch, FEED_LOOKS[key]),
    };
  });
  const marks = summary.realignedAtSeconds.map((atSeconds) => ({
    atSeconds,
    key: "mark-realigned",
    look: REALIGNED_LOOK,
    says: "A device on the way re-aligned: one dropout",
  }));
  return {
    key: `feed ${summary.id}`,
    kind: "feed",
    id: summary.id,
    name: summary.name,
    note: feed === undefined ? "" : heardWords(feed),
    warning: summary.mayBeSilent ? "Either silent or clicking: test it" : "",
    stretches,
    strips: [],
    lines: [],
    marks,
  };
}

function heardWords(feed: FeedPlan): string {
  return feed.heardBy.length === 0 ? "" : `heard by ${listener(feed, [feed]).mid}`;
}

function feedWords(plan: Plan, stretch: FeedStretch, look: StateLook): string {
  const { state, slips, silence, because } = stretch;
  if (state === "slipping") {
    if (slips < 3) return counted(slips, "click", "clicks");
    const every = (stretch.toSeconds - stretch.fromSeconds) / (slips - 1);
    return `Clicks every ${interval(every)}, ${grouped(slips)} in all`;
  }
  if (because === null) return look.word;
  const device = deviceById(plan, because);
  const what = device === undefined ? cableIn(plan, because) : isolated(device.name);
  if (silence === "device-down") return `Silent: ${what} is down`;
  if (silence === "link-down") return `Silent: ${what} is down`;
  if (silence === "muted") return `Silent: ${what} mutes`;
  if (silence === "finding-rate") return `Silent: the converter in ${what} is finding the rate`;
  if (silence === "out-of-step") return `Silent: ${what} mutes while out of step`;
  return `${look.word} (${what})`;
}
