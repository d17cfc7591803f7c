/** A scenario as a file that people go on with: one line for each thing, comments above it. */

export type Printed = readonly [key: string, value: unknown];

export interface PrintedItem {
  readonly fields: unknown;
  readonly notes: readonly string[];
}

/** A list of things, each on a line of its own. */
export class Items {
  readonly items: readonly PrintedItem[];
  constructor(items: readonly PrintedItem[]) {
    this.items = items;
  }
}

/** Fields of an object that is spread over lines. */
export class Spread {
  readonly fields: readonly Printed[];
  readonly notes: Readonly<Record<string, string>>;
  constructor(fields: readonly Printed[], notes: Readonly<Record<string, string>> = {}) {
    this.fields = fields;
    this.notes = notes;
  }
}

const COMMENT_COLUMNS = 116;

export function printed(value: unknown, indent = ""): string {
  const deeper = `${indent}  `;
  if (value instanceof Spread) {
    const lines = value.fields.map(([key, inner], at) => {
      const note = value.notes[key];
      const comma = at < value.fields.length - 1 ? "," : "";
      return `${note === undefined ? "" : comment(note, deeper)}${deeper}${JSON.stringify(key)}: ${printed(inner, deeper)}${comma}\n`;
    });
    return `{\n${lines.join("")}${indent}}`;
  }
  if (value instanceof Items) {
    if (value.items.length === 0) return "[]";
    const lines = value.items.map(({ fields, notes }, at) => {
      const comma = at < value.items.length - 1 ? "," : "";
      return `${notes.map((note) => comment(note, deeper)).join("")}${deeper}${inLine(fields)}${comma}\n`;
    });
    return `[\n${lines.join("")}${indent}]`;
  }
  return inLine(value);
}

function inLine(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(inLine).join(", ")}]`;
  if (typeof value !== "object" || value === null) return JSON.stringify(value);
  const fields = Object.entries(value).map(([key, inner]) => `${JSON.stringify(key)}: ${inLine(inner)}`);
  return fields.length === 0 ? "{}" : `{ ${fields.join(", ")} }`;
}

/** Without what would end a line, so that nothing of it can become part of the file. */
export function comment(text: string, indent: string): string {
  const words = text
    .replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]+/gu, " ")
    .trim()
    .split(/ +/);
  const lines: string[] = [];
  let line = "";
  for (const word of words) {
    if (line !== "" && indent.length + 4 + line.length + word.length > COMMENT_COLUMNS) {
      lines.push(line);
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  return `${[...lines, line].map((each) => `${indent}// ${each}`).join("\n")}\n`;
}
