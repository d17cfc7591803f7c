/**
 * One of two plans that are to be joined: all that its files say as one value, with the place of each thing, and what it
 * means. Only device types that are used are part of it: a library of a shop has many more.
 */
import type { Path } from "../../shared/issues.ts";
import { type Fields, fieldsOf } from "../../shared/mentions.ts";
import type { Plan } from "../../shared/plan.ts";
import { type JsonFile, readJson } from "../../shared/read-json.ts";
import { meantToLead, rigParts } from "../clock-graph.ts";
import { plainName, type ScenarioTexts } from "../run-data.ts";
import { capital } from "../tell/words.ts";

/** A plan as it was read. */
export interface PlanRead {
  /** As typed. */
  readonly file: string;
  readonly texts: ScenarioTexts;
  readonly plan: Plan;
}

export interface PlaceRead {
  readonly file: string;
  /** From 1; 0: what was typed has no lines. */
  readonly line: number;
  readonly column: number;
  /** Within `file`. */
  readonly path: Path;
}

export interface Company extends PlanRead {
  /** In ids: "house". */
  readonly name: string;
  /** To people: "House". */
  readonly label: string;
  /** The scenario, its rig in it and the types that are used in the rig. */
  readonly value: Fields;
  /** Who leads it by its plan; null: nobody that could be named. */
  readonly leader: string | null;
  /** Of a path in `value`; of what is nearest around it, if the file leaves it out. */
  placeOf(path: Path): PlaceRead;
}

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

export function companyOf(read: PlanRead, name: string): Company {
  const { file, texts, plan } = read;
  const folder = file.slice(0, Math.max(file.lastIndexOf("/"), file.lastIndexOf("\\")) + 1);
  const named = (key: string): string => (key === texts.main ? file : folder + key);
  const files = Object.entries(texts.texts).flatMap(([key, text]): [string, JsonFile][] => {
    const { json } = readJson(named(key), new TextEncoder().encode(text));
    return json === null ? [] : [[key, json]];
  });
  const main = files.find(([key]) => key === texts.main)?.[1];
  if (main === undefined) throw new Error(`a plan was read from ${file}, which has no text`);
  const scenario = fieldsOf(main.value);
  const ownRig = typeof scenario.rig === "string" ? plainName(scenario.rig) : null;
  const [rigFile, rigBase]: [JsonFile, Path] =
    ownRig === null ? [main, ["rig"]] : [files.find(([key]) => key === ownRig)?.[1] ?? main, []];
  const {
    $schema: _schema,
    format: _format,
    library: _library,
    deviceTypes: _types,
    ...rig
  } = fieldsOf(rigFile.at(rigBase));
  const typePlaces = new Map<string, [JsonFile, Path]>();
  const collect = (json: JsonFile, base: Path): void => {
    for (const id of Object.keys(fieldsOf(json.at(base)))) typePlaces.set(id, [json, [...base, id]]);
  };
  for (const [, json] of files) {
    collect(json, ["deviceTypes"]);
    collect(json, ["rig", "deviceTypes"]);
  }
  const typeOf = (id: string): unknown => {
    const place = typePlaces.get(id);
    return place?.[0].at(place[1]);
  };
  const types = usedTypes(rig.devices, typeOf);
  const value: Fields = {
    ...scenario,
    rig: { ...rig, ...(types.length === 0 ? {} : { deviceTypes: Object.fromEntries(types) }) },
  };
  return {
    ...{ file, texts, plan, name, label: capital(name.replaceAll("-", " ")), value },
    leader: leaderOf(plan),
    placeOf: (path) => {
      const [json, inside] = where(path);
      const { line, column, path: found } = json.issue(inside, { expected: "", received: "", remedy: "" });
      return { file: json.file, line, column, path: found };
    },
  };

  function where(path: Path): [JsonFile, Path] {
    if (path[0] !== "rig") return [main as JsonFile, path];
    const type = path[1] === "deviceTypes" ? typePlaces.get(String(path[2])) : undefined;
    return type === undefined ? [rigFile, [...rigBase, ...path.slice(1)]] : [type[0], [...type[1], ...path.slice(3)]];
  }
}

/** By what devices are like, and what that is like in turn. */
function usedTypes(devices: unknown, typeOf: (id: string) => unknown): [string, unknown][] {
  const used = new Map<string, unknown>();
  const all = Array.isArray(devices) ? devices : [];
  for (const device of all) {
    let { like } = fieldsOf(device);
    while (typeof like === "string" && !used.has(like)) {
      const type = typeOf(like);
      used.set(like, type);
      ({ like } = fieldsOf(type));
    }
  }
  return [...used];
}

function leaderOf(plan: Plan): string | null {
  const [named] = plan.leaders;
  if (named !== undefined) return named;
  const leads = rigParts(plan).flatMap((part) => meantToLead(plan, part) ?? []);
  return leads.length === 1 ? (leads[0] as string) : null;
}

const NAME_LETTERS = 24;

/** What two plans are called: as asked for, by their files, by their titles, by their order. */
export function namesFor(reads: readonly [PlanRead, PlanRead]): readonly [string, string] {
  const stem = ({ file }: PlanRead): string => file.replace(/^.*[/\\]/, "").replace(/(\.rig)?\.jsonc?$/, "");
  const ways = [stem, ({ plan }: PlanRead) => plan.title];
  for (const way of ways) {
    const [one, other] = reads.map((read) => slug(way(read))) as [string, string];
    if (one !== "" && other !== "" && one !== other) return [one, other];
  }
  return ["a", "b"];
}

function slug(text: string): string {
  return text
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .slice(0, NAME_LETTERS)
    .replace(/^-|-$/g, "");
}
