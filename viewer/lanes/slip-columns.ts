/** Slips as density: how many fall into each column of the drawing. What the columns hold adds up to the window. */
import type { FeedSlips } from "../slips.ts";

export interface SlipColumn {
  /** Its middle, in pixels. */
  readonly x: number;
  readonly count: number;
}

const COLUMN_PIXELS = 2;

/** Columns without a slip are left out. Both ends of the window belong to it, as they do where slips are drawn singly. */
export function slipColumns(
  slips: FeedSlips,
  fromSeconds: number,
  toSeconds: number,
  widthPixels: number,
): readonly SlipColumn[] {
  const columns: SlipColumn[] = [];
  const atBegin = slips.instants(fromSeconds, fromSeconds, Number.POSITIVE_INFINITY) ?? [];
  let before = slips.countBy(fromSeconds) - atBegin.length;
  const count = Math.max(1, Math.ceil(widthPixels / COLUMN_PIXELS));
  for (let column = 1; column <= count; column += 1) {
    const right = Math.min(column * COLUMN_PIXELS, widthPixels);
    // The last border is the window's own, not what rounding makes of it.
    const at = column === count ? toSeconds : fromSeconds + ((toSeconds - fromSeconds) * right) / widthPixels;
    const now = slips.countBy(at);
    if (now > before) columns.push({ x: column * COLUMN_PIXELS - 1, count: now - before });
    before = now;
  }
  return columns;
}
