/**
 * Where the names of cables stand in the picture of a rig: each beside its own line, clear of devices and of other names
 * always, of other lines where that can be. Each takes the spot that costs least, given where the others are, in turns
 * until nobody moves; so the same rig has the same picture.
 */
import type { Place, Point } from "../../../sim/map/layout.ts";
import { overlap } from "../../../sim/map/moved.ts";

/** As the style sheet has it. */
const SIZE = 12;
/** Of a line, rounded up, in DejaVu Sans: the widest face that a page may fall back to. */
export const WORD_HEIGHT = 1.22 * SIZE;

/** Rounded up, in the same face. */
export function wordSize(word: string): { readonly width: number; readonly height: number } {
  let width = 0;
  for (const letter of word) width += letterWidth(letter);
  return { width: width * SIZE, height: WORD_HEIGHT };
}

/** Of the size of type. */
function letterWidth(letter: string): number {
  if (/[ijlIJ'|.,:;/\\ f-]/.test(letter)) return 0.37;
  if (/[()[\]rt!]/.test(letter)) return 0.42;
  if (/[mwMWCDGHNOQU@%&#+<=>^~]/.test(letter)) return 1;
  // Letters of the Latin alphabet and its neighbours; beyond them there are some as wide as they are high.
  return letter < "\u02b0" ? 0.72 : 1.1;
}

export interface WordWish {
  /** Points on its line, from end to end, a few pixels apart. */
  readonly line: readonly Point[];
  /** Null: it has none. */
  readonly size: { readonly width: number; readonly height: number } | null;
  /** How far along the line it would best stand, from 0 to 1. */
  readonly share: number;
}

/** Between a line and a word beside it. */
const GAP = 3;
/** Between a word and whatever else: half of its white edge, and some paper. */
export const WORDS_APART = 2;
/** A word is plainly of the line that is nearer by so much. */
const CLEAR = 10;
/** Past a device of one line of words. */
const FAR = 22;
/** Of the length of a line. */
const SHARES = Array.from({ length: 19 }, (_, index) => (index + 1) / 20);
/** What one would rather have than another, by eye: nothing but the order of these counts. */
const COST = { word: 1000, wrong: 100, line: 20, ownLine: 5, nearer: 30, beyond: 4, along: 10, away: 0.25 } as const;
const TURNS_MOST = 60;

interface Spot extends Place {
  readonly cost: number;
}

/**
 * By wish; null where it has no word, or no room is left for it.
 * @param taken devices, heads of arrows
 */
export function placedWords(
  wishes: readonly WordWish[],
  taken: readonly Place[],
  picture: { readonly width: number; readonly height: number },
): readonly (Place | null)[] {
  const lines = wishes.map(({ line }) => ({ line, bounds: boundsOf(line) }));
  const spots = wishes.map((wish, own) => spotsOf(wish, own, lines, taken, picture));
  return movedOn(apartFromEachOther(spots), spots);
}

type Placed = (Spot | null)[];

/** Each at its cheapest, where two want one room one of the two; as many as can be found room for. */
function apartFromEachOther(spots: readonly (readonly Spot[])[]): Placed {
  const placed: Placed = spots.map(() => null);
  const dearer = new Map<Spot, number>();
  const inWay = (spot: Spot, own: number) =>
    placed.filter((other, index) => index !== own && other !== null && meet(spot, other)).length;
  for (let turn = 1, isMoved = true; isMoved && turn <= TURNS_MOST; turn += 1) {
    isMoved = false;
    for (const [own, all] of spots.entries()) {
      const found = cheapest(all, (spot) => (dearer.get(spot) ?? 0) + COST.word * inWay(spot, own));
      if (found !== placed[own]) isMoved = true;
      placed[own] = found;
    }
    // Each turn makes the room dearer to both, so that one of them goes on, and makes others go on.
    for (const [own, spot] of placed.entries()) {
      if (spot === null || inWay(spot, own) === 0) continue;
      dearer.set(spot, (dearer.get(spot) ?? 0) + COST.word * turn);
      isMoved = true;
    }
  }
  const kept: Placed = spots.map(() => null);
  for (const [own, spot] of placed.entries())
    kept[own] = spot !== null && isFree(spot, kept) ? spot : cheapestFree(spots[own] ?? [], kept);
  return kept;
}

/** One takes a better spot, and whoever stood there another one, as long as all of it costs less. */
function movedOn(start: Placed, spots: readonly (readonly Spot[])[]): Placed {
  let placed = start;
  for (let turn = 1, isMoved = true; isMoved && turn <= TURNS_MOST; turn += 1) {
    isMoved = false;
    for (const [own, all] of spots.entries()) {
      const now = placed[own]?.cost ?? COST.word;
      const better = all.filter(({ cost }) => cost < now).sort((one, other) => one.cost - other.cost);
      for (const spot of better) {
        const next = placed.map((other, index) =>
          index === own ? spot : other !== null && meet(spot, other) ? null : other,
        );
        for (const [index, other] of placed.entries())
          if (other !== null && next[index] === null) next[index] = cheapestFree(spots[index] ?? [], next);
        if (costOf(next) >= costOf(placed)) continue;
        placed = next;
        isMoved = true;
        break;
      }
    }
  }
  return placed;
}

function costOf(placed: Placed): number {
  return placed.reduce((sum, spot) => sum + (spot?.cost ?? COST.word), 0);
}

function isFree(spot: Spot, placed: Placed): boolean {
  return !placed.some((other) => other !== null && meet(spot, other));
}

function cheapestFree(spots: readonly Spot[], placed: Placed): Spot | null {
  return cheapest(spots, (spot) => (isFree(spot, placed) ? 0 : Number.POSITIVE_INFINITY));
}

function meet(one: Place, other: Place): boolean {
  return overlap(one, other, WORDS_APART);
}

function cheapest(spots: readonly Spot[], more: (spot: Spot) => number): Spot | null {
  let [found, least] = [null as Spot | null, Number.POSITIVE_INFINITY];
  for (const spot of spots) {
    const cost = spot.cost + (spot.cost < least ? more(spot) : 0);
    if (cost < least) [found, least] = [spot, cost];
  }
  return found;
}

/** All that are clear of what is taken. */
function spotsOf(
  { line, size, share }: WordWish,
  own: number,
  lines: readonly { readonly line: readonly Point[]; readonly bounds: Place }[],
  taken: readonly Place[],
  picture: { readonly width: number; readonly height: number },
): readonly Spot[] {
  if (size === null) return [];
  const [halfWide, halfHigh] = [size.width / 2, size.height / 2];
  const spots: Spot[] = [];
  for (const along of SHARES) {
    const at = line[Math.round(along * (line.length - 1))] as Point;
    const beside = line.filter(({ x }) => Math.abs(x - at.x) <= halfWide + GAP).map(({ y }) => y);
    const abreast = line.filter(({ y }) => Math.abs(y - at.y) <= halfHigh + GAP).map(({ x }) => x);
    const centres: readonly Point[] = [
      { x: at.x, y: Math.min(...beside) - GAP - halfHigh },
      { x: at.x, y: Math.max(...beside) + GAP + halfHigh },
      { x: Math.max(...abreast) + GAP + halfWide, y: at.y },
      { x: Math.min(...abreast) - GAP - halfWide, y: at.y },
      at,
      // Over and under devices at its ends.
      { x: at.x, y: Math.min(...beside) - FAR - halfHigh },
      { x: at.x, y: Math.max(...beside) + FAR + halfHigh },
    ];
    for (const centre of centres) {
      const place: Place = { ...centre, ...size };
      const isInside = centre.x >= halfWide && centre.y >= halfHigh && centre.y <= picture.height - halfHigh;
      if (!isInside || taken.some((other) => meet(place, other))) continue;
      const ownAway = awayFrom(place, line);
      let cost = COST.along * Math.abs(along - share) + COST.away * ownAway + (ownAway === 0 ? COST.ownLine : 0);
      if (centre.x + halfWide > picture.width) cost += COST.beyond;
      for (const [index, { line: other, bounds }] of lines.entries()) {
        if (index === own || !overlap(place, bounds, ownAway + CLEAR)) continue;
        const away = awayFrom(place, other);
        if (away === 0) cost += COST.line;
        // Whose name it is has to be plain from where it stands.
        if (away < ownAway) cost += COST.wrong;
        if (ownAway > 0) cost += COST.nearer * Math.min(1, Math.max(0, 1 - (away - ownAway) / CLEAR));
      }
      spots.push({ ...place, cost });
    }
  }
  return spots;
}

/** From the edge of a place to the nearest point of a line; 0: the line goes through it. */
function awayFrom({ x, y, width, height }: Place, line: readonly Point[]): number {
  let nearest = Number.POSITIVE_INFINITY;
  for (const at of line) {
    const [dx, dy] = [Math.abs(at.x - x) - width / 2, Math.abs(at.y - y) - height / 2];
    nearest = Math.min(nearest, Math.hypot(Math.max(dx, 0), Math.max(dy, 0)));
  }
  return nearest;
}

function boundsOf(line: readonly Point[]): Place {
  const [xs, ys] = [line.map(({ x }) => x), line.map(({ y }) => y)];
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  return { x: (left + right) / 2, y: (top + bottom) / 2, width: right - left, height: bottom - top };
}
