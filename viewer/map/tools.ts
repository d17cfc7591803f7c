/** Moving devices on the map without dragging them. */
import type { DevicePlan } from "../../shared/plan.ts";
import { h, name } from "../dom.ts";
import type { Heading } from "./walk.ts";

export interface MapTools {
  readonly element: HTMLElement;
  /** @param device the chosen one, or none @param isMoved whether anything is out of its place */
  show(device: DevicePlan | null, isMoved: boolean): void;
}

const MOVES: readonly (readonly [Heading, string])[] = [
  ["left", "←"],
  ["right", "→"],
  ["up", "↑"],
  ["down", "↓"],
];

export function mapTools(move: (device: string, heading: Heading) => void, putBack: () => void): MapTools {
  let chosen: DevicePlan | null = null;
  const label = h("span", {});
  const arrows = MOVES.map(([heading, sign]) => {
    const button = h("button", { type: "button", "aria-label": `Move ${heading}`, title: `Move ${heading}` }, sign);
    button.addEventListener("click", () => {
      if (chosen !== null) move(chosen.id, heading);
    });
    return button;
  });
  const moves = h("div", { role: "group", "aria-label": "Move the chosen device" }, label, ...arrows);
  const back = h("button", { type: "button" }, "Put all back");
  back.addEventListener("click", putBack);
  const element = h("div", { class: "tools map-tools" }, moves, back);
  let shown: string | null = null;
  return {
    element,
    show(device, isMoved) {
      chosen = device;
      back.hidden = !isMoved;
      moves.hidden = device === null;
      const key = device?.id ?? "";
      if (key === shown) return;
      shown = key;
      label.replaceChildren("Move ", name(device?.name ?? ""));
    },
  };
}
