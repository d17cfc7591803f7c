/**
 * From a scenario file to a plan: the front door of reading.
 *
 * All problems at once: the schema judges each file whole, then each device, link, feed and event stands for itself,
 * so that one broken device does not hide what is wrong with the next. Files that a scenario names are asked for by
 * name; what may be read is the caller's decision.
 */

import { defaultOf } from "./defaults.ts";
import type { Issue, Path } from "./issues.ts";
import { quote, sortIssues } from "./issues.ts";
import type { EventPlan, Plan } from "./plan.ts";
import type { JsonFile } from "./read-json.ts";
import { FILE_BYTES_MAX, readJson } from "./read-json.ts";
import { resolveAccepted } from "./scenario-accepted.ts";
import { assumedLines, assumptionsOf, measuredLines, originsOfDevices } from "./scenario-assumed.ts";
import { resolveDevices } from "./scenario-devices.ts";
import type { Draft, Filled, Item, Place } from "./scenario-draft.ts";
import { byId, makeReport, makeUnknown, sound } from "./scenario-draft.ts";
import { resolveEvents } from "./scenario-events.ts";
import { resolveExpects, resolveLeaders } from "./scenario-expect.ts";
import { resolveFeeds } from "./scenario-feeds.ts";
import { resolveLinks } from "./scenario-links.ts";
import { schemaIssues } from "./scenario-messages.ts";
import { onNetworks, resolveNetworks } from "./scenario-networks.ts";
import type { DeviceTypeFile } from "./scenario-schema.ts";
import {
  acceptedSchema,
  libraryFileSchema,
  rigFileSchema,
  runSchema,
  scenarioSchema,
  supplySchema,
} from "./scenario-schema.ts";
import { deviceSchema, deviceType } from "./scenario-schema-devices.ts";
import { eventSchema, expectationSchema } from "./scenario-schema-events.ts";
import { feedSchema, linkSchema, networkSchema, spareSchema } from "./scenario-schema-links.ts";
import { resolveSpares } from "./scenario-spares.ts";
import { filePath } from "./scenario-values.ts";
import { sha256 } from "./sha256.ts";
import { parseShowTime } from "./units.ts";

/** What a named file turned out to be: its bytes, or why it cannot be had, as "there is no such file". */
export type FileLoaded = { readonly bytes: Uint8Array } | { readonly problem: string };

export interface ScenarioSource {
  /** As issues name it. */
  readonly file: string;
  readonly bytes: Uint8Array;
  /** Events as a file writes them, from the command line: added behind those of the file. */
  readonly moreEvents?: readonly unknown[];
  readonly seed?: string | null;
}

export interface ScenarioRead {
  /** Null when anything is wrong. */
  readonly plan: Plan | null;
  /** By file, then by place. */
  readonly issues: readonly Issue[];
  /** Over the bytes of the scenario and of every file it names, in the order they are named. */
  readonly sha256: string;
  /** Where something of the plan stands: ["devices", "stage", "clockSources"], the things by their ids. */
  placeOf(path: Path): { readonly file: string; readonly line: number; readonly column: number };
}

/** Reads with files that are at hand. */
export function readScenario(source: ScenarioSource, load: (name: string) => FileLoaded): ScenarioRead {
  const reading = read(source);
  let step = reading.next();
  while (step.done !== true) step = reading.next(load(step.value));
  return step.value;
}

/** Reads with files that take a while. */
export async function readScenarioFrom(
  source: ScenarioSource,
  load: (name: string) => Promise<FileLoaded>,
): Promise<ScenarioRead> {
  const reading = read(source);
  let step = reading.next();
  while (step.done !== true) step = reading.next(await load(step.value));
  return step.value;
}

interface ItemSchema<T> {
  safeParse(value: unknown): { success: boolean; data?: T; error?: { issues: readonly unknown[] } };
}
type Schema = ItemSchema<unknown>;

/** Yields the name of each file it needs and is given what that turned out to be. */
function* read(source: ScenarioSource): Generator<string, ScenarioRead, FileLoaded> {
  const issues: Issue[] = [];
  const files = [source.file];
  const texts = source.bytes.length <= FILE_BYTES_MAX ? [source.bytes] : [];
  const filled: Filled[] = [];

  const first = readJson(source.file, source.bytes);
  addAll(issues, first.issues);
  if (first.json === null) return noPlan(issues, files, texts);
  const scenario = first.json;
  judge(scenario, scenarioSchema, issues);
  const value = asObject(scenario.value);

  let rig: Place | null = null;
  if (typeof value.rig === "string") {
    const json = yield* loadFile(source, scenario, ["rig"], value.rig, issues, files, texts);
    if (json !== null) {
      judge(json, rigFileSchema, issues);
      rig = { json, path: [] };
    }
  } else if (value.rig !== undefined) rig = { json: scenario, path: ["rig"] };
  const rigValue = rig === null ? {} : asObject(rig.json.at(rig.path));

  const types: Item<DeviceTypeFile>[] = [...typesIn(scenario, [])];
  if (rig !== null) for (const type of typesIn(rig.json, rig.path)) types.push(type);
  let typesAreWhole = true;
  const namesLibrary: Place[] = [
    { json: scenario, path: ["library"] },
    ...(rig === null ? [] : [{ json: rig.json, path: [...rig.path, "library"] }]),
  ];
  for (const { json: holder, path } of namesLibrary) {
    const name = holder.at(path);
    if (typeof name !== "string") continue;
    const json = yield* loadFile(source, holder, path, name, issues, files, texts);
    typesAreWhole &&= json !== null;
    if (json === null) continue;
    judge(json, libraryFileSchema, issues);
    for (const type of typesIn(json, [])) types.push(type);
  }

  const run = runSchema.safeParse(value.run);
  const lengthNs = run.success ? parseShowTime(run.data.length) : null;
  const draft: Draft = {
    scenario: { json: scenario, path: [] },
    title: typeof value.title === "string" ? value.title : "",
    story: typeof value.story === "string" ? value.story : "",
    run: run.success ? run.data : null,
    lengthNs,
    rig,
    sampleRateHz: typeof rigValue.sampleRateHz === "number" ? rigValue.sampleRateHz : null,
    leaders: Array.isArray(rigValue.leaders) ? rigValue.leaders.filter((each) => typeof each === "string") : [],
    types,
    typesAreWhole,
    devices: rig === null ? [] : itemsOf(rig.json, [...rig.path, "devices"], deviceSchema, issues),
    networks: rig === null ? [] : itemsOf(rig.json, [...rig.path, "networks"], networkSchema, issues),
    links: rig === null ? [] : itemsOf(rig.json, [...rig.path, "links"], linkSchema, issues),
    spares: rig === null ? [] : itemsOf(rig.json, [...rig.path, "spares"], spareSchema, issues),
    feeds: rig === null ? [] : itemsOf(rig.json, [...rig.path, "feeds"], feedSchema, issues),
    supplies: rig === null ? [] : itemsOf(rig.json, [...rig.path, "supplies"], supplySchema, issues),
    events: [...itemsOf(scenario, ["events"], eventSchema, issues), ...addedEvents(source, issues)],
    expects: itemsOf(scenario, ["expect"], expectationSchema, issues),
    accepted: [
      ...itemsOf(scenario, ["accepted"], acceptedSchema, issues),
      ...(rig === null ? [] : itemsOf(rig.json, [...rig.path, "accepted"], acceptedSchema, issues)),
    ],
  };

  const report = makeReport(issues);
  const unknown = makeUnknown();
  if (lengthNs === 0) {
    report(draft.scenario, ["run", "length"], {
      expected: "a show of some length",
      remedy: 'write "01:30:00", for example',
    });
  }
  const alone = resolveDevices(draft, report, unknown, filled);
  const networks = resolveNetworks(draft, report, filled);
  const links = resolveLinks(draft, alone, networks, report, unknown, filled);
  const devices = onNetworks(draft, alone, links, networks, report, filled);
  const leaders = resolveLeaders(draft, report, unknown);
  const spares = rig === null ? [] : resolveSpares(draft, links, report, unknown, filled);
  const feeds = rig === null ? [] : resolveFeeds(draft, links, spares, report, unknown);
  const events: EventPlan[] = rig === null ? [] : resolveEvents({ draft, devices, links, report, unknown });
  const expect = rig === null ? [] : resolveExpects(draft, report, unknown);
  const accepted = rig === null ? [] : resolveAccepted(draft, report, unknown);
  if (issues.length > 0 || !run.success || lengthNs === null) return noPlan(issues, files, texts);

  const parts = {
    devices: [...devices.values()].map((each) => each.plan).sort(byId),
    links: [...links.values()].map((each) => each.plan).sort(byId),
    spares: [...spares].sort(byId),
    feeds: [...feeds].sort(byId),
    begin: run.data.begin ?? (defaultOf("run", "begin") as Plan["begin"]),
    events,
  };
  const wanderGridSeconds = run.data.wanderGridSeconds ?? defaultOf("run", "wanderGridSeconds");
  if (run.data.wanderGridSeconds === undefined && parts.devices.some(({ oscillator }) => oscillator.wander !== null))
    filled.push({ on: "run", id: "the run", name: "wanderGridSeconds", value: wanderGridSeconds, unit: "s" });
  const batteries = sound(draft.supplies).flatMap(({ id, value }): [string, number][] =>
    value.batterySeconds === undefined ? [] : [[id, value.batterySeconds]],
  );
  const measured = measuredLines(parts, filled, devices);
  const plan: Plan = {
    ...parts,
    title: draft.title,
    story: draft.story,
    lengthNs,
    ...(run.data.startsAt === undefined ? {} : { startsAt: run.data.startsAt }),
    seed: source.seed ?? run.data.seed ?? defaultOf("run", "seed"),
    wanderGridSeconds,
    sampleRateHz: draft.sampleRateHz as number,
    leaders,
    expect,
    ...(accepted.length === 0 ? {} : { accepted }),
    ...(networks.plans.length === 0 ? {} : { networks: [...networks.plans].sort(byId) }),
    ...(batteries.length === 0 ? {} : { batteries: Object.fromEntries(batteries.sort()) }),
    assumed: assumedLines(parts, filled),
    assumptions: assumptionsOf(parts, filled),
    ...(measured.length === 0 ? {} : { measured }),
    origins: originsOfDevices(parts, filled, devices),
  };
  return { plan, issues: [], sha256: hash(texts), placeOf: (path) => placeIn(draft, path) };
}

function noPlan(issues: readonly Issue[], files: readonly string[], texts: readonly Uint8Array[]): ScenarioRead {
  const [file = ""] = files;
  return {
    plan: null,
    issues: sortIssues(issues, files),
    sha256: hash(texts),
    placeOf: () => ({ file, line: 1, column: 1 }),
  };
}

function hash(texts: readonly Uint8Array[]): string {
  const length = texts.reduce((sum, text) => sum + text.length, 0);
  const all = new Uint8Array(length);
  let at = 0;
  for (const text of texts) {
    all.set(text, at);
    at += text.length;
  }
  return sha256(all);
}

type Refusals = Parameters<typeof schemaIssues>[2];

/** One by one: there may be more of them than a call takes arguments. */
function addAll(issues: Issue[], more: readonly Issue[]): void {
  for (const issue of more) issues.push(issue);
}

/** All but the items of its lists, which {@link itemsOf} judges one by one. */
function judge(json: JsonFile, schema: Schema, issues: Issue[]): void {
  const judged = schema.safeParse(withoutItems(json.value));
  if (!judged.success) addAll(issues, schemaIssues(json, [], (judged.error?.issues ?? []) as Refusals));
}

const ITEM_LISTS: ReadonlySet<string> = new Set([
  "devices",
  "networks",
  "links",
  "spares",
  "feeds",
  "supplies",
  "events",
  "expect",
  "accepted",
]);

function withoutItems(value: unknown): unknown {
  if (typeof value !== "object" || value === null || Array.isArray(value)) return value;
  const bare: Record<string, unknown> = Object.create(null);
  for (const [key, inner] of Object.entries(value)) {
    if (ITEM_LISTS.has(key) && Array.isArray(inner)) bare[key] = [];
    else bare[key] = key === "rig" ? withoutItems(inner) : inner;
  }
  return bare;
}

/** A file that a file names: relative to the scenario, and no file twice, so that none can include itself. */
function* loadFile(
  source: ScenarioSource,
  holder: JsonFile,
  path: Path,
  name: string,
  issues: Issue[],
  files: string[],
  texts: Uint8Array[],
): Generator<string, JsonFile | null, FileLoaded> {
  const refuse = (received: string, remedy: string): null => {
    issues.push(holder.issue(path, { expected: "a file beside the scenario that can be read", received, remedy }));
    return null;
  };
  if (!filePath.safeParse(name).success) return null; // reported with the rest that the schema refused
  const folder = folderOf(source.file);
  const within = folderOf(holder.file).slice(folder.length);
  const inside = insideFolder(within, name);
  if (inside === null) return refuse(quote(name), 'name a file in the same folder or below, such as "./quay.rig.json"');
  const file = folder + inside;
  if (files.includes(file))
    return refuse(`${quote(name)}, which is being read already`, "name another file: none may include itself");
  const loaded = yield within + name;
  if ("problem" in loaded) return refuse(`${quote(name)}: ${loaded.problem}`, "check the name and the folder");
  files.push(file);
  texts.push(loaded.bytes);
  const readFile = readJson(file, loaded.bytes);
  addAll(issues, readFile.issues);
  return readFile.json;
}

/** Path from the scenario's folder of what a file in `within` names; null if that leads out, or is not relative. */
function insideFolder(within: string, name: string): string | null {
  if (/^[/\\]|^[A-Za-z][A-Za-z0-9+.-]*:/u.test(name)) return null;
  const steps: string[] = [];
  for (const step of (within + name).split(/[/\\]/u)) {
    if (step === "" || step === ".") continue;
    if (step === ".." && steps.pop() === undefined) return null;
    if (step !== "..") steps.push(step);
  }
  return steps.length === 0 ? null : steps.join("/");
}

function folderOf(file: string): string {
  return file.slice(0, Math.max(file.lastIndexOf("/"), file.lastIndexOf("\\")) + 1);
}

function asObject(value: unknown): Readonly<Record<string, unknown>> {
  return typeof value === "object" && value !== null && !Array.isArray(value) ? (value as Record<string, unknown>) : {};
}

/** Items of a list, each judged for itself. */
function itemsOf<T>(json: JsonFile, path: Path, schema: ItemSchema<T>, issues: Issue[]): Item<T>[] {
  const list = json.at(path);
  if (!Array.isArray(list)) return [];
  return list.map((value, index) => {
    const here = [...path, index];
    const judged = schema.safeParse(value);
    if (!judged.success) addAll(issues, schemaIssues(json, here, (judged.error?.issues ?? []) as Refusals));
    const { id } = asObject(value);
    return {
      json,
      path: here,
      id: typeof id === "string" ? id : null,
      value: judged.success ? (judged.data as T) : null,
    };
  });
}

export function typesIn(json: JsonFile, base: Path): Item<DeviceTypeFile>[] {
  const path = [...base, "deviceTypes"];
  return Object.entries(asObject(json.at(path))).map(([id, value]) => {
    const judged = deviceType.safeParse(value);
    return { json, path: [...path, id], id, value: judged.success ? judged.data : null };
  });
}

/** Events of the command line, in a file of their own that nobody sees. */
function addedEvents(source: ScenarioSource, issues: Issue[]): Item<ReturnType<typeof eventSchema.parse>>[] {
  if (source.moreEvents === undefined || source.moreEvents.length === 0) return [];
  const { json } = readJson("(command line)", utf8(JSON.stringify({ events: source.moreEvents })));
  return json === null ? [] : itemsOf(json, ["events"], eventSchema, issues);
}

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

function utf8(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}

const LISTS = { devices: "devices", networks: "networks", links: "links", spares: "spares", feeds: "feeds" } as const;

/** Place of ["devices", "stage", "clockSources"]; of what is nearest around it, if the file leaves it out. */
function placeIn(draft: Draft, path: Path): { file: string; line: number; column: number } {
  const [kind, id, ...rest] = path;
  if (kind === "accepted") return placeOfItem(draft.accepted[Number(id)] ?? draft.scenario, rest);
  const items: readonly Item<unknown>[] = kind !== undefined && kind in LISTS ? draft[kind as keyof typeof LISTS] : [];
  const item = items.find((each) => each.id === id);
  return item === undefined ? placeOfItem(draft.rig ?? draft.scenario, path) : placeOfItem(item, rest);
}

function placeOfItem({ json, path }: Place, steps: Path): { file: string; line: number; column: number } {
  const nothing = { expected: "", received: "", remedy: "" };
  const { file, line, column } = json.issue([...path, ...steps], nothing);
  return { file, line, column };
}
