/** Cursor B: set, measured to and taken away with single presses. */
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import type { Actions } from "./actions.ts";
import { betweenWords } from "./between.ts";
import { hide } from "./hide.ts";

export interface CursorB {
  readonly element: HTMLElement;
  /** How far the cursor is from it; empty where it is not set. */
  readonly readout: HTMLElement;
  /** Whether the next click in the lanes places it: true once it was asked to. */
  isNextClick(): boolean;
  placed(): void;
}

export function cursorB({ run, store }: PageContext, act: Actions): CursorB {
  const button = (text: string, label: string, action: () => void) => {
    const made = h("button", { type: "button", title: label }, text);
    made.addEventListener("click", action);
    return made;
  };
  const here = button("B here", "Cursor B to where the cursor is", act.setCursorBHere);
  const next = button("B by next click", "The next click in the lanes places cursor B", () => mode(!isNextClick));
  const swap = button("Swap", "Cursor and cursor B change places", act.swapCursors);
  const between = button("Between", "Zoom to what lies between the cursors", act.zoomBetween);
  const clear = button("Clear B", "Take cursor B away", () => act.setCursorB(null));
  const element = h(
    "div",
    { class: "tool-group", role: "group", "aria-label": "Cursor B" },
    ...[here, next, swap, between, clear],
  );
  const readout = h("p", { class: "readout-b" });
  let isNextClick = false;
  const mode = (is: boolean) => {
    isNextClick = is;
    next.setAttribute("aria-pressed", String(is));
  };
  const update = () => {
    const { cursorSeconds, cursorBSeconds, fromSeconds, toSeconds } = store.look();
    const isSet = cursorBSeconds !== null;
    for (const each of [swap, between, clear]) hide(each, !isSet, () => here);
    readout.hidden = !isSet;
    readout.replaceChildren();
    if (!isSet) return;
    const time = fineTime(cursorBSeconds, decimalsFor(toSeconds - fromSeconds));
    const away = betweenWords(cursorSeconds, cursorBSeconds, run.plan.sampleRateHz);
    readout.append("B at ", h("strong", { class: "time" }, time), `; the cursor is ${away}`);
  };
  store.subscribe(update);
  mode(false);
  update();
  return { element, readout, isNextClick: () => isNextClick, placed: () => mode(false) };
}
