/** A cable or a stream on the map: solid while it carries, a gap with a cross when it is dead, thin and by word a spare. */
import { svg } from "../dom.ts";
import type { LinkMoment } from "./moments.ts";
import type { Spot, Wire } from "./wires.ts";

export interface WireDrawing {
  readonly id: string;
  readonly element: SVGGElement;
  /** Words stand above all lines. */
  readonly word: SVGTextElement;
  put(wire: Wire): void;
  show(moment: LinkMoment | undefined, clockAt: { readonly a: boolean; readonly b: boolean }): void;
  /** The same for those who do not see it. */
  say(words: string): void;
}

/** Half of the gap in a dead line, and the arms of the cross in it. */
const GAP = 11;
const ARM = 5.5;
const HEAD = "M0 0-11-5.5V5.5Z";

export function wireDrawing(id: string, isStream: boolean, isSpare: boolean): WireDrawing {
  const lines = ["map-halo", "map-casing", "map-touch", "map-line"].map((name) => svg("path", { class: name }));
  const line = lines[3]!;
  const cross = svg("path", { class: "map-cross", d: `M${-ARM} ${-ARM}L${ARM} ${ARM}M${ARM} ${-ARM}L${-ARM} ${ARM}` });
  const [headA, headB] = [svg("path", { class: "map-head", d: HEAD }), svg("path", { class: "map-head", d: HEAD })];
  const word = svg("text", { class: "map-word", "aria-hidden": "true" });
  const name = `map-wire ${isStream ? "stream" : "cable"}${isSpare ? " spare" : ""}`;
  const element = svg("g", { role: "button", tabindex: -1, "data-link": id }, ...lines, cross, headA, headB);
  element.setAttribute("class", name);
  let wire: Wire | null = null;
  let [shown, gap] = ["", false];
  const setGap = () => {
    if (wire === null) return;
    if (gap) line.setAttribute("stroke-dasharray", `${wire.middleAt - GAP} ${2 * GAP} ${wire.length}`);
    else line.removeAttribute("stroke-dasharray");
  };
  return {
    id,
    element,
    word,
    put(next) {
      wire = next;
      for (const each of lines) each.setAttribute("d", next.path);
      cross.setAttribute("transform", `translate(${next.middle.x} ${next.middle.y})`);
      headA.setAttribute("transform", turned(next.a));
      headB.setAttribute("transform", turned(next.b));
      word.setAttribute("x", String(next.word.x));
      word.setAttribute("y", String(next.word.y));
      word.setAttribute("text-anchor", next.word.anchor);
      setGap();
    },
    say: (words) => element.setAttribute("aria-label", words),
    show(moment, clockAt) {
      const key = `${moment?.stretch.key} ${moment?.word} ${clockAt.a} ${clockAt.b}`;
      if (key === shown) return;
      shown = key;
      gap = moment?.carries === "dead";
      setGap();
      const state = moment === undefined ? "" : ` s-${moment.stretch.key} ${moment.carries}`;
      element.setAttribute("class", `${name}${state}${clockAt.a || clockAt.b ? " clock" : ""}${stays(element)}`);
      headA.setAttribute("visibility", clockAt.a ? "visible" : "hidden");
      headB.setAttribute("visibility", clockAt.b ? "visible" : "hidden");
      word.textContent = [isSpare ? "spare" : "", moment?.word ?? ""].filter((part) => part !== "").join(", ");
    },
  };
}

/** Classes that do not come from its state. */
function stays(element: SVGGElement): string {
  return ["chosen", "on-feed"].map((name) => (element.classList.contains(name) ? ` ${name}` : "")).join("");
}

function turned({ x, y, angle }: Spot): string {
  return `translate(${x} ${y}) rotate(${Math.round(angle)})`;
}
