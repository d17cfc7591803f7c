/** Faults that look alike from the front: the same listeners have the same trouble for about as long. */
import type { CaseToll, FeedToll } from "./rank.ts";

export type Cell = "silence" | "clicks" | "dropout" | "nothing";

/** Five cells: the trouble up to 1 s, 10 s, 1 min, 10 min, and longer. */
export interface Bar {
  readonly cells: readonly Cell[];
  readonly isAtFullLevel: boolean;
  readonly mayBeSilent: boolean;
}

const STEPS_SECONDS = [1, 10, 60, 600] as const;
export const BAR_CELLS = STEPS_SECONDS.length + 1;

/** Silence first, then what clicks after it; a dropout alone is one cell. */
export function barOf(toll: FeedToll): Bar {
  const { silentSeconds, clicks, dropouts, normalAfterSeconds, mayBeSilent, atFullLevel } = toll;
  const silence = silentSeconds >= STEPS_SECONDS[0] ? cellsFor(silentSeconds) : 0;
  const all = normalAfterSeconds === null ? BAR_CELLS : cellsFor(normalAfterSeconds);
  const clicking = clicks > 0 ? Math.max(1, all - silence) : 0;
  const dropout = silence + clicking === 0 && (dropouts > 0 || silentSeconds > 0) ? 1 : 0;
  const cells: Cell[] = [
    ...Array<Cell>(silence).fill("silence"),
    ...Array<Cell>(clicking).fill("clicks"),
    ...Array<Cell>(dropout).fill("dropout"),
    ...Array<Cell>(BAR_CELLS).fill("nothing"),
  ];
  // Where it is silent anyway, nothing hangs on whether clicks are muted.
  const isUnsure = mayBeSilent && silence === 0;
  return { cells: cells.slice(0, BAR_CELLS), isAtFullLevel: atFullLevel > 0, mayBeSilent: isUnsure };
}

function cellsFor(seconds: number): number {
  return seconds <= 0 ? 0 : 1 + STEPS_SECONDS.filter((step) => seconds >= step).length;
}

/** Neighbours or not: classes in the order of their first, within each as they stood. */
export function alike(tolls: readonly CaseToll[]): readonly (readonly CaseToll[])[] {
  const classes = new Map<string, CaseToll[]>();
  for (const toll of tolls) {
    const look = JSON.stringify(toll.feeds.map(barOf));
    const known = classes.get(look);
    if (known === undefined) classes.set(look, [toll]);
    else known.push(toll);
  }
  return [...classes.values()];
}
