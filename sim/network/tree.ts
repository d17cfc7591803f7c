/**
 * Bridges and the cables between them as a graph: the spanning tree, what is connected, and where there is a loop.
 * The tree is that of IEEE 802.1D (from memory) with cables that all cost the same: the root is the lowest bridge by
 * priority, then id; each bridge goes the way of fewest hops, ties by the lowest bridge upstream, then the lowest cable.
 */
export interface TreeBridge {
  readonly id: string;
  readonly priority: number;
}

export interface CableEnd {
  /** Index of the bridge. */
  readonly bridge: number;
  readonly port: number;
}

export interface TreeCable {
  readonly id: string;
  readonly a: CableEnd;
  readonly b: CableEnd;
}

/** What the tree makes of a cable. Of one held back, one end is blocked: the one further from the root. */
export type CableRole = "carries" | "blocked-at-a" | "blocked-at-b" | "down";

export interface Tree {
  /** By bridge: the root of all that it is connected with. */
  readonly root: readonly number[];
  readonly hops: readonly number[];
  /** By bridge: the cable that leads to the root, by index; null at a root. */
  readonly upstream: readonly (number | null)[];
  /** By cable. */
  readonly roles: readonly CableRole[];
}

/** Index by rank: lowest priority first, then lowest id. */
export function byRank(bridges: readonly TreeBridge[]): number[] {
  return bridges
    .map((_, index) => index)
    .sort((i, j) => {
      const [a, b] = [bridges[i] as TreeBridge, bridges[j] as TreeBridge];
      return a.priority - b.priority || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0);
    });
}

interface Neighbour {
  readonly bridge: number;
  readonly cable: number;
}

/** By bridge: the other end of each cable that is up. A cable from a bridge to itself leads nowhere. */
function neighboursOf(count: number, cables: readonly TreeCable[], isUp: readonly boolean[]): Neighbour[][] {
  const found: Neighbour[][] = Array.from({ length: count }, () => []);
  for (const [cable, { a, b }] of cables.entries()) {
    if (isUp[cable] !== true || a.bridge === b.bridge) continue;
    (found[a.bridge] as Neighbour[]).push({ bridge: b.bridge, cable });
    (found[b.bridge] as Neighbour[]).push({ bridge: a.bridge, cable });
  }
  return found;
}

/** @param isUp by cable. */
export function spanningTree(
  bridges: readonly TreeBridge[],
  cables: readonly TreeCable[],
  isUp: readonly boolean[],
): Tree {
  const neighbours = neighboursOf(bridges.length, cables, isUp);
  const ranked = byRank(bridges);
  const rank = new Array<number>(bridges.length);
  for (const [place, bridge] of ranked.entries()) rank[bridge] = place;

  const root = new Array<number>(bridges.length).fill(-1);
  const hops = new Array<number>(bridges.length).fill(0);
  for (const first of ranked) {
    if (root[first] !== -1) continue;
    root[first] = first; // the lowest of all that are connected with it, since no lower one has reached it
    const open = [first];
    for (const at of open) {
      for (const { bridge } of neighbours[at] as Neighbour[]) {
        if (root[bridge] !== -1) continue;
        root[bridge] = first;
        hops[bridge] = (hops[at] as number) + 1;
        open.push(bridge);
      }
    }
  }

  const upstream = bridges.map((_, bridge) => {
    let best: Neighbour | null = null;
    for (const next of neighbours[bridge] as Neighbour[]) {
      if ((hops[next.bridge] as number) >= (hops[bridge] as number)) continue;
      const by = best === null ? -1 : (rank[next.bridge] as number) - (rank[best.bridge] as number);
      if (by < 0 || (by === 0 && best !== null && idOf(next) < idOf(best))) best = next;
    }
    return best === null ? null : best.cable;
  });
  function idOf({ cable }: Neighbour): string {
    return (cables[cable] as TreeCable).id;
  }

  const roles = cables.map(({ a, b }, cable): CableRole => {
    if (isUp[cable] !== true) return "down";
    if (upstream[a.bridge] === cable || upstream[b.bridge] === cable) return "carries";
    const nearer =
      (hops[a.bridge] as number) - (hops[b.bridge] as number) ||
      (rank[a.bridge] as number) - (rank[b.bridge] as number) ||
      a.port - b.port;
    return nearer < 0 ? "blocked-at-b" : "blocked-at-a";
  });
  return { root, hops, upstream, roles };
}

/** By bridge: a number that all bridges have in common that cables which are up connect. */
export function componentsOf(count: number, cables: readonly TreeCable[], isUp: readonly boolean[]): number[] {
  const neighbours = neighboursOf(count, cables, isUp);
  const component = new Array<number>(count).fill(-1);
  for (let first = 0; first < count; first++) {
    if (component[first] !== -1) continue;
    component[first] = first;
    const open = [first];
    for (const at of open) {
      for (const { bridge } of neighbours[at] as Neighbour[]) {
        if (component[bridge] !== -1) continue;
        component[bridge] = first;
        open.push(bridge);
      }
    }
  }
  return component;
}

/** By bridge: whether there is a loop among the cables that are up and connected with it. */
export function loopsOf(count: number, cables: readonly TreeCable[], isUp: readonly boolean[]): boolean[] {
  const component = componentsOf(count, cables, isUp);
  // A tree of n bridges has n − 1 cables; one more closes a loop.
  const spare = new Array<number>(count).fill(1);
  for (const first of component) spare[first] = (spare[first] as number) - 1;
  for (const [cable, { a }] of cables.entries()) {
    const first = component[a.bridge] as number;
    if (isUp[cable] === true) spare[first] = (spare[first] as number) + 1;
  }
  return component.map((first) => (spare[first] as number) > 0);
}

/** Rings through bridges that nothing else connects, as a ring profile asks: the cables of each, by index. */
export function ringsOf(count: number, cables: readonly TreeCable[]): number[][] {
  const ends = new Array<number>(count).fill(0);
  for (const { a, b } of cables) {
    ends[a.bridge] = (ends[a.bridge] as number) + 1;
    ends[b.bridge] = (ends[b.bridge] as number) + 1;
  }
  const isUp = cables.map(() => true);
  const component = componentsOf(count, cables, isUp);
  const sizes = new Map<number, number>();
  for (const first of component) sizes.set(first, (sizes.get(first) ?? 0) + 1);
  return [...sizes].flatMap(([first, size]) => {
    const isRing = size > 1 && component.every((other, bridge) => other !== first || ends[bridge] === 2);
    return isRing ? [[...cables.keys()].filter((c) => component[cables[c]?.a.bridge ?? -1] === first)] : [];
  });
}
