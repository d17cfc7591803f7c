/**
 * What each feed suffers, cut into pieces that deserve one line each: a long silence, a short dropout (with the
 * re-alignments around it), a stretch of clicks, a stretch that is not carried at all.
 */
import type { FeedPlan } from "../../shared/plan.ts";
import type { FeedStretch, FeedSummary, Silence } from "../../shared/summary.ts";
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { clip } from "../hearing/clicks.ts";
import { type Told, turnsOf } from "./picture.ts";
import {
  agree,
  counted,
  duration,
  grouped,
  interval,
  type Listener,
  listener,
  rhythm,
  showTime,
  times,
} from "./words.ts";

/** Gaps below this belong to one dropout: the rule by which dropouts are counted. */
export const ONE_DROPOUT_SECONDS = 10;
/** Silence below this is told as a dropout, as a listener would. */
const LONG_SILENCE_SECONDS = 10;
/** No ear can tell the length of what is shorter, nor two that are closer: *common practice, no source*. */
const UNHEARD_SECONDS = 0.02;
/** Neighbouring stretches meet at an instant. */
const MEETING_SECONDS = 0.001;

/** Show time, in seconds. */
interface Gap {
  readonly from: number;
  readonly to: number;
}

export interface Piece {
  readonly feed: FeedPlan;
  readonly who: Listener;
  readonly kind: "silent" | "dropout" | "clicks" | "not-carried";
  readonly from: number;
  readonly to: number;
  /** Clicks in it. */
  readonly slips: number;
  /** Separate gaps in a dropout, in order of time. */
  readonly gaps: readonly Gap[];
  readonly silence: Silence | null;
  readonly because: string | null;
  /** Clicks: those before it went on without a pause, at another pace. */
  readonly before?: Piece;
  /** Clicks: the instant, in seconds, from which they go on at another pace. */
  readonly until?: number;
  /** It lasts until the run ends. */
  readonly isOpen: boolean;
}

export function summaryOf({ summary }: Told, feed: FeedPlan): FeedSummary | undefined {
  return summary.feeds.find((entry) => entry.id === feed.id);
}

/** Feeds as people care for them: those nearest the audience first. */
export function feedsInOrder({ plan }: Pick<Told, "plan">): readonly FeedPlan[] {
  const ranks = ["pa", "wedges", "in-ears", "assisted-hearing", "comms", "broadcast", "stream", "record"];
  const rank = ({ heardBy }: FeedPlan) => Math.min(ranks.length, ...heardBy.map((ears) => ranks.indexOf(ears)));
  return plan.feeds
    .map((feed, index) => ({ feed, index }))
    .sort((one, two) => rank(one.feed) - rank(two.feed) || one.index - two.index)
    .map(({ feed }) => feed);
}

/** What is told never changes, and each part of a telling asks for every feed: made once for each. */
const known = new WeakMap<Told, Map<FeedPlan, readonly Piece[]>>();

/** All pieces of one feed in order of time. */
export function piecesOf(told: Told, feed: FeedPlan): readonly Piece[] {
  const own = known.get(told) ?? new Map<FeedPlan, readonly Piece[]>();
  known.set(told, own);
  const pieces = own.get(feed) ?? cutIntoPieces(told, feed);
  own.set(feed, pieces);
  return pieces;
}

function cutIntoPieces(told: Told, feed: FeedPlan): readonly Piece[] {
  const heard = summaryOf(told, feed);
  if (heard === undefined) return [];
  const who = listener(feed, told.plan.feeds);
  const end = told.summary.runSeconds;
  const raw: Piece[] = [];
  for (const stretch of heard.states) {
    // A stretch of clicks cut by a silence can have an end without a click in it.
    if (stretch.state === "clean" || (stretch.state === "slipping" && stretch.slips === 0)) continue;
    const gaps = [{ from: stretch.fromSeconds, to: stretch.toSeconds }];
    const piece = { feed, who, gaps, ...describe(stretch), isOpen: stretch.toSeconds >= end };
    const before = raw[raw.length - 1];
    if (before !== undefined && isSilent(before) && isSilent(piece) && piece.from - before.to < MEETING_SECONDS) {
      raw[raw.length - 1] = joined(before, piece);
    } else raw.push(piece);
  }
  const sized = raw.map((piece) => (isSilent(piece) && isLong(piece) ? { ...piece, kind: "silent" as const } : piece));
  for (const at of heard.realignedAtSeconds) {
    sized.push({
      feed,
      who,
      kind: "dropout",
      from: at,
      to: at,
      slips: 0,
      gaps: [{ from: at, to: at }],
      silence: null,
      because: null,
      isOpen: false,
    });
  }
  sized.sort((one, other) => one.from - other.from);
  const pieces: Piece[] = [];
  for (const piece of sized) {
    const last = pieces[pieces.length - 1];
    if (last !== undefined && belongsTo(last, piece)) pieces[pieces.length - 1] = joined(last, piece);
    else pieces.push(piece);
  }
  const last = pieces[pieces.length - 1];
  if (last?.kind === "clicks" && heard.cleanAgainAtSeconds === null)
    pieces[pieces.length - 1] = { ...last, isOpen: true };
  const paced = pieces.flatMap((piece) => byPace(told, piece));
  // A re-alignment just before a long silence is part of that silence to a listener.
  return paced.filter((piece, index) => {
    const next = paced[index + 1];
    return !(piece.kind === "dropout" && next?.kind === "silent" && next.from - piece.to < 1);
  });
}

/** A pace that differs by less is the same to an ear. */
const SAME_PACE = 1.1;

/** A stretch of clicks, cut where an event changes a clock's frequency and with it the pace. */
function byPace({ plan, record }: Told, piece: Piece): readonly Piece[] {
  if (piece.kind !== "clicks") return [piece];
  const turns = turnsOf(plan).filter((at) => at > piece.from && at < piece.to);
  if (turns.length === 0) return [piece];
  const hops = piece.feed.hops.flatMap((hop) => hop.over);
  const trains = record.rows.flatMap(({ fact }) =>
    fact.kind === "slips" && hops.some(({ link, way }) => link === fact.link && way === fact.way) ? [fact] : [],
  );
  // The last click itself belongs to the last part.
  const borders = [piece.from, ...turns, piece.to + 1e-6];
  const parts = borders.slice(1).flatMap((to, index) => {
    const slips = trains.flatMap((train) => clip(train, nsFromSeconds(borders[index]!), nsFromSeconds(to)) ?? []);
    const count = slips.reduce((sum, part) => sum + part.count, 0);
    if (count === 0) return [];
    const first = Math.min(...slips.map(({ fromNs }) => secondsFromNs(fromNs)));
    const last = Math.max(...slips.map(({ toNs }) => secondsFromNs(toNs)));
    return { ...piece, from: first, to: last, slips: count, isOpen: false, until: to };
  });
  // Trains of a cable that did not carry the feed just then would count too: then nothing is cut.
  if (parts.reduce((sum, { slips }) => sum + slips, 0) !== piece.slips) return [piece];
  const cut: Piece[] = [];
  for (const part of parts) {
    const last = cut.at(-1);
    const [was, is] = [last === undefined ? 0 : gapOf(last), gapOf(part)];
    const isSame = last !== undefined && (last.slips < 3 || part.slips < 3 || Math.max(was / is, is / was) < SAME_PACE);
    if (last === undefined) cut.push(part);
    else if (isSame) cut[cut.length - 1] = { ...last, to: part.to, until: part.until, slips: last.slips + part.slips };
    else cut.push({ ...part, before: last });
  }
  const { until: _, ...end } = cut.at(-1)!;
  cut[cut.length - 1] = { ...end, isOpen: piece.isOpen };
  return cut;
}

/** Mean time between two clicks, in seconds. */
export function gapOf({ from, to, slips }: Piece): number {
  return (to - from) / Math.max(1, slips - 1);
}

function describe(stretch: FeedStretch): Omit<Piece, "feed" | "who" | "gaps" | "isOpen"> {
  const { fromSeconds: from, toSeconds: to, slips, silence, because } = stretch;
  if (stretch.state === "slipping") return { kind: "clicks", from, to, slips, silence: null, because };
  if (stretch.state === "not-carried") return { kind: "not-carried", from, to, slips: 0, silence: null, because };
  return { kind: "dropout", from, to, slips: 0, silence, because };
}

function isSilent({ kind }: Piece): boolean {
  return kind === "silent" || kind === "dropout";
}

function isLong({ from, to }: Piece): boolean {
  return to - from >= LONG_SILENCE_SECONDS;
}

function belongsTo(last: Piece, piece: Piece): boolean {
  const gap = piece.from - last.to;
  if (piece.kind !== "dropout" || piece.isOpen) return false;
  if (last.kind === "silent") return gap < 1;
  return last.kind === "dropout" && gap < ONE_DROPOUT_SECONDS;
}

/** A re-alignment at the edge of a gap, or of another, is no gap of its own. */
function joined(last: Piece, piece: Piece): Piece {
  const isApart = piece.from - last.to >= UNHEARD_SECONDS;
  return {
    ...last,
    to: Math.max(piece.to, last.to),
    gaps: isApart ? [...last.gaps, ...piece.gaps] : meeting(last.gaps, piece.gaps),
    isOpen: last.isOpen || piece.isOpen,
  };
}

function meeting(before: readonly Gap[], after: readonly Gap[]): readonly Gap[] {
  const [last, next] = [before.at(-1), after[0]];
  if (last === undefined || next === undefined) return [...before, ...after];
  return [...before.slice(0, -1), { from: last.from, to: Math.max(last.to, next.to) }, ...after.slice(1)];
}

/** "clicks every 2.6 s until 00:40:00, 1,607 in all", without the listener. */
export function clicksPhrase(told: Told, piece: Piece): string {
  const click = agree(piece.who.plural, "clicks", "click");
  if (piece.slips <= 2) return `${click} ${times(piece.slips)}`;
  if (isShort(piece)) return `${click} ${times(piece.slips)} within ${duration(piece.to - piece.from)}`;
  return `${click} ${regularly(told, piece)}`;
}

/** The same where the listener stands in another column: "a click every 2.6 s until 00:40:00, 1,607 in all". */
export function clicksNoun(told: Told, piece: Piece): string {
  if (piece.slips <= 2) return counted(piece.slips, "click", "clicks");
  if (isShort(piece)) return `${counted(piece.slips, "click", "clicks")} within ${duration(piece.to - piece.from)}`;
  const often = regularly(told, piece);
  return often.includes("times a second") ? `clicks ${often}` : `a click ${often}`;
}

function isShort({ from, to }: Piece): boolean {
  return to - from < ONE_DROPOUT_SECONDS;
}

function regularly(told: Told, piece: Piece): string {
  const until = piece.isOpen ? "to the end" : `until ${showTime(piece.until ?? piece.to)}`;
  return `${pace(told, piece)} ${until}, ${grouped(piece.slips)} in all`;
}

/** "every 2.6 s"; a range where the clocks changed their distance meanwhile. */
export function pace(told: Told, piece: Piece): string {
  const mean = (piece.to - piece.from) / Math.max(1, piece.slips - 1);
  let least = mean;
  let most = mean;
  const hops = piece.feed.hops.flatMap((hop) => hop.over);
  for (const { fact } of told.record.rows) {
    if (fact.kind !== "slips" || fact.count < 10) continue;
    if (!hops.some((hop) => hop.link === fact.link && hop.way === fact.way)) continue;
    const from = secondsFromNs(fact.fromNs);
    const to = secondsFromNs(fact.toNs);
    if (from < piece.from || to > piece.to) continue;
    const gap = (to - from) / (fact.count - 1);
    least = Math.min(least, gap);
    most = Math.max(most, gap);
  }
  if (most / least < 1.5 || mean < 0.5) return rhythm(mean);
  const isNarrow = mean < least * 1.5 || mean * 1.5 > most;
  return isNarrow ? `about every ${interval(mean)}` : `every ${interval(least)} to ${interval(most)}`;
}

/** Gaps that all lie within this are one to a listener. */
const ONE_GAP_SECONDS = 1;

/** Told one by one, and not as the one dropout that they count as. */
export function hasGaps({ from, to, gaps }: Piece): boolean {
  return gaps.length > 1 && to - from >= ONE_GAP_SECONDS;
}

/** "once", "for 0.8 s": a dropout that is a single gap. */
export function dropoutExtent({ from, to }: Piece): string {
  return isHeardLong(to - from) ? `for ${duration(to - from)}` : "once";
}

/** "12 gaps of 0.3 s", "22 gaps of up to 0.3 s", "two gaps". */
export function gapsWords(pieces: readonly Piece[]): string {
  const lengths = pieces.flatMap((piece) =>
    hasGaps(piece) ? piece.gaps.map(({ from, to }) => to - from) : [piece.to - piece.from],
  );
  const gaps = counted(lengths.length, "gap", "gaps");
  const longest = Math.max(...lengths);
  if (!isHeardLong(longest)) return gaps;
  const isSame = lengths.every((length) => duration(length) === duration(longest));
  return `${gaps} of ${isSame ? "" : "up to "}${duration(longest)}`;
}

function isHeardLong(seconds: number): boolean {
  return seconds >= UNHEARD_SECONDS;
}
