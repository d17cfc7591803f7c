/**
 * Fill of the buffers that carry feeds, over a run. The record keeps the curve of a fill only while it slips; everywhere
 * else it follows from the flows of both ends by the same law (`sim/receiver.ts`):
 *
 *   fill(t) = start + fs·[(x_s(t − d) − x_r(t)) − (the same at t0)] − slip·(drops − repeats)
 *
 * t0: the link came up, either end has started, or either clock jumped.
 */
import { clockPhaseAt } from "../../shared/clock-phase.ts";
import type { Flow } from "../../shared/flow.ts";
import type { HopPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds, ZERO } from "../../shared/time.ts";
import { linkById } from "../../sim/by-id.ts";
import { type Carrier, carrierLine } from "../../sim/hearing/carriers.ts";
import { countBy, fillAt, slipAt, type Train } from "../../sim/slips.ts";
import { type FlowLine, type Looks, looksOf, stretches, valueAt } from "../../sim/timeline.ts";
import type { Run } from "../run.ts";
import { bendsOfBoth, type Flows, instantsOf } from "./clocks.ts";
import type { Span } from "./course.ts";

/** One way of a link that carries at least one feed at some time. */
export interface FedBuffer extends Carrier {
  readonly plan: LinkPlan;
  readonly from: string;
  readonly to: string;
  /** Ids. */
  readonly feeds: readonly string[];
  /** When it carries one: stretches in order, none touching. */
  readonly carries: readonly Stretch[];
}

interface Stretch {
  readonly fromNs: Ns;
  readonly toNs: Ns;
}

/** In the order of the plan's feeds. Word clock has no buffer, and a converter stands in the place of one. */
export function fedBuffers(run: Run): FedBuffer[] {
  const { plan, record } = run;
  const looks = looksOf(record);
  const found = new Map<string, { carrier: Carrier; hop: HopPlan; feeds: Set<string>; carries: Stretch[] }>();
  for (const feed of plan.feeds) {
    for (const hop of feed.hops) {
      for (const { fromNs, toNs, value } of stretches(carrierLine(plan, hop, looks), record.endNs)) {
        const key = `${value.link} ${value.way}`;
        const entry = found.get(key) ?? { carrier: value, hop, feeds: new Set(), carries: [] };
        found.set(key, entry);
        entry.feeds.add(feed.id);
        entry.carries.push({ fromNs, toNs });
      }
    }
  }
  return [...found.values()].flatMap(({ carrier, hop, feeds, carries }): FedBuffer[] => {
    const link = linkById(plan, carrier.link);
    if (link === undefined || link.channels === 0 || looks.converters.has(`${carrier.link} ${carrier.way}`)) return [];
    const { from, to } = hop;
    return [{ ...carrier, plan: link, from, to, feeds: [...feeds], carries: together(carries) }];
  });
}

function together(parts: readonly Stretch[]): Stretch[] {
  const joined: { fromNs: Ns; toNs: Ns }[] = [];
  for (const { fromNs, toNs } of [...parts].sort((one, other) => one.fromNs - other.fromNs)) {
    const last = joined.at(-1);
    if (last !== undefined && fromNs <= last.toNs) last.toNs = Math.max(last.toNs, toNs) as Ns;
    else joined.push({ fromNs, toNs });
  }
  return joined;
}

/** In samples; none while nothing that can be decoded arrives, or while another link carries. */
export function fillSpans({ plan, record }: Run, flows: Flows, buffer: FedBuffer): Span[] {
  const looks = looksOf(record);
  const theirs = delayedBy(flows.lineOf(buffer.from), nsFromSeconds(buffer.plan.delaySeconds));
  const trains = looks.trains.get(`${buffer.link} ${buffer.way}`) ?? [];
  return livesOf(looks, flows, buffer).flatMap((life) => lifeSpans(plan, flows, buffer, theirs, trains, life));
}

/** From each start of a buffer to its end, or to the next start. */
function livesOf(looks: Looks, flows: Flows, { link, way, from, to, plan }: FedBuffer): Stretch[] {
  const input = looks.inputs.get(`${link} ${way}`);
  if (input === undefined) return [];
  const delayNs = nsFromSeconds(plan.delaySeconds);
  const starts = [...flows.startsOf(to), ...flows.startsOf(from).map((at) => later(at, delayNs))];
  return stretches(input, looks.endNs, (one, other) => one.decodes === other.decodes)
    .filter(({ value }) => value.decodes)
    .flatMap(({ fromNs, toNs }) => {
      const cuts = [fromNs, ...new Set(starts.filter((at) => at > fromNs && at < toNs))].sort((a, b) => a - b);
      return cuts.map((at, index) => ({ fromNs: at, toNs: cuts[index + 1] ?? toNs }));
    });
}

function lifeSpans(
  plan: Plan,
  flows: Flows,
  buffer: FedBuffer,
  theirs: Arriving,
  trains: readonly Train[],
  life: Stretch,
): Span[] {
  const { slipSamples, startSamples } = buffer.plan.buffer;
  const own = flows.lineOf(buffer.to);
  const here = trains.filter(({ fromNs }) => fromNs >= life.fromNs && fromNs < life.toNs);
  const cuts = instantsOf(
    [own, theirs.line],
    [
      ...here.flatMap(({ fromNs, toNs }) => [fromNs, toNs]),
      ...buffer.carries.flatMap((each) => [each.fromNs, each.toNs]),
    ],
    life.fromNs,
    life.toNs,
  );
  const apart = (one: Flow, other: Flow, t: Ns) =>
    plan.sampleRateHz *
    (clockPhaseAt(flows.timebases, one, theirs.sentNs(t)) - clockPhaseAt(flows.timebases, other, t));
  let startApart: number | null = null;
  let [place, carrying] = [0, 0];
  return cuts.flatMap((fromNs, index): Span[] => {
    const toNs = cuts[index + 1] ?? life.toNs;
    const [one, other] = [valueAt(theirs.line, fromNs) ?? null, valueAt(own, fromNs) ?? null];
    if (one === null || other === null) return [];
    startApart ??= apart(one, other, fromNs);
    while (place < here.length && here[place]!.fromNs <= fromNs) place += 1;
    while ((buffer.carries[carrying]?.toNs ?? Number.POSITIVE_INFINITY) <= fromNs) carrying += 1;
    if ((buffer.carries[carrying]?.fromNs ?? Number.POSITIVE_INFINITY) > fromNs) return [];
    const begun = here[place - 1] ?? null;
    const train = begun !== null && fromNs < begun.toNs ? begun : null;
    const net = begun === null ? 0 : begun.netBefore + (train === null ? begun.sign * begun.count : 0);
    const shift = startSamples - startApart - slipSamples * net;
    const span: Span = {
      ...{ fromNs, toNs },
      isJoined: fromNs > life.fromNs,
      at:
        train === null
          ? (t) => shift + apart(one, other, t)
          : (t) => fillAt(train.curve, t) - slipSamples * (net + train.sign * countBy(train, t)),
      withinSeconds: one.withinSeconds + other.withinSeconds,
      bendsIn: (from, to) => bendsOfBoth(flows, one, other, from, to),
      wander: flows.wanderOf([one, other], fromNs, toNs, false),
    };
    return [train === null ? span : { ...span, jumpsIn: (from, to, columns) => slipsIn(train, from, to, columns) }];
  });
}

/**
 * Slips within: all where they are few, else the first and the last of each of so many columns. Between those, every
 * slip of a train jumps between the same two fills.
 */
function slipsIn(train: Train, fromNs: Ns, toNs: Ns, columns: number): Ns[] {
  const before = countBy(train, (fromNs - 1) as Ns);
  const last = Math.min(countBy(train, toNs), train.count);
  const found: Ns[] = [];
  if (last - before <= 2 * columns) {
    for (let k = before + 1; k <= last; k++) found.push(slipAt(train, k));
    return found;
  }
  let done = before;
  for (let column = 1; column <= columns; column++) {
    const endNs = (fromNs + Math.round(((toNs - fromNs) * column) / columns)) as Ns;
    const by = Math.min(countBy(train, endNs), last);
    if (by > done) found.push(slipAt(train, done + 1));
    if (by > done + 1) found.push(slipAt(train, by));
    done = by;
  }
  return found;
}

interface Arriving {
  readonly line: FlowLine;
  /** When what arrives at an instant was sent. */
  sentNs(at: Ns): Ns;
}

function delayedBy(line: FlowLine, delayNs: Ns): Arriving {
  return {
    // What a rig that has settled puts out at the start arrives at the start.
    line: {
      changes: line.changes.map(({ atNs, value }) => ({ atNs: atNs === ZERO ? ZERO : later(atNs, delayNs), value })),
    },
    sentNs: (at) => Math.max(at - delayNs, ZERO) as Ns,
  };
}
