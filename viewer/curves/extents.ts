/** How far lines go in a window, and what a chart has to show for it. */
import type { Point } from "../slips.ts";
import type { ChartPlan } from "./charts.ts";

/** Of one line in the window. */
export interface Extent {
  readonly name: string;
  readonly least: Point;
  readonly most: Point;
}

/** The one of which something is greatest. */
export function farthest(extents: readonly Extent[], of: (extent: Extent) => number): Extent | null {
  return extents.reduce<Extent | null>((best, each) => (best === null || of(each) > of(best) ? each : best), null);
}

/** Least and greatest of what was drawn; null where nothing was. */
export function extentOf(name: string, points: readonly Point[]): Extent | null {
  let least: Point | null = null;
  let most: Point | null = null;
  for (const point of points) {
    if (Number.isNaN(point.y)) continue;
    if (least === null || point.y < least.y) least = point;
    if (most === null || point.y > most.y) most = point;
  }
  return least === null || most === null ? null : { name, least, most };
}

export interface Range {
  readonly low: number;
  readonly high: number;
}

/** What the lines need, and a little more; slips from the lowest count to the highest that the window holds. */
export function rangeOf({ key, rangeLeast, keeps }: ChartPlan, extents: readonly Extent[]): Range {
  if (extents.length === 0) return { low: 0, high: rangeLeast };
  const low = Math.min(...keeps, ...extents.map(({ least }) => least.y));
  const high = Math.max(...keeps, ...extents.map(({ most }) => most.y));
  if (key === "slips") return { low, high: Math.max(high, low + 1) };
  const missing = Math.max(0, rangeLeast - (high - low)) / 2;
  const margin = 0.05 * (high - low + 2 * missing);
  return { low: low - missing - margin, high: high + missing + margin };
}
