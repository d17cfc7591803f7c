/**
 * The show over time: one head that stays in sight (cursor, buttons, event rail, axis), the lanes, the curve. All of
 * it shares one window and one cursor, so this file is where keys and gestures act on the store.
 */
import { afterFrame } from "../after-frame.ts";
import { h, part } from "../dom.ts";
import { actions, cursorTime } from "../lanes/actions.ts";
import { cursorB } from "../lanes/cursor-b.ts";
import { flagBar } from "../lanes/flag-bar.ts";
import { flagMoves } from "../lanes/flag-moves.ts";
import { hide } from "../lanes/hide.ts";
import { actionFor, isTakenBy, keySheet } from "../lanes/keys.ts";
import { overview } from "../lanes/overview.ts";
import { player } from "../lanes/player.ts";
import { byTheClock } from "../show-time.ts";
import "../lanes/lanes.css";
import { isPrinting, paceOf } from "../pace.ts";
import type { PageContext } from "../page.ts";
import { wheelHint } from "../wheel-hint.ts";
import { makeZoomable, type Plot } from "../zoom.ts";
import type { Curve } from "./curve.ts";
import { laneRows } from "./lane-rows.ts";
import { legend } from "./legend.ts";
import { eventAt, rail } from "./rail.ts";
import { stretchTable } from "./stretch-table.ts";

/** A click in these means the time below it, unless it is on one of those. */
const IN_TIME = ".rail, .rows, .curve-box";
/** Between two readings of the time while it goes on: ten a second look as if they ran. */
const READOUT_MS = 100;
const NOT_IN_TIME = "button, input, label, [role=button]";

export function showPart(context: PageContext): HTMLElement {
  const { store } = context;
  const hint = wheelHint();
  const rows = laneRows(context);
  const moves = flagMoves(context);
  const top = rail(context, moves);
  const time = h("strong", { class: "time" });
  const says = h("span", { class: "says" });

  const act = actions(context, rows.chosenWords);
  const play = player(context);
  const second = cursorB(context, act);
  const whole = overview(context, act);
  const chosenEvent = flagBar(context, moves);
  const sheet = keySheet();
  const button = (label: string, long: string, short: string, action: () => void) => {
    const made = h(
      "button",
      { type: "button", "aria-label": label, title: label },
      h("span", { class: "long" }, long),
      h("span", { class: "short" }, short),
    );
    made.addEventListener("click", action);
    return made;
  };
  const tools = h(
    "div",
    { class: "tools", role: "group", "aria-label": "Window and cursor" },
    button("Zoom in", "+", "+", act.zoomIn),
    button("Zoom out", "−", "−", act.zoomOut),
    button("Whole show", "Whole show", "Whole", act.fit),
    button("Earlier", "← Earlier", "←", act.earlier),
    button("Later", "Later →", "→", act.later),
    button("Change before: cursor there", "‹ Change", "‹", act.previousChange),
    button("Change after: cursor there", "Change ›", "›", act.nextChange),
    ...play.elements,
  );
  const ofAny = h(
    "div",
    { class: "tool-group", role: "group", "aria-label": "Changes of any lane" },
    button("Any lane: previous change, cursor there", "‹ Any lane", "‹ Any", act.previousChangeOfAny),
    button("Any lane: next change, cursor there", "Any lane ›", "Any ›", act.nextChangeOfAny),
  );
  const above = h(
    "div",
    { class: "show-above" },
    h("div", { class: "tools" }, second.element, ofAny, button("Keys of the lanes", "Keys ?", "?", sheet.open)),
    whole.element,
  );
  const headBar = h(
    "div",
    { class: "show-head" },
    h("p", { class: "readout" }, "At ", time, " ", says),
    tools,
    second.readout,
    chosenEvent.element,
    top.element,
    hint.element,
  );
  const curveToCome = h("div", { class: "curve-to-come" });
  const board = h(
    "div",
    {
      class: "board",
      tabindex: 0,
      role: "group",
      "aria-label": "State lanes over show time",
      "aria-describedby": "lane-keys",
    },
    above,
    headBar,
    rows.element,
    curveToCome,
  );

  const moreKeys = {
    " ": play.toggle,
    b: act.setCursorBHere,
    "?": sheet.open,
  };
  board.addEventListener("keydown", (event) => {
    if (isTakenBy(event.target, event.key)) return;
    const action = actionFor(event, act, moreKeys) ?? moveFor(event);
    if (action === null) return;
    event.preventDefault();
    action();
  });
  /** Alt and an arrow move the event whose flag has the focus, else the chosen one; Delete takes it away. */
  const moveFor = ({ key, altKey, target }: KeyboardEvent) => {
    const isDelete = !altKey && key === "Delete";
    if (!isDelete && !(altKey && (key === "ArrowLeft" || key === "ArrowRight"))) return null;
    const index = eventAt(target) ?? store.look().event;
    if (index === null) return null;
    return () => {
      const isDone = isDelete ? moves.remove(index) : moves.nudge(index, key === "ArrowRight");
      if (!isDone) context.announce("This event cannot be changed here.");
    };
  };
  board.addEventListener("click", (event) => {
    // The way that it came, not the target now: what was clicked may have been drawn anew since.
    const isIn = (selector: string) =>
      event.composedPath().some((one) => one instanceof Element && one.matches(selector));
    if (!isIn(IN_TIME) || isIn(NOT_IN_TIME)) return;
    const seconds = secondsAt(event.clientX);
    if (seconds === null) return;
    if (event.shiftKey || second.isNextClick()) {
      second.placed();
      act.setCursorB(seconds);
      return;
    }
    act.placeCursor({ cursorSeconds: seconds, lane: rows.laneAt(event) ?? store.look().lane, event: null });
  });
  board.addEventListener("dblclick", (event) => {
    if (rows.laneAt(event) !== null) act.zoomToStretch();
  });

  let plotLeft = 0;
  // As last measured: to measure at every move of the window would lay the page out once more for each.
  const plotOf = (): Plot => ({ leftPixels: plotLeft, widthPixels: rows.plotWidth() });
  const secondsAt = (clientX: number): number | null => {
    const box = rows.plotBox();
    if (clientX < box.left || clientX > box.right || box.width === 0) return null;
    const { fromSeconds, toSeconds } = store.look();
    return fromSeconds + ((clientX - box.left) / box.width) * (toSeconds - fromSeconds);
  };

  const zoomable = makeZoomable(board, store, plotOf, hint.show);

  const update = () => {
    const look = store.look();
    time.textContent = cursorTime(look) + byTheClock(context.run.plan, look.cursorSeconds);
    says.textContent = rows.chosenWords();
    // Without a chosen lane they would do what their neighbours do.
    hide(ofAny, store.look().lane === null, () => board);
  };
  const readout = paceOf(board, READOUT_MS, update);
  store.subscribe((_, isMoving) => readout.changed(isMoving));
  let curve: Curve | null = null;
  let stopCurve = () => {};
  /** The curve stands below the lanes, and is drawn once these are on the screen; on paper there is no other frame. */
  const measureCurve = () => {
    stopCurve();
    const draw = () => curve?.measure()();
    if (isPrinting()) draw();
    else stopCurve = afterFrame(draw);
  };
  const measure = () => {
    // All of them read before any of them draws, so that the page is laid out once.
    plotLeft = rows.plotBox().left - board.getBoundingClientRect().left;
    const drawn = [rows.measure(), whole.measure(), top.measure()];
    for (const draw of drawn) draw();
    measureCurve();
    zoomable.follow();
    update();
  };
  const restore = () => {
    const isAtFlag = () => !chosenEvent.element.contains(document.activeElement);
    moves.restore(top.focusFlag, isAtFlag, () => {
      top.measure()();
      chosenEvent.update();
    });
  };
  addEventListener("resize", measure);
  addEventListener("resize", restore, { once: true });
  let unfolded: HTMLDetailsElement[] = [];
  addEventListener("beforeprint", () => {
    document.documentElement.classList.add("printing");
    unfolded = [...document.querySelectorAll<HTMLDetailsElement>("details.long:not([open])")];
    for (const folded of unfolded) folded.open = true;
    measure();
  });
  addEventListener("afterprint", () => {
    document.documentElement.classList.remove("printing");
    for (const folded of unfolded.splice(0)) folded.open = false;
    measure();
  });

  const unseen = h(
    "p",
    { id: "lane-keys", class: "unseen" },
    "Arrow keys move the window, plus and minus zoom, square brackets go from change to change, the question mark shows all keys. The same facts stand in the table below the lanes.",
  );
  const made = part("show", "The show", unseen, board, sheet.element);
  made.classList.add("wide");
  context.whenWhole(({ curveView }) => {
    curve = curveView(context);
    curveToCome.replaceWith(curve.element);
    board.after(legend(context), stretchTable(context.lanes.all));
    if (board.isConnected) measureCurve();
  });
  return made;
}
