/**
 * The lines between devices on the map: curves that leave a device at its side, keep apart where they are parallel, and
 * know their middle (for a cross or a word) and their ends (for an arrowhead). Pure numbers; the view draws them.
 */
import { sum } from "../../sim/map/across.ts";
import { type Direction, type Layout, type Passage, type Place, type Point, pairKey } from "../../sim/map/layout.ts";
import { boxOf, type LineInRoom, roomiest } from "./spots.ts";

export interface WireWish {
  readonly id: string;
  readonly a: string;
  readonly b: string;
  readonly isStream: boolean;
  readonly word: WordWish;
}

/** The word that may stand at a line. */
export interface WordWish {
  readonly width: number;
  /** It stands there whatever happens; others come where room is left. */
  readonly isSure: boolean;
}

export interface Spot extends Point {
  /** Degrees, in which direction the line goes on: at an end, into the device. */
  readonly angle: number;
}

export interface Wire {
  /** SVG path data from a to b. */
  readonly path: string;
  readonly length: number;
  /** Along the line, up to {@link middle}. */
  readonly middleAt: number;
  readonly middle: Spot;
  /** Where a word about it begins, ends or has its middle: clear of the devices as far as there is room. */
  readonly word: Word;
  readonly a: Spot;
  readonly b: Spot;
  /** How far it goes to the right and down. */
  readonly far: Point;
}

export interface Word extends Point {
  readonly anchor: "start" | "middle" | "end";
  /** Of the room that was looked for. */
  readonly width: number;
  /** Nothing stands there yet. */
  readonly isFree: boolean;
}

/** Between lines of one pair of devices. */
const PARALLEL = 12;
/** What a line keeps from the corner of a device. */
const CORNER = 9;

/** Along the columns and across them: u and v are x and y, or the other way about. */
interface Uv {
  readonly u: number;
  readonly v: number;
}

type Curve = readonly [Uv, Uv, Uv, Uv];

export function wiresOf(layout: Layout, wishes: readonly WireWish[], direction: Direction): ReadonlyMap<string, Wire> {
  const turn = ({ x, y }: Point): Uv => (direction === "across" ? { u: x, v: y } : { u: y, v: x });
  const half = ({ width, height }: Place): Uv =>
    direction === "across" ? { u: width / 2, v: height / 2 } : { u: height / 2, v: width / 2 };
  const known = wishes.filter(({ a, b }) => layout.places.has(a) && layout.places.has(b) && a !== b);
  const groups = new Map<string, WireWish[]>();
  for (const wish of known) {
    const key = `${wish.isStream} ${pairKey(wish.a, wish.b)}`;
    groups.set(key, [...(groups.get(key) ?? []), wish]);
  }
  const slots = sideSlots(
    layout,
    [...groups.values()].filter(([first]) => first?.isStream === false),
    turn,
    half,
  );
  // Where there are so many, a word has no place between them anyhow.
  const isCrowded = known.length > MOST_KEPT_CLEAR;
  const lines = [...groups.values()].flatMap((group) =>
    group.map((wish, index) => {
      const nth = index - (group.length - 1) / 2;
      const [from, to] = [layout.places.get(wish.a)!, layout.places.get(wish.b)!];
      const passages = passagesFor(layout, wish);
      const curves = wish.isStream
        ? bow(turn(from), turn(to), Math.max(half(from).u, half(to).u), nth)
        : route(
            { at: turn(from), half: half(from), slot: slots.get(`${wish.id} a`)! },
            { at: turn(to), half: half(to), slot: slots.get(`${wish.id} b`)! },
            passages.map((passage) => ({ ...turn(passage), reach: passage.reach })),
            nth * PARALLEL,
            [...layout.places]
              .filter(([id]) => id !== wish.a && id !== wish.b)
              .map(([, place]) => ({ at: turn(place), half: half(place) })),
          );
      const side = group.length === 1 ? 0 : nth / ((group.length - 1) / 2);
      // Where it has left the trunk that it shares with others.
      const free = passages[0] === layout.passages.get(pairKey(wish.a, wish.b))?.[0] ? curves.length - 1 : 0;
      const points = isCrowded ? [] : curves.flatMap((curve) => pointsOn(curve, direction));
      return { wish, curves, free, side, points };
    }),
  );
  const wires = new Map<string, Wire>();
  const taken = [...layout.places.values()];
  lines.sort((one, other) => Number(other.wish.word.isSure) - Number(one.wish.word.isSure));
  for (const { wish, curves, free, side } of lines) {
    const room = { side, isStream: wish.isStream, wordWidth: wish.word.width };
    const others = lines.flatMap((line) => (line.wish === wish ? [] : line.points));
    const wire = measured(curves, direction, free, room, taken, others);
    taken.push(boxOf(wire.word));
    wires.set(wish.id, wire);
  }
  return wires;
}

/** From a to b; none where somebody has moved an end, because then they lead nowhere near. */
function passagesFor({ passages, places }: Layout, { a, b }: WireWish): readonly Passage[] {
  const found = passages.get(pairKey(a, b)) ?? [];
  const [from, to] = [places.get(a)!, places.get(b)!];
  const [first, last] = [found[0], found.at(-1)];
  if (first === undefined || last === undefined) return [];
  const far = (one: Point, other: Point) => Math.abs(one.x - other.x) + Math.abs(one.y - other.y);
  return far(from, first) + far(last, to) <= far(from, last) + far(first, to) ? found : [...found].reverse();
}

interface End {
  readonly at: Uv;
  readonly half: Uv;
  /** From the middle of its side. */
  readonly slot: number;
}

/** Spreads the ends at each side of a device, in the order of what they lead to. */
function sideSlots(
  layout: Layout,
  groups: readonly (readonly WireWish[])[],
  turn: (point: Point) => Uv,
  half: (place: Place) => Uv,
): ReadonlyMap<string, number> {
  const sides = new Map<string, { key: string; towards: number }[]>();
  for (const group of groups) {
    for (const [index, wish] of group.entries()) {
      for (const end of ["a", "b"] as const) {
        const [here, there] = [wish[end], wish[end === "a" ? "b" : "a"]];
        const passages = passagesFor(layout, wish);
        const next = passages.length === 0 ? layout.places.get(there)! : passages.at(end === "a" ? 0 : -1)!;
        const [own, other] = [turn(layout.places.get(here)!), turn(next)];
        const side = `${here} ${other.u >= own.u}`;
        const list = sides.get(side) ?? [];
        // Parallel ones in their own order, whoever is at the other end.
        list.push({ key: `${wish.id} ${end}`, towards: other.v + index * 1e-3 });
        sides.set(side, list);
      }
    }
  }
  const slots = new Map<string, number>();
  for (const [side, list] of sides) {
    const room = 2 * (half(layout.places.get(side.split(" ")[0]!)!).v - CORNER);
    const step = list.length < 2 ? 0 : Math.min(PARALLEL, room / (list.length - 1));
    list.sort((one, other) => one.towards - other.towards);
    for (const [index, { key }] of list.entries()) slots.set(key, (index - (list.length - 1) / 2) * step);
  }
  return slots;
}

function route(
  from: End,
  to: End,
  passages: readonly (Uv & { readonly reach: number })[],
  shift: number,
  others: readonly Omit<End, "slot">[],
): readonly Curve[] {
  const begin = { u: from.at.u, v: from.at.v + from.slot };
  const end = { u: to.at.u, v: to.at.v + to.slot };
  if (passages.length === 0 && Math.abs(from.at.u - to.at.u) < from.half.u + to.half.u + 12)
    return besides(from, to, shift, others);
  const isForth = (passages[0]?.u ?? end.u) > begin.u;
  const points: Uv[] = [{ u: begin.u + (isForth ? from.half.u : -from.half.u), v: begin.v }];
  for (const { u, v, reach } of passages) {
    const step = to.at.u > from.at.u ? reach : -reach;
    points.push({ u: u - step, v: v + shift }, { u: u + step, v: v + shift });
  }
  const arrives = (passages.at(-1)?.u ?? begin.u) < end.u;
  points.push({ u: end.u + (arrives ? -to.half.u : to.half.u), v: end.v });
  return points.slice(1).map((point, index) => flowing(points[index]!, point));
}

/** Two in one column: straight where nobody stands between, else round the outside. */
function besides(from: End, to: End, shift: number, others: readonly Omit<End, "slot">[]): readonly Curve[] {
  const [upper, lower] = from.at.v < to.at.v ? [from, to] : [to, from];
  const [top, foot] = [upper.at.v + upper.half.v, lower.at.v - lower.half.v];
  const middle = (from.at.u + to.at.u) / 2 + shift;
  const isBetween = ({ at, half }: Omit<End, "slot">) =>
    Math.abs(at.u - middle) < half.u + 4 && at.v + half.v > top && at.v - half.v < foot;
  if (foot > top && !others.some(isBetween)) {
    const [one, other] = [
      { u: middle, v: top },
      { u: middle, v: foot },
    ];
    return [from === upper ? straight(one, other) : straight(other, one)];
  }
  const out = Math.max(from.at.u + from.half.u, to.at.u + to.half.u) + 26 + Math.abs(from.at.v - to.at.v) / 12 + shift;
  const one = { u: from.at.u + from.half.u, v: from.at.v + from.slot };
  const other = { u: to.at.u + to.half.u, v: to.at.v + to.slot };
  return [[one, { u: out, v: one.v }, { u: out, v: other.v }, other]];
}

function straight(from: Uv, to: Uv): Curve {
  const third = (share: number) => ({ u: from.u + (to.u - from.u) * share, v: from.v + (to.v - from.v) * share });
  return [from, third(1 / 3), third(2 / 3), to];
}

function flowing(from: Uv, to: Uv): Curve {
  const middle = (from.u + to.u) / 2;
  return [from, { u: middle, v: from.v }, { u: middle, v: to.v }, to];
}

/** A stream: from middle to middle, bent to one side so that it is not taken for a cable, and clear of its own column. */
function bow(from: Uv, to: Uv, half: number, nth: number): readonly Curve[] {
  const [du, dv] = [to.u - from.u, to.v - from.v];
  const far = Math.hypot(du, dv);
  const isBeside = Math.abs(du) < half;
  const out = (isBeside ? (4 / 3) * (half + 20) : Math.min(0.16 * far, 60)) + nth * 8;
  const turn = isBeside && dv > 0 ? -1 : 1;
  const [nu, nv] = far === 0 ? [0, 1] : [(-dv / far) * turn, (du / far) * turn];
  const at = (share: number) => ({ u: from.u + du * share + nu * out, v: from.v + dv * share + nv * out });
  return [[from, at(0.25), at(0.75), to]];
}

const SAMPLES = 24;
/** More lines than this are not kept clear of each other's words: each would ask for the whole of every other. */
const MOST_KEPT_CLEAR = 60;

/** A line as small boxes along it. */
function pointsOn(curve: Curve, direction: Direction): readonly Place[] {
  return Array.from({ length: SAMPLES + 1 }, (_, sample) => {
    const { u, v } = pointOn(curve, sample / SAMPLES);
    const [x, y] = direction === "across" ? [u, v] : [v, u];
    return { x, y, width: 3, height: 3 };
  });
}

function measured(
  curves: readonly Curve[],
  direction: Direction,
  free: number,
  of: LineInRoom,
  taken: readonly Place[],
  crossed: readonly Place[],
): Wire {
  const xy = ({ u, v }: Uv): Point => (direction === "across" ? { x: u, y: v } : { x: v, y: u });
  const text = (point: Uv) => `${short(xy(point).x)} ${short(xy(point).y)}`;
  const path = `M${text(curves[0]![0])}${curves.map(([, one, other, end]) => `C${text(one)} ${text(other)} ${text(end)}`).join("")}`;
  const lengths = curves.map((curve) => lengthOf(curve, 1));
  const spot = (curve: Curve, share: number): Spot => {
    const [before, after] = [
      xy(pointOn(curve, Math.max(share - 0.01, 0))),
      xy(pointOn(curve, Math.min(share + 0.01, 1))),
    ];
    return { ...xy(pointOn(curve, share)), angle: angleOf(before, after) };
  };
  const { share, word } = roomiest((share) => spot(curves[free]!, share), of, taken, crossed);
  const start = spot(curves[0]!, 0);
  const points = curves.flatMap((curve) => [0.25, 0.5, 0.75].map((part) => xy(pointOn(curve, part))));
  return {
    path,
    length: sum(lengths),
    middleAt: sum(lengths.slice(0, free)) + lengthOf(curves[free]!, share),
    middle: spot(curves[free]!, share),
    word,
    a: { ...start, angle: start.angle + 180 },
    b: spot(curves.at(-1)!, 1),
    far: { x: Math.max(...points.map(({ x }) => x)), y: Math.max(...points.map(({ y }) => y)) },
  };
}

function angleOf(from: Point, to: Point): number {
  return (Math.atan2(to.y - from.y, to.x - from.x) * 180) / Math.PI;
}

/** Up to a share of its parameter. */
function lengthOf(curve: Curve, share: number): number {
  let length = 0;
  let before = curve[0];
  for (let sample = 1; sample <= SAMPLES; sample += 1) {
    const point = pointOn(curve, (share * sample) / SAMPLES);
    length += Math.hypot(point.u - before.u, point.v - before.v);
    before = point;
  }
  return length;
}

function pointOn([one, two, three, four]: Curve, share: number): Uv {
  const rest = 1 - share;
  const [a, b, c, d] = [rest * rest * rest, 3 * rest * rest * share, 3 * rest * share * share, share * share * share];
  return {
    u: a * one.u + b * two.u + c * three.u + d * four.u,
    v: a * one.v + b * two.v + c * three.v + d * four.v,
  };
}

function short(value: number): string {
  return String(Math.round(value * 10) / 10);
}
