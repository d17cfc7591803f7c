/** One cell of a table: its text read as a value of the scenario file, and a value written as text. */
import { AMBIGUOUS_COMMA, type AsSaid, COMMA_REMEDY, readDuration, readLength } from "../../shared/as-said.ts";
import type { As, Column } from "./columns.ts";

/** A heading or a name without case, spaces and signs: "Length (ft)" and "length_ft" are one. */
export function bare(text: string): string {
  return text
    .replace(/([a-z])([A-Z])/g, "$1 $2")
    .normalize("NFD")
    .toLowerCase()
    .replace(/\p{M}/gu, "")
    .replace(/[^\p{L}\p{N}]+/gu, " ")
    .trim();
}

/** "FOH desk" → "foh-desk": the name as an id; empty where nothing of it can stand in one. */
export function slug(text: string): string {
  return bare(text)
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 64);
}

/** What a spreadsheet takes for a formula. */
const FORMULA = /^'*[=+\-@\t\r]/;

/** With an apostrophe before what a spreadsheet would take for a formula; {@link unguarded} takes it off. */
export function guarded(text: string): string {
  return FORMULA.test(text) ? `'${text}` : text;
}

export function unguarded(text: string): string {
  return text.startsWith("'") && FORMULA.test(text) ? text.slice(1) : text;
}

export type CellRead =
  | {
      readonly value: unknown;
      /** How a form was taken that may mean two things; left out: it means one. */
      readonly understood?: string;
    }
  | { readonly value: unknown; readonly expected: string; readonly remedy: string };

const NUMBER = /^([+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(\P{Nd}*)$/u;

interface Unit {
  readonly expected: string;
  /** How many of the file's unit one of each is. */
  readonly sizes: Readonly<Record<string, number>>;
}

const UNITS: Partial<Record<As, Unit>> = {
  hertz: { expected: "a sample rate, such as 48000 or 48 kHz", sizes: { "": 1, hz: 1, khz: 1000, k: 1000 } },
  number: { expected: "a number, such as 12 or 0.5", sizes: { "": 1, ppm: 1, ppb: 1, hz: 1, "%": 1, "°c": 1, ms: 1 } },
};

/** @param unit as the heading has it: "ft" of "Length (ft)"; empty where it says none */
export function readCell(column: Column, raw: string, unit: string): CellRead {
  const text = column.as === "story" ? unguarded(raw.trim()) : unguarded(raw.trim()).replace(/\s*[\r\n]+\s*/g, " ");
  switch (column.as) {
    case "text":
    case "story":
      return { value: text };
    case "metres":
      return asCell(text, readLength(text, unit));
    case "seconds":
      return asCell(text, readDuration(text, unit));
    case "number":
    case "hertz":
      return readNumber(column.as, text, unit);
    case "numbers": {
      const items = listIn(text).map((item) => readNumber("number", String(item), ""));
      const wrong = items.find((item) => "expected" in item);
      if (wrong !== undefined) return { ...wrong, value: text };
      return { value: items.length === 1 ? items[0]?.value : items.map((item) => item.value) };
    }
    case "yes":
      return { value: yesOrNo(text) };
    case "time":
      // Read when all tables are there: the time of day needs to know when the show starts.
      return { value: text };
    case "word":
      return { value: wordFor(column, text) };
    case "words":
      return { value: listIn(text).map((item) => wordFor(column, item)) };
    case "list":
      return { value: listIn(text) };
    case "value":
      return { value: anyValue(text) };
  }
}

function asCell(text: string, read: AsSaid<number>): CellRead {
  if ("expected" in read) return { value: text, ...read };
  return read.understood === null ? { value: read.value } : { value: read.value, understood: read.understood };
}

function readNumber(as: As, text: string, heading: string): CellRead {
  const { expected, sizes } = UNITS[as] ?? (UNITS.number as Unit);
  const refused = { value: text, expected };
  if (AMBIGUOUS_COMMA.test(text)) return { ...refused, remedy: COMMA_REMEDY };
  const found = NUMBER.exec(text);
  const word = found?.[2]?.trim().toLowerCase() ?? "";
  const unit = word === "" && Object.hasOwn(sizes, heading) ? heading : word;
  const size = Object.hasOwn(sizes, unit) ? sizes[unit] : undefined;
  const value = Number(found?.[1]?.replace(",", "."));
  if (found === null || size === undefined || !Number.isFinite(value))
    return { ...refused, remedy: "write the number alone, or with one of the units named here" };
  // Twelve digits: the product of decimal fractions is not exact, and 9.144000000000001 would stand in the file.
  return { value: size === 1 ? value : Number((value * size).toPrecision(12)) };
}

function yesOrNo(text: string): unknown {
  if (/^(?:yes|y|true|x|1|✓|✔)$/i.test(text)) return true;
  return /^(?:no|n|false|0|-|–|—)$/i.test(text) ? false : text;
}

function wordFor({ said }: Column, text: string): string {
  const word = text.toLowerCase().replace(/[\s_/]+/g, "-");
  return said !== undefined && Object.hasOwn(said, word) ? (said[word] as string) : word;
}

/** "port 1, then port 2 then its own clock" */
const BETWEEN = /\s*[;,|>→\n]\s*(?:then\s+)?|\s+then\s+/i;

function listIn(text: string): string[] {
  const value = text.startsWith("[") ? anyValue(text) : null;
  if (Array.isArray(value)) return value as string[];
  return text.split(BETWEEN).filter((item) => item !== "");
}

/** No field of the file is a shape within more shapes than this. */
const DEPTH_MAX = 8;

function isDeep(text: string): boolean {
  let depth = 0;
  for (const sign of text) {
    if (sign === "[" || sign === "{") depth++;
    else if (sign === "]" || sign === "}") depth--;
    if (depth > DEPTH_MAX) return true;
  }
  return false;
}

/** What no plain word can say stands in its cell as it would in the file. */
function anyValue(text: string): unknown {
  if (isDeep(text)) return text;
  if (/^(?:true|false|[+-]?\d.*|[[{].*)$/s.test(text)) {
    try {
      return JSON.parse(text);
    } catch {
      return text;
    }
  }
  return text;
}

/** The text of a cell; nothing for what the file leaves out. */
export function writeCell({ as }: Column, value: unknown): string {
  if (value === undefined) return "";
  if (typeof value === "boolean") return as === "yes" ? (value ? "yes" : "no") : String(value);
  if (typeof value === "number") return String(value);
  if (typeof value === "string") return guarded(value);
  if (as === "value" || !Array.isArray(value)) return JSON.stringify(value);
  const isPlain = value.length > 0 && value.every((item) => isPlainItem(String(item)));
  return isPlain ? guarded(value.join("; ")) : JSON.stringify(value);
}

function isPlainItem(text: string): boolean {
  return text !== "" && text === text.trim() && !/[;,|>→[]/.test(text) && unguarded(text) === text;
}
