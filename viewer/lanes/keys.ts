/** The keys of the lanes: what each does, and the sheet on which they stand. */
import { h } from "../dom.ts";
import type { Actions } from "./actions.ts";

const KEYS = [
  ["← →", "earlier, later"],
  ["+ −", "zoom in and out at the cursor"],
  ["0", "the whole show"],
  ["Home End", "the beginning, the end"],
  ["Page Up, Page Down", "a whole window earlier, later, in the overview"],
  ["Space", "play, pause"],
  ["Shift + ← →", "move the cursor"],
  ["[ ]", "cursor to the previous and the next change, in the chosen lane if one is chosen"],
  ["{ }", "cursor to the previous and the next change of any lane"],
  ["P N", "cursor to the previous and the next event"],
  ["B", "cursor B to where the cursor is; then move the cursor to measure"],
  ["X", "cursor and cursor B change places"],
  ["Z", "zoom to what lies between the cursors"],
  ["C", "take cursor B away"],
  ["↑ ↓", "choose a lane"],
  ["Enter", "zoom to what the chosen lane is at the cursor"],
  ["Alt + ← →", "move the chosen event, or its end where its end is chosen"],
  ["Delete", "take the chosen event away; its end alone where its end is chosen"],
  ["Ctrl or ⌘ + Z", "take the last change back"],
  ["Esc", "back to the whole show, and no lane chosen"],
  ["?", "these keys"],
] as const;

const BY_POINTER =
  "Ctrl or ⌘ with the wheel zooms, dragging moves the window or a flag, a click places the cursor, a click with Shift cursor B, a double click zooms to a state. All of it has a button as well.";

export interface KeySheet {
  readonly element: HTMLDialogElement;
  open(): void;
}

export function keySheet(): KeySheet {
  const close = h("button", { type: "button" }, "Close");
  const element = h(
    "dialog",
    { class: "keys", "aria-labelledby": "keys-heading" },
    h("h3", { id: "keys-heading" }, "Keys, while the lanes have the focus"),
    h(
      "dl",
      {},
      ...KEYS.map(([key, does]) => h("div", { class: "key" }, h("dt", {}, h("kbd", {}, key)), h("dd", {}, does))),
    ),
    h("p", {}, BY_POINTER),
    close,
  );
  close.addEventListener("click", () => element.close());
  return { element, open: () => element.showModal() };
}

/** Whether what has the focus has a use of its own for this key. */
export function isTakenBy(target: EventTarget | null, key: string): boolean {
  if (!(target instanceof Element)) return false;
  if (target.closest("input, select, textarea") !== null) return true;
  return (key === "Enter" || key === " ") && target.closest("button, summary, [role=button]") !== null;
}

/** Null: this key does nothing here, and is left to the browser. */
export function actionFor(
  event: KeyboardEvent,
  act: Actions,
  more: Readonly<Record<string, () => void>>,
): (() => void) | null {
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
    case "{":
      return act.previousChangeOfAny;
    case "}":
      return act.nextChangeOfAny;
    case "x":
    case "X":
      return act.swapCursors;
    case "z":
    case "Z":
      return act.zoomBetween;
    case "c":
    case "C":
      return () => act.setCursorB(null);
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
      return more[event.key.toLowerCase()] ?? null;
  }
}
