/**
 * What has to go for nothing to get through any more: the smallest sets of shared risks that cut every way from a source
 * to a sink, and how many ways there are that share no arc.
 *
 * A *risk* is anything that can go by itself: a cable, a path that cables are laid along, a supply, a device. An arc goes
 * when all risks of any one of its `fails` are gone, so a device with two supplies is `[["first", "second"]]`, and one
 * that also hangs on a single cable is `[["first", "second"], ["cable"]]`. Pure; the plan's own risks stand in
 * `check/risks.ts`.
 */

export interface RiskyArc {
  readonly from: string;
  readonly to: string;
  /** Each a set of risks that takes the arc when all of it is gone; none: it never goes. */
  readonly fails: readonly (readonly string[])[];
}

export interface RiskyNet {
  readonly source: string;
  readonly sink: string;
  readonly arcs: readonly RiskyArc[];
}

/**
 * Every minimal set of at most `orderMax` risks whose loss leaves no way from source to sink: smallest first, then by
 * name; each sorted. The empty set alone where there is no way to begin with; none where source and sink are one.
 *
 * Any cut has to take some arc of any one way, so the search finds a shortest way, takes each of its arcs in turn, and
 * goes on. It does so for one risk, then for two, and so on: what contains a cut that is known cannot be minimal, and is
 * not looked at. The searches are about (risks on a way) ^ order, whatever the number of risks in all.
 */
export function minimalCuts(net: RiskyNet, orderMax: number): readonly (readonly string[])[] {
  if (net.source === net.sink) return [];
  const index = indexed(net);
  const found: (readonly string[])[] = [];
  const gone = new Set<string>();
  let seen = new Set<string>();

  function search(left: number): void {
    const names = [...gone].sort();
    const key = JSON.stringify(names);
    if (seen.has(key) || found.some((cut) => cut.every((risk) => gone.has(risk)))) return;
    seen.add(key);
    const way = shortestWay(index, net, (arc) => !hasGone(net.arcs[arc]!, gone));
    if (way === null) {
      found.push(names);
      return;
    }
    if (left === 0) return;
    for (const arc of way) {
      for (const term of net.arcs[arc]!.fails) {
        const missing = [...new Set(term)].filter((risk) => !gone.has(risk));
        if (missing.length > left) continue;
        for (const risk of missing) gone.add(risk);
        search(left - missing.length);
        for (const risk of missing) gone.delete(risk);
      }
    }
  }

  for (let order = 0; order <= orderMax; order += 1) {
    seen = new Set();
    search(order);
  }
  return found.sort(smallestFirst);
}

/** The same where all of these nets have to be passed one after the other: what cuts any of them cuts the whole. */
export function minimalCutsInSeries(nets: readonly RiskyNet[], orderMax: number): readonly (readonly string[])[] {
  const kept: (readonly string[])[] = [];
  const all = nets.flatMap((net) => minimalCuts(net, orderMax)).sort(smallestFirst);
  for (const cut of all) if (!kept.some((other) => other.every((risk) => cut.includes(risk)))) kept.push(cut);
  return kept;
}

function hasGone({ fails }: RiskyArc, gone: ReadonlySet<string>): boolean {
  return fails.some((term) => term.every((risk) => gone.has(risk)));
}

function smallestFirst(one: readonly string[], two: readonly string[]): number {
  if (one.length !== two.length) return one.length - two.length;
  for (const [at, risk] of one.entries()) if (risk !== two[at]) return risk < two[at]! ? -1 : 1;
  return 0;
}

export interface DisjointWays {
  /** The most ways from source to sink of which no two share an arc. */
  readonly count: number;
  /** As many arcs, by their place in the net, without which there is no way at all. */
  readonly cut: readonly number[];
}

/**
 * By augmenting along shortest ways (Edmonds and Karp 1972), every arc once. That the two numbers are one is the theorem
 * of Menger, max-flow and min-cut of an arc-capacity of 1. Nothing and nothing where source and sink are one.
 */
export function disjointWays(net: RiskyNet): DisjointWays {
  if (net.source === net.sink) return { count: 0, cut: [] };
  const used = new Array<boolean>(net.arcs.length).fill(false);
  const forth = indexed(net);
  const back = indexed({ ...net, arcs: net.arcs.map(({ from, to, fails }) => ({ from: to, to: from, fails })) });
  for (let count = 0; ; count += 1) {
    const cameBy = reached(net, forth, back, used);
    if (!cameBy.has(net.sink)) {
      const cut = net.arcs.flatMap(({ from, to }, at) => (cameBy.has(from) && !cameBy.has(to) ? [at] : []));
      return { count, cut };
    }
    for (let at = net.sink; at !== net.source; ) {
      const arc = cameBy.get(at)!;
      const { from, to } = net.arcs[arc]!;
      at = used[arc] ? to : from;
      used[arc] = !used[arc];
    }
  }
}

/** Places that can be reached over unused arcs and, backwards, over used ones; each with the arc it was reached by. */
function reached(
  net: RiskyNet,
  forth: ReadonlyMap<string, readonly number[]>,
  back: ReadonlyMap<string, readonly number[]>,
  used: readonly boolean[],
): ReadonlyMap<string, number> {
  const cameBy = new Map([[net.source, -1]]);
  for (const at of cameBy.keys()) {
    for (const arc of forth.get(at) ?? [])
      if (!used[arc] && !cameBy.has(net.arcs[arc]!.to)) cameBy.set(net.arcs[arc]!.to, arc);
    for (const arc of back.get(at) ?? [])
      if (used[arc] && !cameBy.has(net.arcs[arc]!.from)) cameBy.set(net.arcs[arc]!.from, arc);
  }
  return cameBy;
}

/** Arcs by where they begin. */
function indexed({ arcs }: RiskyNet): ReadonlyMap<string, readonly number[]> {
  const index = new Map<string, number[]>();
  arcs.forEach(({ from }, at) => {
    const there = index.get(from);
    if (there === undefined) index.set(from, [at]);
    else there.push(at);
  });
  return index;
}

/** The arcs of a way with the fewest of them; null where there is none. */
function shortestWay(
  index: ReadonlyMap<string, readonly number[]>,
  { source, sink, arcs }: RiskyNet,
  isThere: (arc: number) => boolean,
): readonly number[] | null {
  const cameBy = new Map([[source, -1]]);
  for (const at of cameBy.keys()) {
    if (at === sink) break;
    for (const arc of index.get(at) ?? []) {
      const { to } = arcs[arc]!;
      if (!cameBy.has(to) && isThere(arc)) cameBy.set(to, arc);
    }
  }
  if (!cameBy.has(sink)) return null;
  const way: number[] = [];
  for (let at = sink; at !== source; at = arcs[way.at(-1)!]!.from) way.push(cameBy.get(at)!);
  return way;
}
