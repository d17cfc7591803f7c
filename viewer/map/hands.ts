/** Pointer, focus and keys on the map. */
import type { Plan } from "../../shared/plan.ts";
import type { MapDrawing } from "./drawing.ts";
import { type Heading, walked } from "./walk.ts";

interface HandsRequest {
  readonly plan: Plan;
  readonly drawing: MapDrawing;
  choose(key: string): void;
  /** Nothing is to be chosen. */
  leave(): void;
  /** What has the focus is to go out of the plan: chosen by now if it was not. */
  takeOut(key: string): void;
  /** What the pointer or the focus is on has changed. */
  changed(): void;
}

export interface MapHands {
  pointed(): string | null;
  focused(): string | null;
}

const HEADINGS: Readonly<Record<string, Heading>> = {
  ArrowLeft: "left",
  ArrowRight: "right",
  ArrowUp: "up",
  ArrowDown: "down",
};

export function mapHands({ plan, drawing, choose, leave, takeOut, changed }: HandsRequest): MapHands {
  const links = new Map(plan.links.map((link) => [link.id, link]));
  let pointed: string | null = null;
  let focused: string | null = null;

  const keyAt = (target: EventTarget | null): string | null => {
    const found = target instanceof Element ? target.closest<SVGElement>("[data-device], [data-link]") : null;
    if (found === null) return null;
    const { device, link } = found.dataset;
    return device === undefined ? `link ${link}` : `device ${device}`;
  };
  const point = (key: string | null) => {
    if (key === pointed) return;
    pointed = key;
    changed();
  };
  const focus = (key: string | null) => {
    focused = key;
    changed();
  };
  const walk = (from: string, heading: Heading) => {
    const placed = drawing.placed();
    if (placed === null) return;
    const places = new Map([...placed.layout.places].map(([id, { x, y }]) => [`device ${id}`, { x, y }]));
    const lines = [...placed.wires].map(([id, { middle }]) => {
      const { a, b } = links.get(id)!;
      return { key: `link ${id}`, a: `device ${a.device}`, b: `device ${b.device}`, middle };
    });
    const next = walked({ devices: places, wires: lines }, from, heading);
    if (next === null) return;
    // A pointer that was left lying somewhere has nothing more to say.
    pointed = null;
    drawing.elements.get(next)?.focus();
  };

  drawing.svg.addEventListener("pointerover", (event) => point(keyAt(event.target)));
  drawing.svg.addEventListener("pointerleave", () => point(null));
  drawing.svg.addEventListener("focusin", (event) => focus(keyAt(event.target)));
  drawing.svg.addEventListener("focusout", () => focus(null));
  drawing.svg.addEventListener("click", (event) => {
    const key = keyAt(event.target);
    if (key !== null) choose(key);
  });
  drawing.svg.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || focused === null) return;
    const heading = HEADINGS[event.key];
    if (heading !== undefined) {
      event.preventDefault();
      if (event.shiftKey && focused.startsWith("device "))
        drawing.moving.step(focused.slice("device ".length), heading);
      else if (!event.shiftKey) walk(focused, heading);
    } else if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      choose(focused);
    } else if (event.key === "Delete") takeOut(focused);
    else if (event.key === "Escape") leave();
  });
  return { pointed: () => pointed, focused: () => focused };
}
