/** What else the page says of the chosen device or cable: the findings that name it, and the ways to its sheet and its numbers. */
import type { Finding } from "../../shared/finding.ts";
import { capital } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { gravestFirst, revealFinding, WEIGHT_WORDS } from "../views/findings.ts";
import { reveal } from "./reveal.ts";

export interface MapAbout {
  readonly element: HTMLElement;
  /** @param chosen "device foh", "link main", or null */
  show(chosen: string | null): void;
}

/** Where else something stands about a device: ids of parts of the page, and what to call the way there. */
const ELSEWHERE: readonly (readonly [string, string])[] = [
  ["should-see", "What you should see of it"],
  ["assumed", "Its numbers"],
];

export function mapAbout({ run: { summary } }: PageContext): MapAbout {
  const element = h("div", {
    class: "map-about",
    role: "group",
    "aria-label": "About what is chosen",
    hidden: true,
    tabindex: -1,
  });
  const names = ({ devices, links }: Finding, kind: string, id: string) =>
    (kind === "device" ? devices : links).includes(id);
  const button = (words: readonly (Node | string)[], act: () => void) => {
    const made = h("button", { type: "button" }, ...words);
    made.addEventListener("click", act);
    return made;
  };
  const found = (finding: Finding) =>
    h(
      "li",
      {},
      button([h("strong", {}, WEIGHT_WORDS[finding.severity]), " ", finding.what], () =>
        revealFinding(summary.findings.indexOf(finding)),
      ),
    );
  let shown: string | null = null;
  return {
    element,
    show(chosen) {
      if (chosen === shown) return;
      shown = chosen;
      element.hidden = chosen === null;
      if (chosen === null) return;
      const [kind, id] = [chosen.slice(0, chosen.indexOf(" ")), chosen.slice(chosen.indexOf(" ") + 1)];
      const findings = gravestFirst(summary.findings.filter((finding) => names(finding, kind, id)));
      const accepted = summary.accepted.filter((finding) => names(finding, kind, id)).length;
      const ways = kind === "device" ? ELSEWHERE : [];
      const none = accepted === 0 ? "No finding names it." : "No finding names it but what is accepted.";
      element.replaceChildren(
        findings.length === 0
          ? h("p", { class: "none" }, none)
          : h("ul", { class: "map-findings", "aria-label": "Findings that name it" }, ...findings.map(found)),
        h(
          "div",
          { class: "map-deeds map-ways" },
          ...ways.map(([part, words]) =>
            button([capital(words)], () => {
              const place = document.querySelector<HTMLElement>(`#${part} h2`);
              if (place === null) return;
              place.tabIndex = -1;
              reveal(place);
            }),
          ),
        ),
      );
    },
  };
}
