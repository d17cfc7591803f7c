/**
 * A list of a spreadsheet, put into a rig: under its own headings, or cell by cell from where somebody is. Columns that
 * nobody knows are kept as comments, as they are in tables that the command reads.
 */
import { dsvFormat } from "d3";
import { quote } from "../../shared/issues.ts";
import { EditError } from "../../shared/json-text.ts";
import type { Fields } from "../../shared/mentions.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { shapeOf } from "../../sim/tables/columns.ts";
import { joined } from "../../sim/tables/file-text.ts";
import { endFrom } from "../../sim/tables/names.ts";
import { CELLS_MAX, delimiterIn, type KnownSheet, knownSheet } from "../../sim/tables/sheet.ts";
import { counted, listed } from "../../sim/tell/words.ts";
import { renamed } from "../room/rig-edits.ts";
import { calledIn, itemsIn, OF_TABLE, RIG_TABLES, type RigTable } from "./bench.ts";
import { rankIn, type Typed, withCell, withRow } from "./change.ts";
import { setCell, withRig } from "./edits.ts";

/** Where somebody is: the rows by their place in the file and the columns, both as they are shown. */
export interface Spot {
  readonly table: RigTable;
  readonly rows: readonly number[];
  readonly keys: readonly string[];
  /** Among `rows`; as many as these: behind the last. */
  readonly row: number;
  readonly key: string;
}

export interface Pasted {
  readonly files: ScenarioTexts;
  readonly table: RigTable;
  /** Goes on from "Undo: ". */
  readonly what: string;
  /** What people have to know. */
  readonly says: readonly string[];
}

/** @throws EditError where the text is no list that the tables take */
export function pasted(files: ScenarioTexts, text: string, spot: Spot): Pasted {
  const { rows, isOneCell } = cellsOf(text);
  if (isOneCell) {
    const index = spot.rows[spot.row];
    const typed = { text: rows[0]?.[0] ?? "" };
    if (index !== undefined) {
      const made = setCell(files, spot.table, index, spot.key, typed);
      return { files: made, table: spot.table, what: "paste into a cell", says: [] };
    }
  }
  const known = isOneCell ? null : (headed(rows) ?? headed(rows, spot.table));
  return known === null ? block(files, rows, spot) : under(files, known);
}

function cellsOf(text: string): { rows: readonly (readonly string[])[]; isOneCell: boolean } {
  const whole = text.replace(/^\ufeff/, "").replace(/(?:\r\n|\n|\r)+$/, "");
  const read = (line: string, delimiter: string) => dsvFormat(delimiter).parseRows(line)[0] ?? [];
  const best = delimiterIn(whole, read);
  // Spreadsheets put tabs between cells; a comma without headings is a comma.
  const delimiter = whole.includes("\t") || best.known < 2 ? "\t" : best.delimiter;
  const rows = dsvFormat(delimiter).parseRows(whole) as string[][];
  const count = rows.reduce((sum, row) => sum + row.length, 0);
  if (count > CELLS_MAX) throw new EditError(`That has ${count} cells, and at most ${CELLS_MAX} are taken.`);
  return { rows, isOneCell: count <= 1 };
}

/** @param table whose list it may be with some of the columns alone; left out: any that it has the columns of */
function headed(rows: readonly (readonly string[])[], table?: RigTable): KnownSheet | null {
  const cells = rows.map((row, line) => row.map((text, column) => ({ text, line: line + 1, column: column + 1 })));
  const some = table && { ...shapeOf(table), needs: [["id", "name"]] };
  const found = knownSheet({ file: "", rows: cells }, some && [some]);
  if (!("shape" in found)) return null;
  const named = found.headings.filter(({ column }) => column !== null).length;
  return named >= Math.min(2, found.headings.length) ? found : null;
}

// ---- under headings

function under(files: ScenarioTexts, { shape, headings, body, above }: KnownSheet): Pasted {
  const table = RIG_TABLES.find((name) => name === shape.name);
  if (table === undefined)
    throw new EditError(
      `That is a table of ${shape.name}, and these three take devices, cables and feeds. The command reads it: pulltest new --from-csv.`,
    );
  const notes = new Map<string, readonly string[]>();
  const counts = { added: 0, changed: 0 };
  const put = (before: Fields): Fields => {
    const known = calledIn(before);
    const free = new Set(itemsIn(before, table).keys());
    const later: { readonly index: number; readonly key: string; readonly typed: Typed }[] = [];
    let rig = before;
    for (const [at, row] of body.entries()) {
      const { cells, kept } = rowOf(headings, row, known);
      const said = at === 0 ? [...above, ...kept] : [...kept];
      const same = sameAs(before, table, cells, known);
      let index = same !== null && free.delete(same) ? same : -1;
      if (index < 0) {
        rig = withRow(rig, table, cells);
        index = itemsIn(rig, table).length - 1;
        counts.added++;
        const { id } = itemsIn(rig, table)[index] as { id: string };
        const label = cells.get("id")?.text.trim() ?? "";
        if (table === "cables" && label !== "" && label !== id) said.push(`Label: ${label}`);
        if (said.length > 0) notes.set(id, joined(said));
      } else {
        for (const [key, typed] of cells)
          if (key !== "id" && !key.startsWith("~")) rig = withCell(rig, table, index, key, typed);
        counts.changed++;
      }
      for (const [key, typed] of cells) if (key.startsWith("~")) later.push({ index, key, typed });
    }
    // Who leads first has to be there before who is next.
    later.sort((one, other) => (rankIn(one.typed.text) ?? 0) - (rankIn(other.typed.text) ?? 0));
    return later.reduce((made, { index, key, typed }) => withCell(made, table, index, key, typed), rig);
  };
  const made = withRig(files, put, notes);
  const many = counted(counts.added + counts.changed, OF_TABLE[table].one, table);
  const parts = [
    ...(counts.added > 0 ? [`${counts.added} added`] : []),
    ...(counts.changed > 0 ? [`${counts.changed} changed`] : []),
  ];
  const unknown = headings.filter(({ column, text }) => column === null && text !== "").map(({ text }) => quote(text));
  const says = [
    `Pasted ${many}: ${parts.join(", ")}.`,
    ...(unknown.length === 0 ? [] : [`No column is known as ${listed(unknown)}: kept as comments in the file.`]),
  ];
  return { files: made, table, what: `paste of ${many}`, says };
}

/** Cells that say something, by column, and what has none. */
function rowOf(
  headings: KnownSheet["headings"],
  row: readonly { readonly text: string }[],
  known: ReturnType<typeof calledIn>,
): { cells: ReadonlyMap<string, Typed>; kept: readonly string[] } {
  const cells = new Map<string, Typed>();
  const kept: string[] = [];
  row.forEach(({ text }, at) => {
    if (text.trim() === "") return;
    const heading = headings[at];
    if (heading === undefined || heading.column === null) {
      kept.push(heading === undefined || heading.text === "" ? text.trim() : `${heading.text}: ${text.trim()}`);
      return;
    }
    const { key } = heading.column;
    if (key === "~leads" && rankIn(text.trim()) === null) {
      kept.push(`${heading.text}: ${text.trim()}`);
      return;
    }
    // "Clock source 2" goes on with the list that "Clock source 1" begins.
    const before = cells.get(key);
    cells.set(key, { text: before === undefined ? text : `${before.text}; ${text}`, unit: heading.unit });
  });
  for (const side of ["from", "to"]) {
    const [end, port] = [cells.get(side)?.text.trim(), cells.get(`~${side}Port`)?.text.replace(/^\D+/, "")];
    cells.delete(`~${side}Port`);
    if (end !== undefined && port !== undefined && endFrom(end, known.names).port === null)
      cells.set(side, { text: `${end} port ${port}` });
  }
  return { cells, kept };
}

/** The row of the rig that a pasted one is about: of the same id or name. */
function sameAs(
  rig: Fields,
  table: RigTable,
  cells: ReadonlyMap<string, Typed>,
  { names, links }: ReturnType<typeof calledIn>,
): number | null {
  const [id, name] = [cells.get("id")?.text.trim() ?? "", cells.get("name")?.text.trim() ?? ""];
  const called = id === "" ? name : id;
  const items = itemsIn(rig, table);
  const wanted = table === "devices" ? names.find(called) : table === "cables" ? links.find(called) : called;
  const at = items.findIndex((item) => item.id === wanted || (table === "feeds" && item.name === wanted));
  return called === "" || at < 0 ? null : at;
}

// ---- cell by cell

function block(files: ScenarioTexts, rows: readonly (readonly string[])[], spot: Spot): Pasted {
  const { table, keys } = spot;
  const first = keys.indexOf(spot.key);
  const renames: { readonly from: string; readonly to: string }[] = [];
  const made = withRig(files, (before) => {
    let rig = before;
    rows.forEach((row, at) => {
      const cells = keys
        .slice(first, first + row.length)
        .map((key, index) => [key, { text: row[index] ?? "" }] as const);
      let index = spot.rows[spot.row + at];
      if (index === undefined) {
        if (row.every((text) => text.trim() === "")) return;
        rig = withRow(rig, table, new Map(cells));
        index = itemsIn(rig, table).length - 1;
        for (const [key, typed] of cells) if (key.startsWith("~")) rig = withCell(rig, table, index, key, typed);
        return;
      }
      for (const [key, typed] of cells) {
        const { id } = itemsIn(rig, table)[index] ?? {};
        if (key !== "id") rig = withCell(rig, table, index, key, typed);
        else if (typeof id === "string" && id !== typed.text.trim()) renames.push({ from: id, to: typed.text.trim() });
      }
    });
    return rig;
  });
  const named = renames.reduce((all, { from, to }) => renamed(all, OF_TABLE[table].kind, from, to), made);
  const width = Math.max(...rows.map((row) => row.length));
  const over = width - (keys.length - first);
  const says =
    over > 0
      ? [`${counted(over, "column", "columns")} of it found no place: show more columns, or paste further left.`]
      : [];
  return { files: named, table, what: `paste of ${counted(rows.length, "row", "rows")}`, says };
}
