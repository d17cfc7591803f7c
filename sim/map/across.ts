/** Where things of a column stand along it: as near as can be to what they are plugged to, in their order and apart. */
import type { Edges } from "./order.ts";

/** Each as near to its neighbours as the order allows, all within the length of the longest column. */
export function settledAcross(
  columns: readonly (readonly string[])[],
  edges: Edges,
  size: (key: string) => number,
  gap: (one: string, other: string) => number,
): { readonly at: ReadonlyMap<string, number>; readonly extent: number } {
  const packed = columns.map((column) => {
    let end = 0;
    return column.map((key, index) => {
      if (index > 0) end += gap(column[index - 1]!, key);
      end += size(key);
      return end - size(key) / 2;
    });
  });
  const lengths = columns.map((column, index) => {
    const last = column.at(-1);
    return last === undefined ? 0 : packed[index]!.at(-1)! + size(last) / 2;
  });
  const extent = Math.max(0, ...lengths);
  const at = new Map<string, number>();
  for (const [index, column] of columns.entries())
    for (const [place, key] of column.entries()) at.set(key, packed[index]![place]! + (extent - lengths[index]!) / 2);
  const forth = columns.map((_, index) => index);
  const back = [...forth].reverse();
  for (const [walk, step] of [
    [forth, -1] as const,
    [back, 1] as const,
    [forth, -1] as const,
    [back, 1] as const,
    [forth, -1] as const,
  ]) {
    for (const index of walk) {
      const column = columns[index]!;
      const beside = new Set(columns[index + step] ?? []);
      const wanted = column.map((key, place) => {
        const near = [...(edges.get(key) ?? [])].filter((other) => beside.has(other));
        const wish = near.length === 0 ? at.get(key)! : sum(near.map((other) => at.get(other)!)) / near.length;
        return wish - packed[index]![place]!;
      });
      const shifts = rising(wanted).map((shift) => clamp(shift, 0, extent - lengths[index]!));
      for (const [place, key] of column.entries()) at.set(key, packed[index]![place]! + shifts[place]!);
    }
  }
  return { at, extent };
}

/** The nearest values, by least squares, that do not fall: pool adjacent violators. */
export function rising(wanted: readonly number[]): readonly number[] {
  const pools: { mean: number; count: number }[] = [];
  for (const value of wanted) {
    let pool = { mean: value, count: 1 };
    for (let last = pools.at(-1); last !== undefined && last.mean > pool.mean; last = pools.at(-1)) {
      const count = last.count + pool.count;
      pool = { mean: (last.mean * last.count + pool.mean * pool.count) / count, count };
      pools.pop();
    }
    pools.push(pool);
  }
  return pools.flatMap(({ mean, count }) => Array.from({ length: count }, () => mean));
}

export function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

export function clamp(value: number, least: number, most: number): number {
  return Math.min(Math.max(value, least), Math.max(least, most));
}
