/** Every fault of a rig as text, as a table and as data. */
import type { Plan } from "../../shared/plan.ts";
import { feedsInOrder } from "../../sim/tell/pieces.ts";
import { capital, counted, duration, grouped } from "../../sim/tell/words.ts";
import { alike, BAR_CELLS, type Bar, barOf, type Cell } from "../../sim/trials/alike.ts";
import { type Figures, figuresOf, needsOf } from "../../sim/trials/figures.ts";
import type { RepairName } from "../../sim/trials/list.ts";
import { AUDIENCES_ASKED, type CaseToll, isHeard, nameOf } from "../../sim/trials/rank.ts";
import { caseWords } from "../../sim/trials/words.ts";
import {
  classWords,
  type FaultsTried,
  faultRows,
  partialWords,
  rowWords,
  summarySentences,
  triedWords,
  unheardWords,
  whoHears,
} from "../../sim/trials/words-faults.ts";
import { csvFromRows } from "../tables-csv.ts";
import type { Ink } from "./ink.ts";
import { oneLine } from "./plain.ts";
import { grouped as joined, notATest, sheetOf } from "./report.ts";

export interface FaultsPrint extends FaultsTried {
  /** As typed. */
  readonly file: string;
  readonly version: string;
  readonly stamp: string;
  readonly sha256: string;
  /** Null: not asked. Those that are worse than their two faults apart, worst first. */
  readonly pairs: { readonly tried: number; readonly leftOut: number; readonly worse: readonly CaseToll[] } | null;
  readonly listsAll: boolean;
  readonly repairsGiven: ReadonlySet<RepairName>;
}

/** Classes that are read at one go; the rest is counted. */
const CLASSES_SHOWN = 12;
const SIGNS: Readonly<Record<Cell, string>> = { silence: "S", clicks: "c", dropout: "d", nothing: "·" };
const BAR_WIDTH = BAR_CELLS + 1;
/** Two mixes for the PA are told apart by what stands in brackets. */
const HEAD_WIDTH_MAX = 20;

export function faultsText(
  print: FaultsPrint,
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const { sweep, tolls } = print;
  const { plan } = sweep;
  const { paragraph } = sheetOf(columns);
  const heard = tolls.filter(isHeard);
  const classes = alike(heard);
  const shown = print.listsAll ? classes : classes.slice(0, CLASSES_SHOWN);
  const rest = classes.slice(shown.length).flat().length;
  const feeds = feedsInOrder({ plan }).map(({ id }) => id);
  const parts: string[][] = [
    [ink("bold", paragraph(`What can hurt: ${plan.title}`)), ink("dim", paragraph(identity(print)))],
    [partialWords(print) ?? [], triedWords(print)].flat().map((text) => paragraph(text)),
    summarySentences(print).map((text, index) => (index === 0 ? ink("bold", paragraph(text)) : paragraph(text))),
    heard.length === 0
      ? []
      : [
          ...legend(plan, feeds).map((text) => ink("dim", paragraph(text))),
          ...shown.flatMap((tolls) => ["", ...classLines(plan, tolls, feeds, { ink, paragraph })]),
          ...(rest === 0
            ? []
            : [
                "",
                paragraph(
                  `And ${counted(rest, "fault", "faults")} that ${rest === 1 ? "weighs" : "weigh"} less: --all lists them.`,
                ),
              ]),
        ],
    unheardLines(plan, tolls).map((text) => paragraph(text, 2)),
    pairLines(print, feeds, { ink, paragraph }),
    notATest(plan.assumed.length, print.repairsGiven).map((text) => paragraph(text)),
  ];
  return joined(parts);
}

function identity({ file, stamp, sha256, sweep, version }: FaultsPrint): string {
  return `${file}, plan ${stamp}, sha256 ${sha256.slice(0, 12)}, seed ${sweep.plan.seed}, pulltest ${version}`;
}

function legend(plan: Plan, feeds: readonly string[]): string[] {
  const heads = feeds.map((id) => headCell(whoHears(plan, id).head));
  return [
    "S silent, c clicks, d one short dropout; one sign up to 1 s, two up to 10 s, three 1 min, four 10 min, five longer.",
    "! back at full level, no fade; ? may be silent or clicking, nobody knows.",
    "",
    heads.join("  ").trimEnd(),
  ];
}

function headCell(head: string): string {
  const text = oneLine(head);
  const cut = text.length > HEAD_WIDTH_MAX ? `${text.slice(0, HEAD_WIDTH_MAX - 1)}…` : text;
  return cut.padEnd(BAR_WIDTH);
}

function classLines(
  plan: Plan,
  tolls: readonly CaseToll[],
  feeds: readonly string[],
  { ink, paragraph }: { readonly ink: Ink; readonly paragraph: (text: string, indent?: number) => string },
): string[] {
  const widths = feeds.map((id) => headCell(whoHears(plan, id).head).length);
  const barsWidth = widths.reduce((sum, width) => sum + width + 2, 0);
  return [
    ink("yellow", paragraph(classWords(plan, tolls))),
    ...tolls.map((toll) => {
      const bars = feeds.map((id, place) => {
        const feed = toll.feeds.find((each) => each.feed === id);
        return (feed === undefined ? "" : barText(barOf(feed))).padEnd(widths[place] as number);
      });
      return paragraph(`${bars.join("  ")}  ${rowWords(plan, toll)}`, barsWidth);
    }),
  ];
}

function barText({ cells, isAtFullLevel, mayBeSilent }: Bar): string {
  return `${cells.map((cell) => SIGNS[cell]).join("")}${mayBeSilent ? "?" : isAtFullLevel ? "!" : " "}`;
}

function unheardLines(plan: Plan, tolls: readonly CaseToll[]): string[] {
  const unheard = tolls.filter((toll) => !isHeard(toll));
  if (unheard.length === 0) return [];
  return [unheardWords(unheard.length), ...unheard.map(({ faults }) => `- ${caseWords(plan, faults)}`)];
}

function pairLines(
  { pairs, sweep, listsAll }: FaultsPrint,
  feeds: readonly string[],
  sheet: { readonly ink: Ink; readonly paragraph: (text: string, indent?: number) => string },
): string[] {
  if (pairs === null) return [];
  const { tried, leftOut, worse } = pairs;
  const { paragraph } = sheet;
  const out = `${capital(counted(tried, "pair", "pairs"))} tried, the second fault ${duration(sweep.apartSeconds)} after the first; ${grouped(leftOut)} left out, whose faults reach no device in common.`;
  const classes = alike(worse);
  const shown = listsAll ? classes : classes.slice(0, CLASSES_SHOWN);
  const rest = classes.slice(shown.length).flat().length;
  return [
    sheet.ink(
      "bold",
      paragraph(
        worse.length === 0
          ? "No pair is worse than its two faults apart."
          : `${capital(counted(worse.length, "pair is", "pairs are"))} worse than the two faults apart.`,
      ),
    ),
    paragraph(out),
    ...shown.flatMap((tolls) => ["", ...classLines(sweep.plan, tolls, feeds, sheet)]),
    ...(rest === 0
      ? []
      : [
          "",
          paragraph(
            `And ${counted(rest, "pair", "pairs")} that ${rest === 1 ? "weighs" : "weigh"} less: --all lists them.`,
          ),
        ]),
  ];
}

export function faultsCsv({ sweep, tolls }: FaultsPrint): string {
  return csvFromRows(faultRows(sweep.plan, tolls));
}

/** What `faults --json` prints. */
export function faultsJson({ sweep, stamp, sha256, leftOut, results, tolls, pairs, missing }: FaultsPrint) {
  const { plan, standings, seeds, watchSeconds } = sweep;
  return {
    schemaVersion: 1,
    scenario: { title: plan.title, sha256, stamp },
    moments: standings.map(({ atNs }) => atNs / 1e9),
    draws: seeds.length,
    watchSeconds,
    eventsLeftOut: leftOut,
    trials: results.length,
    missing,
    needs: needsOf(plan),
    figures: figuresJson(figuresOf(plan, tolls, AUDIENCES_ASKED)),
    faults: tolls.map((toll) => ({
      id: nameOf(toll),
      words: caseWords(plan, toll.faults),
      parts: toll.faults.map(({ id, kind, on }) => ({ id, kind, on })),
      feeds: toll.feeds,
    })),
    pairs:
      pairs === null
        ? null
        : {
            ...pairs,
            worse: pairs.worse.map((toll) => ({
              id: nameOf(toll),
              words: caseWords(plan, toll.faults),
              feeds: toll.feeds,
            })),
          },
    assumed: plan.assumed,
  };
}

function figuresJson({ cases, heard, audiences }: Figures) {
  return {
    faults: cases,
    heard,
    audiences: audiences.map(({ longestSilence, ...each }) => ({
      ...each,
      longestSilence:
        longestSilence === null ? null : { seconds: longestSilence.seconds, fault: nameOf(longestSilence.toll) },
    })),
  };
}
