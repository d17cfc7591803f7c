/**
 * The rig as a picture for paper: black lines on white, no pattern and no colour, so that a cheap printer and a copy of a
 * copy show it all. Where devices stand is what the page's map says; cables of a pair run beside each other.
 */

import { cableOf, isWholeCable } from "../../../shared/lines.ts";
import type { DevicePlan, LinkPlan, Plan } from "../../../shared/plan.ts";
import { clockGraph } from "../../../sim/clock-graph.ts";
import { hopsOf } from "../../../sim/map/hops.ts";
import { type Direction, type Layout, layoutOf, type Place, type Point, pairKey } from "../../../sim/map/layout.ts";
import { overlap } from "../../../sim/map/moved.ts";
import { walkedDevices } from "../../../sim/paperwork/walk.ts";
import { inHtml } from "../html.ts";

const BOX = { width: 140, line: 17, padding: 9 } as const;
const NAME_LETTERS = 15;
const MOST_IN_COLUMN = 8;
const DRAWING_WIDTH = 1150;
/** Wider, and names are too small on a page: then columns become rows. */
const WIDTH_MOST = 1250;
/** Between lines at one side of a device. */
const APART = 13;
const WORD_SIZE = 12;
/** Among more lines than this words hide what they name; the cable schedule has them all. */
const MOST_WITH_WORDS = 60;
/** Of a word at a line, on average. */
const LETTER_WIDTH = 6.8;

interface Wire {
  readonly link: LinkPlan;
  readonly isSpare: boolean;
  /** The end at which the clock comes in; null: nobody takes it from this cable. */
  readonly into: "a" | "b" | null;
}

export function rigPicture(plan: Plan): string {
  const hops = hopsOf(plan);
  const devices = walkedDevices(plan);
  const names = new Map(devices.map((device) => [device.id, linesOf(device.name)]));
  const height = (id: string) => 2 * BOX.padding + BOX.line * (names.get(id)?.length ?? 1);
  const wires = wiresOf(plan);
  const laid = (direction: Direction) =>
    layoutOf({
      nodes: devices.map(({ id }) => ({ id, hops: hops.get(id) ?? 0, width: BOX.width, height: height(id) })),
      cables: wires.map(({ link }) => ({ a: link.a.device, b: link.b.device })),
      ...{ direction, width: DRAWING_WIDTH, mostInColumn: MOST_IN_COLUMN, moved: new Map() },
    });
  const across = laid("across");
  const direction = across.width > WIDTH_MOST ? "down" : "across";
  const layout = direction === "across" ? across : laid("down");
  // Lines are thought of as running from left to right; in rows below each other that is downwards.
  const turned = direction === "across" ? layout : turnedOver(layout);
  const slots = slotsOf(turned, wires);
  const ends = endCounts(wires);
  const taken = [...layout.places.values()];
  const isCrowded = wires.length > MOST_WITH_WORDS;
  const drawn = wires.map((wire) =>
    drawnWire(turned, wire, { slots, ends, taken, isDown: direction === "down", isCrowded }),
  );
  const right = Math.max(layout.width, ...drawn.map(({ right }) => right));
  const boxes = devices.map((device) =>
    box(device, layout.places.get(device.id) as Place, names.get(device.id) ?? [], plan),
  );
  const label = inHtml(`Picture of the rig: ${plan.devices.length} devices, ${wires.length} cables`);
  return [
    `<svg class="rig" viewBox="0 0 ${round(right + 4)} ${round(layout.height)}" role="img" aria-label="${label}">`,
    ...drawn.map(({ line }) => line),
    ...boxes,
    ...drawn.map(({ word }) => word),
    "</svg>",
  ].join("\n");
}

function wiresOf(plan: Plan): readonly Wire[] {
  const graph = clockGraph(plan);
  const takes = new Set(
    plan.devices.flatMap(({ id }) => {
      const heard = graph.used(id)?.heard;
      return heard?.kind === "device" ? [`${heard.link} ${id}`] : [];
    }),
  );
  return plan.links
    .filter(({ stream, a, b }) => stream === undefined && a.device !== b.device)
    .map((link) => ({
      link,
      isSpare: plan.spares.some(({ links }) => links.indexOf(link.id) > 0),
      into: takes.has(`${link.id} ${link.b.device}`) ? "b" : takes.has(`${link.id} ${link.a.device}`) ? "a" : null,
    }));
}

/** By "link end": how far from the middle of its side a line leaves, in the order of what it leads to. */
function slotsOf({ places }: Layout, wires: readonly Wire[]): ReadonlyMap<string, number> {
  const sides = new Map<string, { readonly key: string; readonly towards: number }[]>();
  for (const [nth, { link }] of wires.entries()) {
    for (const end of ["a", "b"] as const) {
      const [own, other] = [
        places.get(link[end].device) as Place,
        places.get(link[end === "a" ? "b" : "a"].device) as Place,
      ];
      const side = `${link[end].device} ${sideOf(own, other)}`;
      const list = sides.get(side) ?? [];
      list.push({ key: `${link.id} ${end}`, towards: other.y + nth * 1e-3 });
      sides.set(side, list);
    }
  }
  const slots = new Map<string, number>();
  for (const [side, list] of sides) {
    const room = (places.get(side.split(" ")[0] as string)?.height ?? 0) - 12;
    const step = list.length < 2 ? 0 : Math.min(APART, room / (list.length - 1));
    for (const [index, { key }] of list.toSorted((one, other) => one.towards - other.towards).entries())
      slots.set(key, (index - (list.length - 1) / 2) * step);
  }
  return slots;
}

/** Two in one column are joined round their right side. */
function sideOf(own: Place, other: Place): 1 | -1 {
  return other.x < own.x - 1 ? -1 : 1;
}

interface Around {
  readonly slots: ReadonlyMap<string, number>;
  readonly ends: ReadonlyMap<string, number>;
  readonly isDown: boolean;
  readonly isCrowded: boolean;
  /** Where words and devices stand already; the word of each line is added. */
  readonly taken: Place[];
}

function drawnWire(
  { places, passages }: Layout,
  { link, isSpare, into }: Wire,
  { slots, ends, taken, isDown, isCrowded }: Around,
): { readonly line: string; readonly word: string; readonly right: number } {
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
  const back = 12 * (into === "a" ? sideOf(a, b) : sideOf(b, a));
  const head =
    into === null
      ? ""
      : `<path d="M${text(tip)}L${text({ x: tip.x + back, y: tip.y - 5.5 })}L${text({ x: tip.x + back, y: tip.y + 5.5 })}Z"/>`;
  const name = `${cableOf(link)}${isSpare ? " (spare)" : ""}`;
  const word = isCrowded || (link.line !== undefined && !isWholeCable(link)) ? "" : name;
  // Nearer to the end at which fewer lines lie beside each other, over the line or to the right of it.
  const lead = Math.sign((ends.get(link.a.device) ?? 0) - (ends.get(link.b.device) ?? 0));
  const curve = (lead > 0 ? curves.at(-1) : curves[0]) as Curve;
  const isAside = isBeside || isDown;
  const width = word.length * LETTER_WIDTH;
  const spots = [0.11, 0, 0.2, -0.12, 0.28, -0.2].map((share): Place => {
    const { x, y } = onPaper(on(curve, 0.5 + share * (lead === 0 ? 1 : lead)));
    return { x: isAside ? x + 6 + width / 2 : x, y: isAside ? y : y - WORD_SIZE / 2 - 3, width, height: WORD_SIZE };
  });
  const spot = spots.find((each) => !taken.some((other) => overlap(each, other))) ?? (spots[0] as Place);
  taken.push(spot);
  return {
    line: `<path class="${isSpare ? "thin" : "wire"}" d="${path}"/>${head}`,
    word:
      word === ""
        ? ""
        : `<text class="word" x="${round(spot.x)}" y="${round(spot.y + 4)}" text-anchor="middle">${inHtml(word)}</text>`,
    right: Math.max(...curves.flat().map((at) => onPaper(at).x), spot.x + width / 2),
  };
}

/** How many lines end at each device. */
function endCounts(wires: readonly Wire[]): ReadonlyMap<string, number> {
  const counts = new Map<string, number>();
  for (const { link } of wires)
    for (const { device } of [link.a, link.b]) counts.set(device, (counts.get(device) ?? 0) + 1);
  return counts;
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
      `<text class="name" x="${round(x)}" y="${round(top + BOX.padding + (index + 0.76) * BOX.line)}" text-anchor="middle">${inHtml(line)}</text>`,
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
