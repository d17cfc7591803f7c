/** One cell of a table: its text read as a value of the scenario file, and a value written as text. */
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
  | { readonly value: unknown }
  | { readonly value: unknown; readonly expected: string; readonly remedy: string };

const NUMBER = /^([+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(\P{Nd}*)$/u;
/** "1,000": a thousand to one reader, one to another. */
const AMBIGUOUS = /^[+-]?[1-9]\d{0,2},\d{3}(?:\D|$)/;

interface Unit {
  readonly expected: string;
  /** How many of the file's unit one of each is. */
  readonly sizes: Readonly<Record<string, number>>;
}

const UNITS: Partial<Record<As, Unit>> = {
  metres: {
    expected: "a length, such as 12 m, 12,5 or 30 ft",
    // The international foot is 0.3048 m exactly (from memory), and a foot is twelve inches.
    sizes: {
      "": 1,
      m: 1,
      metre: 1,
      metres: 1,
      meter: 1,
      meters: 1,
      ft: 0.3048,
      foot: 0.3048,
      feet: 0.3048,
      "'": 0.3048,
      "′": 0.3048,
    },
  },
  seconds: {
    expected: "a time in seconds, such as 90, 90 s or 1.5 min",
    sizes: {
      "": 1,
      s: 1,
      sec: 1,
      second: 1,
      seconds: 1,
      ms: 0.001,
      min: 60,
      minutes: 60,
      minute: 60,
      h: 3600,
      hours: 3600,
    },
  },
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
    case "number":
    case "metres":
    case "seconds":
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
      return { value: /^\d:\d\d:\d\d(?:\.\d+)?$/.test(text) ? `0${text}` : text };
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

function readNumber(as: As, text: string, heading: string): CellRead {
  const { expected, sizes } = UNITS[as] ?? (UNITS.number as Unit);
  const refused = { value: text, expected };
  if (AMBIGUOUS.test(text))
    return {
      ...refused,
      remedy: "write 1000 for a thousand and 1.5 for one and a half: a comma before three digits may mean either",
    };
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
