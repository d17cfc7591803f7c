/** The numbers nobody entered: what this rehearsal stands on. */
import { foldedIfLong, h, part } from "../dom.ts";
import type { Run } from "../run.ts";

export function assumedPart({ summary }: Run): HTMLElement {
  return part(
    "assumed",
    "Assumed numbers",
    h(
      "p",
      {},
      "A rehearsal aid, not proof. Do the pull test. Each number shows its origin: default, entered, measured on date.",
    ),
    summary.assumed.length === 0
      ? h("p", { class: "none" }, "Every number in this run was entered.")
      : foldedIfLong(
          summary.assumed.length,
          "assumed numbers",
          h("ul", { class: "assumed" }, ...summary.assumed.map((line) => h("li", {}, line))),
        ),
  );
}
