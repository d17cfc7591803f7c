/**
 * A rig and the texts that it stands in: one, or a scenario and the rig that it names. Changes are told by file and path
 * and written into all texts at once, so that comments and line breaks stay and one step back takes back all of it.
 */
import type { Path } from "../shared/issues.ts";
import { EditError, insertItem, rawAt, setAt, spaced, valueIn } from "../shared/json-text.ts";
import { type Fields, fieldsOf, itemsOf, type Mention, mentionsIn } from "../shared/mentions.ts";
import { plainName, type ScenarioTexts } from "./run-data.ts";

export interface RigFiles {
  readonly files: ScenarioTexts;
  readonly scenario: Fields;
  readonly rig: Fields;
  /** Name of the text that the rig stands in, and where in it. */
  readonly rigFile: string;
  readonly rigPath: Path;
}

/** Undefined takes the property or the item away. */
export interface Change {
  readonly file: string;
  readonly path: Path;
  readonly value: unknown;
}

/** @throws EditError where there is no rig to change */
export function rigFilesOf(files: ScenarioTexts): RigFiles {
  const scenario = fieldsIn(files, files.main);
  if (typeof scenario.rig !== "string")
    return { files, scenario, rig: fieldsOf(scenario.rig), rigFile: files.main, rigPath: ["rig"] };
  const rigFile = plainName(scenario.rig);
  if (files.texts[rigFile] === undefined) throw new EditError(`${rigFile}, where the rig stands, is not open.`);
  return { files, scenario, rig: fieldsIn(files, rigFile), rigFile, rigPath: [] };
}

function fieldsIn({ texts }: ScenarioTexts, name: string): Fields {
  return fieldsOf(valueIn(texts[name] ?? ""));
}

/** All that scenario and rig name, with the file it stands in. */
export function mentionsOf({ scenario, rig, files, rigFile }: RigFiles): readonly (Mention & { file: string })[] {
  const inFile = (value: Fields, file: string) => mentionsIn(value).map((mention) => ({ ...mention, file }));
  return [...inFile(scenario, files.main), ...(rigFile === files.main ? [] : inFile(rig, rigFile))];
}

/** The last places first, so that no change moves another's. */
export function changed(files: ScenarioTexts, changes: readonly Change[]): ScenarioTexts {
  const texts = { ...files.texts };
  for (const { file, path, value } of [...changes].sort((one, two) => laterFirst(one.path, two.path)))
    texts[file] = setAt(texts[file] ?? "", path, value);
  return { ...files, texts };
}

/** Adds an item at the end of a list of the rig, which is made where there is none. */
export function appended({ files, rigFile, rigPath }: RigFiles, list: string, item: unknown): ScenarioTexts {
  const text = files.texts[rigFile] ?? "";
  const path = [...rigPath, list];
  const count = itemsOf(valueIn(rawAt(text, path) ?? "[]")).length;
  const made =
    rawAt(text, path) === undefined ? setAt(text, path, [item]) : insertItem(text, path, count, spaced(item));
  return { ...files, texts: { ...files.texts, [rigFile]: made } };
}

/** What inside something is behind it. */
function laterFirst(one: Path, two: Path): number {
  for (let step = 0; step < Math.min(one.length, two.length); step++) {
    const [a, b] = [one[step]!, two[step]!];
    if (a === b) continue;
    if (typeof a === "number" && typeof b === "number") return b - a;
    return String(a) < String(b) ? 1 : -1;
  }
  return two.length - one.length;
}

/** The entry of one of the rig's lists, and its place. */
export function entryOf({ rig, rigPath }: RigFiles, list: string, id: string): { entry: Fields; path: Path } | null {
  const found = itemsOf(rig[list]).find(([entry]) => entry.id === id);
  return found === undefined ? null : { entry: found[0], path: [...rigPath, list, found[1]] };
}

/** A field of a device, in its own entry or in the type that it is like; undefined where neither has it. */
export function fieldOf(rigFiles: RigFiles, device: Fields, name: string): unknown {
  const types = typesOf(rigFiles);
  const seen = new Set<unknown>();
  let at: Fields | undefined = device;
  while (at !== undefined && at[name] === undefined && typeof at.like === "string" && !seen.has(at.like)) {
    seen.add(at.like);
    at = types[at.like];
  }
  return at?.[name];
}

/** Device types by name, wherever they are described. */
export function typesOf(rigFiles: RigFiles): Readonly<Record<string, Fields>> {
  return Object.fromEntries([...typeTexts(rigFiles)].map(([id, { entry }]) => [id, entry]));
}

/** The entry of a device type, with the file and the place that it stands at. */
export function typeTextOf(rigFiles: RigFiles, id: string): TypeText | null {
  return typeTexts(rigFiles).get(id) ?? null;
}

interface TypeText {
  readonly file: string;
  readonly entry: Fields;
  readonly path: Path;
}

function typeTexts({ files, scenario, rig, rigFile, rigPath }: RigFiles): ReadonlyMap<string, TypeText> {
  const libraries = [scenario.library, rig.library].filter((name) => typeof name === "string").map(plainName);
  const holders: readonly { readonly file: string; readonly value: Fields; readonly path: Path }[] = [
    ...libraries.map((file) => ({ file, value: fieldsIn(files, file), path: [] })),
    { file: rigFile, value: rig, path: rigPath },
    { file: files.main, value: scenario, path: [] },
  ];
  return new Map(
    holders.flatMap(({ file, value, path }) =>
      Object.entries(fieldsOf(value.deviceTypes)).map(
        ([id, type]) => [id, { file, entry: fieldsOf(type), path: [...path, "deviceTypes", id] }] as const,
      ),
    ),
  );
}

/** Texts of a list, whatever else is in it. */
export function textsIn(list: unknown): readonly string[] {
  return Array.isArray(list) ? list.filter((one) => typeof one === "string") : [];
}
