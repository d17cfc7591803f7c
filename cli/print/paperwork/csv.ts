/** Sheets of paper as tables for spreadsheets: the plan's stamp in every row, the words of caution in the first. */
import type { Card } from "../../../sim/paperwork/cards.ts";
import type { Sheet } from "../../../sim/paperwork/sheet.ts";
import { guarded } from "../../../sim/tables/values.ts";
import { CAUTIONS } from "../../../sim/tell/cautions.ts";
import { csvFromRows } from "../../tables-csv.ts";
import { plain } from "../plain.ts";

export interface TableHead {
  readonly stamp: string;
  readonly verdict: string;
}

export function sheetCsv(head: TableHead, { columns, sections }: Sheet): string {
  const named = sections.some(({ title }) => title !== null);
  const heads = columns.map(({ head }) => head);
  const rows = sections.flatMap(({ title, rows }) => rows.map((cells) => [...(named ? [title ?? ""] : []), ...cells]));
  return stamped(head, [...(named ? ["Part"] : []), ...heads], rows);
}

const CARD_COLUMNS = [
  ...["Card", "What", "Looks alike", "Mute first", "You see", "You hear", "Do this", "Do not"],
  ...["Time to normal", "Will the return hurt?"],
];

export function cardsCsv(head: TableHead, cards: readonly Card[]): string {
  const rows = cards.map(({ number, title, also, mutes, sees, hears, todo, never, normal, back }) => [
    String(number),
    title,
    ...[also, mutes, sees, hears, todo, never].map((lines) => lines.join("\n")),
    normal,
    back,
  ]);
  return stamped(head, CARD_COLUMNS, rows);
}

function stamped(
  { stamp, verdict }: TableHead,
  heads: readonly string[],
  rows: readonly (readonly string[])[],
): string {
  const { ears, mute, differs } = CAUTIONS;
  const cautions = [ears.head, ears.text, mute, differs.sheet, differs.people, verdict].join(" ");
  // A table of nothing is of a plan all the same.
  const all = rows.length === 0 ? [heads.map(() => "")] : rows;
  return csvFromRows([
    ["Plan", ...heads, "Caution"],
    ...all.map((cells, place) => [stamp, ...cells.map((cell) => guarded(plain(cell))), place === 0 ? cautions : ""]),
  ]);
}
