/**
 * The show over time: one head that stays in sight (cursor, buttons, event rail, axis), the lanes, the curve. All of
 * it shares one window and one cursor, so this file is where keys and gestures act on the store.
 */
import { h, part } from "../dom.ts";
import { actions, cursorTime } from "../lanes/actions.ts";
import { cursorB } from "../lanes/cursor-b.ts";
import { flagBar } from "../lanes/flag-bar.ts";
import { hide } from "../lanes/hide.ts";
import { actionFor, isTakenBy, keySheet } from "../lanes/keys.ts";
import { overview } from "../lanes/overview.ts";
import { player } from "../lanes/player.ts";
import "../lanes/lanes.css";
import type { PageContext } from "../page.ts";
import { makeZoomable, type Plot } from "../zoom.ts";
import { curveView } from "./curve.ts";
import { laneRows } from "./lane-rows.ts";
import { legend } from "./legend.ts";
import { rail } from "./rail.ts";
import { stretchTable } from "./stretch-table.ts";

/** A click on these is not meant for the time below it. */
const NOT_THE_LANES = "button, input, select, label, [role=button], .show-above, .flag-bar";

export function showPart(context: PageContext): HTMLElement {
  const { store } = context;
  const hint = h(
    "p",
    { class: "wheel-hint", hidden: true },
    "Ctrl or ⌘ with the wheel zooms here; the wheel alone scrolls the page.",
  );
  const rows = laneRows(context);
  const top = rail(context);
  const curve = curveView(context);
  const time = h("strong", { class: "time" });
  const says = h("span", { class: "says" });

  const act = actions(context, rows.chosenWords);
  const play = player(context);
  const second = cursorB(context, act);
  const whole = overview(context, act);
  const chosenEvent = flagBar(context);
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
    hint,
  );
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
    curve.element,
  );

  const moreKeys = {
    " ": play.toggle,
    b: () => act.setCursorB(store.look().cursorSeconds),
    "?": sheet.open,
  };
  board.addEventListener("keydown", (event) => {
    if (isTakenBy(event.target, event.key)) return;
    const action = actionFor(event, act, moreKeys) ?? moveFor(event);
    if (action === null) return;
    event.preventDefault();
    action();
  });
  /** Alt and an arrow move the event whose flag has the focus, else the chosen one. */
  const moveFor = ({ key, altKey, target }: KeyboardEvent) => {
    if (!altKey || (key !== "ArrowLeft" && key !== "ArrowRight")) return null;
    const atFlag = target instanceof Element ? target.closest("[data-event]")?.getAttribute("data-event") : null;
    const index = atFlag === null || atFlag === undefined ? store.look().event : Number(atFlag);
    if (index === null) return null;
    return () => {
      if (!chosenEvent.nudge(index, key === "ArrowRight")) context.announce("This event cannot be moved here.");
    };
  };
  board.addEventListener("click", (event) => {
    // The way that it came, not the target now: what was clicked may have been drawn anew since.
    if (event.composedPath().some((one) => one instanceof Element && one.matches(NOT_THE_LANES))) return;
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

  const plotOf = (): Plot => {
    const box = rows.plotBox();
    return { leftPixels: box.left - board.getBoundingClientRect().left, widthPixels: box.width };
  };
  const secondsAt = (clientX: number): number | null => {
    const box = rows.plotBox();
    if (clientX < box.left || clientX > box.right || box.width === 0) return null;
    const { fromSeconds, toSeconds } = store.look();
    return fromSeconds + ((clientX - box.left) / box.width) * (toSeconds - fromSeconds);
  };

  let hiding = 0;
  let wasHinted = false;
  const zoomable = makeZoomable(board, store, plotOf, () => {
    if (wasHinted) return;
    wasHinted = true;
    hint.hidden = false;
    clearTimeout(hiding);
    hiding = window.setTimeout(() => {
      hint.hidden = true;
    }, 4000);
  });

  const update = () => {
    time.textContent = cursorTime(store.look());
    says.textContent = rows.chosenWords();
    // Without a chosen lane they would do what their neighbours do.
    hide(ofAny, store.look().lane === null, () => board);
  };
  store.subscribe(update);
  const measure = () => {
    rows.measure();
    whole.measure();
    top.measure();
    curve.measure();
    zoomable.follow();
    update();
  };
  addEventListener("resize", measure);
  addEventListener("resize", () => chosenEvent.restore(top.focusFlag), { once: true });
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
  const made = part("show", "The show", unseen, board, legend(context), stretchTable(context.lanes.all), sheet.element);
  made.classList.add("wide");
  return made;
}
