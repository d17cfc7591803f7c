/** Words of caution for paper, beside those that the page's head has: paper is carried to where hands are on cables. */
import { h } from "../dom.ts";

export function safetyWords(): HTMLElement {
  return h(
    "aside",
    { class: "paper-caution", "aria-label": "On paper" },
    h(
      "p",
      {},
      h("strong", {}, "If what you see differs from this sheet: mute, then think. "),
      "People before audio; no running in the dark, no climbing.",
    ),
    h("p", {}, "Rehearsed. Not tested on site."),
  );
}
