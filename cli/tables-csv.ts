/**
 * Tables as CSV (RFC 4180) in and out. In: commas, semicolons or tabs, whichever gives headings that are known; UTF-8
 * with or without byte-order mark; CRLF, LF or CR; line breaks in quotes. Out: UTF-8 with byte-order mark, since
 * spreadsheets take a file without one for another encoding; commas; CRLF.
 */
import { dsvFormat } from "d3";
import { type Issue, quote } from "../shared/issues.ts";
import { CELLS_MAX, type Cell, delimiterIn, type Sheet } from "../sim/tables/sheet.ts";

export interface CsvTable {
  /** Null where the file is no text, or holds more than anybody fills in. */
  readonly sheet: Sheet | null;
  readonly issues: readonly Issue[];
}

export function sheetFromCsv(file: string, bytes: Uint8Array): CsvTable {
  const refused = (line: number, column: number, expected: string, received: string, remedy: string): Issue => ({
    ...{ file, line, column, path: [], expected, received, remedy },
  });
  const text = decoded(bytes);
  if (text === null)
    return { sheet: null, issues: [refused(1, 1, "a table in UTF-8", "another encoding", "save it as CSV in UTF-8")] };
  const { delimiter } = delimiterIn(text, (line, each) => dsvFormat(each).parseRows(line)[0] ?? []);
  const format = dsvFormat(delimiter);
  const rows: Cell[][] = [];
  const issues: Issue[] = [];
  let cells = 0;
  for (const record of recordsOf(text, delimiter)) {
    const { line, column } = record.broken ?? record;
    if (record.broken !== null) {
      const { expected, remedy } = record.broken;
      issues.push(refused(line, column, expected, quote(record.text.slice(0, 40)), remedy));
      continue;
    }
    const texts = format.parseRows(record.text)[0] ?? [];
    cells += texts.length;
    if (cells > CELLS_MAX) {
      const remedy = "give a table of devices, cables, feeds or events";
      return { sheet: null, issues: [refused(line, 1, `at most ${CELLS_MAX} cells`, "more", remedy)] };
    }
    rows.push(texts.map((cell, at) => ({ text: cell, ...(record.cells[at] ?? { line, column }) })));
  }
  return { sheet: { file, rows }, issues };
}

export function csvFromRows(rows: readonly (readonly string[])[]): string {
  const lines = rows.map((row) => dsvFormat(",").formatRow(row as string[]));
  return `\ufeff${[...lines, ""].join("\r\n")}`;
}

/** Null where it is neither UTF-8 nor, with its mark, UTF-16: "Unicode text" of spreadsheets. */
function decoded(bytes: Uint8Array): string | null {
  const isWide = bytes[0] === 0xff && bytes[1] === 0xfe;
  try {
    const text = new TextDecoder(isWide ? "utf-16le" : "utf-8", { fatal: true }).decode(bytes);
    return text.includes("\0") ? null : text;
  } catch {
    return null;
  }
}

interface Spot {
  readonly line: number;
  readonly column: number;
}

interface Record extends Spot {
  /** Without its line end. */
  readonly text: string;
  readonly cells: readonly Spot[];
  readonly broken: (Spot & { readonly expected: string; readonly remedy: string }) | null;
}

/** Records with the places of their cells; d3 reads the cells themselves and says no places. */
function* recordsOf(text: string, delimiter: string): Generator<Record> {
  let at = 0;
  let line = 1;
  let lineStart = 0;
  const spot = (): Spot => ({ line, column: at - lineStart + 1 });
  const passLineEnd = () => {
    at += text[at] === "\r" && text[at + 1] === "\n" ? 2 : 1;
    line++;
    lineStart = at;
  };
  const isLineEnd = () => text[at] === "\n" || text[at] === "\r";
  while (at < text.length) {
    const start = at;
    const first = spot();
    const cells: Spot[] = [];
    let broken: Record["broken"] = null;
    for (;;) {
      cells.push(spot());
      if (text[at] === '"') {
        const opened = spot();
        at++;
        while (at < text.length && (text[at] !== '"' || text[at + 1] === '"')) {
          if (text[at] === '"') at += 2;
          else if (isLineEnd()) passLineEnd();
          else at++;
        }
        if (at >= text.length)
          broken ??= {
            ...opened,
            expected: "a closing quote",
            remedy: "close the quotes, or double those inside a text",
          };
        at++;
        if (at < text.length && text[at] !== delimiter && !isLineEnd())
          broken ??= {
            ...spot(),
            expected: "the end of the cell after a closing quote",
            remedy: 'double the quotes inside a text, as in 3"" plug',
          };
      }
      while (at < text.length && text[at] !== delimiter && !isLineEnd()) at++;
      if (text[at] !== delimiter) break;
      at++;
    }
    yield { ...first, text: text.slice(start, at), cells, broken };
    if (at < text.length) passLineEnd();
  }
}
