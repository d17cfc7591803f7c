/** The policies for a leader's return side by side, as text and as data. */
import type { Plan } from "../../shared/plan.ts";
import type { Summary } from "../../shared/summary.ts";
import { feedOf } from "../../sim/by-id.ts";
import type { FeedOutcome } from "../../sim/policies/outcome.ts";
import type { PolicyComparison } from "../../sim/policies.ts";
import { stampOf } from "../../sim/stamp.ts";
import {
  adviceSentences,
  changeSentence,
  comparisonSentences,
  editText,
  endSentence,
  mayBeSilentInstead,
  OTHER_SILENCE_COUNTS_FROM_SECONDS,
  policyName,
  spreadText,
} from "../../sim/tell/policies.ts";
import { duration, listed, listener } from "../../sim/tell/words.ts";
import { lastSentence } from "../../sim/tell.ts";
import type { Ink } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";
import { identity } from "./rehearsal.ts";

export interface PoliciesPrint {
  /** As typed. */
  readonly file: string;
  readonly version: string;
  readonly plan: Plan;
  readonly summary: Summary;
  /** By instant; at least one. */
  readonly comparisons: readonly PolicyComparison[];
}

interface Column {
  readonly head: readonly [above: string, below: string];
  /** For a screen too narrow for a table: "0 to 1 dropouts on return". */
  readonly words: string;
  readonly of: (feed: FeedOutcome, runs: number) => string;
}

const NOTHING = "0";
const NO = "no";
const YES = "yes";
const seconds = (value: number) => (value === 0 ? NOTHING : duration(value));

const COLUMNS: readonly Column[] = [
  {
    head: ["dropouts", "faulty"],
    words: "dropouts while faulty",
    of: ({ dropouts }) => spreadText(dropouts.whileFaulty),
  },
  { head: ["", "return"], words: "dropouts on return", of: ({ dropouts }) => spreadText(dropouts.onReturn) },
  { head: ["", "clicks"], words: "clicks", of: ({ slips }) => spreadText(slips) },
  {
    head: ["silent:", "device"],
    words: "silent for a device that is down",
    of: ({ silentForDeviceDownSeconds }) => seconds(silentForDeviceDownSeconds),
  },
  {
    head: ["silent:", "clock"],
    words: "silent for the clock",
    of: ({ silentForClockSeconds }) => spreadText(silentForClockSeconds, seconds),
  },
  {
    head: ["full", "level"],
    words: "back at full level",
    of: ({ returnsAtFullLevel }, runs) =>
      returnsAtFullLevel === 0 ? NO : returnsAtFullLevel === runs ? YES : `${returnsAtFullLevel} of ${runs}`,
  },
];

/** Only where it is more than the moment in which a cable comes up. */
const OTHERWISE: Column = {
  head: ["silent:", "else"],
  words: "silent for a cable or a rate",
  of: ({ silentOtherwiseSeconds }) => seconds(silentOtherwiseSeconds),
};
/** On a narrower screen a name stands above what is said of it. */
const BESIDE_FROM_COLUMNS = 60;

interface Row {
  readonly label: string;
  readonly cells: readonly string[];
}

interface Looks {
  readonly ink: Ink;
  readonly columns: number | null;
}

export function policiesText(print: PoliciesPrint, looks: Looks): string {
  const { plan, summary, comparisons } = print;
  const { ink, columns } = looks;
  const paragraph = (text: string) => wrapped(oneLine(text), columns, 0);
  const parts: (readonly string[])[] = [
    [ink("bold", paragraph(plan.title)), ink("dim", paragraph(identity({ ...print, stamp: stampOf(plan) })))],
    ...comparisons.flatMap((comparison) => comparisonParts(plan, comparison, looks)),
    [paragraph(lastSentence(summary.assumed.length))],
  ];
  return `${parts
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

/** One absence: each part a block of lines. */
function comparisonParts(
  plan: Plan,
  comparison: PolicyComparison,
  { ink, columns }: Looks,
): readonly (readonly string[])[] {
  const { policies } = comparison;
  const paragraph = (text: string) => wrapped(oneLine(text), columns, 0);
  const width = Math.max(...policies.map(({ policy }) => policyName(policy).length));
  const isSlim = columns !== null && columns < BESIDE_FROM_COLUMNS;
  const beside = isSlim ? 2 : width + 2;
  const named = (name: string, text: string) =>
    isSlim
      ? `${name}\n${indented(oneLine(text), columns, 2)}`
      : wrapped(`${name.padEnd(width)}  ${oneLine(text)}`, columns, width + 2);
  const ends = policies.filter(({ outcome }) => outcome !== null);
  return [
    [paragraph(comparisonSentences(plan, comparison).join(" "))],
    adviceSentences(plan, comparison).map((text, index) =>
      index === 0 ? ink("bold", paragraph(text)) : paragraph(text),
    ),
    ...tables(plan, comparison, { ink, columns }),
    ["On whose clock at the end", ...ends.map((each) => named(policyName(each.policy), endSentence(plan, each)))],
    [
      "What was changed",
      ...policies.flatMap((each, index) => [
        named(policyName(each.policy), changeSentence(each, policies[index - 1])),
        ...each.edits.map((edit) => ink("dim", indented(oneLine(editText(edit)), columns, beside))),
      ]),
    ],
  ];
}

/** One for each listener. */
function tables(plan: Plan, comparison: PolicyComparison, { ink, columns }: Looks): readonly string[][] {
  const played = comparison.policies.flatMap(({ policy, outcome }) => (outcome === null ? [] : [{ policy, outcome }]));
  const [first] = played;
  if (first === undefined) return [];
  const isElse = played.some(({ outcome }) =>
    outcome.feeds.some(({ silentOtherwiseSeconds }) => silentOtherwiseSeconds >= OTHER_SILENCE_COUNTS_FROM_SECONDS),
  );
  const hears = ({ of }: Column) =>
    played.some(({ outcome }) => outcome.feeds.some((feed) => of(feed, outcome.runs) !== NOTHING));
  // With one more column there is no room for one in which nothing stands.
  const shown = isElse ? [...COLUMNS.slice(0, -1).filter(hears), OTHERWISE, ...COLUMNS.slice(-1)] : COLUMNS;
  const blocks = new Map<string, { readonly who: string[]; readonly rows: readonly Row[] }>();
  for (const { id } of first.outcome.feeds) {
    const feed = feedOf(plan, id);
    const rows = played.map(({ policy, outcome }): Row => {
      const heard = outcome.feeds.find((one) => one.id === id)!;
      const doubt = mayBeSilentInstead(heard) ? "*" : "";
      return { label: policyName(policy) + doubt, cells: shown.map(({ of }) => of(heard, outcome.runs)) };
    });
    const isAlike =
      rows.length > 1 &&
      rows.every(
        (row) =>
          String([row.cells, row.label.endsWith("*")]) === String([rows[0]!.cells, rows[0]!.label.endsWith("*")]),
      );
    const told = isAlike
      ? [{ label: `under each${rows[0]!.label.endsWith("*") ? "*" : ""}`, cells: rows[0]!.cells }]
      : rows;
    const key = JSON.stringify(told);
    const who = oneLine(listener(feed, plan.feeds).head);
    const block = blocks.get(key) ?? { who: [], rows: told };
    block.who.push(who);
    blocks.set(key, block);
  }
  const all = [...blocks.values()];
  const label = Math.max(...all.flatMap(({ rows }) => rows.map((row) => row.label.length))) + 2;
  const widths = shown.map(({ head }, index) =>
    Math.max(
      ...head.map((text) => text.length),
      ...all.flatMap(({ rows }) => rows.map(({ cells }) => cells[index]!.length)),
    ),
  );
  const isNarrow = columns !== null && columns < label + widths.reduce((sum, each) => sum + each + 2, 0);
  const line = (head: string, cells: readonly string[]) =>
    `${head.padEnd(label)}${cells.map((cell, index) => `  ${cell.padStart(widths[index]!)}`).join("")}`.trimEnd();
  const inWords = ({ label: name, cells }: Row) => {
    const said = cells.flatMap((cell, index) => {
      const { words } = shown[index]!;
      if (cell === NOTHING || cell === NO) return [];
      return [cell === YES ? words : `${words} ${cell}`];
    });
    return indented(`${name}: ${said.length === 0 ? "clean" : said.join(", ")}.`, columns, 2);
  };
  const heads = isNarrow
    ? []
    : ([0, 1] as const).map((at) =>
        line(
          "",
          shown.map(({ head }) => head[at]),
        ),
      );
  const hasDoubt = all.some(({ rows }) => rows.some((row) => row.label.endsWith("*")));
  return [
    ...all.map(({ who, rows }, index) => [
      ...(index === 0 ? heads : []),
      ink("bold", wrapped(listed(who), columns, 2)),
      ...rows.map((row) => (isNarrow ? inWords(row) : line(`  ${row.label}`, row.cells))),
    ]),
    ...(hasDoubt ? [[wrapped("* Either silent or clicking: test it.", columns, 2)]] : []),
  ];
}

/** Every line of it begins with so many spaces, those after the first with two more. */
function indented(text: string, columns: number | null, by: number): string {
  const space = " ".repeat(by);
  return space + wrapped(text, columns === null ? null : columns - by, 2).replaceAll("\n", `\n${space}`);
}

export function policiesJson({ summary, comparisons }: PoliciesPrint) {
  return { schemaVersion: 1, scenario: summary.scenario, seed: summary.seed, comparisons, assumed: summary.assumed };
}
