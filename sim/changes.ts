/**
 * What differs between two plans of one rig, thing by thing, in words: for the crew that has the older one in its hands. A
 * thing is found again by its id, so one that was renamed in the file is a new one, and the old one is gone.
 */
import { namedUnit } from "../shared/named-units.ts";
import type { Plan } from "../shared/plan.ts";
import { deviceById, feedById } from "./by-id.ts";
import type { Fields, Meaning, Said } from "./meaning.ts";
import { meaningOf } from "./meaning.ts";
import { canonical } from "./stamp.ts";
import { capital, deviceHead, listed, source, theCableIn, theNetwork } from "./tell/words.ts";

export type ChangedKind = keyof Meaning;

export interface Change {
  readonly what: ChangedKind;
  /** Empty: the rig as a whole. */
  readonly id: string;
  readonly is: "new" | "gone" | "changed";
  /** "FOH desk: clock source port 2, was port 1; boot 60 s, was 45 s." */
  readonly words: string;
}

const KINDS: readonly ChangedKind[] = ["rig", "networks", "devices", "links", "spares", "feeds"];

/** The rig first, then networks, devices, cables, spares and feeds, each by id. */
export function changesBetween(before: Plan, after: Plan): readonly Change[] {
  const [old, now] = [meaningOf(before), meaningOf(after)];
  return KINDS.flatMap((what): readonly Change[] => {
    const [was, is] = what === "rig" ? [{ "": old.rig }, { "": now.rig }] : [old[what], now[what]];
    const ids = [...new Set([...Object.keys(was), ...Object.keys(is)])].sort();
    return ids.flatMap((id): Change[] => {
      const [one, other] = [was[id], is[id]];
      if (one === undefined) return [{ what, id, is: "new", words: `${headOf(after, what, id)}: new.` }];
      if (other === undefined) return [{ what, id, is: "gone", words: `${headOf(before, what, id)}: gone.` }];
      const fields = differing(one, other, (device) => nameOf(before, after, device));
      if (fields.length === 0) return [];
      return [{ what, id, is: "changed", words: `${headOf(before, what, id)}: ${fields.join("; ")}.` }];
    });
  });
}

/** By its name in the older plan, which the crew has in its hands. */
function nameOf(before: Plan, after: Plan, id: string): string {
  return (deviceById(before, id) ?? deviceById(after, id))?.name ?? id;
}

function headOf(plan: Plan, what: ChangedKind, id: string): string {
  switch (what) {
    case "rig":
      return "The rig";
    case "networks":
      return capital(theNetwork(plan, id));
    case "devices": {
      const device = deviceById(plan, id);
      return device === undefined ? id : deviceHead(device);
    }
    case "links":
      return capital(theCableIn(plan, id));
    case "spares":
      return `Spare group ${id}`;
    case "feeds":
      return feedById(plan, id)?.name || id;
  }
}

/** "boot 60 s, was 45 s", field by field, in the order of their names. */
function differing(was: Fields, is: Fields, deviceName: (id: string) => string): readonly string[] {
  return fieldsApart(was, is, deviceName).map(({ label, one, other }) => `${label} ${other}, was ${one}`);
}

/** In words: what it is called, and what each of the two says. */
export interface FieldApart {
  readonly label: string;
  readonly one: string;
  readonly other: string;
}

export function fieldsApart(one: Fields, other: Fields, deviceName: (id: string) => string): readonly FieldApart[] {
  const [here, there] = [leavesOf(one), leavesOf(other)];
  const paths = [...new Set([...here.keys(), ...there.keys()])].sort();
  return paths.flatMap((path) => {
    const [first, second] = [here.get(path) ?? null, there.get(path) ?? null];
    if (canonical(first) === canonical(second)) return [];
    const { label, unit } = namedUnit(path);
    const text = (value: Said) => valueText(path, value, unit, deviceName);
    return [{ label, one: text(first), other: text(second) }];
  });
}

/** Values by their path, "loop.damping"; a list is one value. */
function leavesOf(fields: Fields, under = ""): Map<string, Said> {
  const leaves = new Map<string, Said>();
  for (const [key, value] of Object.entries(fields)) {
    if (value === undefined) continue;
    const path = under === "" ? key : `${under}.${key}`;
    if (typeof value !== "object" || value === null || Array.isArray(value)) leaves.set(path, value);
    else for (const [deeper, leaf] of leavesOf(value as Fields, path)) leaves.set(deeper, leaf);
  }
  return leaves;
}

/** Lists whose order means something, by the last part of their path. */
const IN_ORDER: Readonly<Record<string, "sources" | "devices" | "ids">> = {
  clockSources: "sources",
  leaders: "devices",
  through: "devices",
  links: "ids",
  channels: "ids",
  taps: "devices",
};

function valueText(path: string, value: Said, unit: string, deviceName: (id: string) => string): string {
  if (value === null) return "left open";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value === "number") return unit === "" ? `${value}` : `${value} ${unit}`;
  if (typeof value === "string") return value === "" ? "empty" : value;
  if (!Array.isArray(value)) return canonical(value);
  if (value.length === 0) return "none";
  // A hop's main and its spares, hop after hop.
  const isNested = value.every((one) => Array.isArray(one));
  if (isNested)
    return listed(
      value.map((hop) => listed((hop as readonly Said[]).map(String), "or")),
      "then",
    );
  if (!value.every((one) => typeof one === "string" || typeof one === "number")) return canonical(value);
  const order = IN_ORDER[path.slice(path.lastIndexOf(".") + 1)];
  const words = value.map((one) => {
    if (order === "sources") return source(String(one));
    return order === "devices" ? deviceName(String(one)) : String(one);
  });
  return listed(words, order === undefined ? "and" : "then");
}
