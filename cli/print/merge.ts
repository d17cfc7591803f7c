/** Two plans and the ways to join them, as text and as data. */

import { formatPath } from "../../shared/issues.ts";
import type { PlaceRead } from "../../sim/merge/company.ts";
import type { Conflict } from "../../sim/merge/conflict.ts";
import type { Merge, MergeOutcome, Way } from "../../sim/merge.ts";
import { stampOf } from "../../sim/stamp.ts";
import {
  AGREEMENT,
  alikeSentences,
  askSentences,
  caseHead,
  companiesSentences,
  conflictSentences,
  conflictsHead,
  heardBlocks,
  waysWords,
} from "../../sim/tell/merge.ts";
import { capital, counted } from "../../sim/tell/words.ts";
import { lastSentence } from "../../sim/tell.ts";
import type { Ink, Style } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";

interface Looks {
  readonly ink: Ink;
  readonly columns: number | null;
}

export function mergeText(merge: Merge, outcome: MergeOutcome | null, looks: Looks): string {
  const { ink, columns } = looks;
  const line = (text: string, indent = 0, by = indent + 2) =>
    " ".repeat(indent) +
    wrapped(oneLine(text), columns === null ? null : columns - indent, by - indent).replaceAll(
      "\n",
      `\n${" ".repeat(indent)}`,
    );
  const conflicts = [
    [ink("bold", line(conflictsHead(merge)))],
    ...merge.conflicts.map((conflict) => conflictLines(conflict, line, ink)),
  ];
  const [question = "", free, command = ""] = askSentences(merge);
  const ask = [[ink("bold", line(question))], ...(free === undefined ? [] : [[line(free), `  ${oneLine(command)}`]])];
  // Who has named the cables knows of the conflicts: what was rehearsed comes first.
  const blocks = [
    companiesSentences(merge).map((text) => line(text)),
    ...(outcome === null ? [...conflicts, ...ask] : [...outcomeBlocks(merge, outcome, line, ink), ...conflicts]),
    ...(outcome === null ? [] : lastBlocks(outcome, line)),
  ];
  return `${blocks
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

type Line = (text: string, indent?: number, by?: number) => string;

function conflictLines(conflict: Conflict, line: Line, ink: Ink): readonly string[] {
  const places = [...new Set(conflict.places.map(placeText))];
  const style: Style = conflict.isBlocking ? "red" : "yellow";
  const lead = conflict.isBlocking ? "to settle first" : "asked";
  const head = line(`${lead}  ${conflict.what}`);
  return [
    ink(style, lead) + head.slice(lead.length),
    ...places.map((place) => ink("dim", line(place, 2))),
    line(conflictSentences(conflict), 2),
  ];
}

function placeText({ file, line, column, path }: PlaceRead): string {
  if (line === 0) return file;
  return `${file}:${line}:${column}${path.length === 0 ? "" : ` › ${formatPath(path)}`}`;
}

function outcomeBlocks(merge: Merge, outcome: MergeOutcome, line: Line, ink: Ink): readonly (readonly string[])[] {
  const heard = outcome.cases.map((each, at) => [
    ink("bold", line(capital(caseHead(each, outcome)))),
    ...heardBlocks(merge, outcome, at).flatMap(({ company, lines }) =>
      lines.length === 0
        ? []
        : [
            line(company, 2),
            ...lines.flatMap(({ who, crosses, rows }) => {
              const [only] = rows;
              if (rows.length === 1 && only !== undefined)
                return [line(`${who}: ${only.words} (${waysWords(only.ways, outcome, crosses)}).`, 4)];
              return [
                line(`${who}:`, 4),
                ...rows.map(({ ways, words }) => line(`${waysWords(ways, outcome, crosses)}: ${words}.`, 6)),
              ];
            }),
          ],
    ),
    ...alikeSentences(outcome, at).map((text) => line(text, 2)),
  ]);
  return [...heard, ...outcome.ways.map((way) => wayLines(way, outcome, line, ink))];
}

function lastBlocks({ ways }: MergeOutcome, line: Line): readonly (readonly string[])[] {
  const assumed = Math.max(0, ...ways.map(({ plan }) => plan?.assumed.length ?? 0));
  return [[line(AGREEMENT)], [line(lastSentence(assumed))]];
}

function wayLines(way: Way, outcome: MergeOutcome, line: Line, ink: Ink): readonly string[] {
  const { name, whyNot, plan, findings, settings, cables, boxes, missed } = way;
  const head = ink("bold", capital(name));
  if (whyNot !== null || plan === null) return [head, line(`Cannot be made here: ${whyNot}.`, 2)];
  const owner = (device: string) => {
    const company = outcome.companyOf(device);
    return company ?? "both";
  };
  return [
    `${head}, plan ${stampOf(plan)}`,
    ...(settings.length === 0
      ? [line("Settings: none change.", 2)]
      : settings.map(({ device, words }) => line(`To set on a device of ${owner(device)}: ${words}`, 2))),
    ...cables.map((words) => line(`Cable: ${words}`, 2)),
    ...boxes.map((words) => line(`Box: ${words}`, 2)),
    ...missed.map(({ expected, found }) => line(`Met alone, missed here: expected ${expected}; found ${found}.`, 2)),
    ...(findings.length === 0
      ? [line("The plan check finds nothing here that it does not find in the two plans alone.", 2)]
      : [
          line(
            `The plan check has ${counted(findings.length, "finding", "findings")} here that neither plan has alone:`,
            2,
          ),
          ...findings.map(({ severity, rule, what }) => line(`${severity} ${rule}: ${what}`, 4)),
        ]),
  ];
}

/** What `merge --json` prints. `outcome`: null as long as nothing joins the two, or a conflict blocks. */
export function mergeJson(merge: Merge, outcome: MergeOutcome | null) {
  return {
    schemaVersion: 1,
    companies: merge.companies.map(({ name, file, plan, leader }) => ({
      ...{ name, file, title: plan.title, stamp: stampOf(plan), leader, sampleRateHz: plan.sampleRateHz },
    })),
    conflicts: merge.conflicts,
    joins: merge.joins,
    outcome:
      outcome === null
        ? null
        : {
            cases: outcome.cases,
            feeds: outcome.feeds,
            alone: outcome.alone,
            ways: outcome.ways.map(({ plan, text: _text, ...way }) => ({
              ...way,
              stamp: plan === null ? null : stampOf(plan),
              leaders: plan?.leaders ?? [],
            })),
            alike: outcome.alike,
          },
  };
}
