/**
 * A value over show time as a chart draws it: spans with a formula each, and what is worth a look inside them. A window
 * is traced from the formulas, so closer looks are as exact as the record.
 */
import { type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import type { Sink } from "./columns.ts";

export interface Span {
  readonly fromNs: Ns;
  /** The first instant that is no longer in it. */
  readonly toNs: Ns;
  /** False where the line begins anew though the span before ends here. */
  readonly isJoined: boolean;
  at(t: Ns): number;
  /** Bound of what the record left out, in seconds of phase. */
  readonly withinSeconds: number;
  /** Instants within, in order, between which the value is a quadratic for all that can be seen. */
  bendsIn(fromNs: Ns, toNs: Ns): readonly Ns[];
  /** Instants within at which it jumps, in order; where there are many for a column, the first and the last of each. */
  jumpsIn?(fromNs: Ns, toNs: Ns, columns: number): readonly Ns[];
  readonly wander: SpanWander | null;
}

export interface SpanWander {
  readonly gridNs: Ns;
  /** Between two knots the value is as good as a straight line. */
  readonly isGentle: boolean;
  /** At a knot the value jumps, as a frequency does; else it only bends. */
  readonly isStepped: boolean;
}

/** What a line is made of: spans in order, none overlapping. */
export interface Course {
  readonly spans: readonly Span[];
  /** End of the show: that instant belongs to the span which lasts until then. */
  readonly endNs: Ns;
  readonly kept: Kept;
}

/** Values at knots are kept, up to so many of a chart: 64 MiB. */
export const KEPT_MOST = 8_388_608;

/** Values at knots that were computed once; NaN: not yet. */
export interface Kept {
  readonly values: Map<Span, Float64Array>;
  readonly budget: { left: number };
}

export function courseOf(spans: readonly Span[], endNs: Ns, budget: { left: number }): Course {
  return { spans, endNs, kept: { values: new Map(), budget } };
}

/** The span that holds at an instant. */
export function spanAt({ spans, endNs }: Course, at: Ns): Span | null {
  const span = spans[placeOf(spans, at)];
  return span !== undefined && (at < span.toNs || at === endNs) && at <= span.toNs ? span : null;
}

export function valueAt(course: Course, seconds: number): number | null {
  const at = nsFromSeconds(seconds);
  const span = spanAt(course, at);
  return span === null ? null : span.at(at);
}

/** Place of the last span that begins at or before an instant; -1 if none does. */
function placeOf(spans: readonly Span[], at: Ns): number {
  let [low, high] = [0, spans.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((spans[middle] as Span).fromNs <= at) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** Evaluations between two moments at which whoever traces may pause. */
const PAUSE_EVERY = 256;

/** A chord may miss a bow by this part of the range that its piece has in the window. */
export const CHORD_SHARE = 0.002;
const PARTS_MOST = 32;
/** In the unit of the chart; bows below are rounding. */
const BOW_LEAST = 1e-9;

/**
 * Tells a sink the course in a window, vertex by vertex, so that straight lines between them are the course: exact at
 * vertices, at extremes and on both sides of each jump, and between them within {@link CHORD_SHARE}.
 */
export function* trace(
  course: Course,
  fromNs: Ns,
  toNs: Ns,
  columns: number,
  sink: Sink,
): Generator<void, void, undefined> {
  const { spans, endNs } = course;
  let work = 0;
  let lastEnd: Ns | null = null;
  for (let place = Math.max(0, placeOf(spans, fromNs)); place < spans.length; place++) {
    const span = spans[place] as Span;
    if (span.fromNs > toNs) break;
    const from = Math.max(span.fromNs, fromNs) as Ns;
    const to = Math.min(span.toNs - (span.toNs === endNs ? 0 : 1), toNs) as Ns;
    if (from > to) continue;
    if (lastEnd !== null && (lastEnd !== from || !span.isJoined)) sink.gap();
    for (const _ of traceSpan(course.kept, span, from, to, columns, sink)) {
      work += 1;
      if (work % PAUSE_EVERY === 0) yield;
    }
    lastEnd = (to + 1) as Ns;
  }
}

/** Yields after about every evaluation. */
function* traceSpan(kept: Kept, span: Span, from: Ns, to: Ns, columns: number, sink: Sink): Generator<void> {
  const { wander } = span;
  const anchors = [...span.bendsIn(from, to), ...(span.jumpsIn?.(from, to, columns) ?? [])];
  if (wander !== null && !wander.isGentle)
    for (let knot = Math.floor(from / wander.gridNs) + 1; knot * wander.gridNs <= to; knot++)
      anchors.push((knot * wander.gridNs) as Ns);
  anchors.sort((one, other) => one - other);
  let begin = from;
  for (let index = 0; index <= anchors.length; index++) {
    const anchor = anchors[index];
    if (anchor !== undefined && anchor <= begin) continue;
    // Up to the instant before, because a value may jump at the anchor itself.
    const end = anchor === undefined ? to : ((anchor - 1) as Ns);
    if (wander?.isGentle && Math.floor(end / wander.gridNs) > Math.floor(begin / wander.gridNs))
      yield* throughKnots(kept, span, wander, begin, end, sink);
    else yield* throughQuadratic(span, begin, end, sink);
    if (anchor !== undefined) begin = anchor;
  }
}

function tell(sink: Sink, at: Ns, value: number): void {
  sink.point(secondsFromNs(at), value);
}

function* throughQuadratic(span: Span, from: Ns, to: Ns, sink: Sink): Generator<void> {
  const first = span.at(from);
  tell(sink, from, first);
  yield;
  if (to <= from) return;
  const last = span.at(to);
  yield;
  const length = to - from;
  const middle = length < 4 ? (first + last) / 2 : span.at((from + Math.round(length / 2)) as Ns);
  const bow = middle - (first + last) / 2;
  const range = Math.max(first, middle, last) - Math.min(first, middle, last);
  if (Math.abs(bow) > Math.max(BOW_LEAST, CHORD_SHARE * range)) {
    const parts = Math.min(PARTS_MOST, Math.ceil(Math.sqrt(Math.abs(bow) / (CHORD_SHARE * range))));
    // y = first + (4·bow + last − first)·u − 4·bow·u², 0 ≤ u ≤ 1: where it turns.
    const turn = (4 * bow + last - first) / (8 * bow);
    const shares = Array.from({ length: parts - 1 }, (_, part) => (part + 1) / parts);
    if (turn > 0 && turn < 1) shares.push(turn);
    shares.sort((one, other) => one - other);
    for (const share of shares) {
      const at = (from + Math.round(share * length)) as Ns;
      tell(sink, at, span.at(at));
      yield;
    }
  }
  tell(sink, to, last);
}

function* throughKnots(
  kept: Kept,
  span: Span,
  { gridNs, isStepped }: SpanWander,
  from: Ns,
  to: Ns,
  sink: Sink,
): Generator<void> {
  const values = roomFor(kept, span, gridNs, isStepped);
  const base = Math.floor(span.fromNs / gridNs) + 1;
  const stride = isStepped ? 2 : 1;
  tell(sink, from, span.at(from));
  for (let knot = Math.floor(from / gridNs) + 1; knot * gridNs <= to; knot++) {
    const at = (knot * gridNs) as Ns;
    const place = (knot - base) * stride;
    let value = values?.[place] ?? Number.NaN;
    let before = isStepped ? (values?.[place + 1] ?? Number.NaN) : value;
    if (Number.isNaN(value)) {
      value = span.at(at);
      before = isStepped ? span.at((at - 1) as Ns) : value;
      if (values !== null) {
        values[place] = value;
        if (isStepped) values[place + 1] = before;
      }
      yield;
    }
    if (isStepped) tell(sink, (at - 1) as Ns, before);
    tell(sink, at, value);
  }
  tell(sink, to, span.at(to));
  yield;
}

/** Null where there is no room left: what is not kept is computed again. */
function roomFor({ values, budget }: Kept, span: Span, gridNs: Ns, isStepped: boolean): Float64Array | null {
  const known = values.get(span);
  if (known !== undefined) return known;
  const count = (Math.floor(span.toNs / gridNs) - Math.floor(span.fromNs / gridNs) + 1) * (isStepped ? 2 : 1);
  if (count > budget.left) return null;
  budget.left -= count;
  const room = new Float64Array(count).fill(Number.NaN);
  values.set(span, room);
  return room;
}
