/**
 * Where two runs differ, lane by lane: from when until when, and what each is meanwhile, in words. Both are told with
 * the names of the first, so that a new name is no difference; what is less than a nanosecond apart is at one instant.
 */
import { type Lane, lanesOf, type Stretch } from "../../sim/lanes/lane.ts";
import { inPageOrder } from "../order.ts";
import type { Run } from "../run.ts";
import { type FeedSlips, slipsOf } from "../slips.ts";
import { firstSlipApart, nsOf } from "./slips-apart.ts";

export interface Difference {
  /** The same as `toSeconds` for what has no length: a click, a re-alignment. */
  readonly fromSeconds: number;
  readonly toSeconds: number;
  /** What the lane is in each run then. */
  readonly first: string;
  readonly second: string;
}

/** One lane in both runs; null: that run has no such lane, and then there is nothing to hold it against. */
export interface LanePair {
  readonly key: string;
  readonly name: string;
  readonly first: Lane | null;
  readonly second: Lane | null;
  /** By instant. */
  readonly differences: readonly Difference[];
}

export interface FirstDifference extends Difference {
  readonly pair: LanePair;
  /** Further lanes that begin to differ at the same instant. */
  readonly alsoIn: readonly LanePair[];
}

export interface Differences {
  /** Lanes of the first run in its order, then those that only the second one has. */
  readonly pairs: readonly LanePair[];
  readonly firstDifference: FirstDifference | null;
  /** Every instant at which a difference begins. */
  readonly instants: readonly number[];
  /** The end of the shorter run: beyond it there is one run alone. */
  readonly untilSeconds: number;
  readonly slips: { readonly first: Slips; readonly second: Slips };
}

type Slips = ReadonlyMap<string, FeedSlips>;

/** Each in the order of the page. */
export function differencesOf(one: Run, other: Run): Differences {
  const second = inPageOrder(withNamesOf(one, other));
  const first = inPageOrder(one);
  const untilSeconds = Math.min(first.summary.runSeconds, second.summary.runSeconds);
  const slips = { first: slipsOf(first), second: slipsOf(second) };
  const [lanes, others] = [lanesOf(first).all, new Map(lanesOf(second).all.map((lane) => [lane.key, lane]))];
  const both = lanes.map((lane): LanePair => {
    const twin = others.get(lane.key) ?? null;
    others.delete(lane.key);
    const differences =
      twin === null
        ? []
        : differencesIn(lane, twin, nsOf(untilSeconds), (from, to) =>
            firstSlipApart(slips.first.get(lane.id), slips.second.get(lane.id), from, to),
          );
    return { key: lane.key, name: lane.name, first: lane, second: twin, differences };
  });
  const added = [...others.values()].map(
    (lane): LanePair => ({ key: lane.key, name: lane.name, first: null, second: lane, differences: [] }),
  );
  const pairs = [...both, ...added];
  const instants = [...new Set(pairs.flatMap(({ differences }) => differences.map((each) => each.fromSeconds)))];
  return {
    pairs,
    firstDifference: firstOf(pairs, [first, second]),
    instants: instants.sort((a, b) => a - b),
    untilSeconds,
    slips,
  };
}

/** The same run with the names that devices, feeds and networks have in another one. */
export function withNamesOf(named: Run, run: Run): Run {
  const rename = <One extends { readonly id: string; readonly name: string }>(
    all: readonly One[],
    from: readonly { readonly id: string; readonly name: string }[],
  ): readonly One[] => {
    const names = new Map(from.map(({ id, name }) => [id, name]));
    return all.map((each) => ({ ...each, name: names.get(each.id) ?? each.name }));
  };
  const { plan, summary } = run;
  return {
    ...run,
    plan: {
      ...plan,
      devices: rename(plan.devices, named.plan.devices),
      feeds: rename(plan.feeds, named.plan.feeds),
      ...(plan.networks && { networks: rename(plan.networks, named.plan.networks ?? []) }),
    },
    summary: {
      ...summary,
      devices: rename(summary.devices, named.summary.devices),
      feeds: rename(summary.feeds, named.summary.feeds),
      networks: rename(summary.networks, named.summary.networks),
    },
  };
}

interface Span {
  readonly fromNs: number;
  readonly toNs: number;
}

/** A stretch of difference on one track of a lane: its state, a strip beside it, a line below it. */
interface Apart extends Span {
  readonly track: string;
  readonly first: Stretch | null;
  readonly second: Stretch | null;
}

type SlipApart = (fromSeconds: number, toSeconds: number) => number | null;

function differencesIn(first: Lane, second: Lane, untilNs: number, slipApart: SlipApart): readonly Difference[] {
  const [own, theirs] = [tracksOf(first), tracksOf(second)];
  const apart = [...new Set([...own.keys(), ...theirs.keys()])].flatMap((track) =>
    apartOn(track, own.get(track) ?? [], theirs.get(track) ?? [], untilNs, slipApart),
  );
  return [...stretchesOf(apart, first, second), ...pointsApart(first, second, untilNs)].sort(
    // What lasts says more of a lane than what has no length.
    (a, b) => a.fromSeconds - b.fromSeconds || b.toSeconds - a.toSeconds,
  );
}

const STATE = "state";

/** What holds at the same time, apart: on one track nothing overlaps. What has no length is a point, and on none. */
function tracksOf({ stretches, strips, lines }: Lane): ReadonlyMap<string, readonly Stretch[]> {
  const tracks = new Map<string, Stretch[]>([[STATE, stretches.filter(hasLength)]]);
  for (const strip of strips) {
    // The two ends of a link are told apart by their words.
    const track = `${strip.edge} ${strip.key} ${strip.says}`;
    tracks.set(track, [...(tracks.get(track) ?? []), strip]);
  }
  for (const [index, line] of lines.entries()) tracks.set(`line ${index}`, line.filter(hasLength));
  return tracks;
}

function hasLength({ fromSeconds, toSeconds }: Stretch): boolean {
  return nsOf(toSeconds) > nsOf(fromSeconds);
}

/** How often something clicks, and how often in all, is no state: the clicks themselves are compared. */
function meaningOf(stretch: Stretch | null): string {
  if (stretch === null) return "";
  return isSlipping(stretch) ? stretch.key : `${stretch.key} ${stretch.says}`;
}

function isSlipping(stretch: Stretch | null): boolean {
  return stretch?.key === "feed-slipping";
}

function apartOn(
  track: string,
  first: readonly Stretch[],
  second: readonly Stretch[],
  untilNs: number,
  slipApart: SlipApart,
): readonly Apart[] {
  const found: Apart[] = [];
  const edges = [...first, ...second].flatMap(({ fromSeconds, toSeconds }) => [nsOf(fromSeconds), nsOf(toSeconds)]);
  const instants = [...new Set([...edges, untilNs])].filter((at) => at <= untilNs).sort((a, b) => a - b);
  const [walkFirst, walkSecond] = [walk(first), walk(second)];
  for (const [index, fromNs] of instants.entries()) {
    const toNs = instants[index + 1];
    if (toNs === undefined) break;
    const [one, other] = [walkFirst(fromNs), walkSecond(fromNs)];
    const piece = { track, first: one, second: other };
    if (meaningOf(one) !== meaningOf(other)) found.push({ ...piece, fromNs, toNs });
    else if (isSlipping(one)) {
      const at = slipApart(fromNs / 1e9, toNs / 1e9);
      if (at !== null) found.push({ ...piece, fromNs: nsOf(at), toNs });
    }
  }
  return found;
}

/** Which of them covers an instant, asked with instants that only grow. */
function walk(stretches: readonly Stretch[]): (ns: number) => Stretch | null {
  let index = 0;
  return (ns) => {
    while (index < stretches.length && nsOf(stretches[index]!.toSeconds) <= ns) index += 1;
    const stretch = stretches[index];
    return stretch !== undefined && nsOf(stretch.fromSeconds) <= ns ? stretch : null;
  };
}

/** All tracks of a lane together: cut where what differs changes, joined where the words go on. */
function stretchesOf(apart: readonly Apart[], first: Lane, second: Lane): readonly Difference[] {
  const edges = [...new Set(apart.flatMap(({ fromNs, toNs }) => [fromNs, toNs]))].sort((a, b) => a - b);
  const starting = [...apart].sort((a, b) => a.fromNs - b.fromNs);
  const [firstState, secondState] = [walk(first.stretches.filter(hasLength)), walk(second.stretches.filter(hasLength))];
  const found: Difference[] = [];
  let open: Apart[] = [];
  let next = 0;
  for (const [index, fromNs] of edges.entries()) {
    const toNs = edges[index + 1];
    if (toNs === undefined) break;
    while (next < starting.length && starting[next]!.fromNs <= fromNs) open.push(starting[next++]!);
    open = open.filter((each) => each.toNs > fromNs);
    if (open.length === 0) continue;
    const tracks = [...open].sort((a, b) => rankOf(a) - rankOf(b) || (a.track < b.track ? -1 : 1));
    const words = (pick: (each: Apart) => Stretch | null, state: Stretch | null) => {
      const says = tracks.flatMap((each) => pick(each)?.says ?? []);
      return says.length > 0 ? says.join("; ") : (state?.says ?? "nothing");
    };
    const difference: Difference = {
      fromSeconds: fromNs / 1e9,
      toSeconds: toNs / 1e9,
      first: words((each) => each.first, firstState(fromNs)),
      second: words((each) => each.second, secondState(fromNs)),
    };
    const last = found.at(-1);
    const goesOn =
      last?.toSeconds === difference.fromSeconds &&
      last.first === difference.first &&
      last.second === difference.second;
    if (goesOn) found[found.length - 1] = { ...last, toSeconds: difference.toSeconds };
    else found.push(difference);
  }
  return found;
}

function rankOf({ track }: Apart): number {
  return track === STATE ? 0 : 1;
}

interface Point {
  readonly ns: number;
  readonly says: string;
}

/** What has no length and is in one of the two alone. How far something re-aligned is no difference: that it did is. */
function pointsApart(first: Lane, second: Lane, untilNs: number): readonly Difference[] {
  const [own, theirs] = [pointsOf(first), pointsOf(second)];
  const words = (lane: Lane, ns: number) =>
    lane.stretches.findLast(({ fromSeconds }) => nsOf(fromSeconds) <= ns)?.says ?? "nothing";
  const alone = (from: ReadonlyMap<string, Point>, other: ReadonlyMap<string, Point>) =>
    [...from].flatMap(([key, point]) => (other.has(key) || point.ns > untilNs ? [] : [point]));
  const at = ({ ns }: Point) => ({ fromSeconds: ns / 1e9, toSeconds: ns / 1e9 });
  return [
    ...alone(own, theirs).map((point) => ({ ...at(point), first: point.says, second: words(second, point.ns) })),
    ...alone(theirs, own).map((point) => ({ ...at(point), first: words(first, point.ns), second: point.says })),
  ];
}

function pointsOf({ stretches, marks }: Lane): ReadonlyMap<string, Point> {
  const points = [
    ...marks.map(({ atSeconds, key, says }) => ({ ns: nsOf(atSeconds), key, says })),
    ...stretches
      .filter((each) => !hasLength(each))
      .map(({ fromSeconds, key, says }) => ({ ns: nsOf(fromSeconds), key, says })),
  ];
  return new Map(points.map(({ ns, key, says }) => [`${ns} ${key}`, { ns, says }]));
}

/** Of the lanes that differ from the same instant on, the one whose row stands first in a record: what led to the rest. */
function firstOf(pairs: readonly LanePair[], runs: readonly Run[]): FirstDifference | null {
  const starts = pairs.flatMap((pair) => {
    const [difference] = pair.differences;
    return difference === undefined ? [] : [{ pair, difference, ns: nsOf(difference.fromSeconds) }];
  });
  if (starts.length === 0) return null;
  const ns = starts.reduce((least, each) => Math.min(least, each.ns), Number.POSITIVE_INFINITY);
  const rowOf = (pair: LanePair) => {
    const places = runs.map(({ record }) =>
      record.rows.findIndex((row) => row.subject === pair.key && row.atNs === ns),
    );
    return Math.min(...places.map((place) => (place < 0 ? Number.POSITIVE_INFINITY : place)));
  };
  const together = starts.filter((each) => each.ns === ns).map((each) => ({ ...each, row: rowOf(each.pair) }));
  const head = together.reduce((one, other) => (other.row < one.row ? other : one));
  return {
    ...head.difference,
    pair: head.pair,
    alsoIn: together.filter((each) => each !== head).map(({ pair }) => pair),
  };
}
