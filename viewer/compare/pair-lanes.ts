/**
 * Lanes of two runs in pairs on one axis, under the window and the cursor of the page: the rows are those of the show,
 * the first run's above the second's, with a bar along what differs and a line at the first difference.
 */
import { type ScaleLinear, scaleLinear } from "d3";
import type { Lane } from "../../sim/lanes/lane.ts";
import { h, svg } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { fineTime, ticksThatFit, timeTicks } from "../show-time.ts";
import { laneRows } from "../views/lane-rows.ts";
import { textWidth } from "../views/text-width.ts";
import type { Differences, LanePair } from "./differences.ts";

export interface PairLanes {
  readonly element: HTMLElement;
  measure(): void;
  /** Where in the show a place on the screen is; null: beside the plot. */
  secondsAt(clientX: number): number | null;
  /** Where the time axis is on the screen. */
  axisBox(): DOMRect;
}

/** Short words for the two runs, as each row carries one. */
export interface Sides {
  readonly first: string;
  readonly second: string;
}

const FIRST_WORD = "First difference";
const AXIS = { height: 44, ticks: 40, word: 14 } as const;
const BAR = 5;

export function pairLanes(
  context: PageContext,
  { firstDifference, slips }: Differences,
  shown: readonly LanePair[],
  sides: Sides,
): PairLanes {
  const { store } = context;
  const of = (side: keyof Sides, lane: Lane | null): readonly Lane[] =>
    lane === null
      ? []
      : [{ ...lane, key: `${side} ${lane.key}`, id: `${side} ${lane.id}`, note: noteOf(lane, sides[side]) }];
  const all = shown.flatMap(({ first, second }) => [...of("first", first), ...of("second", second)]);
  const slipsOf = (side: keyof Sides) => [...slips[side]].map(([id, each]) => [`${side} ${id}`, each] as const);
  const rows = laneRows({
    ...context,
    // Of two runs the events may differ: what follows from them is what is shown here.
    run: { ...context.run, plan: { ...context.run.plan, events: [] } },
    lanes: { ...context.lanes, all },
    slips: new Map([...slipsOf("first"), ...slipsOf("second")]),
  });
  for (const lane of all) {
    const row = rowOf(lane.key);
    row?.classList.add(lane.key.startsWith("first ") ? "lane-first" : "lane-second");
    row?.querySelector(".lane-drawing")?.setAttribute("aria-label", `${lane.name}, ${lane.note}`);
  }
  function rowOf(key: string): HTMLElement | null {
    return rows.element.querySelector<HTMLElement>(`[data-lane="${CSS.escape(key)}"]`);
  }

  const axis = svg("svg", { class: "pair-axis", height: AXIS.height, "aria-hidden": "true" });
  const head = h(
    "div",
    { class: "row pair-head" },
    h("div", { class: "row-name" }),
    h("div", { class: "row-plot" }, axis),
    h("div", { class: "row-words" }),
  );
  const marks = svg("svg", { class: "overlay pair-marks", "aria-hidden": "true" });
  const body = rows.element.querySelector<HTMLElement>(".rows");
  body?.append(marks);

  const scaleNow = (width: number) => {
    const { fromSeconds, toSeconds } = store.look();
    return scaleLinear([fromSeconds, toSeconds], [0, width]);
  };
  const draw = () => {
    const width = axis.parentElement?.clientWidth ?? 0;
    if (width === 0 || body === null) return;
    axis.setAttribute("width", String(width));
    marks.setAttribute("width", String(width));
    marks.style.left = `${axis.getBoundingClientRect().left - body.getBoundingClientRect().left}px`;
    const scale = scaleNow(width);
    const at = firstDifference === null ? null : scale(firstDifference.fromSeconds);
    const inside = at !== null && at >= 0 && at <= width ? at : null;
    axis.replaceChildren(...ticks(scale, width), ...(inside === null ? [] : firstFlag(inside, width)));
    marks.replaceChildren(
      ...shown.flatMap((pair) => bars(pair, scale, width, placeOf(pair))),
      ...(inside === null ? [] : [svg("line", { class: "first-line", x1: inside, x2: inside, y1: 0, y2: "100%" })]),
    );
  };
  /** Below the drawing of the first of a pair. */
  const placeOf = ({ key }: LanePair): number => {
    const drawing = rowOf(`first ${key}`)?.querySelector(".lane-drawing");
    if (drawing === null || drawing === undefined || body === null) return -BAR;
    return drawing.getBoundingClientRect().bottom - body.getBoundingClientRect().top + 2;
  };
  store.subscribe(({ fromSeconds, toSeconds }) => {
    const look = store.look();
    if (look.fromSeconds !== fromSeconds || look.toSeconds !== toSeconds) draw();
  });
  return {
    element: h("div", { class: "pairs" }, head, rows.element),
    measure() {
      rows.measure()();
      draw();
    },
    axisBox: () => axis.getBoundingClientRect(),
    secondsAt(clientX) {
      const { left, right, width } = axis.getBoundingClientRect();
      if (width === 0 || clientX < left || clientX > right) return null;
      return scaleNow(width).invert(clientX - left);
    },
  };
}

/** Both ways of a link have one name. */
function noteOf({ kind, note }: Lane, side: string): string {
  return kind === "link" || kind === "stream" ? `${side}, ${note}` : side;
}

type Scale = ScaleLinear<number, number>;

/** What is shorter than three pixels is drawn this wide, like the lanes; two that touch are drawn as one. */
const NARROWEST = 3;

function bars({ differences }: LanePair, scale: Scale, width: number, y: number): readonly SVGElement[] {
  const drawn: { x: number; end: number }[] = [];
  for (const { fromSeconds, toSeconds } of differences) {
    const x = Math.max(scale(fromSeconds), -NARROWEST);
    const end = Math.min(Math.max(scale(toSeconds), x + NARROWEST), width);
    if (scale(toSeconds) < 0 || x > width) continue;
    const last = drawn.at(-1);
    if (last !== undefined && x <= last.end + 1) last.end = Math.max(last.end, end);
    else drawn.push({ x, end });
  }
  return drawn.map(({ x, end }) =>
    svg("rect", { class: "differs", x, y, width: Math.max(end - x, NARROWEST), height: BAR - 1 }),
  );
}

function ticks(scale: Scale, width: number): readonly SVGElement[] {
  const [fromSeconds, toSeconds] = scale.domain() as [number, number];
  const { values, decimals } = timeTicks(fromSeconds, toSeconds, ticksThatFit(width, toSeconds));
  return values.flatMap((seconds) => {
    const x = scale(seconds);
    const anchor = x < 32 ? "start" : x > width - 32 ? "end" : "middle";
    return [
      svg("line", { class: "tick-line", x1: x, x2: x, y1: AXIS.ticks, y2: AXIS.height }),
      svg("text", { class: "tick-word", x, y: AXIS.ticks - 3, "text-anchor": anchor }, fineTime(seconds, decimals)),
    ];
  });
}

function firstFlag(x: number, width: number): readonly SVGElement[] {
  const wide = textWidth(FIRST_WORD, 12) + 12;
  const left = x + wide > width ? Math.max(x - wide, 0) : x;
  return [
    svg("line", { class: "first-line", x1: x, x2: x, y1: 0, y2: AXIS.height }),
    svg("rect", { class: "first-cloth", x: left, y: 0, width: wide, height: AXIS.word + 5 }),
    svg("text", { class: "first-word", x: left + 6, y: AXIS.word }, FIRST_WORD),
  ];
}
