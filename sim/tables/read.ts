/**
 * Tables of devices, cables, feeds, events and a patch sheet, made into the text of a scenario file. What the file has
 * no field for (columns that nobody knows, what was taken until somebody says) stands in it as comments. All that is
 * wrong comes back at once, each at its cell: what a scenario file would be refused for as well.
 */
import type { Issue } from "../../shared/issues.ts";
import { sortIssues } from "../../shared/issues.ts";
import { readScenario } from "../../shared/scenario.ts";
import { arrivalsOf, joinCables } from "./cables.ts";
import { nameDevices, resolveSources, settleSources } from "./devices.ts";
import {
  type Entry,
  entryAt,
  entryOf,
  fieldOf,
  placeOf,
  type ReadAs,
  refuseInto,
  setField,
  textOf,
  textsOf,
} from "./entry.ts";
import { LISTS, type ListName, type Tables, textOfTables } from "./file-text.ts";
import { freeId, idFrom, idFromName, Names } from "./names.ts";
import { patchFeeds } from "./patch.ts";
import { knownSheet, type Sheet } from "./sheet.ts";
import { settleTimes } from "./times.ts";

export interface TablesRead {
  /** Null where anything is wrong. */
  readonly text: string | null;
  /** By file, then by place. */
  readonly issues: readonly Issue[];
  /** Ids of devices of which something was taken that no table says. */
  readonly provisional: readonly string[];
  /** Cells that may mean two things, and how each was taken. */
  readonly readAs: readonly ReadAs[];
  /** Headings that no column is known by, with their file: kept as comments. */
  readonly keptAsComments: readonly { readonly file: string; readonly heading: string }[];
}

export function scenarioFromTables(sheets: readonly Sheet[]): TablesRead {
  const issues: Issue[] = [];
  const files = sheets.map(({ file }) => file);
  const known = sheets.flatMap((sheet) => {
    const found = knownSheet(sheet);
    if ("shape" in found) return [found];
    issues.push(found);
    return [];
  });
  const refuse = refuseInto(issues);
  const tables = Object.fromEntries(
    (
      [
        "show",
        "devices",
        "types",
        "cables",
        "spares",
        "networks",
        "supplies",
        "feeds",
        "events",
        "expect",
        "accepted",
        "patch",
      ] as const
    ).map((name) => [
      name,
      known.flatMap((sheet) => (sheet.shape.name === name ? sheet.body.map((row) => entryOf(sheet, row, refuse)) : [])),
    ]),
  ) as Tables;
  const devicesAreListed = known.some(({ shape }) => shape.name === "devices");
  const names = new Names();
  const links = new Names();
  const bench = { devices: tables.devices, names, devicesAreListed, refuse };

  nameDevices(tables.devices, names);
  joinCables(tables.cables, links, bench);
  for (const feed of tables.feeds) nameFeed(feed, names, links);
  patchFeeds(tables.patch, tables.feeds, bench);
  const sources = { names, links, arrivals: arrivalsOf(tables.cables), refuse };
  const { leaders, provisional } = settleSources(tables.devices, sources);
  for (const type of tables.types)
    for (const key of ["clockSources", "afterReboot.clockSources"]) resolveSources(type, key, "", sources);
  for (const event of tables.events) {
    aimEvent(event, names, links);
    for (const key of ["clockSources", "source"]) resolveSources(event, key, textOf(event, "device"), sources);
  }
  for (const each of [...tables.expect, ...tables.accepted]) nameThings(each, names, links);
  for (const spare of tables.spares)
    setField(
      spare,
      "links",
      textsOf(spare, "links").map((text) => links.idOr(text)),
    );
  tables.spares.push(...sparesOf(tables.cables, tables.spares, links));
  settleTimes(tables, refuse);

  const text = textOfTables(tables, leaders, known);
  const read = readScenario({ file: "", bytes: new TextEncoder().encode(text) }, () => ({
    problem: "there is no such file",
  }));
  // One complaint about a cell is enough: the first is about what somebody wrote there.
  const said = new Set(issues.map(({ file, line, column }) => `${file}:${line}:${column}`));
  for (const issue of read.issues) {
    const at = whereOf(issue, tables, files);
    if (said.has(`${at.file}:${at.line}:${at.column}`)) continue;
    const { file, line, column, heading } = at;
    issues.push({ ...issue, file, line, column, path: heading === "" ? [] : [heading] });
  }
  const keptAsComments = known.flatMap(({ file, headings }) =>
    headings.flatMap(({ text: heading, column }) => (column === null && heading !== "" ? [{ file, heading }] : [])),
  );
  const readAs = Object.values(tables).flatMap((entries) => entries.flatMap((entry) => entry.readAs));
  return {
    text: issues.length === 0 ? text : null,
    issues: sortIssues(issues, files),
    ...{ provisional, readAs, keptAsComments },
  };
}

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

function whereOf(issue: Issue, tables: Tables, files: readonly string[]) {
  const [first, ...rest] = issue.path[0] === "rig" ? issue.path.slice(1) : issue.path;
  if (first !== undefined && Object.hasOwn(LISTS, first)) {
    const entry = tables[LISTS[first as ListName]][Number(rest[0])];
    if (entry !== undefined) return placeOf(entry, rest.slice(1));
  }
  if (first === "deviceTypes") {
    const entry = tables.types.find((type) => textOf(type, "~type") === rest[0]);
    if (entry !== undefined) return placeOf(entry, rest.slice(1));
  }
  if (first === "leaders") {
    const entry = tables.devices.find((device) => textOf(device, "~leads") !== "");
    if (entry !== undefined) return placeOf(entry, ["~leads"]);
  }
  const [show] = tables.show;
  if (show !== undefined) return placeOf(show, issue.path);
  return { file: files[0] ?? "", line: 1, column: 1, heading: "" };
}

// ---- things that name other things

function nameFeed(feed: Entry, names: Names, links: Names): void {
  const written = textOf(feed, "id");
  const name = textOf(feed, "name");
  const id = written === "" ? idFromName(name, "feed") : idFrom(written, "feed");
  if (written === "") feed.cells.set("id", feed.cells.get("name") ?? feed.at);
  setField(feed, "id", id);
  if (id === name) setField(feed, "name", undefined);
  setField(
    feed,
    "through",
    textsOf(feed, "through").map((text) => names.idOr(text)),
  );
  if (fieldOf(feed, "over") !== undefined)
    setField(
      feed,
      "over",
      textsOf(feed, "over").map((text) => links.idOr(text)),
    );
}

/** Whom an event is about, where one column says it for all kinds of event. */
function aimEvent(event: Entry, names: Names, links: Names): void {
  const target = textOf(event, "~target");
  const what = textOf(event, "do");
  if (target !== "") {
    const isCable = ["unplug", "plug", "intermittent"].includes(what);
    const isSupply = what.startsWith("power") && names.find(target) === null;
    const key = isCable ? "link" : what === "cut" ? "path" : isSupply ? "supply" : "device";
    setField(event, key, target);
    event.cells.set(key, event.cells.get("~target") ?? event.at);
  }
  nameThings(event, names, links);
  const end = textOf(event, "end");
  if (end !== "" && end !== "from" && end !== "to") setField(event, "end", names.idOr(end));
}

function nameThings(entry: Entry, names: Names, links: Names): void {
  for (const [key, known] of [
    ["device", names],
    ["link", links],
  ] as const)
    if (textOf(entry, key) !== "") setField(entry, key, known.idOr(textOf(entry, key)));
  for (const [key, known] of [
    ["devices", names],
    ["links", links],
  ] as const)
    if (fieldOf(entry, key) !== undefined)
      setField(
        entry,
        key,
        textsOf(entry, key).map((text) => known.idOr(text)),
      );
}

/** "Spare of" on a cable makes a group with its main, where no table of spares has one. */
function sparesOf(cables: readonly Entry[], written: readonly Entry[], links: Names): Entry[] {
  const taken = new Set(written.map((spare) => textOf(spare, "id")));
  const groups = new Map<string, Entry>();
  for (const cable of cables) {
    const called = textOf(cable, "~spareOf");
    if (called === "") continue;
    const main = links.idOr(called);
    let group = groups.get(main);
    if (group === undefined) {
      group = entryAt(cable.at);
      const id = freeId(idFrom(`${main.slice(0, 50)}-and-spare`, "spare"), taken);
      taken.add(id);
      setField(group, "id", id);
      setField(group, "links", [main]);
      for (const key of ["id", "links"]) group.cells.set(key, cable.cells.get("~spareOf") ?? cable.at);
      groups.set(main, group);
    }
    setField(group, "links", [...textsOf(group, "links"), textOf(cable, "id")]);
  }
  return [...groups.values()];
}
