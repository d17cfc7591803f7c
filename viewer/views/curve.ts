/**
 * Curves over the same window and cursor as the lanes: slips so far, frequency, phase against the leader, buffer fill,
 * one at a time on one canvas. Beside it a list of its lines with what they are at the cursor or under the pointer, a
 * sentence and a table of the same facts, because a canvas is mute.
 */
import "../curves/curves.css";
import { BUTTONS, CHART_KEYS, type ChartKey, chartsOf, type Drawn } from "../curves/charts.ts";
import { type Extent, extentOf, rangeOf } from "../curves/extents.ts";
import { lineList } from "../curves/line-list.ts";
import { createMarks } from "../curves/marks.ts";
import { plotOn } from "../curves/plot.ts";
import { cursorTable, slipTable, windowTable } from "../curves/tables.ts";
import { decimalsOf } from "../curves/words.ts";
import { createWork } from "../curves/work.ts";
import { h } from "../dom.ts";
import { isPrinting, paceOf, READ_MS, STILL_MS } from "../pace.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor } from "../show-time.ts";
import { onGroundChange } from "../theme.ts";

export interface Curve {
  readonly element: HTMLElement;
  /** Reads how much room there is; what it gives back draws in it. */
  measure(): () => void;
}

/** Between two looks at lines that take long. */
const PROGRESS_MS = 250;
/** More points than this cost a frame to draw; while the window moves, columns are then so many pixels wide. */
const POINTS_MOVING = 6000;
const COARSE_PIXELS = 4;
/** More lines than this need the whole width for their list. */
const LINES_BESIDE = 8;

export function curveView(context: PageContext): Curve {
  const { store, announce } = context;
  const chartOf = chartsOf(context);
  const work = createWork();
  let chart = chartOf("slips");
  let isOnlyLane = false;
  let width = 0;
  let pointerSeconds: number | null = null;
  let isInSight = true;
  let waiting = 0;
  let tellingCursors = 0;
  let frame = 0;
  let isStale = false;
  let isCoarse = false;
  /** Whether what is drawn belongs to one of many steps. */
  let isMoving = false;
  let decimals = 0;
  const drawn = new Map<number, Drawn>();
  const extents = new Map<number, Extent>();

  const buttons = CHART_KEYS.map((key) => toggle(BUTTONS[key], () => choose(key)));
  const only = toggle("Only the chosen lane", () => {
    isOnlyLane = !isOnlyLane;
    rebuild();
    announce(isOnlyLane ? `Curves of the chosen lane: ${shown().length}` : "All curves");
  });
  const heading = h("h3", { class: "group-name" });
  const says = h("p", { class: "curve-says" });
  const note = h("span", { class: "lane-note" });
  const canvas = h("canvas", { role: "img" });
  const marks = createMarks();
  const box = h("div", { class: "curve-box" }, canvas, ...marks.elements);
  const list = lineList(context.run.plan.sampleRateHz);
  const none = h("p", { class: "none" });
  const row = h(
    "div",
    { class: "row" },
    h("div", { class: "row-name" }, note),
    h("div", { class: "row-plot" }, box),
    h("div", { class: "row-words" }, ...list.elements),
  );
  const tablePlace = h("div", {});
  const cursorPlace = h("div", {});
  const asTable = h(
    "details",
    { class: "as-table" },
    h("summary", {}, "The curve as a table"),
    cursorPlace,
    tablePlace,
  );
  const element = h(
    "div",
    { class: "curve" },
    h("div", { class: "curve-choices", role: "group", "aria-label": "Which curves" }, ...buttons, only),
    heading,
    says,
    none,
    row,
    asTable,
  );
  let plotted: ReturnType<typeof plotOn> | null = null;
  /** Made when it is first drawn: it measures itself, which lays the page out. */
  const plot = () => {
    plotted ??= plotOn(canvas, context);
    return plotted;
  };

  const shown = (): number[] => {
    const { lane } = store.look();
    const all = [...chart.lines.keys()];
    return isOnlyLane && lane !== null ? all.filter((index) => chart.lines[index]!.lanes.has(lane)) : all;
  };

  function choose(key: ChartKey): void {
    if (chart.key === key) return;
    chart = chartOf(key);
    rebuild();
    announce(`${chart.title}. ${chart.lines.length === 0 ? chart.none : says.textContent}`);
  }

  /** Another chart, or another choice of its lines. */
  function rebuild(): void {
    drawn.clear();
    extents.clear();
    says.textContent = "Being worked out.";
    isMoving = false;
    const { lane } = store.look();
    const lines = shown();
    CHART_KEYS.forEach((key, index) => {
      buttons[index]!.setAttribute("aria-pressed", String(key === chart.key));
    });
    only.setAttribute("aria-pressed", String(isOnlyLane));
    only.hidden = lane === null && !isOnlyLane;
    heading.textContent = chart.title;
    note.textContent = chart.note;
    const isEmpty = lines.length === 0;
    none.hidden = !isEmpty;
    none.textContent = chart.lines.length === 0 ? chart.none : "The chosen lane has none of these curves.";
    row.hidden = says.hidden = asTable.hidden = isEmpty;
    element.classList.toggle("many", lines.length > LINES_BESIDE);
    list.show(chart, lines);
    tablePlace.replaceChildren();
    cursorPlace.replaceChildren();
    draw();
  }

  /** Draws what there is to draw, at once if it is new, else as soon as the page has time for it. */
  function draw(): void {
    clearTimeout(waiting);
    cancelAnimationFrame(frame);
    if (width === 0) width = box.clientWidth;
    if (width === 0 || shown().length === 0) {
      work.stop();
      return;
    }
    if (drawn.size === 0 || isPrinting()) start(false);
    else if (isInSight) frame = requestAnimationFrame(move);
    else waiting = window.setTimeout(() => start(false), STILL_MS);
  }

  /** One frame of a window on the move: the lines go along as they are until they are known anew. */
  function move(): void {
    const isMuch = [...drawn.values()].reduce((sum, { points }) => sum + points.length, 0) > POINTS_MOVING;
    if (work.isBusy) isStale = true;
    else start(isMuch || isCoarse);
    if (work.isBusy) plot().move();
    read();
    if (isMuch || isCoarse) waiting = window.setTimeout(() => start(false), STILL_MS);
  }

  function start(coarse: boolean): void {
    const { fromSeconds, toSeconds } = store.look();
    const lines = shown();
    const own = chart;
    const columns = Math.max(2, Math.ceil(coarse ? width / COARSE_PIXELS : width));
    isStale = false;
    isCoarse = coarse;
    const fresh = new Map<number, Drawn>();
    function* job(): Generator<void> {
      for (const index of lines) {
        fresh.set(index, yield* own.lines[index]!.draw(fromSeconds, toSeconds, columns));
        yield;
      }
    }
    let shownAt = performance.now();
    const onSlice = (isDone: boolean) => {
      box.toggleAttribute("aria-busy", !isDone);
      box.dataset.state = "working";
      const isTime = drawn.size < lines.length && performance.now() - shownAt > PROGRESS_MS;
      if (!isDone && !isTime) return;
      shownAt = performance.now();
      for (const [index, each] of fresh) drawn.set(index, each);
      extents.clear();
      for (const index of lines) {
        const extent = extentOf(own.lines[index]!.name, drawn.get(index)?.points ?? []);
        if (extent !== null) extents.set(index, extent);
      }
      const range = rangeOf(own, [...extents.values()]);
      decimals = decimalsOf(range.high - range.low, own.key === "slips" ? 0 : 2);
      plot().show(
        lines.flatMap((index) => {
          const each = drawn.get(index);
          return each === undefined ? [] : [{ index, drawn: each }];
        }),
        range,
        own.levels,
      );
      read();
      if (!isDone) return;
      if (isStale) frame = requestAnimationFrame(move);
      else if (!coarse) telling.changed(isMoving);
    };
    if (isPrinting()) isMoving = false;
    work.start(job(), onSlice, !isPrinting());
  }

  /** The sentence and the table, once the window is known. */
  function tellWindow(): void {
    const sentence = chart.says([...extents.values()], decimals);
    says.textContent = sentence;
    canvas.setAttribute("aria-label", `${chart.title}, over show time. ${sentence} The table below has the figures.`);
    if (!asTable.open) return;
    tellCursors();
    if (chart.key === "slips") {
      if (tablePlace.childElementCount === 0) tablePlace.replaceChildren(slipTable(context));
      return;
    }
    const { fromSeconds, toSeconds } = store.look();
    const timeDecimals = decimalsFor(toSeconds - fromSeconds);
    tablePlace.replaceChildren(windowTable(chart, { fromSeconds, toSeconds, timeDecimals, decimals, extents }));
  }

  /** The lines at both cursors, once those stand. */
  function tellCursors(): void {
    clearTimeout(tellingCursors);
    const { fromSeconds, toSeconds, cursorSeconds, cursorBSeconds } = store.look();
    if (cursorBSeconds === null) {
      cursorPlace.replaceChildren();
      return;
    }
    const timeDecimals = decimalsFor(toSeconds - fromSeconds);
    const facts = { cursorSeconds, cursorBSeconds, timeDecimals, decimals, indices: shown() };
    cursorPlace.replaceChildren(cursorTable(chart, facts));
  }

  /** What each line is at the cursor, or under the pointer, and how far that is from cursor B. */
  function read(): void {
    placing.changed(isMoving);
    reading.changed(isMoving);
    clearTimeout(tellingCursors);
    if (asTable.open) tellingCursors = window.setTimeout(tellCursors, STILL_MS);
  }
  const placing = paceOf(box, 0, () => marks.place(store.look(), pointerSeconds));
  const reading = paceOf(row, READ_MS, () => list.read(store.look(), pointerSeconds, decimals));
  /** Figures of a window that moves on are those of another by the time they are read. */
  const telling = paceOf(row, Number.POSITIVE_INFINITY, () => {
    if (work.isBusy || isCoarse) return;
    tellWindow();
    box.dataset.state = "drawn";
  });

  // Where the pointer came in, since to ask at each of its moves would lay the page out.
  let boxLeft = 0;
  box.addEventListener("pointerenter", () => {
    boxLeft = box.getBoundingClientRect().left;
  });
  box.addEventListener("pointermove", ({ clientX, pointerType }) => {
    if (pointerType !== "mouse") return;
    const { fromSeconds, toSeconds } = store.look();
    const share = Math.min(Math.max((clientX - boxLeft) / width, 0), 1);
    isMoving = true;
    pointerSeconds = fromSeconds + share * (toSeconds - fromSeconds);
    read();
  });
  box.addEventListener("pointerleave", () => {
    isMoving = false;
    pointerSeconds = null;
    read();
  });
  asTable.addEventListener("toggle", tellWindow);
  new IntersectionObserver((entries) => {
    isInSight = entries.at(-1)?.isIntersecting === true;
  }).observe(box);
  store.subscribe((before, isStep) => {
    isMoving = isStep;
    const look = store.look();
    if (look.lane !== before.lane) {
      only.hidden = look.lane === null && !isOnlyLane;
      if (isOnlyLane) {
        rebuild();
        return;
      }
    }
    if (look.fromSeconds === before.fromSeconds && look.toSeconds === before.toSeconds) read();
    else draw();
  });
  onGroundChange(() => {
    list.colour();
    draw();
  });
  rebuild();
  return {
    element,
    measure() {
      width = box.clientWidth;
      return () => {
        // Hidden, where there is nothing to draw, it would be made with no room at all.
        if (width > 0) plot().resize();
        list.colour();
        draw();
      };
    },
  };
}

function toggle(label: string, action: () => void): HTMLButtonElement {
  const button = h("button", { type: "button", "aria-pressed": "false" }, label);
  button.addEventListener("click", action);
  return button;
}
