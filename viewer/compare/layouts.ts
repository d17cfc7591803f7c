/** Two plans under the same faults and the same chance: what each needs and suffers, and what each fault costs in both. */

import { counted } from "../../sim/tell/words.ts";
import { compareLayouts, type LayoutTried } from "../../sim/trials/compare.ts";
import { caseWords } from "../../sim/trials/words.ts";
import { rehearsalWords } from "../../sim/trials/words-faults.ts";
import {
  comparisonRows,
  differenceWords,
  figureRows,
  letter,
  pairWords,
  undominatedWords,
  WHO,
  worstWords,
} from "../../sim/trials/words-layouts.ts";
import { foldedIfLong, h, table } from "../dom.ts";

export interface LayoutsTold {
  readonly element: HTMLElement;
  /** For those who do not see it appear. */
  readonly says: string;
  readonly csvRows: readonly (readonly string[])[];
}

/** Nothing here listens; whoever puts it in the page has the buttons. */
export function layoutsTold(tried: readonly LayoutTried[]): LayoutsTold {
  const comparison = compareLayouts(tried);
  const { layouts, pairs } = comparison;
  const draws = tried[0]?.sweep.seeds.length ?? 0;
  const says = undominatedWords(layouts);
  const line = (text: string) => h("li", {}, text);
  const element = h(
    "div",
    { class: "layouts-tried" },
    h(
      "p",
      {},
      `Each fault of a plan alone, with its repair, in ${counted(draws, "draw", "draws")} that both share. No failure rates: how often a fault comes is not in it.`,
    ),
    h("p", { class: "compare-turns" }, h("strong", {}, says)),
    h(
      "ul",
      {},
      ...layouts.map((layout, place) =>
        line(worstWords(layout, tried[place] as LayoutTried, place).replace("  ", ": ")),
      ),
    ),
    table(
      "What each comes to under its single faults, and what it needs",
      [
        { head: "Figure" },
        ...layouts.map(({ name }, place) => ({ head: `${letter(place)}: ${name}`, kind: "number" as const })),
      ],
      [
        ...figureRows(comparison, tried),
        [
          "left to choose from",
          ...layouts.map(({ isUndominated }) => (isUndominated ? "yes" : "no: the other is better")),
        ],
      ],
    ),
    ...pairs.flatMap((pair) => {
      const [one, other] = pair.layouts.map(letter) as [string, string];
      const { plan } = (tried[pair.layouts[0]] as LayoutTried).sweep;
      return [
        h("h3", {}, pairWords(pair)),
        h(
          "ul",
          {},
          ...pair.totals.map(({ audience, ...all }) =>
            line(`All faults, ${WHO[audience]}: ${differenceWords(all, one, other)}`),
          ),
        ),
        pair.faults.length === 0
          ? h("p", { class: "none" }, "No fault that both have makes any difference.")
          : foldedIfLong(
              pair.faults.length,
              "differences",
              table(
                "What a fault costs in each, the largest difference first",
                [{ head: "Fault" }, { head: "Who" }, { head: "What differs" }],
                pair.faults.map((each) => [
                  caseWords(plan, each.parts),
                  WHO[each.audience],
                  differenceWords(each, one, other),
                ]),
              ),
            ),
      ];
    }),
    h("p", { class: "meta" }, rehearsalWords(Math.max(...tried.map(({ sweep }) => sweep.plan.assumed.length)), true)),
  );
  return { element, says, csvRows: comparisonRows(comparison, tried) };
}
