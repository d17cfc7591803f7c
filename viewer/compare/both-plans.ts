/** Below two runs that are compared: both their plans under every fault, when somebody asks. */
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { h } from "../dom.ts";
import { asking } from "../hurt/asking.ts";
import type { PageContext, Room } from "../page.ts";
import { isSame } from "../room/workspace.ts";
import { saveFile, stem } from "../save-file.ts";
import { csvText } from "../takeaway/csv.ts";
import { type LayoutsTold, layoutsTold } from "./layouts.ts";

export interface BothPlans {
  setContext(context: PageContext): void;
  matter(): readonly HTMLElement[];
  /** What was tried is for other plans. */
  stop(): void;
}

/**
 * @param both the two plans' files; null: one of them is not known
 * @param names of the two, on the page
 */
export function bothPlans(
  room: Room,
  both: () => readonly ScenarioTexts[] | null,
  names: () => readonly [string, string],
  redraw: () => void,
): BothPlans {
  let context: PageContext | null = null;
  /** As both stood when it was asked. */
  let faults: { readonly of: readonly ScenarioTexts[]; readonly told: LayoutsTold } | null = null;
  let asked: readonly ScenarioTexts[] = [];
  const asks = asking({
    room,
    words: "Try every fault in both plans",
    layouts() {
      const of = both();
      asked = of ?? [];
      return of;
    },
    ended({ swept, results, missing }) {
      if (missing > 0) {
        context?.announce(UNEVEN);
        return;
      }
      const called = names();
      const tried = swept.map(({ sweep }, layout) => ({ name: called[layout]!, sweep, results: results[layout]! }));
      faults = { of: asked, told: layoutsTold(tried) };
      redraw();
      context?.announce(faults.told.says);
    },
  });
  const csv = h("button", { type: "button" }, "CSV of the faults in both");
  csv.addEventListener("click", () => {
    if (faults === null || context === null) return;
    const content = new Blob([csvText(faults.told.csvRows)], { type: "text/csv" });
    context.announce(saveFile(`${stem(context)}-plans.csv`, content));
  });

  return {
    setContext(next) {
      context = next;
      asks.setContext(next);
    },
    matter() {
      const of = both();
      // What was added on the command line is in no file.
      if (of === null || of.some(({ added }) => added !== undefined)) return [];
      const told =
        faults !== null && of.every((files, place) => isSame(files, faults!.of[place]!)) ? faults.told : null;
      return [
        h(
          "div",
          { class: "layouts" },
          h("h3", {}, "Both plans under every fault"),
          h("p", {}, INTRODUCTION),
          asks.element,
          told?.element ?? null,
          told === null ? null : h("div", { class: "compare-tools" }, csv),
        ),
      ];
    },
    stop() {
      faults = null;
      asks.stop();
    },
  };
}

const INTRODUCTION =
  "Every single fault of each, without those of its file, by the same chance: which plan costs whom what, and what it needs.";
const UNEVEN = "Cancelled: two plans are compared only where every fault was tried in both.";
