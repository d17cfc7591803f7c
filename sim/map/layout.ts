/**
 * Where the devices of a rig stand on the map: columns by hops from the leader, side by side; on a narrow page rows, one
 * below the other. Pure, and the same for the same rig. What a person has moved stays where it was put, and the others
 * make room.
 */
import { clamp, settledAcross, sum } from "./across.ts";
import { withMoved } from "./moved.ts";
import { ordered, type Vertex } from "./order.ts";

/** Columns side by side, or rows one below the other. */
export type Direction = "across" | "down";

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** x and y are its centre. */
export interface Place extends Point {
  readonly width: number;
  readonly height: number;
}

export interface LayoutNode {
  readonly id: string;
  readonly hops: number;
  readonly width: number;
  readonly height: number;
}

export interface LayoutWish {
  /** In the order in which they are listed elsewhere. */
  readonly nodes: readonly LayoutNode[];
  /** Cables; streams do not pull anything anywhere. */
  readonly cables: readonly { readonly a: string; readonly b: string }[];
  readonly direction: Direction;
  /** Width to be filled, where the rig has enough columns for it. */
  readonly width: number;
  /** Longer columns are cut into several. */
  readonly mostInColumn: number;
  /** Room between columns for words that are longer than most, where the width allows; left out: for none. */
  readonly wordWidth?: number;
  readonly moved: ReadonlyMap<string, Point>;
}

/** Where a cable passes a column without ending there. */
export interface Passage extends Point {
  /** How far it goes straight, to both sides. */
  readonly reach: number;
}

export interface Layout {
  readonly places: ReadonlyMap<string, Place>;
  /** By `pairKey`; from the end with fewer hops on. */
  readonly passages: ReadonlyMap<string, readonly Passage[]>;
  /** Ids by column, in order. */
  readonly columns: readonly (readonly string[])[];
  readonly width: number;
  readonly height: number;
}

/** Room around the whole for outlines; at the top for words as well. */
export const MARGIN = 14;
const TOP = 34;
/** Outlines of two clocks that stand beside each other have to pass between: each is 9 wide. */
const BETWEEN = { across: 28, down: 19 } as const;
const BESIDE_PASSAGE = 11;
const COLUMN_GAP = { across: { least: 46, most: 150 }, down: { least: 58, most: 58 } } as const;
/** Columns of one hop count that were cut apart stand closer. */
const CUT_GAP = { across: 40, down: 40 } as const;
const PART_GAP = 34;

export function pairKey(a: string, b: string): string {
  return a < b ? `${a} ${b}` : `${b} ${a}`;
}

export function layoutOf(wish: LayoutWish): Layout {
  const parts = partsOf(wish);
  const [single, joined] = [
    parts.filter(({ length }) => length === 1).flat(),
    parts.filter(({ length }) => length > 1),
  ];
  const places = new Map<string, Place>();
  const passages = new Map<string, readonly Passage[]>();
  const columns: (readonly string[])[] = [];
  let [width, y] = [0, TOP];
  for (const nodes of joined) {
    const part = layoutOfPart({ ...wish, nodes });
    for (const [id, place] of part.places) places.set(id, { ...place, x: place.x + MARGIN, y: place.y + y });
    for (const [key, bends] of part.passages)
      passages.set(
        key,
        bends.map((bend) => ({ ...bend, x: bend.x + MARGIN, y: bend.y + y })),
      );
    columns.push(...part.columns);
    width = Math.max(width, part.width);
    y += part.height + PART_GAP;
  }
  const row = rowsOf(single, Math.max(width, wish.width - 2 * MARGIN), BETWEEN[wish.direction]);
  for (const [id, place] of row) places.set(id, { ...place, x: place.x + MARGIN, y: place.y + y });
  if (single.length > 0) columns.push(single.map(({ id }) => id));
  const settled = wish.moved.size === 0 ? places : withMoved(places, wish.moved);
  const far = (of: (place: Place) => number) => Math.max(0, ...[...settled.values()].map(of)) + MARGIN;
  return {
    places: settled,
    passages,
    columns,
    width: Math.max(
      far(({ x, width }) => x + width / 2),
      width + 2 * MARGIN,
    ),
    height: far(({ y, height }) => y + height / 2),
  };
}

/** What hangs together by cables, in the order of the wish. */
function partsOf({ nodes, cables }: LayoutWish): readonly (readonly LayoutNode[])[] {
  const part = new Map(nodes.map(({ id }) => [id, id]));
  const root = (id: string): string => (part.get(id) === id ? id : root(part.get(id)!));
  for (const { a, b } of cables) if (part.has(a) && part.has(b)) part.set(root(a), root(b));
  const found = new Map<string, LayoutNode[]>();
  for (const node of nodes) {
    const key = root(node.id);
    found.set(key, [...(found.get(key) ?? []), node]);
  }
  return [...found.values()];
}

function layoutOfPart(wish: LayoutWish): Layout {
  const { nodes, direction } = wish;
  const first = orderedIn(wish, rankedColumns(nodes.map(({ id, hops }) => ({ id, hops }))));
  const cut = first.columns.flatMap((column) =>
    chunks(
      column.filter((key) => first.byKey.has(key)),
      wish.mostInColumn,
    ),
  );
  const { columns, byKey, routes, edges } = orderedIn(wish, cut);

  const size = (key: string) => {
    const node = byKey.get(key);
    if (node === undefined) return { along: 0, across: 0 };
    return direction === "across"
      ? { along: node.width, across: node.height }
      : { along: node.height, across: node.width };
  };
  const gap = (one: string, other: string) =>
    byKey.has(one) && byKey.has(other) ? BETWEEN[direction] : BESIDE_PASSAGE;
  const across = settledAcross(columns, edges, (key) => size(key).across, gap);

  const thick = columns.map((column) => Math.max(0, ...column.map((key) => size(key).along)));
  const isCut = cut.map((column, index) => hopsOf(byKey, column) === hopsOf(byKey, cut[index - 1]));
  const { least } = COLUMN_GAP[direction];
  const most = Math.max(COLUMN_GAP[direction].most, direction === "across" ? (wish.wordWidth ?? 0) : 0);
  const wide = isCut.filter((cut, index) => index > 0 && !cut).length;
  const used = sum(thick) + isCut.filter((cut) => cut).length * CUT_GAP[direction];
  const open = wide === 0 ? least : clamp((wish.width - 2 * MARGIN - used) / wide, least, most);
  const middles: number[] = [];
  let along = 0;
  for (const [index, size] of thick.entries()) {
    if (index > 0) along += isCut[index] === true ? CUT_GAP[direction] : Math.floor(open);
    middles.push(along + size / 2);
    along += size;
  }

  const places = new Map<string, Place>();
  const spots = new Map<string, Passage>();
  for (const [index, column] of columns.entries()) {
    for (const key of column) {
      const [middle, at] = [middles[index]!, across.at.get(key)!];
      const point = direction === "across" ? { x: middle, y: at } : { x: at, y: middle };
      const node = byKey.get(key);
      if (node === undefined) spots.set(key, { ...point, reach: thick[index]! / 2 });
      else places.set(key, { ...point, width: node.width, height: node.height });
    }
  }
  const passages = new Map([...routes].map(([key, route]) => [key, route.map((spot) => spots.get(spot)!)]));
  const [width, height] = direction === "across" ? [along, across.extent] : [across.extent, along];
  return { places, passages, columns: columns.map((column) => column.filter((key) => byKey.has(key))), width, height };
}

/** Columns without gaps in their numbers. */
function rankedColumns(
  nodes: readonly { readonly id: string; readonly hops: number }[],
): readonly (readonly string[])[] {
  const hops = [...new Set(nodes.map((node) => node.hops))].sort((one, other) => one - other);
  return hops.map((each) => nodes.filter((node) => node.hops === each).map(({ id }) => id));
}

function hopsOf(byKey: ReadonlyMap<string, LayoutNode>, column: readonly string[] | undefined): number | null {
  return byKey.get(column?.[0] ?? "")?.hops ?? null;
}

/** Evenly cut, so that no piece is longer than it may be. */
function chunks(list: readonly string[], most: number): readonly (readonly string[])[] {
  const pieces = Math.max(1, Math.ceil(list.length / most));
  return Array.from({ length: pieces }, (_, piece) =>
    list.slice(Math.round((piece * list.length) / pieces), Math.round(((piece + 1) * list.length) / pieces)),
  );
}

/**
 * Orders devices in given columns. Where a cable passes columns it takes a place in them; cables from one device share
 * it, so that a star of many looks like a trunk with branches.
 */
function orderedIn({ nodes, cables }: LayoutWish, columns: readonly (readonly string[])[]) {
  const byKey = new Map(nodes.map((node) => [node.id, node]));
  const rank = new Map(nodes.map(({ id }, index) => [id, index]));
  const columnOf = new Map(columns.flatMap((column, index) => column.map((id) => [id, index] as const)));
  const edges = new Map<string, Set<string>>(nodes.map(({ id }) => [id, new Set()]));
  const join = (one: string, other: string) => {
    for (const [key, to] of [[one, other] as const, [other, one] as const]) {
      const known = edges.get(key);
      if (known === undefined) edges.set(key, new Set([to]));
      else known.add(to);
    }
  };
  const passing = new Map<string, Vertex>();
  const routes = new Map<string, readonly string[]>();
  for (const { a, b } of cables) {
    const [from, to] = (columnOf.get(a) ?? 0) <= (columnOf.get(b) ?? 0) ? [a, b] : [b, a];
    if (from === to || !columnOf.has(from) || !columnOf.has(to) || routes.has(pairKey(a, b))) continue;
    const route: string[] = [];
    for (let column = columnOf.get(from)! + 1; column < columnOf.get(to)!; column += 1) {
      // No id has a space.
      const key = `${from} ${column}`;
      passing.set(key, { key, column, rank: rank.get(from)! });
      route.push(key);
    }
    routes.set(pairKey(a, b), route);
    [from, ...route, to].reduce((one, other) => {
      join(one, other);
      return other;
    });
  }
  const devices = nodes.map(({ id }): Vertex => ({ key: id, column: columnOf.get(id)!, rank: rank.get(id)! }));
  // In the middle of what branches off beside it, where a long column was cut.
  const trunks = [...passing.values()].map((vertex): Vertex => {
    if (hopsOf(byKey, columns[vertex.column]) !== hopsOf(byKey, columns[vertex.column + 1])) return vertex;
    const source = vertex.key.split(" ")[0]!;
    const before = columnOf.get(source)! === vertex.column - 1 ? source : `${source} ${vertex.column - 1}`;
    const beside = [...(edges.get(before) ?? [])].filter((key) => columnOf.get(key) === vertex.column);
    const ranks = beside.map((key) => rank.get(key)!).sort((one, other) => one - other);
    return ranks.length === 0 ? vertex : { ...vertex, rank: ranks[ranks.length >> 1]! - 0.5 };
  });
  return { columns: ordered([...devices, ...trunks], edges), byKey, routes, edges };
}

/** What no cable leads to: side by side, in rows. */
function rowsOf(nodes: readonly LayoutNode[], width: number, gap: number): ReadonlyMap<string, Place> {
  const places = new Map<string, Place>();
  let [x, y, tall] = [0, 0, 0];
  for (const node of nodes) {
    if (x > 0 && x + node.width > width) [x, y, tall] = [0, y + tall + gap, 0];
    places.set(node.id, { x: x + node.width / 2, y: y + node.height / 2, width: node.width, height: node.height });
    x += node.width + gap;
    tall = Math.max(tall, node.height);
  }
  return places;
}
