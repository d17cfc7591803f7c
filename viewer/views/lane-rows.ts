/**
 * The lanes as rows: name, drawing, and what the lane is at the cursor in words. Each lane draws itself into an SVG of
 * its own; event lines and the cursor run through all of them in one drawing on top. Rows far from the screen wait
 * until they come near, so two hundred devices cost what fits on the screen.
 */

import { stretchAt } from "../../sim/lanes/follow.ts";
import { isQuiet, type Lane, type Stretch } from "../../sim/lanes/lane.ts";
import { isTold } from "../../sim/tell/event-words.ts";
import { counted, duration } from "../../sim/tell/words.ts";
import { h, isolated, name, svg } from "../dom.ts";
import { drawLane, heightOf, type Kept, type Scale, xAt } from "../lanes/draw-lane.ts";
import { isPrinting, STILL_MS } from "../pace.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import type { Look } from "../store.ts";
import { NARROW } from "./narrow.ts";
import { besideAt, rowWords, type SpokenRow } from "./row-words.ts";

/** Quiet lanes are folded away when there are more lanes than this; on a narrow page a lane takes more of its height. */
const MANY_LANES = { wide: 40, narrow: 24 } as const;
/** A row so far from the screen, in pixels, waits until it comes nearer. */
const NEAR_PIXELS = 600;
/** So many of the first are drawn wherever the screen is: whoever comes down to them finds them there. */
const FIRST_ROWS = 16;
/** So many stand in the page before the rest of it does: more than any screen is high. */
const ROWS_AT_ONCE = 40;
/** More states than this cost a frame to draw singly; while the window moves, a busy lane is then drawn by kind of state. */
const PIECES_MOVING = 150;

const GROUPS: readonly { readonly heading: string; readonly kinds: readonly Lane["kind"][] }[] = [
  { heading: "Devices", kinds: ["device"] },
  { heading: "Networks and what runs over them", kinds: ["network", "stream"] },
  { heading: "Links", kinds: ["link"] },
  { heading: "Feeds", kinds: ["feed"] },
];

export interface LaneRows {
  readonly element: HTMLElement;
  /** Reads how much room there is; what it gives back draws in it. */
  measure(): () => void;
  /** The drawing area, in pixels of the screen. */
  plotBox(): DOMRect;
  /** How wide it was when it was last measured: nothing has to be laid out to say so. */
  plotWidth(): number;
  laneAt(event: MouseEvent): string | null;
  /** What the chosen lane is at the cursor; empty where none is chosen. */
  chosenWords(): string;
}

interface Row extends SpokenRow {
  readonly element: HTMLElement;
  readonly drawing: SVGSVGElement;
  readonly kept: Kept;
  isNear: boolean;
  isStale: boolean;
  /** States in the window, as last drawn. */
  pieceCount: number;
}

/** @param drawn on a screen those near it; in a picture all */
export function laneRows(context: PageContext, drawn: "near" | "all" = "near"): LaneRows {
  const { lanes, store, run, whenWhole } = context;
  const rows = lanes.all.map((lane): Row => {
    const drawing = svg("svg", {
      class: "lane-drawing",
      height: heightOf(lane),
      role: "group",
      "aria-label": lane.name,
    });
    const words = h("div", { class: "row-words" });
    const element = h(
      "div",
      { class: `row lane lane-${lane.kind}`, "data-lane": lane.key },
      h(
        "div",
        { class: "row-name" },
        h("span", { class: "lane-name" }, name(lane.name)),
        lane.note === "" ? null : h("span", { class: "lane-note" }, lane.note),
        lane.warning === "" ? null : h("span", { class: "lane-warning" }, lane.warning),
      ),
      h("div", { class: "row-plot" }, drawing),
      words,
    );
    const kept: Kept = { byKind: new Map(), whole: null };
    const fresh = { isNear: true, isSeen: true, isStale: true, pieceCount: 0, said: null };
    return { lane, element, drawing, words, kept, ...fresh };
  });

  const eventLines = svg("g", {});
  const cursors = svg("g", {});
  const overlay = svg("svg", { class: "overlay", "aria-hidden": "true" }, eventLines, cursors);
  const body = h("div", { class: "rows" });
  for (const { heading, kinds } of GROUPS) {
    const own = rows.filter(({ lane }) => kinds.includes(lane.kind));
    // Most rigs have no network, and need not be told so.
    if (own.length === 0 && kinds.includes("network")) continue;
    body.append(h("h3", { class: "group-name" }, heading));
    if (own.length === 0) body.append(h("p", { class: "none" }, `No ${heading.toLowerCase()} in this rig.`));
    const quietCount = own.filter(({ lane }) => isQuiet(lane)).length;
    if (own.length > 0 && quietCount === own.length)
      body.append(h("p", { class: "none all-quiet" }, "Nothing but the intended in any of them."));
    body.append(...own.map(({ element }) => element));
  }
  body.append(overlay);
  let width = 0;
  /** What is below comes later: to lay it out takes longer than to lay out what people see. */
  const below: Element[] = [];
  let isWhole = false;
  whenWhole(() => {
    isWhole = true;
    if (below.length === 0) return;
    overlay.before(...below);
    if (width > 0) measure()();
  });
  const quiet = rows.filter(({ lane }) => isQuiet(lane));
  const lastAtOnce = rows.filter((row) => !quiet.includes(row))[ROWS_AT_ONCE - 1];
  if (!isWhole && drawn === "near" && lastAtOnce !== undefined) {
    const all = [...body.children];
    below.push(...all.slice(all.indexOf(lastAtOnce.element) + 1, -1));
    for (const one of below) one.remove();
  }

  const element = h("div", { class: "lanes" }, body);
  if (rows.length > MANY_LANES.narrow && quiet.length > 0)
    element.prepend(quietSwitch(element, quiet, rows.length, () => measure()()));

  let settling = 0;
  const scaleNow = (): Scale => {
    const { fromSeconds, toSeconds } = store.look();
    return { fromSeconds, toSeconds, width, perSecond: width / (toSeconds - fromSeconds) };
  };
  const drawRow = (row: Row, isMoving: boolean) => {
    row.isStale = false;
    const slips = row.lane.kind === "feed" ? context.slips.get(row.lane.id) : undefined;
    row.pieceCount = drawLane(row.lane, row.drawing, scaleNow(), slips, isMoving, row.kept);
  };
  const isMany = drawn === "near" && rows.length > MANY_LANES.wide;
  const rowOf = new Map<Element, Row>(rows.map((row) => [row.element, row]));
  const first = new Set(rows.filter((row) => !quiet.includes(row)).slice(0, FIRST_ROWS));
  const setNear = (row: Row, isNear: boolean) => {
    row.isNear = isNear || first.has(row);
    if (row.isNear || isPrinting() || row.pieceCount === 0) return;
    // What nobody sees is in the table as well, and costs the browser something at every frame.
    row.drawing.replaceChildren();
    row.kept.whole = null;
    row.pieceCount = 0;
    row.isStale = true;
  };
  const near = new IntersectionObserver(
    (entries) => {
      for (const { target, isIntersecting } of entries) {
        const row = rowOf.get(target);
        if (row === undefined) continue;
        setNear(row, isIntersecting);
        if (row.isNear && row.isStale) drawRow(row, false);
      }
    },
    { rootMargin: `${NEAR_PIXELS}px` },
  );
  const seen = new IntersectionObserver((entries) => {
    for (const { target, isIntersecting } of entries) {
      const row = rowOf.get(target);
      if (row === undefined) continue;
      row.isSeen = isIntersecting;
      if (row.isSeen && row.isNear && row.isStale && width > 0) drawRow(row, false);
    }
  });
  if (isMany)
    for (const { element } of rows) {
      near.observe(element);
      seen.observe(element);
    }

  const drawRows = (isMoving: boolean, isDue: (row: Row) => boolean) => {
    for (const row of rows) {
      if (row.element.isConnected && isDue(row)) drawRow(row, isMoving);
      else row.isStale = true;
    }
  };
  const drawOverlay = () => {
    if (width === 0) return;
    eventLines.replaceChildren(...eventShapes(context, scaleNow()));
    drawCursors();
  };
  const drawCursors = () => {
    if (width > 0) cursors.replaceChildren(...cursorShapes(store.look(), scaleNow()));
  };
  const drawAll = () => {
    clearTimeout(settling);
    if (width === 0) return;
    drawRows(false, ({ isNear }) => isNear || isPrinting());
    drawOverlay();
  };
  /** One frame of a window on the move. */
  const move = (isMoving: boolean) => {
    clearTimeout(settling);
    if (width === 0) return;
    if (isPrinting()) return drawAll();
    const isMuch = rows.reduce((sum, { pieceCount }) => sum + pieceCount, 0) > PIECES_MOVING;
    drawRows(isMuch, ({ isNear, isSeen }) => isNear && (isSeen || !isMoving));
    drawOverlay();
    if (isMuch || (isMany && isMoving)) settling = window.setTimeout(drawAll, STILL_MS);
  };
  const words = rowWords(rows, body, () => store.look().cursorSeconds);
  const markChosen = () => {
    const { lane } = store.look();
    for (const row of rows) row.element.classList.toggle("chosen", row.lane.key === lane);
  };
  store.subscribe((before, isMoving) => {
    const look = store.look();
    if (before.fromSeconds !== look.fromSeconds || before.toSeconds !== look.toSeconds) move(isMoving);
    else if (before.event !== look.event) drawOverlay();
    else drawCursors();
    if (before.cursorSeconds !== look.cursorSeconds) words.changed(isMoving);
    if (before.lane === look.lane) return;
    markChosen();
    // Who chooses on the map, or in a list, stays there: what can be done with it stands beside.
    if (look.lane !== null && element.closest("#show")?.contains(document.activeElement) === true)
      rows.find(({ lane }) => lane.key === look.lane)?.element.scrollIntoView({ block: "nearest" });
  });

  const plotBox = () => {
    const shown = rows.find(({ element }) => element.offsetParent !== null);
    return (shown?.drawing.parentElement ?? body).getBoundingClientRect();
  };
  function measure(): () => void {
    const box = plotBox();
    const frame = body.getBoundingClientRect();
    width = box.width;
    const nearNow = isMany ? rowsNear(rows) : [];
    return () => {
      for (const [row, isNear] of nearNow) setNear(row, isNear);
      for (const { drawing } of rows) drawing.setAttribute("width", String(width));
      overlay.setAttribute("width", String(width));
      overlay.style.left = `${box.left - frame.left}px`;
      drawAll();
      words.sayAll();
      markChosen();
    };
  }

  return {
    element,
    measure,
    plotBox,
    plotWidth: () => width,
    laneAt(event) {
      const row = event.target instanceof Element ? event.target.closest<HTMLElement>("[data-lane]") : null;
      return row?.dataset.lane ?? null;
    },
    chosenWords() {
      const { lane: key, cursorSeconds } = store.look();
      const lane = lanes.all.find((candidate) => candidate.key === key);
      return lane === undefined ? "" : laneWords(lane, cursorSeconds, store.look(), run.summary.runSeconds);
    },
  };
}

function quietSwitch(element: HTMLElement, quiet: readonly Row[], laneCount: number, changed: () => void): HTMLElement {
  const box = h("input", { type: "checkbox" });
  const text = `Show also the ${counted(quiet.length, "lane", "lanes")} in which nothing but the intended happens`;
  const label = h("label", { class: "quiet-switch" }, box, text);
  const apply = () => {
    const isMany = laneCount > (NARROW.matches ? MANY_LANES.narrow : MANY_LANES.wide);
    label.hidden = !isMany;
    element.classList.toggle("without-quiet", isMany && !box.checked);
  };
  for (const { element: row } of quiet) row.classList.add("quiet");
  apply();
  for (const source of [box, NARROW])
    source.addEventListener("change", () => {
      apply();
      changed();
    });
  return label;
}

function laneWords(lane: Lane, seconds: number, look: Look, endSeconds: number): string {
  const stretch = stretchAt(lane.stretches, seconds);
  if (stretch === undefined) return isolated(lane.name);
  const beside = besideAt(lane, seconds).map(({ says }) => says);
  const decimals = decimalsFor(look.toSeconds - look.fromSeconds);
  return `${isolated(lane.name)}: ${[stretch.says, ...beside].join("; ")}, ${spanWords(stretch, decimals, endSeconds)}`;
}

function spanWords({ fromSeconds, toSeconds }: Stretch, decimals: number, endSeconds: number): string {
  const until = toSeconds >= endSeconds ? "to the end" : `until ${fineTime(toSeconds, decimals)}`;
  return `from ${fineTime(fromSeconds, decimals)} ${until}, ${duration(toSeconds - fromSeconds)}`;
}

/** Asked of all before anything is drawn, so that the page is laid out once. */
function rowsNear(rows: readonly Row[]): readonly (readonly [Row, boolean])[] {
  return rows.map((row) => {
    const { top, bottom, height } = row.element.getBoundingClientRect();
    return [row, height > 0 && bottom > -NEAR_PIXELS && top < innerHeight + NEAR_PIXELS];
  });
}

function eventShapes({ run, store }: PageContext, scale: Scale): readonly SVGElement[] {
  const look = store.look();
  const { width } = scale;
  const shapes: SVGElement[] = [];
  const { events } = run.plan;
  const at = (index: number) => xAt(scale, events[index]!.atNs / 1e9);
  events.forEach((event, index) => {
    const x = at(index);
    if (event.undoes !== null && event.undoes >= 0 && event.undoes < events.length) {
      const [from, to] = [Math.max(at(event.undoes), 0), Math.min(x, width)];
      if (to > from) shapes.push(svg("rect", { class: "band", x: from, y: 0, width: to - from, height: "100%" }));
    }
    if (x < 0 || x > width || !isTold(event)) return;
    const name = `event-line${event.undoes === null ? "" : " undoes"}${look.event === index ? " chosen" : ""}`;
    shapes.push(svg("line", { class: name, x1: x, x2: x, y1: 0, y2: "100%" }));
  });
  return shapes;
}

function cursorShapes({ cursorSeconds, cursorBSeconds }: Look, scale: Scale): readonly SVGElement[] {
  const { width } = scale;
  const x = xAt(scale, cursorSeconds);
  const shapes = cursorBSeconds === null ? [] : [...cursorB(xAt(scale, cursorBSeconds), x, width)];
  if (x >= 0 && x <= width) shapes.push(svg("line", { class: "cursor", x1: x, x2: x, y1: 0, y2: "100%" }));
  return shapes;
}

/** Cursor B is hollow where A is solid, and what lies between them is tinted. */
function cursorB(at: number, cursor: number, width: number): readonly SVGElement[] {
  const [from, to] = [Math.max(Math.min(at, cursor), 0), Math.min(Math.max(at, cursor), width)];
  const shapes: SVGElement[] = [];
  if (to > from) shapes.push(svg("rect", { class: "between", x: from, y: 0, width: to - from, height: "100%" }));
  if (at >= 0 && at <= width)
    shapes.push(svg("rect", { class: "cursor-b", x: at - 2, y: -2, width: 4, height: "110%" }));
  return shapes;
}
