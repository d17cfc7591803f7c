/** The ways through a comparison: from difference to difference, and the keys of the lanes for all else. */
import { counted } from "../../sim/tell/words.ts";
import { h, isolated } from "../dom.ts";
import type { Actions } from "../lanes/actions.ts";
import type { PageContext } from "../page.ts";
import { fineTime } from "../show-time.ts";
import { showing } from "../store.ts";
import type { Differences } from "./differences.ts";
import type { Sides } from "./pair-lanes.ts";

const KEYS = [
  ["[ ]", "cursor to the previous and the next difference"],
  ["F", "cursor to the first difference"],
  ["← →", "earlier, later"],
  ["+ −", "zoom in and out at the cursor"],
  ["0", "the whole show"],
  ["Home End", "the beginning, the end"],
  ["Shift + ← →", "move the cursor"],
  ["B X C", "cursor B to where the cursor is; change places with it; take it away"],
  ["Z", "zoom to what lies between the cursors"],
] as const;

const BY_POINTER =
  "Ctrl or ⌘ with the wheel zooms, dragging moves the window, a click places the cursor, a click with Shift cursor B.";

/** The ways from difference to difference, and the window around them. */
export function goer(
  { store, announce }: PageContext,
  { pairs, instants, firstDifference }: Differences,
  sides: Sides,
) {
  const to = (at: number) => {
    store.set({ cursorSeconds: at, event: null, ...showing(store.look(), at) });
    const place = instants.indexOf(at);
    const here = pairs.flatMap(({ name, differences }) =>
      differences
        .filter(({ fromSeconds }) => fromSeconds === at)
        .map((each) => `${isolated(name)}: ${sides.first} ${each.first}, ${sides.second} ${each.second}`),
    );
    const more = here.length > 3 ? `. And in ${counted(here.length - 3, "more lane", "more lanes")}` : "";
    const told = `${here.slice(0, 3).join(". ")}${more}`;
    announce(`Difference ${place + 1} of ${instants.length}, ${fineTime(at, 3)}. ${told}.`);
  };
  const first = () => {
    if (firstDifference !== null) to(firstDifference.fromSeconds);
  };
  const step = (later: boolean) => () => {
    const { cursorSeconds } = store.look();
    const next = later ? instants.find((at) => at > cursorSeconds) : instants.findLast((at) => at < cursorSeconds);
    if (next !== undefined) to(next);
    else if (instants.length > 0)
      announce(later ? "No difference begins after this." : "No difference begins before this.");
  };
  return { first, next: step(true), previous: step(false) };
}

/** Those of the lanes, but for the brackets: here they go from difference to difference. */
export function keysOf(
  { first, next, previous }: ReturnType<typeof goer>,
  act: Actions,
): Readonly<Record<string, (() => void) | undefined>> {
  const b = { b: act.setCursorBHere, x: act.swapCursors, z: act.zoomBetween, c: () => act.setCursorB(null) };
  return {
    "[": previous,
    "]": next,
    f: first,
    F: first,
    ArrowLeft: act.earlier,
    ArrowRight: act.later,
    "Shift ArrowLeft": act.cursorEarlier,
    "Shift ArrowRight": act.cursorLater,
    "+": act.zoomIn,
    "=": act.zoomIn,
    "-": act.zoomOut,
    "−": act.zoomOut,
    "0": act.fit,
    Home: act.toBegin,
    End: act.toEnd,
    ...b,
    ...Object.fromEntries(Object.entries(b).map(([key, does]) => [key.toUpperCase(), does])),
  };
}

export function keyTable(): HTMLElement {
  return h(
    "details",
    { class: "keys" },
    h("summary", {}, "Keys, while these lanes have the focus"),
    h(
      "dl",
      {},
      ...KEYS.map(([key, does]) => h("div", { class: "key" }, h("dt", {}, h("kbd", {}, key)), h("dd", {}, does))),
    ),
    h("p", {}, BY_POINTER),
  );
}
