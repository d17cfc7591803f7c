/** A scenario as tables, which `read.ts` makes the same scenario of. */

import { type Column, TABLES, type TableName, type TableShape } from "./columns.ts";
import { AS_ASSUMED } from "./devices.ts";
import { valueAt } from "./entry.ts";
import { writeCell } from "./values.ts";

export interface WrittenTable {
  readonly name: TableName;
  /** Headings first. */
  readonly rows: readonly (readonly string[])[];
}

type Fields = Readonly<Record<string, unknown>>;

/** These four are written even if they are empty, since a table to fill in is of use as well. */
const ALWAYS: readonly TableName[] = ["devices", "cables", "feeds", "events"];

/**
 * @param scenario the value of a scenario file that was read without an issue, its rig inside
 * @param types all device types that it names, those of libraries as well
 */
export function tablesFromScenario(scenario: Fields, types: Fields): WrittenTable[] {
  const rig = (scenario.rig ?? {}) as Fields;
  const leaders = (rig.leaders ?? []) as readonly string[];
  const list = (holder: Fields, key: string): Fields[] => (holder[key] ?? []) as Fields[];
  const rows: Record<TableName, Fields[]> = {
    show: [scenario],
    devices: list(rig, "devices").map((device) => {
      const rank = leaders.indexOf(device.id as string);
      const isOpen = device.clockSources === undefined && device.like === undefined;
      return {
        ...device,
        ...(rank < 0 ? {} : { "~leads": rank + 1 }),
        ...(isOpen ? { clockSources: [AS_ASSUMED] } : {}),
      };
    }),
    types: Object.entries(types).map(([name, type]) => ({ ...(type as Fields), "~type": name })),
    cables: list(rig, "links").map((link) => {
      const [from, to] = (link.ends ?? []) as readonly string[];
      const ends = Array.isArray(link.to) ? { to: link.to.join("; ") } : {};
      return { ...link, ...(from === undefined ? {} : { from, to }), ...ends };
    }),
    spares: list(rig, "spares"),
    networks: list(rig, "networks"),
    supplies: list(rig, "supplies"),
    feeds: list(rig, "feeds"),
    events: list(scenario, "events"),
    expect: list(scenario, "expect"),
    accepted: [...list(scenario, "accepted"), ...list(rig, "accepted")],
    patch: [],
    measurements: [],
  };
  return TABLES.filter(({ name }) => rows[name].length > 0 || ALWAYS.includes(name)).map((shape) =>
    table(shape, rows[shape.name]),
  );
}

function table({ name, columns, always }: TableShape, rows: readonly Fields[]): WrittenTable {
  const said = (column: Column, row: Fields): string => {
    const value = valueAt(row, column.key);
    const isSpread =
      typeof value === "object" && !Array.isArray(value) && columns.some(({ key }) => key.startsWith(`${column.key}.`));
    return isSpread ? "" : writeCell(column, value);
  };
  const used = columns.filter((column) => always.includes(column.key) || rows.some((row) => said(column, row) !== ""));
  return {
    name,
    rows: [used.map(({ key }) => key.replace(/^~/, "")), ...rows.map((row) => used.map((column) => said(column, row)))],
  };
}
