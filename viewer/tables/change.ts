/**
 * Changes to a rig as three tables make them, from value to value: a cell, a row, what was typed before it could be
 * understood. A cell is read by the rules of tables from a spreadsheet; what makes no sense stands in the rig as it was
 * typed, and the reader of the file refuses it there.
 */

import { EditError } from "../../shared/json-text.ts";
import { LINK_TYPES, linkType } from "../../shared/link-types.ts";
import { type Fields, fieldsOf, itemsOf } from "../../shared/mentions.ts";
import { textsIn } from "../../sim/rig-files.ts";
import { withPort } from "../../sim/tables/cables.ts";
import { AS_ASSUMED, sourceFor } from "../../sim/tables/devices.ts";
import { valueAt } from "../../sim/tables/entry.ts";
import { bared } from "../../sim/tables/file-text.ts";
import { endFrom, freeId, idFrom, idFromName } from "../../sim/tables/names.ts";
import { readCell } from "../../sim/tables/values.ts";
import { type Bench, calledIn, columnOf, itemsIn, OF_TABLE, type RigTable } from "./bench.ts";
import { mainOf, spread, writtenEnds } from "./shown.ts";

/** A text for a cell. `unit` is what its heading says: "ft" of "Length (ft)". */
export interface Typed {
  readonly text: string;
  readonly unit?: string;
}

/** @throws EditError where a text can stand in no field of the file */
export function withCell(rig: Fields, table: RigTable, index: number, key: string, typed: Typed): Fields {
  const text = typed.text.trim();
  const item = itemsIn(rig, table)[index] ?? {};
  if (key === "~leads") return withRank(rig, String(item.id), text);
  if (key === "~spareOf") return withSpareOf(rig, String(item.id), text);
  return withItem(rig, table, index, changedItem(rig, table, item, key, typed));
}

function withItem(rig: Fields, table: RigTable, index: number, item: Fields): Fields {
  const { list } = OF_TABLE[table];
  return { ...rig, [list]: (rig[list] as readonly unknown[]).map((one, at) => (at === index ? item : one)) };
}

function changedItem(rig: Fields, table: RigTable, item: Fields, key: string, { text, unit }: Typed): Fields {
  const column = columnOf(table, key);
  const isBlank = text.trim() === "";
  const read = isBlank ? undefined : readCell(column, text, unit ?? "").value;
  const value = key === "clockSources" && isAsAssumed(read) ? undefined : read;
  switch (`${table} ${key}`) {
    case "cables from":
    case "cables to":
      return withEnds(rig, item, key as "from" | "to", isBlank ? [] : text.trim().split(/\s*;\s*/));
    case "cables type":
      return withType(item, value);
    case "devices name":
    case "feeds name":
      return withValue(item, key, value === item.id ? undefined : value);
    default: {
      // What has columns of its own says more than a yes.
      const own = valueAt(item, key);
      const isSpread = spread(own, column, table);
      // A list of one number may stand without its brackets, and need not.
      const isSame = Array.isArray(own) && own.length === 1 && own[0] === value;
      return isSame || (isSpread && (isBlank || value === true)) ? item : withValue(item, key, value);
    }
  }
}

/** Left to the defaults, and meant so. */
function isAsAssumed(value: unknown): boolean {
  return Array.isArray(value) && value.length === 1 && String(value[0]).toLowerCase() === AS_ASSUMED;
}

/** A field at "oscillator.offsetPpm"; an object that nothing is left in goes as well. */
export function withValue(fields: Fields, key: string, value: unknown): Fields {
  if (value === undefined && valueAt(fields, key) === undefined) return fields;
  const [first = "", ...rest] = key.split(".");
  const inner = rest.length === 0 ? value : withValue(fieldsOf(fields[first]), rest.join("."), value);
  const { [first]: _, ...others } = fields;
  if (inner === undefined || (rest.length > 0 && Object.keys(inner as Fields).length === 0)) return others;
  return { ...fields, [first]: inner };
}

// ---- who leads

const RANK_WORDS = "Write 1 for the device that leads, 2 for who is next, or leave it blank.";

function withRank(rig: Fields, id: string, text: string): Fields {
  const before = textsIn(rig.leaders);
  const leaders = before.filter((leader) => leader !== id);
  const rank = rankIn(text);
  if (rank === null) throw new EditError(`${text} says nothing of who leads. ${RANK_WORDS}`);
  if (rank > 0) leaders.splice(rank - 1, 0, id);
  return leaders.length === 0 && before.length === 0 ? rig : { ...rig, leaders };
}

/** As in tables from a spreadsheet: a number, or yes. 0: it does not lead. Null: neither. */
export function rankIn(text: string): number | null {
  if (/^(?:0*|no|n|-|–|—|false)$/i.test(text)) return 0;
  const digits = /^\d{1,3}(?=\D*$)/.exec(text)?.[0];
  if (digits !== undefined) return Number(digits);
  return /^(?:yes|y|x|true|leader|leads|first|✓)$/i.test(text) ? 1 : null;
}

// ---- cables

function withEnds(rig: Fields, link: Fields, side: "from" | "to", typed: readonly string[]): Fields {
  const { names } = calledIn(rig);
  const used = usedPorts(rig);
  const ends = typed.map((text) => endIn(text, names, used) ?? text);
  const value = ends.length > 1 ? ends : ends[0];
  if (!isTwoWay(link.type) && link.ends === undefined) return withValue(link, side, value);
  const [from, to] = Array.isArray(link.ends) ? link.ends : [];
  const both = [side === "from" ? value : from, side === "to" ? value : to].map((end) => end ?? null);
  return withValue(link, "ends", both.every((end) => end === null) ? undefined : both);
}

/** "stage.1" for what names a device that is there, its next free port where none is said; null: it names none. */
function endIn(text: string, names: Bench["called"]["names"], used: Set<string>): string | null {
  const end = endFrom(text, names);
  return end.isKnown ? withPort(end, used, []) : null;
}

function usedPorts(rig: Fields): Set<string> {
  return new Set(itemsIn(rig, "cables").flatMap((link) => [...writtenEnds(link, "from"), ...writtenEnds(link, "to")]));
}

function isTwoWay(type: unknown): boolean {
  const known = LINK_TYPES.find((one) => one === type);
  return known !== undefined && linkType(known).twoWay;
}

/** The ends stay; a cable with both ways in it has no return beside it. */
function withType(link: Fields, type: unknown): Fields {
  const { from, to, ends, return: back, ...others } = withValue(link, "type", type);
  if (isTwoWay(type) && ends === undefined) {
    const both = [from, ...(Array.isArray(to) ? to : [to])].map((end) => end ?? null);
    return both.every((end) => end === null) ? others : { ...others, ends: both };
  }
  const isOneWay = LINK_TYPES.some((one) => one === type) && !isTwoWay(type);
  if (!isOneWay || !Array.isArray(ends)) return withValue(link, "type", type);
  return { ...others, ...(ends[0] == null ? {} : { from: ends[0] }), ...(ends[1] == null ? {} : { to: ends[1] }) };
}

function withSpareOf(rig: Fields, id: string, text: string): Fields {
  const { links } = calledIn(rig);
  if ((text === "" ? null : links.idOr(text)) === mainOf(rig, id)) return rig;
  const groups = itemsOf(rig.spares).map(([group]) => group);
  const without = groups.flatMap((group) => {
    const all = textsIn(group.links);
    if (!all.slice(1).includes(id)) return [group];
    const left = all.filter((link, at) => at === 0 || link !== id);
    return left.length < 2 ? [] : [{ ...group, links: left }];
  });
  const spares = text === "" ? without : withSpare(without, links.idOr(text), id);
  const isNothing = spares.length === 0 && groups.length === 0;
  return isNothing ? rig : withValue(rig, "spares", spares.length === 0 ? undefined : spares);
}

function withSpare(groups: readonly Fields[], main: string, spare: string): readonly Fields[] {
  const at = groups.findIndex(({ links }) => textsIn(links)[0] === main);
  if (at >= 0)
    return groups.map((group, index) => (index === at ? { ...group, links: [...textsIn(group.links), spare] } : group));
  const taken = new Set(groups.map(({ id }) => String(id)));
  return [...groups, { id: freeId(idFrom(`${main.slice(0, 50)}-and-spare`, "spare"), taken), links: [main, spare] }];
}

// ---- rows

/** One more row at the end. What its cells say of the whole rig (who leads, spare of what) is for `withCell`. */
export function withRow(rig: Fields, table: RigTable, cells: ReadonlyMap<string, Typed>): Fields {
  const { list } = OF_TABLE[table];
  const said = (key: string) => cells.get(key)?.text.trim() ?? "";
  const taken = new Set(itemsIn(rig, table).map(({ id }) => String(id)));
  const id = freeId(wantedId(table, said, taken.size + 1), taken);
  let item: Fields = { id };
  const ordered = [...cells].filter(([key]) => key !== "id" && !key.startsWith("~"));
  // What ends are written as depends on the type.
  ordered.sort(([one], [other]) => Number(other === "type") - Number(one === "type"));
  for (const [key, typed] of ordered) {
    const listed = { ...rig, [list]: [...itemsIn(rig, table), item] };
    if (typed.text.trim() !== "") item = changedItem(listed, table, item, key, typed);
  }
  // A label that no id can be is what people call it; a cable has no name, so there it is kept as a comment.
  if (table !== "cables" && said("id") !== "" && said("id") !== id && item.name === undefined)
    item = { ...item, name: said("id") };
  return { ...rig, [list]: [...((rig[list] as readonly unknown[] | undefined) ?? []), bared(item)] };
}

function wantedId(table: RigTable, said: (key: string) => string, count: number): string {
  const instead = `${OF_TABLE[table].one}-${count}`;
  if (said("id") !== "") return idFrom(said("id"), instead);
  if (table !== "cables") return idFromName(said("name"), instead);
  const ends = ["from", "to"].map((side) => said(side).replace(/(?:\s*[.:/#]\s*|\s+(?:port|socket|p)?\s*)\d+$/i, ""));
  return ends.includes("") ? instead : idFromName(ends.join(" "), instead);
}

/** Made where nobody said what it is called. */
export function isMadeUp(table: RigTable, id: unknown): boolean {
  return typeof id === "string" && new RegExp(`^${OF_TABLE[table].one}-\\d+$`).test(id);
}

// ---- what was typed before it could be understood

/** Names that were written before there was what they name, as the ids that the file needs. */
export function settled(rig: Fields): Fields {
  const used = usedPorts(rig);
  const { names } = calledIn(rig);
  const ids = new Set(itemsIn(rig, "devices").map(({ id }) => id));
  const mapped = (value: unknown, meant: (text: string) => string | null): unknown => {
    if (Array.isArray(value)) return value.map((one) => mapped(one, meant));
    return typeof value === "string" ? (meant(value) ?? value) : value;
  };
  const end = (text: string) => (ids.has(text.split(".")[0]) && /\.\d+$/.test(text) ? text : endIn(text, names, used));
  const all = (holder: Fields, list: string, change: (item: Fields) => Fields): Fields =>
    Array.isArray(holder[list])
      ? { ...holder, [list]: holder[list].map((one) => (fieldsOf(one) === one ? change(one) : one)) }
      : holder;
  const fields = (item: Fields, keys: readonly string[], meant: (text: string) => string | null) =>
    keys.reduce((made, key) => {
      const before = valueAt(made, key);
      return before === undefined ? made : withValue(made, key, mapped(before, meant));
    }, item);

  let made = all(rig, "links", (link) => fields(link, ["from", "to", "ends", "terminatedAt"], end));
  const called = calledIn(made);
  const link = (text: string) => called.links.find(text);
  made = all(made, "devices", (device) =>
    fields(device, ["clockSources", "afterReboot.clockSources"], (text) => sourceFor(text, String(device.id), called)),
  );
  made = all(made, "feeds", (feed) =>
    fields(
      fields(feed, ["through"], (text) => names.find(text)),
      ["over"],
      link,
    ),
  );
  return all(made, "spares", (spare) => fields(spare, ["links"], link));
}
