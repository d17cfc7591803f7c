/** The lines beside the canvas: letter, name, what each is at the cursor or under the pointer, and at cursor B. */
import { h, name } from "../dom.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import type { Look } from "../store.ts";
import { lineColour } from "../theme.ts";
import { atCursors, bWords } from "./at-cursors.ts";
import type { ChartLine, ChartPlan } from "./charts.ts";
import { letter } from "./plot.ts";
import { boundWords } from "./words.ts";

export interface LineList {
  readonly elements: readonly HTMLElement[];
  /** @param indices numbers of the lines that are shown */
  show(chart: ChartPlan, indices: readonly number[]): void;
  colour(): void;
  /** @param pointerSeconds null: the pointer is elsewhere */
  read(look: Look, pointerSeconds: number | null, decimals: number): void;
}

interface Item {
  readonly line: ChartLine;
  readonly mark: HTMLElement;
  readonly index: number;
  readonly here: HTMLElement;
  readonly fromB: HTMLElement;
}

export function lineList(sampleRateHz: number): LineList {
  const when = h("p", { class: "curve-when" });
  const list = h("ol", { class: "curve-lines" });
  const within = h("p", { class: "curve-within" });
  let shown: { readonly chart: ChartPlan; readonly items: readonly Item[] } | null = null;
  const colour = () => {
    for (const { mark, index } of shown?.items ?? []) mark.style.setProperty("--line", lineColour(index));
  };
  return {
    elements: [when, list, within],
    colour,
    show(chart, indices) {
      const items = indices.map((index): Item => {
        const mark = h("span", { class: "letter", "data-line": index }, letter(index));
        const here = h("span", { class: "count", "data-value": index });
        const fromB = h("span", { class: "curve-from-b", hidden: true });
        return { line: chart.lines[index]!, mark, index, here, fromB };
      });
      shown = { chart, items };
      list.replaceChildren(
        ...items.map(({ line, mark, here, fromB }) =>
          h("li", {}, mark, " ", h("span", { class: "curve-name" }, name(line.name)), " ", here, " ", fromB),
        ),
      );
      colour();
    },
    read({ fromSeconds, toSeconds, cursorSeconds, cursorBSeconds }, pointerSeconds, decimals) {
      if (shown === null) return;
      const { chart, items } = shown;
      const at = pointerSeconds ?? cursorSeconds;
      const time = (seconds: number) => fineTime(seconds, decimalsFor(toSeconds - fromSeconds));
      const b = cursorBSeconds === null ? "" : `; cursor B, ${time(cursorBSeconds)}`;
      when.textContent = `${pointerSeconds === null ? "At the cursor" : "Under the pointer"}, ${time(at)}${b}`;
      let most: number | null = null;
      for (const { line, here, fromB } of items) {
        const is = atCursors(chart, line, at, cursorBSeconds, decimals);
        here.textContent = is.here;
        here.classList.toggle("missing", is.isMissing);
        fromB.replaceChildren(...bWords(is).map((text) => h("span", {}, text)));
        fromB.hidden = is.atB === null;
        most = greater(most, line.withinSamplesAt(at));
      }
      within.hidden = most === null;
      within.textContent = most === null ? "" : boundWords(most, chart.key, sampleRateHz);
    },
  };
}

function greater(one: number | null, other: number | null): number | null {
  return one === null || other === null ? (one ?? other) : Math.max(one, other);
}
