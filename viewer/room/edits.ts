/**
 * Changes to the text of a scenario, each from a text to a text: comments and line breaks stay. An event is named by
 * its place in the file's `events`, as `EventPlan.written` has it.
 */
import { parse } from "jsonc-parser";
import { countAt, EditError, insertItem, rawAt, removeItem, setAt, spaced } from "../../shared/json-text.ts";
import { parseShowTime } from "../../shared/units.ts";
import type { WrittenEvent } from "../../sim/trials/written.ts";

/** What stands in `events`, whatever it is; empty where the text is no JSON. */
export function eventsIn(text: string): readonly unknown[] {
  const value = parse(text, [], { allowTrailingComma: true }) as { events?: unknown } | undefined;
  return typeof value === "object" && value !== null && Array.isArray(value.events) ? value.events : [];
}

/** Behind the last event that is not later; the list is made where there is none. */
export function addEvent(text: string, event: WrittenEvent): string {
  if (rawAt(text, ["events"]) === undefined) return setAt(text, ["events"], [event]);
  const at = parseShowTime(event.at) ?? Number.POSITIVE_INFINITY;
  const index = eventsIn(text).findLastIndex((one) => (timeOf(one) ?? Number.POSITIVE_INFINITY) <= at) + 1;
  return insertItem(text, ["events"], index, spaced(event));
}

/** The event as given: what it no longer says goes, the rest is set. */
export function setEvent(text: string, index: number, event: WrittenEvent): string {
  const before = parse(rawEvent(text, index)) as Record<string, unknown>;
  const gone = Object.keys(before).filter((key) => event[key] === undefined);
  const without = gone.reduce((changed, key) => setAt(changed, ["events", index, key], undefined), text);
  return Object.entries(event).reduce(
    (changed, [key, value]) => (value === undefined ? changed : setAt(changed, ["events", index, key], value)),
    without,
  );
}

/** @param at show time, "hh:mm:ss" or "hh:mm:ss.mmm" */
export function moveEvent(text: string, index: number, at: string): string {
  rawEvent(text, index);
  return setAt(text, ["events", index, "at"], at);
}

/** How long it lasts; undefined: it stays. */
export function setLasting(text: string, index: number, seconds: number | undefined): string {
  rawEvent(text, index);
  return setAt(text, ["events", index, "forSeconds"], seconds);
}

/** The same event once more, comments in it included, right behind. */
export function copyEvent(text: string, index: number, at: string): string {
  return insertItem(text, ["events"], index + 1, setAt(rawEvent(text, index), ["at"], at));
}

export function removeEvent(text: string, index: number): string {
  return removeItem(text, ["events"], index);
}

/** @param length show time */
export function setRunLength(text: string, length: string): string {
  return setAt(text, ["run", "length"], length);
}

/** Null: the default seed. */
export function setSeed(text: string, seed: string | null): string {
  return setAt(text, ["run", "seed"], seed ?? undefined);
}

function rawEvent(text: string, index: number): string {
  const raw = rawAt(text, ["events", index]);
  if (raw === undefined) throw new EditError(`There is no event ${index + 1} of ${countAt(text, ["events"])}.`);
  return raw;
}

function timeOf(event: unknown): number | null {
  const at = typeof event === "object" && event !== null ? (event as { at?: unknown }).at : undefined;
  return typeof at === "string" ? parseShowTime(at) : null;
}
