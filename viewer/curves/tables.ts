/** What a chart shows, as a table: a canvas is mute. */
import { grouped, interval, showTime } from "../../sim/tell/words.ts";
import { h, name, table } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { fineTime } from "../show-time.ts";
import { atCursors } from "./at-cursors.ts";
import type { ChartPlan } from "./charts.ts";
import type { Extent } from "./extents.ts";
import { letter } from "./plot.ts";

/** Every stretch of slips of the whole show. */
export function slipTable({ run, slips }: PageContext): HTMLElement {
  const rows = run.summary.feeds.flatMap((feed) =>
    feed.states
      .filter(({ state, slips }) => state === "slipping" || slips > 0)
      .map((stretch) => [
        name(feed.name),
        showTime(stretch.fromSeconds),
        showTime(stretch.toSeconds),
        stretch.slips < 2 ? "" : interval((stretch.toSeconds - stretch.fromSeconds) / (stretch.slips - 1)),
        grouped(stretch.slips),
        grouped(slips.get(feed.id)?.countBy(stretch.toSeconds) ?? 0),
      ]),
  );
  return table(
    "Stretches with slips",
    [
      { head: "Feed" },
      { head: "From", kind: "number" },
      { head: "Until", kind: "number" },
      { head: "One every", kind: "number" },
      { head: "Slips", kind: "number" },
      { head: "So far", kind: "number" },
    ],
    rows,
  );
}

export interface WindowFacts {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  /** Of seconds of show time. */
  readonly timeDecimals: number;
  readonly decimals: number;
  /** By the number of the line; what has no value in the window is left out. */
  readonly extents: ReadonlyMap<number, Extent>;
}

/** Each line in the window: at both ends, and how far it goes between. */
export function windowTable(
  { title, lines, words }: ChartPlan,
  { fromSeconds, toSeconds, timeDecimals, decimals, extents }: WindowFacts,
): HTMLElement {
  const time = (seconds: number) => fineTime(seconds, timeDecimals);
  const rows = [...extents].map(([index, { least, most }]) => {
    const line = lines[index]!;
    const end = (seconds: number) => {
      const value = line.valueAt(seconds);
      return value === null ? line.missingAt(seconds) : words(value, decimals);
    };
    return [
      h("span", {}, `${letter(index)} `, name(line.name)),
      end(fromSeconds),
      end(toSeconds),
      `${words(least.y, decimals)}, ${time(least.x)}`,
      `${words(most.y, decimals)}, ${time(most.x)}`,
    ];
  });
  return table(
    `${title}, from ${time(fromSeconds)} to ${time(toSeconds)}`,
    [
      { head: "Line" },
      { head: "At the left", kind: "number" },
      { head: "At the right", kind: "number" },
      { head: "Least", kind: "number" },
      { head: "Greatest", kind: "number" },
    ],
    rows,
  );
}

export interface CursorFacts extends Pick<WindowFacts, "timeDecimals" | "decimals"> {
  readonly cursorSeconds: number;
  readonly cursorBSeconds: number;
  /** Numbers of the lines. */
  readonly indices: readonly number[];
}

/** Each line at both cursors, and from one to the other. */
export function cursorTable(
  chart: ChartPlan,
  { cursorSeconds, cursorBSeconds, timeDecimals, decimals, indices }: CursorFacts,
): HTMLElement {
  const rows = indices.map((index) => {
    const line = chart.lines[index]!;
    const { here, atB, fromB } = atCursors(chart, line, cursorSeconds, cursorBSeconds, decimals);
    return [h("span", {}, `${letter(index)} `, name(line.name)), atB ?? "", here, fromB ?? ""];
  });
  const time = (seconds: number) => fineTime(seconds, timeDecimals);
  return table(
    `${chart.title}, at cursor B (${time(cursorBSeconds)}) and at the cursor (${time(cursorSeconds)})`,
    [
      { head: "Line" },
      { head: "At cursor B", kind: "number" },
      { head: "At the cursor", kind: "number" },
      { head: "From there to the cursor", kind: "number" },
    ],
    rows,
  );
}
