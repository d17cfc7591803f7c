/**
 * New names for what is called the same in two plans, so that both have room in one file: both get the name of their
 * company in front, so that neither is the other's. What is one thing in both keeps its name; so do supplies and paths,
 * which are shared until somebody says otherwise.
 */
import type { Path } from "../../shared/issues.ts";
import { type Fields, fieldsOf, itemsOf, type MentionKind, mentionsIn } from "../../shared/mentions.ts";
import { inSentence } from "../tell/words.ts";
import type { Company } from "./company.ts";

export type Renames = ReadonlyMap<MentionKind, ReadonlyMap<string, string>>;

const PREFIXED = ["device", "type", "network", "link", "spare", "feed"] as const;
const ID_LETTERS = 64;
/** The most that a name may have in a file. */
export const LABEL_LETTERS = 200;

/**
 * In the order of the companies.
 *
 * @param apart of a kind, an id that both have, whether these are two things
 */
export function renamingFor(
  companies: readonly [Company, Company],
  apart: (kind: MentionKind, id: string) => boolean,
): readonly [Renames, Renames] {
  const own = companies.map((company) => idsOf(company.value)) as [Ids, Ids];
  const renames = companies.map(() => new Map<MentionKind, Map<string, string>>()) as [
    Map<MentionKind, Map<string, string>>,
    Map<MentionKind, Map<string, string>>,
  ];
  for (const kind of [...PREFIXED, "supply"] as const) {
    const taken = new Set([...own[0].of(kind), ...own[1].of(kind)]);
    const both = [...own[0].of(kind)].filter((id) => own[1].of(kind).has(id) && apart(kind, id)).sort();
    for (const id of both) {
      companies.forEach(({ name }, index) => {
        const fresh = unused(`${name}-${id}`, taken);
        taken.add(fresh);
        mapOf(renames[index] as Map<MentionKind, Map<string, string>>, kind).set(id, fresh);
      });
    }
  }
  // A supply that goes by the name of a device goes with it.
  for (const each of renames) for (const [id, fresh] of each.get("device") ?? []) mapOf(each, "supply").set(id, fresh);
  return renames;
}

function mapOf(renames: Map<MentionKind, Map<string, string>>, kind: MentionKind): Map<string, string> {
  const known = renames.get(kind) ?? new Map<string, string>();
  renames.set(kind, known);
  return known;
}

interface Ids {
  of(kind: MentionKind): ReadonlySet<string>;
}

/** All that has a name, and supplies by what names them: a device without any has one by its own id. */
export function idsOf(value: Fields): Ids {
  const sets = new Map<MentionKind, Set<string>>();
  const add = (kind: MentionKind, id: string): void => {
    const known = sets.get(kind);
    if (known === undefined) sets.set(kind, new Set([id]));
    else known.add(id);
  };
  for (const { kind, id, isOwn } of mentionsIn(value)) if (isOwn || kind === "supply" || kind === "path") add(kind, id);
  for (const [device] of itemsOf(fieldsOf(value.rig).devices))
    if (device.power === undefined && typeof device.id === "string") add("supply", device.id);
  return { of: (kind) => sets.get(kind) ?? new Set() };
}

/** A name that nothing has: itself, or with a number behind it. */
export function unused(wanted: string, taken: ReadonlySet<string>): string {
  for (let count = 1; ; count += 1) {
    const tail = count === 1 ? "" : `-${count}`;
    const name = wanted.slice(0, ID_LETTERS - tail.length) + tail;
    if (!taken.has(name)) return name;
  }
}

/** "Tour FOH desk", "Tour stage box" */
export function prefixed(label: string, name: string): string {
  return `${label} ${inSentence(name)}`.slice(0, LABEL_LETTERS);
}

/** The same value under other names. Keys of device types change as well. */
export function renamed(value: Fields, renames: Renames): Record<string, unknown> {
  const copy = copied(value);
  const types: { readonly path: Path; readonly to: string }[] = [];
  for (const { kind, id, path, behind, isOwn } of mentionsIn(copy)) {
    const to = renames.get(kind)?.get(id);
    if (to === undefined) continue;
    if (kind === "type" && isOwn) types.push({ path, to });
    else setAt(copy, path, to + behind);
  }
  for (const { path, to } of types) {
    const holder = at(copy, path.slice(0, -1)) as Record<string, unknown>;
    const key = String(path.at(-1));
    const type = holder[key];
    delete holder[key];
    holder[to] = type;
  }
  return copy;
}

export function copied(value: Fields): Record<string, unknown> {
  return JSON.parse(JSON.stringify(value)) as Record<string, unknown>;
}

function at(value: unknown, path: Path): unknown {
  return path.reduce<unknown>((here, step) => (here as Record<string | number, unknown>)[step], value);
}

function setAt(value: unknown, path: Path, to: unknown): void {
  (at(value, path.slice(0, -1)) as Record<string | number, unknown>)[path.at(-1) as string | number] = to;
}
