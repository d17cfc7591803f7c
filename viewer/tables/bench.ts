/** A rig as three tables see it: its lists, what its things are called, and the clocks that its cables bring. */

import { type Fields, itemsOf } from "../../shared/mentions.ts";
import { type RigFiles, typesOf } from "../../sim/rig-files.ts";
import { arrivalsOf } from "../../sim/tables/cables.ts";
import type { Column } from "../../sim/tables/columns.ts";
import { shapeOf } from "../../sim/tables/columns.ts";
import type { Called } from "../../sim/tables/devices.ts";
import { entryAt, valueAt } from "../../sim/tables/entry.ts";
import { Names } from "../../sim/tables/names.ts";
import type { ThingKind } from "../room/rig-edits.ts";

export type RigTable = "devices" | "cables" | "feeds";
export const RIG_TABLES: readonly RigTable[] = ["devices", "cables", "feeds"];

/** The list of the rig, what one of them is called, and its kind elsewhere. */
export const OF_TABLE: Readonly<Record<RigTable, { list: string; one: string; kind: ThingKind }>> = {
  devices: { list: "devices", one: "device", kind: "device" },
  cables: { list: "links", one: "cable", kind: "link" },
  feeds: { list: "feeds", one: "feed", kind: "feed" },
};

export interface Bench {
  readonly rig: Fields;
  readonly types: Readonly<Record<string, Fields>>;
  readonly called: Omit<Called, "refuse">;
}

export function benchOf(rigFiles: RigFiles): Bench {
  return { rig: rigFiles.rig, types: typesOf(rigFiles), called: calledIn(rigFiles.rig) };
}

export function calledIn(rig: Fields): Bench["called"] {
  const [names, links] = [new Names(), new Names()];
  const all = (list: unknown) => itemsOf(list).map(([item]) => item);
  // Ids first: a device may be named as another's id, and the id is what a file means.
  for (const { id } of all(rig.devices)) if (typeof id === "string") names.add(id);
  for (const { id, name } of all(rig.devices))
    if (typeof id === "string" && typeof name === "string") names.add(id, name);
  for (const { id } of all(rig.links)) if (typeof id === "string") links.add(id);
  const cables = all(rig.links).map((link) => ({ ...entryAt(NOWHERE), fields: { ...link } }));
  return { names, links, arrivals: arrivalsOf(cables) };
}

const NOWHERE = { file: "", line: 0, column: 0, heading: "" };

/** A rig is never changed in its place, and each cell asks. */
const kept = new WeakMap<Fields, Map<RigTable, readonly Fields[]>>();

export function itemsIn(rig: Fields, table: RigTable): readonly Fields[] {
  const lists = kept.get(rig) ?? new Map<RigTable, readonly Fields[]>();
  kept.set(rig, lists);
  const items = lists.get(table) ?? itemsOf(rig[OF_TABLE[table].list]).map(([item]) => item);
  lists.set(table, items);
  return items;
}

/** A device by its name, a cable by its id, in words that a sentence goes on from. */
export function calledItem(table: RigTable, item: Fields | undefined): string {
  const { id, name } = item ?? {};
  const text = typeof name === "string" && name !== "" ? name : typeof id === "string" ? id : "";
  if (text === "") return `a ${OF_TABLE[table].one}`;
  return table === "cables" ? `cable ${text}` : text;
}

/** What a device has from its type, and from which: own fields stand before the type's, one by one. */
export function inherited(
  device: Fields,
  key: string,
  types: Bench["types"],
): { readonly value: unknown; readonly type: string } | null {
  const seen = new Set<string>();
  for (let like = device.like; typeof like === "string" && !seen.has(like); like = types[like]?.like) {
    seen.add(like);
    const value = valueAt(types[like], key);
    if (value !== undefined) return { value, type: like };
  }
  return null;
}

export function perTable<T>(make: (table: RigTable) => T): Readonly<Record<RigTable, T>> {
  return { devices: make("devices"), cables: make("cables"), feeds: make("feeds") };
}

/** Ports stand behind their ends. */
const COLUMNS = perTable((table) => shapeOf(table).columns.filter(({ key }) => !/^~(?:from|to)Port$/.test(key)));
/** Every cell asks. */
const BY_KEY = perTable((table) => new Map(COLUMNS[table].map((column) => [column.key, column])));

export function columnsOf(table: RigTable): readonly Column[] {
  return COLUMNS[table];
}

export function columnOf(table: RigTable, key: string): Column {
  return BY_KEY[table].get(key) as Column;
}
