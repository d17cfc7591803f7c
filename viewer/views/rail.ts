/** The event rail: a numbered flag for each thing that happens, above the axis of show time. */
import { axisTop, scaleLinear, select } from "d3";
import { isTold } from "../../sim/tell/event-words.ts";
import { eventSentence } from "../../sim/tell/events.ts";
import { h, svg } from "../dom.ts";
import type { FlagMoves } from "../lanes/flag-moves.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime, ticksThatFit, timeTicks } from "../show-time.ts";
import type { Look } from "../store.ts";
import { textWidth } from "./text-width.ts";

const FLAG_ROW = 24;
const FLAG_ROWS = 2;
const AXIS = 22;
/** Room for the letters of two cursors, while there are two. */
const LETTERS = 15;
const FLAG = { width: 20, height: 18 } as const;

export interface Rail {
  readonly element: HTMLElement;
  /** Reads how much room there is; what it gives back draws in it. */
  measure(): () => void;
  focusFlag(index: number): void;
}

export function rail({ run, store, announce }: PageContext, moves: FlagMoves): Rail {
  const plain = FLAG_ROW * FLAG_ROWS + AXIS;
  let height = plain;
  const drawing = svg("svg", { class: "rail-drawing", height, role: "group", "aria-label": "Events" });
  const flags = svg("g", {});
  const words = svg("g", { class: "flag-words", "aria-hidden": "true" });
  const axis = svg("g", { class: "axis", "aria-hidden": "true" });
  const cursors = svg("g", { "aria-hidden": "true" });
  drawing.append(cursors, axis, flags, words);
  /** A cable that comes and goes has one flag. */
  const told = run.plan.events.flatMap((event, index) => (isTold(event) ? [index] : []));
  const eventOf = (flag: number) => run.plan.events[told[flag]!]!;
  /** Kept: flags are drawn at every move of the window. */
  const sentences: string[] = [];
  const sentenceOf = (flag: number) => {
    sentences[flag] ??= eventSentence(run.plan, eventOf(flag));
    return sentences[flag];
  };
  const count = told.length;
  const element = h(
    "div",
    { class: "row rail" },
    h("div", { class: "row-name" }, count === 0 ? "Nothing happens" : count === 1 ? "1 event" : `${count} events`),
    h("div", { class: "row-plot" }, drawing),
    h("div", { class: "row-words" }),
  );
  let width = 0;

  const scaleNow = ({ fromSeconds, toSeconds }: Look) => scaleLinear([fromSeconds, toSeconds], [0, width]);
  const drawCursors = () => {
    const look = store.look();
    if (width > 0) cursors.replaceChildren(...cursorMarks(look, scaleNow(look)));
  };
  const draw = () => {
    if (width === 0) return;
    const look = store.look();
    const { fromSeconds, toSeconds } = look;
    const scale = scaleNow(look);
    const { values, decimals } = timeTicks(fromSeconds, toSeconds, ticksThatFit(width, toSeconds));
    select(axis).call(
      axisTop(scale)
        .tickValues([...values])
        .tickFormat((value) => fineTime(Number(value), decimals))
        .tickSizeOuter(0),
    );
    // Moved by where they are drawn, not by a transform: that the browser would put its layers together for anew each time.
    const ticks = select(axis).selectAll<SVGGElement, number>(".tick").attr("transform", null);
    const place = (at: number) => scale(at) + 0.5;
    ticks.select("line").attr("x1", place).attr("x2", place);
    ticks.select("text").attr("x", place);
    // The first and the last instant would lose half of their digits at the edge.
    select(axis)
      .selectAll<SVGTextElement, number>(".tick text")
      .attr("text-anchor", (at) => (scale(at) < 32 ? "start" : scale(at) > width - 32 ? "end" : "middle"));
    height = plain + (look.cursorBSeconds === null ? 0 : LETTERS);
    drawing.setAttribute("height", String(height));
    axis.setAttribute("transform", `translate(0 ${height - 1})`);
    drawCursors();

    const focused = document.activeElement?.closest("[data-event]")?.getAttribute("data-event");
    const places = told.map((event, index) => ({ index, at: scale(moves.secondsOf(event)) }));
    const poles = polesIn(
      places.sort((one, other) => one.at - other.at || one.index - other.index),
      width,
    );
    flags.replaceChildren(...poles.map((pole) => flag(pole, look)));
    words.replaceChildren(...poles.flatMap((pole) => flagWords(pole, poles)));
    if (focused !== null && focused !== undefined)
      flags.querySelector<SVGGElement>(`[data-event="${focused}"]`)?.focus({ preventScroll: true });
  };

  /** One cursor needs no name; of two each has its letter. */
  const cursorMarks = ({ cursorSeconds, cursorBSeconds }: Look, scale: (seconds: number) => number): SVGElement[] => {
    const a = scale(cursorSeconds);
    const b = cursorBSeconds === null ? null : scale(cursorBSeconds);
    const top = FLAG_ROW * FLAG_ROWS;
    const mark = (x: number, kind: "a" | "b", isLeft: boolean): SVGElement[] =>
      x < 0 || x > width
        ? []
        : [
            kind === "a"
              ? svg("path", { class: "cursor", d: `M${x.toFixed(2)} 0V${height}` })
              : svg("rect", { class: "cursor-b", x: x - 2, y: -2, width: 4, height: height + 4 }),
            ...(b === null ? [] : letterAt(x, kind, isLeft ? x < 15 : x < width - 15)),
          ];
    const letterAt = (x: number, kind: "a" | "b", isRight: boolean) => {
      const left = isRight ? x + 1 : x - 14;
      return [
        svg("rect", { class: `cursor-letter ${kind}`, x: left, y: top + 0.5, width: 13, height: LETTERS - 2 }),
        svg("text", { class: `cursor-letter ${kind}`, x: left + 6.5, y: top + 11.5 }, kind.toUpperCase()),
      ];
    };
    // The letters stand away from each other.
    return b === null ? mark(a, "a", false) : [...mark(b, "b", b <= a), ...mark(a, "a", a < b)];
  };

  const flag = ({ index, at, left, row }: Pole, look: Look): SVGGElement => {
    const event = eventOf(index);
    const top = topOf(row);
    const time = fineTime(moves.secondsOf(told[index]!), decimalsFor(look.toSeconds - look.fromSeconds));
    const canMove = moves.partOf(told[index]!) !== null ? " movable" : "";
    const isMoving = moves.isMoving(told[index]!) ? " moving" : "";
    const label = `Event ${index + 1}, ${time}: ${sentenceOf(index)}`;
    const group = svg(
      "g",
      {
        class: `flag${event.undoes === null ? "" : " undoes"}${look.event === told[index] ? " chosen" : ""}${canMove}${isMoving}`,
        role: "button",
        tabindex: count <= 12 ? 0 : -1,
        "aria-label": label,
        "data-event": told[index]!,
      },
      svg("title", {}, label),
      svg("path", { class: "pole", d: `M${at.toFixed(2)} ${top}V${height}` }),
    );
    if (row === null) return group;
    const wide = flagWidth(index);
    group.append(
      // A finger needs more than the flag: the whole row, and a little to each side.
      svg("rect", { class: "touch", x: left - 3, y: top - 3, width: wide + 6, height: FLAG_ROW }),
      svg("rect", { class: "cloth", x: left, y: top, width: wide, height: FLAG.height }),
    );
    return group;
  };

  /** Beside the buttons, not in them: what they are called is longer than what fits here. */
  const flagWords = ({ index, at, left, row }: Pole, poles: readonly Pole[]): readonly SVGTextElement[] => {
    if (row === null) return [];
    const event = eventOf(index);
    const wide = flagWidth(index);
    const y = topOf(row) + 13;
    const kind = event.undoes === null ? "flag-number" : "flag-number undoes";
    const number = svg("text", { class: kind, x: left + wide / 2, y }, String(index + 1));
    // A pole of the row above runs through this row as well.
    const next = poles.find((other) => other.at > at && other.row !== null && other.row <= row);
    const room = (next === undefined ? width : Math.min(next.left, next.at)) - left - wide - 12;
    const label = labelFor(sentenceOf(index), room);
    return label === "" ? [number] : [number, svg("text", { x: left + wide + 5, y }, label)];
  };

  const choose = (target: EventTarget | null) => {
    const index = eventAt(target);
    if (index === null) return false;
    const event = run.plan.events[index]!;
    store.set({ event: index, cursorSeconds: event.atNs / 1e9 });
    announce(eventSentence(run.plan, event));
    return true;
  };
  flags.addEventListener("click", (event) => choose(event.target));
  flags.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    if (choose(event.target)) {
      event.preventDefault();
      event.stopPropagation();
    }
  });
  flags.addEventListener("pointerdown", (event) => {
    const index = event.button === 0 && event.isPrimary ? eventAt(event.target) : null;
    if (index === null || moves.partOf(index) === null) return;
    const from = moves.secondsOf(index) - secondsAt(event.clientX);
    dragOf(drawing, event, {
      move: (clientX) => moves.drag(index, from + secondsAt(clientX)),
      drop: moves.drop,
      cancel() {
        moves.cancel();
        draw();
      },
    });
  });
  /** What lies outside of the window cannot be pointed at. */
  const secondsAt = (clientX: number) => {
    const { fromSeconds, toSeconds } = store.look();
    const share = (clientX - drawing.getBoundingClientRect().left) / width;
    return fromSeconds + Math.min(Math.max(share, 0), 1) * (toSeconds - fromSeconds);
  };
  store.subscribe((before) => {
    const { cursorSeconds, cursorBSeconds, ...rest } = store.look();
    const isOnlyCursor =
      (before.cursorBSeconds === null) === (cursorBSeconds === null) &&
      (Object.keys(rest) as (keyof typeof rest)[]).every((key) => before[key] === rest[key]);
    if (isOnlyCursor) drawCursors();
    else draw();
  });
  return {
    element,
    measure() {
      width = drawing.parentElement?.clientWidth ?? 0;
      return () => {
        drawing.setAttribute("width", String(width));
        draw();
      };
    },
    focusFlag: (index) => flags.querySelector<SVGGElement>(`[data-event="${index}"]`)?.focus({ preventScroll: true }),
  };
}

/** Index in `Plan.events` of the event whose flag this is, or is in. */
export function eventAt(target: EventTarget | null): number | null {
  const index = target instanceof Element ? target.closest("[data-event]")?.getAttribute("data-event") : null;
  return index === null || index === undefined ? null : Number(index);
}

/** A press that moves less is a click. */
const CLICK_PIXELS = 4;

/** From the press until it ends, wherever the pointer goes: flags are drawn anew under it. Escape gives it up. */
function dragOf(
  drawing: SVGSVGElement,
  { clientX: pressedX, pointerId }: PointerEvent,
  { move, drop, cancel }: { move(clientX: number): void; drop(): void; cancel(): void },
): void {
  const listening = new AbortController();
  const { signal } = listening;
  let isUnderWay = false;
  const end = (how: () => void) => {
    listening.abort();
    if (!isUnderWay) return;
    // The click that a drag ends with is none.
    const click = new AbortController();
    addEventListener("click", (event) => event.stopPropagation(), { capture: true, signal: click.signal });
    setTimeout(() => click.abort());
    how();
  };
  const own = (act: (event: PointerEvent) => void) => (event: PointerEvent) => {
    if (event.pointerId === pointerId) act(event);
  };
  document.addEventListener(
    "pointermove",
    own(({ clientX }) => {
      if (!isUnderWay && Math.abs(clientX - pressedX) < CLICK_PIXELS) return;
      if (!isUnderWay) drawing.setPointerCapture(pointerId);
      isUnderWay = true;
      move(clientX);
    }),
    { signal },
  );
  document.addEventListener(
    "pointerup",
    own(() => end(drop)),
    { signal },
  );
  document.addEventListener(
    "pointercancel",
    own(() => end(cancel)),
    { signal },
  );
  const giveUp = (event: KeyboardEvent) => {
    if (event.key !== "Escape" || !isUnderWay) return;
    event.stopPropagation();
    end(cancel);
  };
  document.addEventListener("keydown", giveUp, { capture: true, signal });
}

interface Pole {
  readonly index: number;
  readonly at: number;
  /** Left edge of the flag. */
  readonly left: number;
  /** Null: no room for a flag; the pole stands alone. */
  readonly row: number | null;
}

/** @param places from left to right */
function polesIn(places: readonly { readonly index: number; readonly at: number }[], width: number): readonly Pole[] {
  const rowEnds: number[] = Array.from({ length: FLAG_ROWS }, () => Number.NEGATIVE_INFINITY);
  return places.flatMap(({ at, index }) => {
    if (at < -1 || at > width + 1) return [];
    // Flags stand right of their pole, left of it where the drawing ends.
    const left = at + flagWidth(index) > width ? at - flagWidth(index) : at;
    const row = rowEnds.findIndex((end) => end <= left);
    if (row >= 0) rowEnds[row] = left + flagWidth(index) + 2;
    return [{ index, at, left, row: row < 0 ? null : row }];
  });
}

function topOf(row: number | null): number {
  return (row ?? FLAG_ROWS) * FLAG_ROW + 3;
}

function flagWidth(index: number): number {
  return index >= 99 ? 32 : FLAG.width;
}

/** As much of the sentence as the room holds; nothing rather than a stump. */
function labelFor(says: string, room: number): string {
  const first = says.replace(/\.(\s.*)?$/s, "");
  if (textWidth(first, LABEL_SIZE) <= room) return first;
  const letters = Math.floor((first.length * room) / textWidth(first, LABEL_SIZE)) - 2;
  return letters < 9 ? "" : `${first.slice(0, letters).trimEnd()}…`;
}

const LABEL_SIZE = 12;
