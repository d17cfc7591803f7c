/** What a line is at the cursor, at cursor B, and how far one is from the other: for the list, the table and the picture. */
import type { ChartLine, ChartPlan } from "./charts.ts";

export interface AtCursors {
  readonly here: string;
  /** The line has no value at the cursor; `here` says why. */
  readonly isMissing: boolean;
  /** Null: cursor B is not set. */
  readonly atB: string | null;
  /** At the cursor less at B, with its sign; null: cursor B is not set, or a value is missing. */
  readonly fromB: string | null;
}

export function atCursors(
  chart: Pick<ChartPlan, "words" | "difference">,
  line: Pick<ChartLine, "valueAt" | "missingAt">,
  seconds: number,
  bSeconds: number | null,
  decimals: number,
): AtCursors {
  const said = (at: number, value: number | null) =>
    value === null ? line.missingAt(at) : chart.words(value, decimals);
  const value = line.valueAt(seconds);
  const here = { here: said(seconds, value), isMissing: value === null };
  if (bSeconds === null) return { ...here, atB: null, fromB: null };
  const valueB = line.valueAt(bSeconds);
  const fromB = value === null || valueB === null ? null : chart.difference(value - valueB, decimals);
  return { ...here, atB: said(bSeconds, valueB), fromB };
}

/** ["at cursor B +4.20 ppm", "from there −0.10 ppm"]; empty: cursor B is not set. Lines have letters as well. */
export function bWords({ atB, fromB }: AtCursors): readonly string[] {
  return [...(atB === null ? [] : [`at cursor B ${atB}`]), ...(fromB === null ? [] : [`from there ${fromB}`])];
}
