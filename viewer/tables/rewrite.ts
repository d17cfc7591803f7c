/** A value that has changed, written into its text: what is the same in both stands as it was typed. */
import type { Path } from "../../shared/issues.ts";
import { insertItem, openList, removeItem, setAt, spaced } from "../../shared/json-text.ts";
import { comment } from "../../sim/tables/print.ts";

/** What is to stand above items that are put in, by their id. */
export type Notes = ReadonlyMap<unknown, readonly string[]>;

export function rewritten(text: string, path: Path, before: unknown, after: unknown, notes: Notes = new Map()): string {
  if (isAlike(before, after)) return text;
  if (isList(before) && isList(after) && [...before, ...after].every(isObject))
    return withItems(text, path, before, after, notes);
  if (isList(before) && isList(after) && before.length === after.length)
    return after.reduce<string>((made, one, at) => rewritten(made, [...path, at], before[at], one, notes), text);
  if (isObject(before) && isObject(after)) {
    const keys = [...new Set([...Object.keys(before), ...Object.keys(after)])];
    return keys.reduce((made, key) => rewritten(made, [...path, key], before[key], after[key], notes), text);
  }
  if (before === undefined && isList(after) && after.some(isObject))
    return withItems(openList(setAt(text, path, []), path), path, [], after, notes);
  return setAt(text, path, after);
}

/** Those that are alike at both ends stay; of the rest, as many as there are on both sides are changed. */
function withItems(text: string, path: Path, before: readonly unknown[], after: readonly unknown[], notes: Notes) {
  let start = 0;
  while (start < before.length && start < after.length && isAlike(before[start], after[start])) start++;
  let [end, now] = [before.length, after.length];
  while (end > start && now > start && isAlike(before[end - 1], after[now - 1])) {
    end--;
    now--;
  }
  const both = Math.min(end, now);
  let made = text;
  for (let at = end - 1; at >= both; at--) made = removeItem(made, path, at);
  for (let at = start; at < both; at++) made = rewritten(made, [...path, at], before[at], after[at], notes);
  if (before.length === 0) made = openList(made, path);
  for (let at = both; at < now; at++) {
    const above = (notes.get((after[at] as { id?: unknown }).id) ?? []).map((note) => comment(note, ""));
    made = insertItem(made, path, at, `${above.join("")}${spaced(after[at])}`);
  }
  return made;
}

function isAlike(one: unknown, other: unknown): boolean {
  return one === other || JSON.stringify(one) === JSON.stringify(other);
}

function isList(value: unknown): value is readonly unknown[] {
  return Array.isArray(value);
}

function isObject(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
