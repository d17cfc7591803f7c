/** One thing of a scenario in the making: its fields, the cells they came from, and what is to stand above it as a comment. */
import type { Issue, Path } from "../../shared/issues.ts";
import { quote } from "../../shared/issues.ts";
import type { Cell, Heading, KnownSheet, Place } from "./sheet.ts";
import { readCell } from "./values.ts";

export interface Entry {
  /** As the file has it: { id, oscillator: { offsetPpm } }. */
  readonly fields: Record<string, unknown>;
  /** By key, "oscillator.offsetPpm" and "~leads" alike. */
  readonly cells: Map<string, Place>;
  /** Its row. */
  readonly at: Place;
  readonly notes: string[];
  /** What was read from forms that may mean two things. */
  readonly readAs: ReadAs[];
}

/** A cell that may mean two things, and how it was taken. */
export interface ReadAs {
  readonly place: Place;
  readonly text: string;
  /** "minutes and seconds, 90 s" */
  readonly as: string;
}

export type Refuse = (place: Place, expected: string, received: string, remedy: string) => void;

export function refuseInto(issues: Issue[]): Refuse {
  return ({ file, line, column, heading }, expected, received, remedy) => {
    const path: Path = heading === "" ? [] : [heading];
    issues.push({ file, line, column, path, expected, received, remedy });
  };
}

export function entryAt(at: Place): Entry {
  return { fields: {}, cells: new Map(), at, notes: [], readAs: [] };
}

/** A row as an entry: cells of known columns as fields, what else it holds as notes. */
export function entryOf(sheet: KnownSheet, row: readonly Cell[], refuse: Refuse): Entry {
  const [first] = row;
  const entry = entryAt({ file: sheet.file, line: first?.line ?? 1, column: first?.column ?? 1, heading: "" });
  row.forEach((cell, index) => {
    const isBlank = cell.text.trim() === "";
    const heading: Heading | undefined = sheet.headings[index];
    const place = { file: sheet.file, line: cell.line, column: cell.column, heading: heading?.text ?? "" };
    if (heading === undefined) {
      if (isBlank) return;
      const expected = `at most ${sheet.headings.length} cells, one under each heading`;
      refuse(
        place,
        expected,
        quote(cell.text.trim()),
        "put a text with a comma in it in quotes, or write a heading over it",
      );
      return;
    }
    const { column } = heading;
    if (column === null) {
      if (!isBlank) entry.notes.push(`${heading.text === "" ? "" : `${heading.text}: `}${cell.text.trim()}`);
      return;
    }
    // A blank cell has a place as well: there stands what is missing.
    if (!entry.cells.has(column.key)) entry.cells.set(column.key, place);
    if (isBlank) return;
    const read = readCell(column, cell.text, heading.unit);
    if ("expected" in read) refuse(place, read.expected, quote(cell.text.trim()), read.remedy);
    else if (read.understood !== undefined) entry.readAs.push({ place, text: cell.text.trim(), as: read.understood });
    const before = fieldOf(entry, column.key);
    const isContinued = Array.isArray(before) && Array.isArray(read.value);
    setField(entry, column.key, isContinued ? [...before, ...(read.value as unknown[])] : read.value);
  });
  return entry;
}

export function fieldOf({ fields }: Entry, key: string): unknown {
  return valueAt(fields, key);
}

/** The value at "oscillator.offsetPpm". */
export function valueAt(value: unknown, key: string): unknown {
  let inner: unknown = value;
  for (const step of key.split(".")) {
    if (typeof inner !== "object" || inner === null || !Object.hasOwn(inner, step)) return undefined;
    inner = (inner as Record<string, unknown>)[step];
  }
  return inner;
}

export function setField({ fields }: Entry, key: string, value: unknown): void {
  const steps = key.split(".");
  const last = steps.pop() as string;
  let inner = fields;
  for (const step of steps) {
    const next = inner[step];
    // "bridge" may be yes in one column and have a timing in another: what says more stands.
    inner = inner[step] = typeof next === "object" && next !== null ? (next as Record<string, unknown>) : {};
  }
  if (value === undefined) delete inner[last];
  else if (typeof inner[last] !== "object" || inner[last] === null || Array.isArray(value)) inner[last] = value;
}

/** A text field; empty where it is left out or something else. */
export function textOf(entry: Entry, key: string): string {
  const value = fieldOf(entry, key);
  return typeof value === "string" ? value : "";
}

/** The texts of a list, or the one text. */
export function textsOf(entry: Entry, key: string): string[] {
  const value = fieldOf(entry, key);
  return (Array.isArray(value) ? value : [value]).filter((item) => typeof item === "string");
}

/** The place of a field, of what is around it, or of the row. */
export function placeOf(entry: Entry, path: Path): Place {
  for (let length = path.length; length > 0; length--) {
    const found = entry.cells.get(path.slice(0, length).join("."));
    if (found !== undefined) return found;
  }
  const [first] = path;
  // A field that is written in columns of its own: "ends" stands at "from".
  const beside = [...entry.cells].find(([key]) => key.startsWith(`${first}.`));
  return beside?.[1] ?? entry.at;
}
