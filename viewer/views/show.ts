/**
 * The show over time: one head that stays in sight (cursor, buttons, event rail, axis), the lanes, the curve. All of
 * it shares one window and one cursor, so this file is where keys and gestures act on the store.
 */
import { h, part } from "../dom.ts";
import { changesOf } from "../lane.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import { type Look, panned, showing, zoomed } from "../store.ts";
import { makeZoomable, type Plot } from "../zoom.ts";
import { curveView } from "./curve.ts";
import { laneRows } from "./lane-rows.ts";
import { legend } from "./legend.ts";
import { rail } from "./rail.ts";
import { stretchTable } from "./stretch-table.ts";

const KEYS = [
  ["← →", "earlier, later"],
  ["+ −", "zoom in and out at the cursor"],
  ["0", "the whole show"],
  ["Home End", "the beginning, the end"],
  ["Shift + ← →", "move the cursor"],
  ["[ ]", "cursor to the previous and the next change, in the chosen lane if one is chosen"],
  ["P N", "cursor to the previous and the next event"],
  ["↑ ↓", "choose a lane"],
  ["Enter", "zoom to what the chosen lane is at the cursor"],
  ["Esc", "back to the whole show, and no lane chosen"],
] as const;

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
  );
  const headBar = h(
    "div",
    { class: "show-head" },
    h("p", { class: "readout" }, "At ", time, " ", says),
    tools,
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
    headBar,
    rows.element,
    curve.element,
  );

  board.addEventListener("keydown", (event) => {
    if (
      event.target instanceof Element &&
      event.target.closest("button, summary, input") !== null &&
      event.key === "Enter"
    )
      return;
    const action = actionFor(event, act);
    if (action === null) return;
    event.preventDefault();
    action();
  });
  board.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest("button, input, label, [role=button]") !== null) return;
    const seconds = secondsAt(event.clientX);
    if (seconds === null) return;
    store.set({ cursorSeconds: seconds, lane: rows.laneAt(event) ?? store.look().lane, event: null });
    context.announce(`${cursorTime(store.look())}. ${rows.chosenWords()}`);
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
  };
  store.subscribe(update);
  const measure = () => {
    rows.measure();
    top.measure();
    curve.measure();
    zoomable.follow();
    update();
  };
  addEventListener("resize", measure);
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

  const keys = h(
    "details",
    { class: "keys" },
    h("summary", {}, "Keys, while the lanes have the focus"),
    h(
      "dl",
      {},
      ...KEYS.map(([key, does]) => h("div", { class: "key" }, h("dt", {}, h("kbd", {}, key)), h("dd", {}, does))),
    ),
    h(
      "p",
      {},
      "Ctrl or ⌘ with the wheel zooms, dragging moves, a click places the cursor, a double click zooms to a state.",
    ),
  );
  const unseen = h(
    "p",
    { id: "lane-keys", class: "unseen" },
    "Arrow keys move the window, plus and minus zoom, square brackets go from change to change. The same facts stand in the table below the lanes.",
  );
  const made = part("show", "The show", unseen, board, legend(context), stretchTable(context.lanes.all), keys);
  made.classList.add("wide");
  return made;
}

function cursorTime({ cursorSeconds, fromSeconds, toSeconds }: Look): string {
  return fineTime(cursorSeconds, decimalsFor(toSeconds - fromSeconds));
}

function actions({ run, lanes, store, announce }: PageContext, chosenWords: () => string) {
  const { lengthSeconds } = store;
  const view = (patch: Partial<Look>) => store.set(patch);
  const atCursor = (look: Look) => {
    const inside = look.cursorSeconds >= look.fromSeconds && look.cursorSeconds <= look.toSeconds;
    return inside ? look.cursorSeconds : (look.fromSeconds + look.toSeconds) / 2;
  };
  const zoom = (factor: number) => () => {
    const look = store.look();
    view(zoomed(look, factor, atCursor(look)));
    sayWindow();
  };
  const sayWindow = () => {
    const { fromSeconds, toSeconds } = store.look();
    const decimals = decimalsFor(toSeconds - fromSeconds);
    announce(`From ${fineTime(fromSeconds, decimals)} to ${fineTime(toSeconds, decimals)}`);
  };
  const pan = (share: number) => () => {
    view(panned(store.look(), share));
    sayWindow();
  };
  const cursorTo = (cursorSeconds: number, event: number | null = null) => {
    view({ cursorSeconds, event, ...showing(store.look(), cursorSeconds) });
    announce(`${cursorTime(store.look())}. ${chosenWords()}`);
  };
  const nudge = (share: number) => () => {
    const { cursorSeconds, fromSeconds, toSeconds } = store.look();
    cursorTo(Math.min(Math.max(cursorSeconds + (toSeconds - fromSeconds) * share, 0), lengthSeconds));
  };

  let allChanges: readonly number[] | null = null;
  const changes = (): readonly number[] => {
    const { lane } = store.look();
    const chosen = lanes.all.find(({ key }) => key === lane);
    if (chosen !== undefined) return changesOf(chosen);
    allChanges ??= [...new Set(lanes.all.flatMap(changesOf))].sort((one, other) => one - other);
    return allChanges;
  };
  const change = (later: boolean) => () => {
    const { cursorSeconds } = store.look();
    const all = changes();
    const next = later ? all.find((at) => at > cursorSeconds) : all.findLast((at) => at < cursorSeconds);
    if (next !== undefined) cursorTo(next);
  };
  const event = (later: boolean) => () => {
    const { cursorSeconds } = store.look();
    const { events } = run.summary;
    const index = later
      ? events.findIndex(({ atSeconds }) => atSeconds > cursorSeconds)
      : events.findLastIndex(({ atSeconds }) => atSeconds < cursorSeconds);
    const found = events[index];
    if (found !== undefined) cursorTo(found.atSeconds, index);
  };
  const lane = (step: number) => () => {
    const visible = lanes.all;
    const index = visible.findIndex(({ key }) => key === store.look().lane);
    const next = visible[Math.min(Math.max(index + step, 0), visible.length - 1)];
    if (next === undefined) return;
    view({ lane: next.key });
    announce(chosenWords());
  };
  return {
    zoomIn: zoom(0.5),
    zoomOut: zoom(2),
    fit: () => {
      view({ fromSeconds: 0, toSeconds: lengthSeconds });
      sayWindow();
    },
    earlier: pan(-0.25),
    later: pan(0.25),
    toBegin: () => {
      const { fromSeconds, toSeconds } = store.look();
      view({ fromSeconds: 0, toSeconds: toSeconds - fromSeconds });
      sayWindow();
    },
    toEnd: () => {
      const { fromSeconds, toSeconds } = store.look();
      view({ fromSeconds: lengthSeconds - (toSeconds - fromSeconds), toSeconds: lengthSeconds });
      sayWindow();
    },
    cursorEarlier: nudge(-0.01),
    cursorLater: nudge(0.01),
    previousChange: change(false),
    nextChange: change(true),
    previousEvent: event(false),
    nextEvent: event(true),
    laneAbove: lane(-1),
    laneBelow: lane(1),
    zoomToStretch: () => {
      const { lane, cursorSeconds } = store.look();
      const stretches = lanes.all.find(({ key }) => key === lane)?.stretches ?? [];
      const stretch = stretches.findLast(({ fromSeconds }) => fromSeconds <= cursorSeconds);
      if (stretch === undefined) return;
      const margin = (stretch.toSeconds - stretch.fromSeconds) / 8;
      view({ fromSeconds: stretch.fromSeconds - margin, toSeconds: stretch.toSeconds + margin });
      sayWindow();
    },
    leave: () => {
      view({ fromSeconds: 0, toSeconds: lengthSeconds, lane: null, event: null });
      sayWindow();
    },
  };
}

function actionFor(event: KeyboardEvent, act: ReturnType<typeof actions>): (() => void) | null {
  if (event.ctrlKey || event.metaKey || event.altKey) return null;
  switch (event.key) {
    case "ArrowLeft":
      return event.shiftKey ? act.cursorEarlier : act.earlier;
    case "ArrowRight":
      return event.shiftKey ? act.cursorLater : act.later;
    case "ArrowUp":
      return act.laneAbove;
    case "ArrowDown":
      return act.laneBelow;
    case "+":
    case "=":
      return act.zoomIn;
    case "-":
    case "−":
      return act.zoomOut;
    case "0":
      return act.fit;
    case "Home":
      return act.toBegin;
    case "End":
      return act.toEnd;
    case "[":
      return act.previousChange;
    case "]":
      return act.nextChange;
    case "p":
    case "P":
      return act.previousEvent;
    case "n":
    case "N":
      return act.nextEvent;
    case "Enter":
      return act.zoomToStretch;
    case "Escape":
      return act.leave;
    default:
      return null;
  }
}
