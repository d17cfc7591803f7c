/** What a cell shows: the text that is typed, copied and pasted, and the words that are seen. */
import { type Fields, itemsOf } from "../../shared/mentions.ts";
import { textsIn } from "../../sim/rig-files.ts";
import type { Column } from "../../sim/tables/columns.ts";
import { valueAt } from "../../sim/tables/entry.ts";
import { endFrom } from "../../sim/tables/names.ts";
import { readCell, unguarded, writeCell } from "../../sim/tables/values.ts";
import { source } from "../../sim/tell/words.ts";
import { type Bench, columnOf, columnsOf, inherited, itemsIn, type RigTable } from "./bench.ts";

export interface Shown {
  readonly text: string;
  readonly words: string;
  /** The type that it comes from; null: the thing's own, or nothing. */
  readonly type: string | null;
}

export function shownCell(bench: Bench, table: RigTable, index: number, key: string): Shown {
  const item = itemsIn(bench.rig, table)[index] ?? {};
  const column = columnOf(table, key);
  const own = ownText(bench, table, item, column);
  const isOwn = valueAt(item, key) !== undefined || key.startsWith("~");
  const from = isOwn || table !== "devices" ? null : inherited(item, key, bench.types);
  const value = from === null ? valueAt(item, key) : from.value;
  const text = from === null ? own : spread(value, column, table) ? "" : plainText(column, value);
  const words = key === "clockSources" ? sourcesSentence(bench, item, value) : unguarded(text);
  return { text: from === null ? text : "", words, type: from?.type ?? null };
}

function ownText(bench: Bench, table: RigTable, item: Fields, column: Column): string {
  const value = valueAt(item, column.key);
  const { names } = bench.called;
  switch (`${table} ${column.key}`) {
    case "devices ~leads": {
      const rank = textsIn(bench.rig.leaders).indexOf(String(item.id));
      return rank < 0 ? "" : String(rank + 1);
    }
    case "devices clockSources":
      return sourcesText(column, value);
    case "cables ~spareOf":
      return mainOf(bench.rig, item.id) ?? "";
    case "cables from":
    case "cables to":
      return writtenEnds(item, column.key as "from" | "to")
        .map((end) => endText(end, bench))
        .join("; ");
    case "feeds through": {
      const ids = textsIn(value);
      const called = ids.map((id) => {
        const name = nameOf(bench.rig, id);
        return names.find(name) === id ? name : id;
      });
      const text = called.join(" > ");
      return isSame(readCell(column, text, "").value, called) ? text : plainText(column, value);
    }
    default:
      return spread(value, column, table) ? "" : plainText(column, value);
  }
}

function plainText(column: Column, value: unknown): string {
  return value === null ? "" : writeCell(column, value);
}

/** An object whose fields have columns of their own. */
export function spread(value: unknown, { key }: Column, table: RigTable): boolean {
  return (
    typeof value === "object" &&
    value !== null &&
    !Array.isArray(value) &&
    columnsOf(table).some((column) => column.key.startsWith(`${key}.`))
  );
}

/** As they stand in the file: "stage.1", or whatever somebody wrote there. */
export function writtenEnds(link: Fields, side: "from" | "to"): readonly string[] {
  const { ends } = link;
  const value = Array.isArray(ends) ? ends[side === "from" ? 0 : 1] : link[side];
  return (Array.isArray(value) ? value : [value]).filter((end) => typeof end === "string");
}

function endText(end: string, { rig, called: { names } }: Bench): string {
  const [id = "", port = ""] = end.split(".");
  const text = `${nameOf(rig, id)} port ${port}`;
  const read = endFrom(text, names);
  const isWhole = /^[1-9]\d*$/.test(port) && read.isKnown && read.device === id && read.port === port;
  return isWhole && !text.includes(";") ? text : end;
}

export function nameOf(rig: Fields, id: string): string {
  const found = itemsIn(rig, "devices").find((device) => device.id === id);
  return typeof found?.name === "string" ? found.name : id;
}

/** The main cable of the group in which this one is a spare. */
export function mainOf(rig: Fields, id: unknown): string | null {
  for (const [{ links }] of itemsOf(rig.spares)) {
    const all = textsIn(links);
    if (all.slice(1).includes(String(id))) return all[0] ?? null;
  }
  return null;
}

// ---- clock sources

function sourcesText(column: Column, value: unknown): string {
  const entries = textsIn(value);
  const text = entries.map((entry) => (isPort(entry) ? `port ${entry}` : entry)).join(", then ");
  const read = readCell(column, text, "").value;
  const isWhole = isSame(
    read,
    entries.map((entry) => (isPort(entry) ? `port ${entry}` : entry)),
  );
  return isWhole ? text.replaceAll("internal", "own clock") : plainText(column, value);
}

const isPort = (entry: string) => /^[1-9]\d{0,2}$/.test(entry);

/** "listens to port 1 (Stage box), then its own clock" */
function sourcesSentence(bench: Bench, item: Fields, value: unknown): string {
  const entries = textsIn(value);
  if (entries.length === 0) return "";
  return `listens to ${entries.map((entry) => sourceWords(bench, item.id, entry)).join(", then ")}`;
}

export function sourceWords({ rig, called }: Bench, device: unknown, entry: string): string {
  const from = called.arrivals.find((each) => each.device === device && each.port === entry)?.from;
  if (!isPort(entry) && entry !== "internal") return entry;
  return from === undefined ? source(entry) : `${source(entry)} (${nameOf(rig, from)})`;
}

function isSame(one: unknown, other: unknown): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}

/** Indexes of the rows in the order of a column; what is left blank stands last, whichever way. */
export function sortedRows(bench: Bench, table: RigTable, key: string, isDown: boolean): number[] {
  const rows = itemsIn(bench.rig, table).map((_, index) => ({
    index,
    words: shownCell(bench, table, index, key).words,
  }));
  const order = new Intl.Collator("en", { numeric: true }).compare;
  const side = (words: string) => (words === "" ? 1 : 0);
  return rows
    .sort(
      (one, other) =>
        side(one.words) - side(other.words) ||
        (isDown ? -1 : 1) * order(one.words, other.words) ||
        one.index - other.index,
    )
    .map(({ index }) => index);
}
