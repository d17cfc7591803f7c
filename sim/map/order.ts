/**
 * The order of devices within the columns of the map, by the barycentre of what each is plugged to, in a fixed number of
 * sweeps (K. Sugiyama, S. Tagawa, M. Toda, "Methods for visual understanding of hierarchical system structures", IEEE
 * Trans. SMC 11(2), 1981). Sweeps go over what hangs together in more than one way; all that hangs from it by a single
 * cable is put in afterwards, beside what it hangs from. So one more leaf changes nobody else's order.
 */

export interface Vertex {
  readonly key: string;
  readonly column: number;
  /** Where it stands among equals. */
  readonly rank: number;
}

export type Edges = ReadonlyMap<string, ReadonlySet<string>>;

const SWEEPS = 8;

/** Keys by column, each in order. Edges join vertices of one column or of two that lie side by side. */
export function ordered(vertices: readonly Vertex[], edges: Edges): readonly (readonly string[])[] {
  const byKey = new Map(vertices.map((vertex) => [vertex.key, vertex]));
  const columns = 1 + Math.max(-1, ...vertices.map(({ column }) => column));
  const core = coreOf(vertices, edges);
  const inCore = sweptCore(
    Array.from({ length: columns }, (_, column) =>
      vertices.filter((one) => one.column === column && core.has(one.key)).sort(byRank),
    ),
    edges,
  );
  const at = positions(inCore);
  const hung = hangings(core, byKey, edges);
  return inCore.map((list, column) => {
    const reach = list.map((key) => key);
    const places = [...hung.values()]
      .filter(({ vertex }) => vertex.column === column)
      .map((hanging) => ({ ...hanging, index: placeBeside(hanging.anchor, column, reach, byKey, at, edges) }))
      .sort(
        (one, other) =>
          one.index - other.index ||
          byKey.get(one.anchor)!.column - byKey.get(other.anchor)!.column ||
          at.get(one.anchor)! - at.get(other.anchor)! ||
          comparePaths(one.path, other.path),
      );
    const all: string[] = [];
    for (let index = 0; index <= reach.length; index += 1) {
      for (const place of places) if (place.index === index) all.push(place.vertex.key);
      if (index < reach.length) all.push(reach[index]!);
    }
    return all;
  });
}

function byRank(one: Vertex, other: Vertex): number {
  return one.rank - other.rank || (one.key < other.key ? -1 : one.key > other.key ? 1 : 0);
}

/** What is left when all that hangs by one edge is taken off again and again; of a tree its first vertex. */
function coreOf(vertices: readonly Vertex[], edges: Edges): ReadonlySet<string> {
  const left = new Set(vertices.map(({ key }) => key));
  const degree = new Map(vertices.map(({ key }) => [key, edges.get(key)?.size ?? 0]));
  const loose = vertices.filter(({ key }) => degree.get(key)! <= 1).map(({ key }) => key);
  for (const key of loose) {
    left.delete(key);
    for (const other of edges.get(key) ?? []) {
      if (!left.has(other)) continue;
      degree.set(other, degree.get(other)! - 1);
      if (degree.get(other) === 1) loose.push(other);
    }
  }
  const first = [...vertices].sort((one, other) => one.column - other.column || byRank(one, other))[0];
  if (left.size === 0 && first !== undefined) left.add(first.key);
  return left;
}

function sweptCore(begin: readonly (readonly Vertex[])[], edges: Edges): readonly (readonly string[])[] {
  let order = begin.map((column) => column.map(({ key }) => key));
  let best = order;
  let fewest = crossings(order, edges);
  for (let sweep = 0; sweep < SWEEPS && fewest > 0; sweep += 1) {
    const isForth = sweep % 2 === 0;
    order = order.map((column) => column);
    const walk = order.map((_, index) => (isForth ? index : order.length - 1 - index)).slice(1);
    for (const column of walk) order[column] = byBarycentre(order[column]!, order[column + (isForth ? -1 : 1)]!, edges);
    const count = crossings(order, edges);
    if (count < fewest) [best, fewest] = [order, count];
  }
  return best;
}

function byBarycentre(column: readonly string[], beside: readonly string[], edges: Edges): string[] {
  const place = positions([beside]);
  const weighed = column.map((key, index) => {
    const near = [...(edges.get(key) ?? [])].flatMap((other) => place.get(other) ?? []);
    return { key, index, at: near.length === 0 ? (index + 0.5) / column.length : mean(near) };
  });
  return weighed.sort((one, other) => one.at - other.at || one.index - other.index).map(({ key }) => key);
}

/** Pairs of edges between neighbouring columns that cross. */
export function crossings(order: readonly (readonly string[])[], edges: Edges): number {
  let count = 0;
  for (let column = 1; column < order.length; column += 1) {
    const left = new Map(order[column - 1]!.map((key, index) => [key, index]));
    // Ends on the left of the edges so far, those of the upper ends on the right first.
    const seen: number[] = [];
    for (const key of order[column]!) {
      const ends = [...(edges.get(key) ?? [])].flatMap((other) => left.get(other) ?? []);
      for (const end of ends) for (const other of seen) if (other > end) count += 1;
      seen.push(...ends);
    }
  }
  return count;
}

/** Share of the way down its column, from 0 to 1. */
function positions(order: readonly (readonly string[])[]): ReadonlyMap<string, number> {
  return new Map(order.flatMap((column) => column.map((key, index) => [key, (index + 0.5) / column.length] as const)));
}

interface Hanging {
  readonly vertex: Vertex;
  /** The vertex of the core that it hangs from in the end. */
  readonly anchor: string;
  /** From there on outward, itself the last. */
  readonly path: readonly Vertex[];
}

function hangings(
  core: ReadonlySet<string>,
  byKey: ReadonlyMap<string, Vertex>,
  edges: Edges,
): ReadonlyMap<string, Hanging> {
  const hung = new Map<string, Hanging>();
  const queue = [...core];
  for (const key of queue) {
    for (const next of edges.get(key) ?? []) {
      const vertex = byKey.get(next);
      if (vertex === undefined || core.has(next) || hung.has(next)) continue;
      const before = hung.get(key);
      hung.set(next, { vertex, anchor: before?.anchor ?? key, path: [...(before?.path ?? []), vertex] });
      queue.push(next);
    }
  }
  return hung;
}

function comparePaths(one: readonly Vertex[], other: readonly Vertex[]): number {
  for (let index = 0; index < Math.min(one.length, other.length); index += 1) {
    const step = byRank(one[index]!, other[index]!);
    if (step !== 0) return step;
  }
  return one.length - other.length;
}

/** How many of the core's vertices in a column stand before what hangs from an anchor. */
function placeBeside(
  anchor: string,
  column: number,
  core: readonly string[],
  byKey: ReadonlyMap<string, Vertex>,
  at: ReadonlyMap<string, number>,
  edges: Edges,
): number {
  const { column: from } = byKey.get(anchor)!;
  if (from === column) return core.indexOf(anchor) + 1;
  let [before, furthest] = [0, 0];
  for (const [index, key] of core.entries()) {
    const near = [...(edges.get(key) ?? [])].filter((other) => at.has(other) && byKey.get(other)!.column === from);
    furthest = Math.max(furthest, near.length === 0 ? at.get(key)! : mean(near.map((other) => at.get(other)!)));
    if (furthest <= at.get(anchor)!) before = index + 1;
  }
  return before;
}

/** In the order of size, because the last digits of a sum hang on its order. */
function mean(values: readonly number[]): number {
  return [...values].sort((one, other) => one - other).reduce((sum, value) => sum + value, 0) / values.length;
}
