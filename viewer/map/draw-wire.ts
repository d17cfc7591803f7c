/**
 * A cable or a stream on the map: solid while it carries, a gap with a cross when it is dead, thin and by word a spare, with
 * a tag hung on it while it is untested.
 */
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { CABLE_LOOKS } from "../../shared/states.ts";
import { isUntested } from "../../sim/tested.ts";
import { svg } from "../dom.ts";
import type { Mark } from "../room/changed.ts";
import { planPlate } from "../views/plan-mark.ts";
import { heavyWidth } from "../views/text-width.ts";
import type { LinkMoment } from "./moments.ts";
import type { Spot, Wire, WordWish } from "./wires.ts";

export interface WireDrawing {
  readonly id: string;
  readonly element: SVGGElement;
  /** Words stand above all lines. */
  readonly word: SVGTextElement;
  readonly room: WordWish;
  put(wire: Wire): void;
  show(moment: LinkMoment | undefined, clockAt: { readonly a: boolean; readonly b: boolean }): void;
  /** Null: it is as it was in the plan before. Its plate hangs where the tag would: it is to be pulled again anyway. */
  mark(mark: Mark | null): void;
  /** The same for those who do not see it. */
  say(words: string): void;
}

/** Half of the gap in a dead line, and the arms of the cross in it. */
const GAP = 11;
const ARM = 5.5;
const HEAD = "M0 0-11-5.5V5.5Z";
const WORD_SIZE = 11;
/** "DOWN", "spare", and what else is short. */
const SHORT_WORD = 44;

export function wireDrawing(plan: Plan, link: LinkPlan, isSpare: boolean, isCrowded: boolean): WireDrawing {
  const { id } = link;
  const untested = isUntested(plan, link);
  const usual = [isSpare ? "spare" : "", untested && !isCrowded ? "untested" : ""].filter((part) => part !== "");
  const lines = ["map-halo", "map-casing", "map-touch", "map-line"].map((name) => svg("path", { class: name }));
  const line = lines[3]!;
  const cross = svg("path", { class: "map-cross", d: `M${-ARM} ${-ARM}L${ARM} ${ARM}M${ARM} ${-ARM}L${-ARM} ${ARM}` });
  const [headA, headB] = [svg("path", { class: "map-head", d: HEAD }), svg("path", { class: "map-head", d: HEAD })];
  const tag = untested ? tagShape() : null;
  const plate = svg("g", {});
  const word = svg("text", { class: "map-word", "aria-hidden": "true" });
  const name = `map-wire ${link.stream === undefined ? "cable" : "stream"}${isSpare ? " spare" : ""}`;
  const element = svg(
    "g",
    { role: "button", tabindex: -1, "data-link": id },
    ...lines,
    cross,
    headA,
    headB,
    tag,
    plate,
  );
  element.setAttribute("class", name);
  let wire: Wire | null = null;
  let [shown, gap, state] = ["", false, ""];
  const setGap = () => {
    if (wire === null) return;
    if (gap) line.setAttribute("stroke-dasharray", `${wire.middleAt - GAP} ${2 * GAP} ${wire.length}`);
    else line.removeAttribute("stroke-dasharray");
  };
  const setWord = () => {
    // Where there is no room the tag says alone that it is untested, and the legend says what a tag is.
    const beside = state !== "" ? [state] : untested && !isCrowded && wire?.word.isFree === true ? ["untested"] : [];
    word.textContent = [...(isSpare ? ["spare"] : []), ...beside].join(", ");
  };
  return {
    id,
    element,
    word,
    room: { width: Math.max(SHORT_WORD, heavyWidth(usual.join(", "), WORD_SIZE)), isSure: isSpare },
    put(next) {
      wire = next;
      for (const each of lines) each.setAttribute("d", next.path);
      for (const each of [cross, tag, plate])
        each?.setAttribute("transform", `translate(${next.middle.x} ${next.middle.y})`);
      headA.setAttribute("transform", turned(next.a));
      headB.setAttribute("transform", turned(next.b));
      word.setAttribute("x", String(next.word.x));
      word.setAttribute("y", String(next.word.y));
      word.setAttribute("text-anchor", next.word.anchor);
      setGap();
      setWord();
    },
    mark(mark) {
      plate.replaceChildren(...(mark === null ? [] : [planPlate(mark)]));
      element.classList.toggle("is-changed", mark !== null);
    },
    say: (words) => element.setAttribute("aria-label", words),
    show(moment, clockAt) {
      const key = `${moment?.stretch.key} ${moment?.word} ${clockAt.a} ${clockAt.b}`;
      if (key === shown) return;
      shown = key;
      gap = moment?.carries === "dead";
      state = moment?.word ?? "";
      setGap();
      const look = moment === undefined ? "" : ` s-${moment.stretch.key} ${moment.carries}`;
      element.setAttribute("class", `${name}${look}${clockAt.a || clockAt.b ? " clock" : ""}${stays(element)}`);
      headA.setAttribute("visibility", clockAt.a ? "visible" : "hidden");
      headB.setAttribute("visibility", clockAt.b ? "visible" : "hidden");
      setWord();
    },
  };
}

/** The sign of what is untested, its middle at 0. */
export function tagShape(): SVGGElement {
  const shape = svg("path", {
    class: "map-tag-shape",
    d: CABLE_LOOKS.untested.sign.stroke,
    transform: "translate(-6 -6)",
  });
  return svg("g", { class: "map-tag s-cable-untested" }, shape);
}

/** Classes that do not come from its state. */
function stays(element: SVGGElement): string {
  return ["chosen", "on-feed", "found", "is-changed"]
    .map((name) => (element.classList.contains(name) ? ` ${name}` : ""))
    .join("");
}

function turned({ x, y, angle }: Spot): string {
  return `translate(${x} ${y}) rotate(${Math.round(angle)})`;
}
