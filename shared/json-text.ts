/**
 * Changes to JSON with comments that leave everything else as it was typed: comments, order, line breaks. What is put
 * in is written as its neighbours are: on lines of its own where they are, else on one line.
 */
import {
  applyEdits,
  createScanner,
  type Edit,
  findNodeAtLocation,
  modify,
  type Node,
  parse,
  parseTree,
} from "jsonc-parser";
import type { Path } from "./issues.ts";

/** Kinds of token by jsonc-parser's numbers: its own names are erased when each file is compiled alone. */
const COMMA = 5;
const LINE_COMMENT = 12;
const BLOCK_COMMENT = 13;
const LINE_BREAK = 14;
const TRIVIA = 15;

/** A text that is no JSON, or has nothing at the place that is to be changed. */
export class EditError extends Error {}

/** What a text says, as far as it can be read. */
export function valueIn(text: string): unknown {
  return parse(text, [], { allowTrailingComma: true });
}

/** The value at a path, as it is written; undefined if there is none. */
export function rawAt(text: string, path: Path): string | undefined {
  const node = nodeAt(text, path);
  return node === undefined ? undefined : text.slice(node.offset, node.offset + node.length);
}

/** How many items the list at a path has; 0 where there is none. */
export function countAt(text: string, path: Path): number {
  return nodeAt(text, path)?.children?.length ?? 0;
}

/** Sets the value at a path, objects around it included; undefined takes the property or the item away. */
export function setAt(text: string, path: Path, value: unknown): string {
  rootOf(text);
  const last = path.at(-1);
  if (value === undefined) {
    if (nodeAt(text, path) === undefined) return text;
    return typeof last === "number" ? removeItem(text, path.slice(0, -1), last) : removeKey(text, path);
  }
  if (JSON.stringify(value) === compact(text, path)) return text;
  const edits = modify(text, [...path], value, {});
  return applyEdits(
    text,
    edits.map((edit) => ({ ...edit, content: inManner(text, path, edit.content, value) })),
  );
}

/** What jsonc-parser would put in without line breaks or room, as its neighbours are written. */
function inManner(text: string, path: Path, content: string, value: unknown): string {
  const bare = JSON.stringify(value);
  if (content === bare) return spaced(value);
  const key = JSON.stringify(path.at(-1));
  const neighbour = nodeAt(text, path.slice(0, -1))?.children?.at(-1);
  // An object around it as well.
  if (neighbour === undefined && content !== `${key}: ${bare}`) return content;
  const written = `${key}: ${spaced(value)}`;
  if (neighbour === undefined) return ` ${written} `;
  return startsLine(text, neighbour.offset) ? `,\n${indentAt(text, neighbour.offset)}${written}` : `, ${written}`;
}

/** Lets the items that come into an empty list stand on lines of their own. */
export function openList(text: string, path: Path): string {
  const { offset, length, children = [] } = listAt(text, path);
  if (children.length > 0 || text.slice(offset, offset + length) !== "[]") return text;
  return replaced(text, [{ offset: offset + 1, length: 0, content: `\n${indentAt(text, offset)}` }]);
}

/** Adds an item so that it stands at `index`. @param item of several lines where comments stand above it */
export function insertItem(text: string, path: Path, index: number, item: string): string {
  const list = listAt(text, path);
  const items = list.children ?? [];
  const isInside = items[0] === undefined ? `${indentAt(text, list.offset)}  ` : indentAt(text, items[0].offset);
  const raw = item.replaceAll("\n", `\n${isInside}`);
  if (items.length === 0) {
    const inside = text.slice(list.offset + 1, list.offset + list.length - 1);
    // A comment in an empty list stays before what comes into the list.
    const offset = list.offset + 1 + inside.trimEnd().length;
    const indent = `\n${indentAt(text, list.offset)}`;
    if (inside.trim() === "" && !inside.includes("\n")) return replaced(text, [{ offset, length: 0, content: raw }]);
    const content = `${indent}  ${raw}${inside.includes("\n") ? "" : indent}`;
    return replaced(text, [{ offset, length: 0, content }]);
  }
  if (index <= 0) {
    const first = items[0]!;
    const between = text.slice(list.offset + 1, first.offset);
    const gap = /^[^\n]*?(\n[ \t]*)/u.exec(between)?.[1];
    const start = list.offset + 1;
    if (gap === undefined) return replaced(text, [{ offset: first.offset, length: 0, content: `${raw}, ` }]);
    const at = endOfLineComment(text, start) ?? start;
    return replaced(text, [{ offset: at, length: 0, content: `\n${indentAt(text, first.offset)}${raw},` }]);
  }
  const before = items[Math.min(index, items.length) - 1]!;
  const end = before.offset + before.length;
  const comma = commaAfter(text, end);
  const after = comma === null ? end : comma + 1;
  const comment = endOfLineComment(text, after);
  const onOwnLine = startsLine(text, before.offset) || comment !== null;
  const gap = onOwnLine ? `\n${indentAt(text, before.offset)}` : " ";
  const edits: Edit[] = [];
  if (comma === null) edits.push({ offset: end, length: 0, content: "," });
  // A comma that stood behind the last item goes on standing behind the last.
  const tail = comma === null ? "" : ",";
  edits.push({ offset: comment ?? after, length: 0, content: `${gap}${raw}${tail}` });
  return replaced(text, edits);
}

/** Takes an item away, with its line and what is said behind it on that line; comments on other lines stay. */
export function removeItem(text: string, path: Path, index: number): string {
  const items = listAt(text, path).children ?? [];
  const item = items[index];
  if (item === undefined) throw new EditError(`There is no item ${index} to take away.`);
  const end = item.offset + item.length;
  const comma = commaAfter(text, end);
  const edits: Edit[] = [];
  if (comma === null && index > 0) {
    const before = items[index - 1]!;
    const left = commaAfter(text, before.offset + before.length);
    if (left !== null) edits.push({ offset: left, length: 1, content: "" });
  }
  let [from, to] = [item.offset, comma === null ? end : comma + 1];
  const comment = endOfLineComment(text, to);
  const lineStart = text.lastIndexOf("\n", from - 1) + 1;
  if (startsLine(text, from) && (comment !== null || /^[ \t]*(?:\r?\n|$)/u.test(text.slice(to)))) {
    to = comment ?? to;
    const lineEnd = text.indexOf("\n", to);
    [from, to] = [lineStart, lineEnd < 0 ? text.length : lineEnd + 1];
  } else if (comma !== null) to += /^[ \t]*/u.exec(text.slice(to))![0].length;
  else from -= /[ \t]*$/u.exec(text.slice(0, from))![0].length;
  edits.push({ offset: from, length: to - from, content: "" });
  return replaced(text, edits);
}

/** jsonc-parser takes the comma as well, and with it any comment between two properties: so the property alone. */
function removeKey(text: string, path: Path): string {
  const property = nodeAt(text, path)?.parent;
  const all = property?.parent?.children ?? [];
  if (property === undefined) return text;
  const end = property.offset + property.length;
  const comma = commaAfter(text, end);
  if (comma !== null) {
    const gap = /^[ \t]*(?:\r?\n[ \t]*)?/u.exec(text.slice(comma + 1))![0].length;
    return replaced(text, [{ offset: property.offset, length: comma + 1 + gap - property.offset, content: "" }]);
  }
  const edits: Edit[] = [];
  const before = all[all.indexOf(property) - 1];
  const left = before === undefined ? null : commaAfter(text, before.offset + before.length);
  if (left !== null) edits.push({ offset: left, length: 1, content: "" });
  const gap = /\s*$/u.exec(text.slice(left === null ? 0 : left + 1, property.offset))![0].length;
  edits.push({ offset: property.offset - gap, length: end - property.offset + gap, content: "" });
  return replaced(text, edits);
}

/** `{ "at": "00:20:00", "do": "reboot" }`: JSON on one line, with room in it. */
export function spaced(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(spaced).join(", ")}]`;
  if (typeof value !== "object" || value === null) return JSON.stringify(value);
  const inner = Object.entries(value)
    .filter(([, one]) => one !== undefined)
    .map(([key, one]) => `${JSON.stringify(key)}: ${spaced(one)}`);
  return inner.length === 0 ? "{}" : `{ ${inner.join(", ")} }`;
}

function rootOf(text: string): Node {
  const errors: unknown[] = [];
  const root = parseTree(text, errors as never, { allowTrailingComma: true });
  if (root === undefined || errors.length > 0) throw new EditError("The file is not whole: mend it as text first.");
  return root;
}

function nodeAt(text: string, path: Path): Node | undefined {
  return findNodeAtLocation(rootOf(text), [...path]);
}

function listAt(text: string, path: Path): Node {
  const node = nodeAt(text, path);
  if (node?.type !== "array") throw new EditError(`There is no list at ${path.join(".")}.`);
  return node;
}

function compact(text: string, path: Path): string | undefined {
  const raw = rawAt(text, path);
  if (raw === undefined || /^[[{]/u.test(raw)) return undefined;
  return raw;
}

function replaced(text: string, edits: readonly Edit[]): string {
  return applyEdits(text, [...edits]);
}

/** Place of the comma that follows, comments skipped; null if something else follows. */
function commaAfter(text: string, offset: number): number | null {
  const scanner = createScanner(text, false);
  scanner.setPosition(offset);
  for (let kind = scanner.scan() as number; ; kind = scanner.scan() as number) {
    if (kind === COMMA) return scanner.getTokenOffset();
    if (kind !== LINE_COMMENT && kind !== BLOCK_COMMENT && kind !== LINE_BREAK && kind !== TRIVIA) return null;
  }
}

/** Where a comment ends that stands behind this place as the last thing on its line; null if none does. */
function endOfLineComment(text: string, offset: number): number | null {
  const found = /^[ \t]*(?:\/\/[^\r\n]*|\/\*(?:(?!\*\/)[^\n])*\*\/(?=[ \t]*(?:\r?\n|$)))/u.exec(text.slice(offset));
  return found === null ? null : offset + found[0].length;
}

function startsLine(text: string, offset: number): boolean {
  return /(?:^|\n)[ \t]*$/u.test(text.slice(0, offset));
}

function indentAt(text: string, offset: number): string {
  const lineStart = text.lastIndexOf("\n", offset - 1) + 1;
  return /^[ \t]*/u.exec(text.slice(lineStart))![0];
}
