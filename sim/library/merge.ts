/**
 * Two libraries as one: every type, every number and every origin of both. Where the two give a number differently, both
 * stay as origins, one of them is played until somebody answers, and the answer is asked for.
 */
import { insertItem, rawAt, setAt, spaced } from "../../shared/json-text.ts";
import type { OriginSaid } from "../../shared/plan.ts";
import type { Library } from "../../shared/scenario-library.ts";
import { sameValue, sortedOrigins } from "../../shared/scenario-origins.ts";
import type { DeviceTypeFile } from "../../shared/scenario-schema.ts";
import { leavesOf, originsIn, playedOf, sameOrigin, type TypesFile, typeOf } from "./leaves.ts";

/** A number that two libraries give differently. */
export interface Question {
  readonly type: string;
  /** "bootSeconds", "oscillator.offsetPpm". */
  readonly name: string;
  readonly given: readonly { readonly value: unknown; readonly by: string }[];
  /** Played until somebody answers. */
  readonly played: unknown;
}

export interface Merged {
  readonly types: TypesFile;
  /** By type, then by name. */
  readonly questions: readonly Question[];
}

type Side = Pick<Library, "file" | "types">;

export function mergeLibraries(one: Side, other: Side): Merged {
  const names = [...new Set([...Object.keys(one.types), ...Object.keys(other.types)])].sort();
  const questions: Question[] = [];
  const types: Record<string, DeviceTypeFile> = {};
  for (const name of names) {
    const [a, b] = [one.types[name], other.types[name]];
    if (a !== undefined && b !== undefined)
      types[name] = mergeTypes(name, { file: one.file, type: a }, { file: other.file, type: b }, questions);
    else types[name] = (a ?? b) as DeviceTypeFile;
  }
  return { types, questions };
}

interface TypeSide {
  readonly file: string;
  readonly type: DeviceTypeFile;
}

function mergeTypes(typeName: string, one: TypeSide, other: TypeSide, questions: Question[]): DeviceTypeFile {
  const [a, b] = [leavesOf(one.type), leavesOf(other.type)];
  const [saidByOne, saidByOther] = [originsIn(one.type), originsIn(other.type)];
  const leaves = new Map<string, unknown>();
  const origins = new Map<string, readonly OriginSaid[]>();
  for (const name of [...new Set([...a.keys(), ...b.keys(), ...saidByOne.keys(), ...saidByOther.keys()])].sort()) {
    const [was, is] = [a.get(name), b.get(name)];
    let said = union(saidByOne.get(name) ?? [], saidByOther.get(name) ?? []);
    let played = was ?? is;
    if (was !== undefined && is !== undefined && !sameValue(was, is)) {
      const given = [
        { value: was, by: one.file },
        { value: is, by: other.file },
      ].sort((x, y) => (JSON.stringify(x) < JSON.stringify(y) ? -1 : 1));
      // What nobody has said the origin of stays as what that library gives.
      for (const { value, by } of given)
        if (!said.some((each) => sameValue(each.value, value))) said = union(said, [{ value, from: by }]);
      played = playedOf([was, is], said);
      questions.push({ type: typeName, name, given, played });
    }
    if (played !== undefined) leaves.set(name, played);
    if (said.length > 0) origins.set(name, said);
  }
  return typeOf(leaves, origins);
}

function union(one: readonly OriginSaid[], other: readonly OriginSaid[]): readonly OriginSaid[] {
  const all: OriginSaid[] = [];
  for (const each of [...one, ...other]) if (!all.some((known) => sameOrigin(known, each))) all.push(each);
  return sortedOrigins(all);
}

/** The text of a library changed to hold these types: what it says already stays as it is written, comments and all. */
export function textWith(text: string, was: TypesFile, is: TypesFile): string {
  let edited = text;
  for (const [name, type] of Object.entries(is)) {
    const path = ["deviceTypes", name];
    const before = was[name];
    if (before === undefined) {
      edited = setAt(edited, path, type);
      continue;
    }
    const leaves = leavesOf(before);
    for (const [leaf, value] of leavesOf(type))
      if (!sameValue(leaves.get(leaf), value)) edited = setAt(edited, [...path, ...leaf.split(".")], value);
    const known = originsIn(before);
    for (const [leaf, said] of originsIn(type)) {
      const list = [...path, "origins", leaf];
      const old = known.get(leaf) ?? [];
      const more = said.filter((each) => !old.some((one) => sameOrigin(one, each)));
      if (more.length === 0) continue;
      if (rawAt(edited, list) === undefined) edited = setAt(edited, list, more);
      else
        for (const [index, each] of more.entries()) edited = insertItem(edited, list, old.length + index, spaced(each));
    }
  }
  return edited;
}
