/** The whole show in a few pixels: the weightiest state of many lanes, column by column. */
import type { Lane } from "../../sim/lanes/lane.ts";

/** 0: nothing but the intended; 3: what is heard or may be. Indexed by column. */
export function worstByColumn(lanes: readonly Lane[], lengthSeconds: number, columns: number): Uint8Array {
  const worst = new Uint8Array(columns);
  const columnAt = (seconds: number) => Math.min(columns - 1, Math.floor((seconds / lengthSeconds) * columns));
  const put = (fromSeconds: number, toSeconds: number, concern: number) => {
    if (concern === 0) return;
    // However short it is, it has a column.
    const last = Math.max(columnAt(fromSeconds), Math.ceil((toSeconds / lengthSeconds) * columns) - 1);
    for (let column = columnAt(fromSeconds); column <= Math.min(last, columns - 1); column += 1)
      if (worst[column]! < concern) worst[column] = concern;
  };
  for (const { stretches, strips, lines, marks } of lanes) {
    for (const line of [stretches, strips, ...lines])
      for (const { fromSeconds, toSeconds, look } of line) put(fromSeconds, toSeconds, look.concern);
    for (const { atSeconds, look } of marks) put(atSeconds, atSeconds, look.concern);
  }
  return worst;
}

/** Columns of one weight side by side, as one. */
export interface Block {
  readonly from: number;
  /** The first column behind it. */
  readonly to: number;
  readonly concern: number;
}

export function blocksOf(worst: Uint8Array): readonly Block[] {
  const blocks: Block[] = [];
  for (let from = 0; from < worst.length; ) {
    const concern = worst[from]!;
    let to = from + 1;
    while (to < worst.length && worst[to] === concern) to += 1;
    if (concern > 0) blocks.push({ from, to, concern });
    from = to;
  }
  return blocks;
}
