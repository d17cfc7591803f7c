/** How a listener fares in the second run against the first, as a sign: two bars of harm, the first run's and the second's. */
import { h, svg } from "../dom.ts";
import type { Turn } from "./outcomes.ts";

const BARS: Readonly<Record<Turn, string>> = {
  better: "M1 1H5V11H1ZM7 8H11V11H7Z",
  worse: "M1 8H5V11H1ZM7 1H11V11H7Z",
  mixed: "M1 1H5V5H1ZM7 7H11V11H7Z",
  same: "M1 5H5V11H1ZM7 5H11V11H7Z",
  alone: "M1 10H11V11H1Z",
};

export const TURN_WORDS: Readonly<Record<Turn, string>> = {
  better: "Better",
  worse: "Worse",
  mixed: "Better and worse",
  same: "The same",
  alone: "In one alone",
};

export function turnMark(turn: Turn): HTMLElement {
  const sign = svg(
    "svg",
    { class: "turn-sign", viewBox: "0 0 12 12", "aria-hidden": "true", focusable: "false" },
    svg("path", { d: BARS[turn] }),
  );
  return h("span", { class: `turn turn-${turn}` }, sign, h("span", {}, TURN_WORDS[turn]));
}
