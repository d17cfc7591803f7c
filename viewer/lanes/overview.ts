/**
 * The whole show above the lanes, with the window marked in it. A click, its keys and the buttons beside it move the
 * window; nothing has to be dragged.
 */

import type { Lane } from "../../sim/lanes/lane.ts";
import { h, svg } from "../dom.ts";
import { paceOf } from "../pace.ts";
import type { PageContext } from "../page.ts";
import { type Actions, windowWords } from "./actions.ts";
import { blocksOf, worstByColumn } from "./busy.ts";

const BANDS: readonly { readonly name: string; readonly kinds: readonly Lane["kind"][] }[] = [
  { name: "Devices", kinds: ["device"] },
  { name: "Links", kinds: ["network", "stream", "link"] },
  { name: "Feeds", kinds: ["feed"] },
];
const BAND = 11;
const EDGE = 3;
const HEIGHT = BANDS.length * BAND + 2 * EDGE;
const COLUMN_PIXELS = 2;
/** A window of a second in a show of days still has to be seen. */
const NARROWEST = 4;

export interface Overview {
  readonly element: HTMLElement;
  /** Reads how much room there is; what it gives back draws in it. */
  measure(): () => void;
}

export function overview({ run, lanes, store }: PageContext, act: Actions): Overview {
  const length = store.lengthSeconds;
  const show = svg("g", {});
  const marked = svg("g", {});
  const drawing = svg("svg", { class: "overview-drawing", height: HEIGHT, "aria-hidden": "true" }, show, marked);
  const slider = h(
    "div",
    {
      ...{ class: "overview-slider", role: "slider", tabindex: 0, "aria-label": "Window on the whole show" },
      ...{ "aria-valuemin": 0, "aria-valuemax": length },
    },
    drawing,
  );
  const button = (text: string, label: string, action: () => void) => {
    const made = h("button", { type: "button", "aria-label": label, title: label }, text);
    made.addEventListener("click", action);
    return made;
  };
  const element = h(
    "div",
    { class: "row overview" },
    h(
      "div",
      { class: "row-name" },
      h("span", {}, "Whole show"),
      h(
        "span",
        { class: "overview-buttons" },
        button("«", "Window before", act.pageEarlier),
        button("»", "Window after", act.pageLater),
      ),
    ),
    h("div", { class: "row-plot" }, slider),
    h("div", { class: "row-words" }, "Higher: weighs more. Rows: devices, links, feeds."),
  );

  slider.addEventListener("click", ({ clientX }) => {
    const { left, width } = drawing.getBoundingClientRect();
    if (width > 0) act.windowAround(((clientX - left) / width) * length);
  });
  slider.addEventListener("keydown", (event) => {
    const action = { PageUp: act.pageEarlier, PageDown: act.pageLater }[event.key];
    if (action === undefined) return;
    event.preventDefault();
    action();
  });

  let width = 0;
  const drawShow = () => {
    const columns = Math.max(1, Math.floor(width / COLUMN_PIXELS));
    const bands = BANDS.flatMap(({ kinds }, index) => {
      const own = lanes.all.filter(({ kind }) => kinds.includes(kind));
      const base = EDGE + (index + 1) * BAND - 1;
      const blocks = blocksOf(worstByColumn(own, length, columns));
      const d = blocks.map(({ from, to, concern }) => {
        const [x, x2] = [(from / columns) * width, (to / columns) * width];
        return `M${x.toFixed(1)} ${base}V${base - concern * 3}H${x2.toFixed(1)}V${base}Z`;
      });
      return [
        svg("path", { class: "overview-base", d: `M0 ${base + 0.5}H${width}` }),
        svg("path", { class: "overview-busy", d: d.join("") }),
      ];
    });
    const events = run.plan.events.map(({ atNs }) => `M${((atNs / 1e9 / length) * width).toFixed(1)} 0V${HEIGHT}`);
    show.replaceChildren(svg("path", { class: "overview-event", d: events.join("") }), ...bands);
  };
  const sayWindow = () => {
    const look = store.look();
    slider.setAttribute("aria-valuenow", String(look.fromSeconds));
    slider.setAttribute("aria-valuetext", windowWords(look));
  };
  const drawWindow = () => {
    if (width === 0) return;
    const look = store.look();
    const at = (seconds: number) => (seconds / length) * width;
    const wide = Math.max(at(look.toSeconds) - at(look.fromSeconds), NARROWEST);
    const from = Math.min(at(look.fromSeconds), width - wide);
    const line = (kind: string, seconds: number) =>
      svg("rect", { class: kind, x: at(seconds) - 1, y: 0, width: 2, height: HEIGHT });
    marked.replaceChildren(
      svg("rect", { class: "overview-outside", x: 0, y: 0, width: from, height: HEIGHT }),
      svg("rect", {
        class: "overview-outside",
        x: from + wide,
        y: 0,
        width: Math.max(0, width - from - wide),
        height: HEIGHT,
      }),
      svg("rect", { class: "overview-window", x: from + 1, y: 1, width: Math.max(wide - 2, 1), height: HEIGHT - 2 }),
      ...(look.cursorBSeconds === null ? [] : [line("overview-b", look.cursorBSeconds)]),
      line("overview-cursor", look.cursorSeconds),
    );
  };
  const pace = paceOf(element, 0, drawWindow);
  store.subscribe((_, isMoving) => {
    sayWindow();
    pace.changed(isMoving);
  });
  sayWindow();
  return {
    element,
    measure() {
      width = slider.clientWidth;
      return () => {
        drawing.setAttribute("width", String(width));
        drawShow();
        drawWindow();
      };
    },
  };
}
