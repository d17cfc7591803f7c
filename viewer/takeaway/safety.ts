/** Words of caution for paper, beside those that the page's head has: paper is carried to where hands are on cables. */
import { CAUTIONS } from "../../sim/tell/cautions.ts";
import { h } from "../dom.ts";

export function safetyWords(): HTMLElement {
  return h(
    "aside",
    { class: "paper-caution", "aria-label": "On paper" },
    h("p", {}, h("strong", {}, `${CAUTIONS.differs.sheet} `), CAUTIONS.differs.people),
    h("p", {}, "Rehearsed. Not tested on site."),
  );
}
