/** Every state that occurs in this run, with its drawing, its sign and its words; the others folded below. */
import { ALL_LOOKS, longWord, type StateLook } from "../../shared/states.ts";
import { duration } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { sample, signIcon } from "./sign.ts";

interface Entry {
  readonly key: string;
  readonly group: string;
  readonly look: StateLook;
}

export function legend({ lanes }: PageContext): HTMLElement {
  const seconds = new Map<string, number>();
  for (const lane of lanes.all) {
    for (const { key, fromSeconds, toSeconds } of [...lane.stretches, ...lane.strips, ...lane.lines.flat()])
      seconds.set(key, (seconds.get(key) ?? 0) + toSeconds - fromSeconds);
    for (const { key } of lane.marks) seconds.set(key, 0);
  }
  const used = ALL_LOOKS.filter(({ key }) => seconds.has(key));
  // "Up" is drawn by the clock that the link carries; what is untested is so all the time, and stands on the map.
  const others = ALL_LOOKS.filter(({ key }) => !seconds.has(key) && key !== "link-up" && key !== "cable-untested");
  return h(
    "div",
    { class: "legend" },
    h("h3", { class: "group-name" }, "What the lanes show"),
    entries(used, (key) => {
      const total = seconds.get(key) ?? 0;
      return total === 0 ? "" : `${duration(total)} in all`;
    }),
    others.length === 0
      ? null
      : h(
          "details",
          {},
          h("summary", {}, "States that do not occur in this run"),
          entries(others, () => ""),
        ),
  );
}

function entries(list: readonly Entry[], total: (key: string) => string): HTMLElement {
  const groups = [...new Set(list.map(({ group }) => group))];
  return h(
    "div",
    { class: "legend-groups" },
    ...groups.map((group) =>
      h(
        "div",
        {},
        h("h4", {}, group),
        h(
          "ul",
          {},
          ...list
            .filter((entry) => entry.group === group)
            .map(({ key, look }) =>
              h(
                "li",
                {},
                sample(key, look, 44, 18),
                signIcon(key, look),
                h("span", {}, longWord(look), " ", h("small", {}, look.short)),
                h("span", { class: "total" }, total(key)),
              ),
            ),
        ),
      ),
    ),
  );
}
