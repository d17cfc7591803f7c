/** Layouts side by side as text, as a table and as data. */
import { capital, counted, listed } from "../../sim/tell/words.ts";
import type { Comparison, LayoutFigures, LayoutTried } from "../../sim/trials/compare.ts";
import type { Flips } from "../../sim/trials/flips.ts";
import type { RepairName } from "../../sim/trials/list.ts";
import { isHeard, nameOf } from "../../sim/trials/rank.ts";
import { caseWords } from "../../sim/trials/words.ts";
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
import { csvFromRows } from "../tables-csv.ts";
import type { Ink } from "./ink.ts";
import { grouped as joined, notATest, sheetOf } from "./report.ts";

export interface ComparisonPrint {
  readonly tried: readonly LayoutTried[];
  readonly comparison: Comparison;
  /** Null: not asked. */
  readonly flips: Flips | null;
  /** How many assumed numbers each layout has. */
  readonly assumed: readonly number[];
  readonly repairsGiven: ReadonlySet<RepairName>;
}

const DIFFERENCES_SHOWN = 12;

export function comparisonText(
  { tried, comparison, flips, assumed, repairsGiven }: ComparisonPrint,
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const { paragraph } = sheetOf(columns);
  const { layouts, pairs } = comparison;
  const draws = tried[0]?.sweep.seeds.length ?? 0;
  return joined([
    [
      ink(
        "bold",
        paragraph(`${capital(counted(layouts.length, "layout", "layouts"))}, the same faults, the same chance`),
      ),
      ...layouts.map(({ name }, place) => paragraph(`${letter(place)}  ${name}`, 3)),
    ],
    [
      paragraph(
        `Each fault of a layout alone, with its repair, in ${counted(draws, "draw", "draws")} that all layouts share. No failure rates: how often a fault comes is not in it.`,
      ),
    ],
    table([["", ...layouts.map((_, place) => letter(place))], ...figureRows(comparison, tried)]),
    layouts.map((layout, place) => paragraph(worstWords(layout, tried[place] as LayoutTried, place), 3)),
    [paragraph(undominatedWords(layouts))],
    ...pairs.map((pair) => {
      const [one, other] = pair.layouts;
      const plan = (tried[one] as LayoutTried).sweep.plan;
      const shown = pair.faults.slice(0, DIFFERENCES_SHOWN);
      const rest = pair.faults.length - shown.length;
      return [
        ink("bold", paragraph(pairWords(pair))),
        ...pair.totals.map(({ audience, silence, disturbances }) =>
          paragraph(
            `All faults, ${WHO[audience]}: ${differenceWords({ silence, disturbances }, letter(one), letter(other))}`,
            2,
          ),
        ),
        ...(pair.faults.length === 0 ? [paragraph("No fault that both have makes any difference.", 2)] : []),
        ...shown.map((each) =>
          paragraph(
            `- ${caseWords(plan, each.parts)}, ${WHO[each.audience]}: ${differenceWords(each, letter(one), letter(other))}`,
            2,
          ),
        ),
        ...(rest > 0
          ? [paragraph(`and ${counted(rest, "smaller difference", "smaller differences")}: --csv has them all.`, 2)]
          : []),
      ];
    }),
    flipLines(flips, layouts).map((text) => paragraph(text)),
    notATest(Math.max(0, ...assumed), repairsGiven).map((text) => paragraph(text)),
  ]);
}

function table(rows: readonly (readonly [string, ...string[]])[]): string[] {
  const head = Math.max(...rows.map(([name]) => name.length));
  const width = Math.max(...rows.flatMap(([, ...cells]) => cells.map((cell) => cell.length)));
  return rows.map(
    ([name, ...cells]) => `${name.padEnd(head)}  ${cells.map((cell) => cell.padStart(width)).join("  ")}`,
  );
}

function flipLines(flips: Flips | null, layouts: readonly LayoutFigures[]): string[] {
  if (flips === null || layouts.length < 2) return [];
  const { tried, flips: found } = flips;
  const [first] = found;
  if (tried === 0) return [];
  if (first === undefined)
    return [
      `${counted(tried, "assumed number", "assumed numbers")} ${tried === 1 ? "was" : "were"} tried at what else they may be: none of them changes the order of silence.`.replace(
        /^./u,
        (c) => c.toUpperCase(),
      ),
    ];
  const names = [...new Set(found.map(({ name }) => name))];
  return [
    `The order hangs on assumed numbers: with ${found
      .slice(0, 4)
      .map(
        ({ name, at, instead }) =>
          `${name} at ${typeof at === "number" ? Number(at.toPrecision(3)) : at} it is ${instead.map(letter).join(", ")}`,
      )
      .join(
        "; with ",
      )} (least silence for the ${WHO[first.audience]} first). Measure ${listed(names.slice(0, 4))} before you choose.`,
  ];
}

export function comparisonCsv({ tried, comparison }: ComparisonPrint): string {
  return csvFromRows(comparisonRows(comparison, tried));
}

/** What `compare --json` prints. */
export function comparisonJson({ comparison, flips }: ComparisonPrint) {
  return {
    schemaVersion: 1,
    layouts: comparison.layouts.map(({ tolls, audiences, ...layout }) => ({
      ...layout,
      heard: tolls.filter(isHeard).length,
      audiences: audiences.map(({ longestSilence, ...each }) => ({
        ...each,
        longestSilence:
          longestSilence === null ? null : { seconds: longestSilence.seconds, fault: nameOf(longestSilence.toll) },
      })),
    })),
    pairs: comparison.pairs.map(({ faults, ...pair }) => ({
      ...pair,
      faults: faults.map(({ parts: _parts, ...each }) => each),
    })),
    assumed: flips,
  };
}
