/** What is wrong with a cell and what the plan check says of it, found from where it stands in the file. */
import type { Issue, Path } from "../../shared/issues.ts";
import { type Fields, itemsOf } from "../../shared/mentions.ts";
import { type RigFiles, textsIn } from "../../sim/rig-files.ts";
import { valueAt } from "../../sim/tables/entry.ts";
import { readCell } from "../../sim/tables/values.ts";
import { listed } from "../../sim/tell/words.ts";
import {
  type Bench,
  calledIn,
  calledItem,
  columnOf,
  columnsOf,
  inherited,
  itemsIn,
  OF_TABLE,
  RIG_TABLES,
  type RigTable,
} from "./bench.ts";

export interface Place {
  readonly table: RigTable;
  readonly index: number;
  /** Null: the row as a whole. */
  readonly key: string | null;
}

/** The cell that a path of the rig is about; null: it is in none of the three tables. */
export function placeOf(rig: Fields, path: Path): Place | null {
  const [list, at, ...rest] = path;
  if (list === "leaders") {
    const index = itemsIn(rig, "devices").findIndex(({ id }) => id === textsIn(rig.leaders)[Number(at)]);
    return index < 0 ? null : { table: "devices", index, key: "~leads" };
  }
  if (list === "spares") {
    const group = itemsOf(rig.spares)[Number(at)]?.[0];
    const index = itemsIn(rig, "cables").findIndex(({ id }) => textsIn(group?.links).slice(1).includes(String(id)));
    return index < 0 ? null : { table: "cables", index, key: "~spareOf" };
  }
  const table = RIG_TABLES.find((name) => OF_TABLE[name].list === list);
  if (table === undefined || typeof at !== "number") return null;
  return { table, index: at, key: keyAt(table, rest) };
}

function keyAt(table: RigTable, rest: Path): string | null {
  if (rest[0] === "ends") return rest[1] === 0 ? "from" : "to";
  const keys = columnsOf(table).map(({ key }) => key);
  for (let length = rest.length; length > 0; length--) {
    const key = rest.slice(0, length).join(".");
    if (keys.includes(key)) return key;
  }
  return null;
}

/** The same of the plan check, which names things by their ids. */
export function placeOfFinding(rig: Fields, [list, id, ...rest]: Path): Place | null {
  const index = itemsOf(rig[String(list)]).findIndex(([item]) => item.id === id);
  return index < 0 ? null : placeOf(rig, [String(list), index, ...rest]);
}

/** Within the rig; null: of another file, or of something else in this. */
export function pathInRig({ rigFile, rigPath }: RigFiles, { file, path }: Pick<Issue, "file" | "path">): Path | null {
  const isInside = file === rigFile && rigPath.every((step, at) => path[at] === step);
  return isInside ? path.slice(rigPath.length) : null;
}

/** What is wrong, at its cell: by the rules of tables where these know more, such as which units may be written. */
export function issueWords(rig: Fields, { table, index, key }: Place, { expected, received, remedy }: Issue): string {
  if (table === "devices" && key === "clockSources") return sourcesIssue(rig, index) ?? sentence(expected, remedy);
  const value = key === null ? undefined : valueAt(itemsIn(rig, table)[index], key);
  let [wanted, what] = [expected, remedy];
  if (key !== null && typeof value === "string") {
    const read = readCell(columnOf(table, key), value, "");
    if ("expected" in read) [wanted, what] = [read.expected, read.remedy];
  }
  // The file has the other words for it.
  if (wanted === "true or false") return "Expected yes or no.";
  if (received === "nothing") return `Still to say: ${wanted}.`;
  return sentence(wanted, what);
}

function sentence(expected: string, remedy: string): string {
  return `Expected ${expected}; ${remedy}${/[.?]$/.test(remedy) ? "" : "."}`;
}

/** What a device listens to by a name that no cable brings it a clock from; null: it is something else. */
function sourcesIssue(rig: Fields, index: number): string | null {
  const { names } = calledIn(rig);
  const open = textsIn(itemsIn(rig, "devices")[index]?.clockSources).filter(
    (entry) => !/^(?:\d+|internal)$/.test(entry),
  );
  const [known, unknown] = [true, false].map((is) => open.filter((entry) => (names.find(entry) !== null) === is));
  const words = [
    ...(known?.length ? [`No cable brings it a clock from ${listed(known, "or")} yet.`] : []),
    ...(unknown?.length
      ? [`Nothing here is called ${listed(unknown, "or")}: name a port, a device, a cable, or own clock.`]
      : []),
  ];
  return words.length === 0 ? null : words.join(" ");
}

/** What nobody has said yet, as questions. */
export function questionsOf({ rig, types }: Bench): readonly string[] {
  const devices = itemsIn(rig, "devices");
  if (devices.length === 0) return ["Which devices are there? Paste a list of them, or type the name of the first."];
  const open = devices.filter(
    (device) =>
      device.clockSources === undefined &&
      device.kind !== "switch" &&
      inherited(device, "clockSources", types) === null,
  );
  const names = open.map((device) => calledItem("devices", device));
  const some = names.length > 4 ? [...names.slice(0, 3), `${names.length - 3} more`] : names;
  return [
    ...(textsIn(rig.leaders).length === 0 ? ["Who leads the clock? Write 1 under Leader, and 2 for who is next."] : []),
    ...(open.length === 0
      ? []
      : [
          `What ${open.length === 1 ? "does" : "do"} ${listed(some)} listen to? Until somebody says, to ${open.length === 1 ? "its" : "their"} own clock.`,
        ]),
    ...(devices.length > 1 && itemsIn(rig, "cables").length === 0 ? ["Which cables join the devices?"] : []),
    ...(itemsIn(rig, "feeds").length === 0 ? ["Which feeds go through the rig, and who hears them?"] : []),
  ];
}
