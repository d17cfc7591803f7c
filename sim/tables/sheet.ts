/** A table as somebody gave it: cells with their places, of what kind it is, and which column says what. */
import { type Issue, quote } from "../../shared/issues.ts";
import { type Column, MEASUREMENTS, TABLES, type TableShape } from "./columns.ts";
import { bare } from "./values.ts";

export interface Cell {
  readonly text: string;
  /** From 1, in the file: a cell may hold line breaks. */
  readonly line: number;
  /** From 1, in UTF-16 units, in its line. */
  readonly column: number;
}

export interface Sheet {
  readonly file: string;
  /** The row of headings among them; rows without any text may be left out. */
  readonly rows: readonly (readonly Cell[])[];
}

/** Where something of a scenario stands in a table. */
export interface Place {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  readonly heading: string;
}

export interface KnownSheet {
  readonly file: string;
  readonly shape: TableShape;
  readonly headings: readonly Heading[];
  /** What stands above the headings, such as the title of the sheet. */
  readonly above: readonly string[];
  readonly body: readonly (readonly Cell[])[];
}

export interface Heading {
  readonly text: string;
  /** Null: no column that is known. */
  readonly column: Column | null;
  /** "ft" of "Length (ft)"; empty where it says none. */
  readonly unit: string;
}

/** A title and a date may stand above the headings, not half a page. */
const ROWS_ABOVE = 10;

/** Its kind, of these, by its columns; an issue where they fit none. */
export function knownSheet(
  sheet: Sheet,
  shapes: readonly TableShape[] = TABLES,
  kinds = "device and kind; from and to; through; at and do; or channel and box",
): KnownSheet | Issue {
  const rows = sheet.rows.filter((row) => row.some(({ text }) => text.trim() !== ""));
  for (const [at, row] of rows.slice(0, ROWS_ABOVE).entries()) {
    const [best] = shapes
      .map((shape) => ({ shape, headings: headingsOf(shape, row) }))
      .filter(({ shape, headings }) => hasNeeds(shape, headings))
      .sort((one, other) => known(other.headings) - known(one.headings));
    if (best === undefined) continue;
    const above = rows.slice(0, at).map((cells) =>
      cells
        .map(({ text }) => text.trim())
        .filter(Boolean)
        .join(" "),
    );
    return { file: sheet.file, ...best, above, body: rows.slice(at + 1) };
  }
  const [first] = rows;
  const cell = first?.find(({ text }) => text.trim() !== "") ?? { text: "", line: 1, column: 1 };
  return {
    ...{ file: sheet.file, line: cell.line, column: cell.column, path: [] },
    expected: `a row of headings that tells what the table is: ${kinds}`,
    received: first === undefined ? "an empty table" : quote(first.map(({ text }) => text.trim()).join(", ")),
    remedy: "write the headings into the first row; the guide lists them and what else they may be called",
  };
}

const DELIMITERS = [",", ";", "\t"] as const;

/**
 * What stands between the cells of a text: whichever gives most headings that are known, in any of the first lines.
 * `known` counts them.
 */
export function delimiterIn(
  text: string,
  cellsOf: (line: string, delimiter: string) => readonly string[],
): { readonly delimiter: string; readonly known: number } {
  const lines = text.split(/\r\n|\n|\r/, 20);
  const scores = DELIMITERS.map((delimiter) =>
    Math.max(0, ...lines.map((line) => headingsKnown(cellsOf(line, delimiter)))),
  );
  const known = Math.max(...scores);
  return { delimiter: DELIMITERS[scores.indexOf(known)] as string, known };
}

/** A thousand devices with every column filled in; a recording of samples is longer. */
export const CELLS_MAX = 20_000;

/** How many columns of some kind a row of texts names. */
function headingsKnown(texts: readonly string[]): number {
  const row = texts.map((text) => ({ text, line: 1, column: 1 }));
  return Math.max(...[...TABLES, MEASUREMENTS].map((shape) => known(headingsOf(shape, row))));
}

function known(headings: readonly Heading[]): number {
  return headings.filter(({ column }) => column !== null).length;
}

function hasNeeds({ needs }: TableShape, headings: readonly Heading[]): boolean {
  const keys = headings.map(({ column }) => column?.key ?? "");
  return needs.every((anyOf) => anyOf.some((key) => keys.includes(key)));
}

function headingsOf(shape: TableShape, row: readonly Cell[]): Heading[] {
  const taken = new Set<string>();
  return row.map(({ text }) => {
    const heading = text.trim();
    const [, before = heading, unit = ""] = /^(.*?)\s*[([]([^)\]]*)[)\]]\s*$/s.exec(heading) ?? [];
    const found = columnFor(shape, heading, "") ?? columnFor(shape, before, unit) ?? withLastWordAsUnit(shape, heading);
    if (found === null || (taken.has(found.column.key) && found.column.as !== "list"))
      return { text: heading, column: null, unit: "" };
    taken.add(found.column.key);
    return { text: heading, column: found.column, unit: found.unit.trim().toLowerCase() };
  });
}

function columnFor(shape: TableShape, heading: string, unit: string): { column: Column; unit: string } | null {
  const words = bare(heading);
  if (words === "") return null;
  const named = columnsByHeading(shape);
  // "Clock source 2" goes on with the list that "Clock source 1" begins.
  const unnumbered = named.get(words.replace(/ \d$/, ""));
  const column = named.get(words) ?? (unnumbered?.as === "list" ? unnumbered : undefined);
  return column === undefined ? null : { column, unit };
}

/** The tables never change, and every line of every file asks. */
const indexes = new WeakMap<TableShape, ReadonlyMap<string, Column>>();

function columnsByHeading(shape: TableShape): ReadonlyMap<string, Column> {
  const known = indexes.get(shape);
  if (known !== undefined) return known;
  const index = new Map<string, Column>();
  for (const column of shape.columns) {
    // "run.length" is "length" as well: of the file's first step nobody thinks in a table.
    const keys = [column.key, column.key.replace(/^(?:run|rig)\./, "")].map(bare);
    for (const heading of [...keys, ...column.headings]) if (!index.has(heading)) index.set(heading, column);
  }
  indexes.set(shape, index);
  return index;
}

function withLastWordAsUnit(shape: TableShape, heading: string): { column: Column; unit: string } | null {
  const [, before, unit] = /^(.*)[\s_.:-]+(\p{L}+)$/su.exec(heading) ?? [];
  if (
    before === undefined ||
    unit === undefined ||
    !/^(?:m|metres|meters|ft|feet|s|sec|seconds|min|hz|khz|ppm)$/i.test(unit)
  )
    return null;
  return columnFor(shape, before, unit);
}
