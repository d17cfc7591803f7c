/** A plot that ignores the wheel in silence reads as broken: the first plain wheel says how to zoom. */
import { h } from "./dom.ts";

const SHOWN_MS = 4000;

export function wheelHint(): { readonly element: HTMLElement; show(): void } {
  const element = h(
    "p",
    { class: "wheel-hint", hidden: true },
    "Ctrl or ⌘ with the wheel zooms here; the wheel alone scrolls the page.",
  );
  let wasShown = false;
  return {
    element,
    show() {
      if (wasShown) return;
      wasShown = true;
      element.hidden = false;
      window.setTimeout(() => {
        element.hidden = true;
      }, SHOWN_MS);
    },
  };
}
