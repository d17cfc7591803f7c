/**
 * The rig as a picture for paper: black lines on white, no pattern and no colour, so that a cheap printer and a copy of a
 * copy show it all. Where devices stand is what the page's map says; cables of a pair run beside each other.
 */

import type { DevicePlan, Plan } from "../../../shared/plan.ts";
import { hopsOf } from "../../../sim/map/hops.ts";
import { type Direction, type Layout, layoutOf, type Place, type Point, pairKey } from "../../../sim/map/layout.ts";
import { walkedDevices } from "../../../sim/paperwork/walk.ts";
import { inHtml } from "../html.ts";
import { endCounts, sideNeeded, sideOf, slotsOf, type Wire, wiresOf } from "./wires.ts";
import { placedWords, wordSize } from "./words-at-lines.ts";

const BOX = { width: 140, line: 17, padding: 9 } as const;
const NAME_LETTERS = 15;
const MOST_IN_COLUMN = 8;
const DRAWING_WIDTH = 1150;
/** Wider, and names are too small on a page: then columns become rows. */
const WIDTH_MOST = 1250;
/** Among more lines than this words hide what they name; the cable schedule has them all. */
const MOST_WITH_WORDS = 60;
/** Between points of a line that words are held clear of. */
const POINTS_TO_A_CURVE = 60;
const HEAD = { length: 12, width: 11 } as const;

export function rigPicture(plan: Plan): string {
  const hops = hopsOf(plan);
  const devices = walkedDevices(plan);
  const names = new Map(devices.map((device) => [device.id, linesOf(device.name)]));
  const wires = wiresOf(plan);
  const needed = sideNeeded(wires);
  const isCrowded = wires.length > MOST_WITH_WORDS;
  const sizes = wires.map(({ word }) => (isCrowded || word === "" ? null : wordSize(word)));
  const longest = sizes.reduce((most, size) => Math.max(most, size?.width ?? 0), 0);
  const height = (id: string) =>
    Math.max(2 * BOX.padding + BOX.line * (names.get(id)?.length ?? 1), isCrowded ? 0 : needed(id));
  const laid = (direction: Direction) =>
    layoutOf({
      nodes: devices.map(({ id }) => ({ id, hops: hops.get(id) ?? 0, width: BOX.width, height: height(id) })),
      cables: wires.map(({ link }) => ({ a: link.a.device, b: link.b.device })),
      ...{ direction, width: DRAWING_WIDTH, mostInColumn: MOST_IN_COLUMN, moved: new Map() },
      wordWidth: longest + 2 * (HEAD.length + 5),
    });
  const across = laid("across");
  const direction = across.width > WIDTH_MOST ? "down" : "across";
  const layout = direction === "across" ? across : laid("down");
  // Lines are thought of as running from left to right; in rows below each other that is downwards.
  const turned = direction === "across" ? layout : turnedOver(layout);
  const slots = slotsOf(turned, wires);
  const ends = endCounts(wires);
  const drawn = wires.map((wire) => drawnWire(turned, wire, { slots, ends, isDown: direction === "down" }));
  const heads = drawn.flatMap(({ head }) => head ?? []);
  const spots = placedWords(
    drawn.map(({ line, share }, place) => ({ line, share, size: sizes[place] ?? null })),
    [...layout.places.values(), ...heads],
    layout,
  );
  const words = spots.map((spot, place) => (spot === null ? "" : wordAt(spot, wires[place]?.word ?? "")));
  const right = Math.max(
    layout.width,
    ...drawn.flatMap(({ line }) => line.map(({ x }) => x)),
    ...spots.map((spot) => (spot === null ? 0 : spot.x + spot.width / 2)),
  );
  const boxes = devices.map((device) =>
    box(device, layout.places.get(device.id) as Place, names.get(device.id) ?? [], plan),
  );
  const label = inHtml(`Picture of the rig: ${plan.devices.length} devices, ${wires.length} cables`);
  return [
    `<svg class="rig" viewBox="0 0 ${round(right + 4)} ${round(layout.height)}" role="img" aria-label="${label}">`,
    ...drawn.map(({ path }) => path),
    ...boxes,
    ...words,
    "</svg>",
  ].join("\n");
}

interface Around {
  readonly slots: ReadonlyMap<string, number>;
  readonly ends: ReadonlyMap<string, number>;
  readonly isDown: boolean;
}

interface Drawn {
  readonly path: string;
  /** Points on it, from end to end. */
  readonly line: readonly Point[];
  /** Of its arrow, where it has one. */
  readonly head: Place | null;
  /** How far along the line its word would best stand. */
  readonly share: number;
}

function drawnWire(
  { places, passages }: Layout,
  { link, isSpare, into }: Wire,
  { slots, ends, isDown }: Around,
): Drawn {
  const [a, b] = [places.get(link.a.device) as Place, places.get(link.b.device) as Place];
  const start = leaves(a, sideOf(a, b), slots.get(`${link.id} a`) ?? 0);
  const end = leaves(b, sideOf(b, a), slots.get(`${link.id} b`) ?? 0);
  const isBeside = Math.abs(a.x - b.x) < 1;
  const curves = curvesBetween(start, end, {
    isBeside,
    passages: turnedTo(passages.get(pairKey(link.a.device, link.b.device)) ?? [], start),
    shift: slots.get(`${link.id} a`) ?? 0,
  });
  const onPaper = (at: Point) => (isDown ? { x: at.y, y: at.x } : at);
  const text = (at: Point) => point(onPaper(at));
  const path = `M${text(curves[0]?.[0] ?? start)}${curves.map(([, one, two, to]) => `C${text(one)} ${text(two)} ${text(to)}`).join("")}`;
  const tip = into === "a" ? start : end;
  const back = HEAD.length * (into === "a" ? sideOf(a, b) : sideOf(b, a));
  const wing = HEAD.width / 2;
  const head =
    into === null
      ? ""
      : `<path d="M${text(tip)}L${text({ x: tip.x + back, y: tip.y - wing })}L${text({ x: tip.x + back, y: tip.y + wing })}Z"/>`;
  const [length, width] = isDown ? [HEAD.width, HEAD.length] : [HEAD.length, HEAD.width];
  // Nearer to the end at which fewer lines lie beside each other.
  const lead = Math.sign((ends.get(link.a.device) ?? 0) - (ends.get(link.b.device) ?? 0));
  const points = Array.from({ length: POINTS_TO_A_CURVE + 1 }, (_, index) => index / POINTS_TO_A_CURVE);
  return {
    path: `<path class="${isSpare ? "thin" : "wire"}" d="${path}"/>${head}`,
    line: curves.flatMap((curve) => points.map((share) => onPaper(on(curve, share)))),
    head: into === null ? null : { ...onPaper({ x: tip.x + back / 2, y: tip.y }), width: length, height: width },
    share: 0.5 + (lead * (curves.length - 0.78)) / (2 * curves.length),
  };
}

function wordAt({ x, y }: Place, word: string): string {
  return `<text class="word" x="${round(x)}" y="${round(y + 4)}" text-anchor="middle">${inHtml(word)}</text>`;
}

function turnedOver({ places, passages, ...rest }: Layout): Layout {
  return {
    ...rest,
    places: new Map(
      [...places].map(([id, { x, y, width, height }]) => [id, { x: y, y: x, width: height, height: width }]),
    ),
    passages: new Map([...passages].map(([key, all]) => [key, all.map(({ x, y, reach }) => ({ x: y, y: x, reach }))])),
  };
}

type Curve = readonly [Point, Point, Point, Point];

function leaves({ x, y, width }: Place, side: 1 | -1, slot: number): Point {
  return { x: x + (side * width) / 2, y: y + slot };
}

interface Between {
  readonly isBeside: boolean;
  readonly passages: readonly (Point & { readonly reach: number })[];
  readonly shift: number;
}

function curvesBetween(start: Point, end: Point, { isBeside, passages, shift }: Between): readonly Curve[] {
  if (isBeside) {
    const out = start.x + 30 + Math.abs(start.y - end.y) / 6 + shift;
    return [[start, { x: out, y: start.y }, { x: out, y: end.y }, end]];
  }
  const forth = end.x > start.x ? 1 : -1;
  const points = [
    start,
    ...passages.flatMap(({ x, y, reach }) => [
      { x: x - forth * reach, y: y + shift },
      { x: x + forth * reach, y: y + shift },
    ]),
    end,
  ];
  return points.slice(1).map((to, index): Curve => {
    const from = points[index] as Point;
    const half = (from.x + to.x) / 2;
    return [from, { x: half, y: from.y }, { x: half, y: to.y }, to];
  });
}

function turnedTo<P extends Point>(passages: readonly P[], start: Point): readonly P[] {
  const [first, last] = [passages[0], passages.at(-1)];
  if (first === undefined || last === undefined) return passages;
  return Math.abs(first.x - start.x) <= Math.abs(last.x - start.x) ? passages : passages.toReversed();
}

function on([one, two, three, four]: Curve, share: number): Point {
  const rest = 1 - share;
  const [a, b, c, d] = [rest ** 3, 3 * rest * rest * share, 3 * rest * share * share, share ** 3];
  return {
    x: a * one.x + b * two.x + c * three.x + d * four.x,
    y: a * one.y + b * two.y + c * three.y + d * four.y,
  };
}

function box({ id }: DevicePlan, { x, y, width, height }: Place, lines: readonly string[], plan: Plan): string {
  const [left, top] = [x - width / 2, y - height / 2];
  const rect = (inset: number) =>
    `<rect x="${round(left + inset)}" y="${round(top + inset)}" width="${width - 2 * inset}" height="${round(height - 2 * inset)}"/>`;
  // A double edge for whoever leads, as everywhere.
  const edge = plan.leaders[0] === id ? rect(3) : "";
  const words = lines.map(
    (line, index) =>
      `<text class="name" x="${round(x)}" y="${round(y + (index + 0.76 - lines.length / 2) * BOX.line)}" text-anchor="middle">${inHtml(line)}</text>`,
  );
  return `<g>${rect(0)}${edge}${words.join("")}</g>`;
}

/** At most three lines; a longer name is cut. */
function linesOf(name: string): readonly string[] {
  const lines: string[] = [];
  for (const word of name.split(/\s+/)) {
    const last = lines.at(-1);
    if (last !== undefined && `${last} ${word}`.length <= NAME_LETTERS) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word.length > NAME_LETTERS ? `${word.slice(0, NAME_LETTERS - 1)}…` : word);
  }
  return lines.length <= 3 ? lines : [...lines.slice(0, 2), `${lines[2]?.slice(0, NAME_LETTERS - 1)}…`];
}

function point({ x, y }: Point): string {
  return `${round(x)} ${round(y)}`;
}

function round(value: number): string {
  return String(Math.round(value * 10) / 10);
}
