/** The sign of what is not as it was in the plan before: a plate with strokes that no state has. */
import { h, svg } from "../dom.ts";

export type PlanMark = "new" | "changed" | "gone";

/** In a plate of 16 by 16, its middle at 0. */
const STROKES: Readonly<Record<PlanMark, string>> = {
  new: "M-4 0H4M0-4V4",
  changed: "M-4-2H4M-4 2H4M2.5-5L-2.5 5",
  gone: "M-4 0H4",
};

export const PLAN_WORDS: Readonly<Record<PlanMark, string>> = {
  new: "new in the plan",
  changed: "changed in the plan",
  gone: "gone from the plan",
};

export function planPlate(mark: PlanMark): SVGGElement {
  return svg(
    "g",
    { class: "plan-plate", "data-mark": mark },
    svg("rect", { x: -8, y: -8, width: 16, height: 16, rx: 2 }),
    svg("path", { d: STROKES[mark] }),
  );
}

/** Beside words that say the same, or with its own. */
export function planMark(mark: PlanMark, says = false): HTMLElement {
  const size = { width: 18, height: 18, viewBox: "-9 -9 18 18", "aria-hidden": "true", focusable: "false" };
  return h("span", { class: "plan-mark" }, svg("svg", size, planPlate(mark)), says ? PLAN_WORDS[mark] : "");
}
