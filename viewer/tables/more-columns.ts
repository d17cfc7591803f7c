/** The columns beside the first ones: which of them have something in them, and a button for each to show it. */
import { valueAt } from "../../sim/tables/entry.ts";
import { h } from "../dom.ts";
import { type Bench, columnsOf, inherited, itemsIn, type RigTable } from "./bench.ts";
import { CORE, labelOf } from "./labels.ts";

export interface MoreColumns {
  readonly element: HTMLElement;
  /** @param extra those that are shown */
  draw(bench: Bench, extra: readonly string[]): void;
}

export function moreColumns(table: RigTable, toggle: (key: string) => void): MoreColumns {
  const summary = h("summary", {}, "More columns");
  const list = h("div", { class: "map-deeds" });
  const element = h("details", { class: "more-columns" }, summary, list);
  let drawButtons = () => {};
  element.addEventListener("toggle", () => drawButtons());
  return {
    element,
    draw(bench, extra) {
      const others = columnsOf(table).filter(({ key }) => !CORE[table].includes(key));
      const items = itemsIn(bench.rig, table);
      const isUsed = (key: string) =>
        items.some((item) => (valueAt(item, key) ?? inherited(item, key, bench.types)) != null);
      const used = others.filter(({ key }) => !extra.includes(key) && isUsed(key));
      const have = used.length === 1 ? "has" : "have";
      summary.textContent = `More columns${used.length === 0 ? "" : `: ${used.length} not shown ${have} something in them`}`;
      drawButtons = () => {
        const focus = list.contains(document.activeElement) ? document.activeElement : null;
        const ordered = [...used, ...others.filter((column) => !used.includes(column))];
        const buttons = ordered.map(({ key }) => {
          const isOn = extra.includes(key);
          const made = h(
            "button",
            { type: "button", "data-more": key, "aria-pressed": String(isOn) },
            labelOf(table, key),
          );
          made.addEventListener("click", () => toggle(key));
          return made;
        });
        list.replaceChildren(...(element.open ? buttons : []));
        if (focus instanceof HTMLElement)
          buttons.find(({ dataset }) => dataset.more === focus.dataset.more)?.focus({ preventScroll: true });
      };
      drawButtons();
    },
  };
}
