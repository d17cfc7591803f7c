/**
 * The assumed numbers that a run really uses, one line each, with what it is assumed for: "holdoverSeconds 0 s: pa,
 * stage". A device that follows nothing has no lock window worth a word.
 */
import type { Origin } from "./defaults.ts";
import { DEFAULTS } from "./defaults.ts";
import type { LinkTypeName } from "./link-types.ts";
import { linkType } from "./link-types.ts";
import { oscillatorType } from "./oscillators.ts";
import type { AssumptionPlan, OriginPlan } from "./plan.ts";
import { type Concerned, matters, type Parts, ROWS, whoIsConcerned } from "./scenario-concerned.ts";
import { type DeviceFound, namesFromType } from "./scenario-devices.ts";
import type { Filled } from "./scenario-draft.ts";
import { lastMeasured, numberAt, originsAt, originWords, valueWords } from "./scenario-origins.ts";

/** In the order of the tables; the order of the file changes nothing. */
export function assumedLines(plan: Parts, filled: readonly Filled[]): string[] {
  const concerned = whoIsConcerned(plan, filled);
  const lines = new Map<string, { rank: number; ids: string[] }>();
  for (const entry of filled) {
    if (!isAssumed(concerned, entry) || !matters(concerned, entry)) continue;
    const line = lineOf(entry);
    const known = lines.get(line);
    if (known) known.ids.push(entry.id);
    else lines.set(line, { rank: rankOf(entry), ids: [entry.id] });
  }
  return inOrder(lines);
}

/** All that nobody has entered and no source gives, whether this run asks for it or not. In the order of the tables. */
export function assumptionsOf(plan: Parts, filled: readonly Filled[]): AssumptionPlan[] {
  const concerned = whoIsConcerned(plan, filled);
  const found = new Map<string, AssumptionPlan & { readonly rank: number; readonly ids: string[] }>();
  for (const entry of filled) {
    const { on, id } = entry;
    if ((on !== "device" && on !== "link" && on !== "spare") || !isAssumed(concerned, entry)) continue;
    // What a table says of a type of link, "madi.noticeSeconds", is about each link of it.
    const name = on === "link" ? entry.name.replace(/^[^.]+\.(?=noticeSeconds$|comingUpSeconds$)/, "") : entry.name;
    const known = found.get(`${on} ${name}`);
    if (known) known.ids.push(id);
    else found.set(`${on} ${name}`, { rank: rankOf(entry), on, name, ids: [id] });
  }
  return [...found.values()]
    .sort((one, other) => one.rank - other.rank || (one.name < other.name ? -1 : 1))
    .map(({ on, name, ids }) => ({ on, name, ids: ids.sort() }));
}

function inOrder(lines: ReadonlyMap<string, { readonly rank: number; readonly ids: string[] }>): string[] {
  return [...lines]
    .sort(([one, a], [two, b]) => a.rank - b.rank || (one < two ? -1 : 1))
    .map(([line, { ids }]) => `${line}: ${ids.sort().join(", ")}`);
}

function lineOf({ on, name, value, unit }: Filled): string {
  if (name === "oscillator.offsetPpm") return "oscillator.offsetPpm drawn within its tolerance";
  const shown = Array.isArray(value) ? value.join(", ") : typeof value === "number" ? figures(value) : String(value);
  const words = unit === "" ? `${name} ${shown}` : `${name} ${shown} ${unit}`;
  // Names that say little alone, or that numbers of devices have too.
  return on === "spare" || on === "network" ? `${on} ${words}` : words;
}

/** As written, but a number that a conversion gave in three figures. */
function figures(value: number): string {
  const all = String(value);
  return all.length > 9 ? String(Number(value.toPrecision(3))) : all;
}

/** Numbers of the tables of types come after the defaults: those of oscillators, then those of links. */
function rankOf({ on, name }: Filled): number {
  return ROWS.get(`${on}.${name}`)?.rank ?? DEFAULTS.length + (on === "link" ? 1 : 0);
}

function isAssumed(concerned: Concerned, entry: Filled): boolean {
  return originOf(concerned, entry) === "assumed";
}

/** Null: no number of a run is about it. */
function originOf({ oscillatorOf }: Concerned, { on, id, name }: Filled): Origin | null {
  const row = ROWS.get(`${on}.${name}`);
  if (row) return row.origin;
  const [type, field] = name.split(".");
  if (on === "link" && (field === "noticeSeconds" || field === "comingUpSeconds"))
    return linkType(type as LinkTypeName)[field].origin;
  // Audio latency is left out: it delays sound only, and no number of a run is about that.
  if (type !== "oscillator" || field === undefined) return null;
  const oscillator = oscillatorType(oscillatorOf.get(id) ?? "crystal");
  const number = oscillator[field as keyof typeof oscillator];
  return typeof number === "object" ? number.origin : null;
}

/**
 * Where the numbers of devices come from, but those that their own entries give without saying: one row for each name,
 * origin, what is said of it, and whether this run asks for it. By name, then by origin.
 */
export function originsOfDevices(
  plan: Parts,
  filled: readonly Filled[],
  devices: ReadonlyMap<string, DeviceFound>,
): OriginPlan[] {
  const concerned = whoIsConcerned(plan, filled);
  const rows = new Map<string, OriginPlan & { readonly ids: string[] }>();
  const add = (id: string, row: Omit<OriginPlan, "ids">) => {
    const key = `${row.name} ${row.origin} ${row.isAsked} ${row.measured ?? ""} ${row.said ?? ""}`;
    const known = rows.get(key);
    if (known === undefined) rows.set(key, { ...row, ids: [id] });
    else known.ids.push(id);
  };
  for (const [id, device] of devices) {
    const byType = namesFromType(device);
    for (const name of byType) add(id, { name, origin: "device type", isAsked: true, ...saidOf(device, name) });
    for (const name of Object.keys(device.fields.origins ?? {}))
      if (numberAt(device.own, name) !== undefined)
        add(id, { name, origin: "own entry", isAsked: true, ...saidOf(device, name) });
  }
  for (const entry of filled) {
    const origin = entry.on === "device" ? originOf(concerned, entry) : null;
    if (origin !== null) add(entry.id, { name: entry.name, origin, isAsked: matters(concerned, entry) });
  }
  return [...rows]
    .sort(([one], [other]) => (one < other ? -1 : 1))
    .map(([, row]) => ({ ...row, ids: [...row.ids].sort() }));
}

function saidOf({ fields }: DeviceFound, name: string): Pick<OriginPlan, "said" | "measured"> {
  const said = originsAt(fields, name);
  if (said.length === 0) return {};
  const played = numberAt(fields, name);
  const measured = lastMeasured(played, said);
  return { said: originWords(name, played, said), ...(measured === null ? {} : { measured }) };
}

/** Measured numbers that a run really uses, one line each, in the order of the table of defaults. */
export function measuredLines(
  plan: Parts,
  filled: readonly Filled[],
  devices: ReadonlyMap<string, DeviceFound>,
): string[] {
  const concerned = whoIsConcerned(plan, filled);
  const lines = new Map<string, { readonly rank: number; readonly ids: string[] }>();
  for (const [id, { fields }] of devices) {
    for (const name of Object.keys(fields.origins ?? {})) {
      const value = numberAt(fields, name);
      const measured = value === undefined ? null : lastMeasured(value, originsAt(fields, name));
      const entry = { on: "device", id, name, value, unit: "" } as const;
      if (measured === null || !matters(concerned, entry)) continue;
      const line = `${name} ${valueWords(name, value)}, measured ${measured}`;
      const known = lines.get(line);
      if (known) known.ids.push(id);
      else lines.set(line, { rank: rankOf(entry), ids: [id] });
    }
  }
  return inOrder(lines);
}
