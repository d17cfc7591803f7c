/** What tables say, as the text of a scenario file: what they leave out is taken and marked as provisional. */
import { SECONDS_MAX } from "../../shared/scenario-values.ts";
import type { Ns } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";
import type { TableName } from "./columns.ts";
import { type Entry, entryAt, fieldOf, textOf } from "./entry.ts";
import { comment, Items, printed, Spread } from "./print.ts";
import type { KnownSheet } from "./sheet.ts";

/** Lists of the scenario and the tables that they come from. */
export const LISTS = {
  devices: "devices",
  networks: "networks",
  links: "cables",
  spares: "spares",
  feeds: "feeds",
  supplies: "supplies",
  events: "events",
  expect: "expect",
  accepted: "accepted",
} as const satisfies Record<string, TableName>;
export type ListName = keyof typeof LISTS;
export type Tables = Record<TableName, Entry[]>;

const HOUR_SECONDS = 3600;

export function textOfTables(tables: Tables, leaders: readonly string[] | null, known: readonly KnownSheet[]): string {
  const show = tables.show[0] ?? entryAt({ file: "", line: 1, column: 1, heading: "" });
  const above = known.flatMap((sheet) => sheet.above);
  const notes: Record<string, string> = {};
  const provisional = (key: string, question: string) => {
    notes[key] = `Provisional: ${question}`;
  };
  let title = textOf(show, "title");
  if (title === "") title = (above[0] ?? "A rig from tables").replace(/\p{Cc}/gu, " ").slice(0, 200);
  const run = { ...(fieldOf(show, "run") as Record<string, unknown> | undefined) };
  if (run.length === undefined) {
    provisional("run", "how long is the show?");
    run.length = lengthFor(tables.events);
  }
  const rates = new Set(tables.devices.flatMap((device) => fieldOf(device, "sampleRateHz") ?? []));
  let rate = fieldOf(show, "rig.sampleRateHz");
  const rigNotes: Record<string, string> = {};
  if (rate === undefined) {
    rate = rates.size === 1 ? [...rates][0] : 48_000;
    if (rates.size !== 1) rigNotes.sampleRateHz = "Provisional: at which sample rate does the rig run?";
  }
  const items = (entries: readonly Entry[]) =>
    new Items(entries.map(({ fields, notes: kept }) => ({ fields: bared(fields), notes: joined(kept) })));
  const list = (name: ListName): [string, unknown][] =>
    tables[LISTS[name]].length === 0 ? [] : [[name, items(tables[LISTS[name]])]];
  const types = tables.types.map((type): [string, unknown] => [textOf(type, "~type"), bared(type.fields)]);
  const story = textOf(show, "story");
  const rig = new Spread(
    [
      ["sampleRateHz", rate],
      ...(leaders === null ? [] : [["leaders", leaders] as [string, unknown]]),
      ...(types.length === 0 ? [] : [["deviceTypes", new Spread(types)] as [string, unknown]]),
      ["devices", items(tables.devices)],
      ...(["networks", "links", "spares", "supplies", "feeds"] as const).flatMap(list),
    ],
    rigNotes,
  );
  const fields = new Spread(
    [
      ["format", 1],
      ["title", title],
      ...(story === "" ? [] : [["story", story] as [string, unknown]]),
      ["run", run],
      ["rig", rig],
      ...(["events", "expect", "accepted"] as const).flatMap(list),
    ],
    notes,
  );
  const head = [`Made from ${known.map(({ file }) => file).join(", ")}.`, ...above, ...show.notes];
  return `{\n${head.map((line) => comment(line, "  ")).join("")}${printed(fields).slice(2)}\n`;
}

/** What was kept in one line; what is to be answered on lines of its own. */
export function joined(notes: readonly string[]): string[] {
  const isOwnLine = (note: string) => /^(?:Provisional|On the patch sheet|The patch sheet)/.test(note);
  const kept = notes.filter((note) => !isOwnLine(note)).join("; ");
  return [...(kept === "" ? [] : [kept]), ...notes.filter(isOwnLine)];
}

/** As people write them: what a thing is called and what it joins before its numbers. */
const FIRST = ["id", "name", "type", "from", "to", "ends", "at", "do", "device", "link", "path", "through", "channels"];

/** Without the keys that are no keys of the file, in the usual order. */
export function bared(fields: Readonly<Record<string, unknown>>): Record<string, unknown> {
  const all = Object.entries(fields).filter(([key, value]) => !key.startsWith("~") && value !== undefined);
  const rank = (key: string) => (FIRST.includes(key) ? FIRST.indexOf(key) : FIRST.length);
  return Object.fromEntries(all.sort(([one], [other]) => rank(one) - rank(other)));
}

/** An hour after the last event, and at least one. */
function lengthFor(events: readonly Entry[]): string {
  const last = Math.max(0, ...events.map((event) => parseShowTime(textOf(event, "at")) ?? 0)) / 1e9;
  const hours = Math.min(Math.ceil(last / HOUR_SECONDS) + 1, Math.floor(SECONDS_MAX / HOUR_SECONDS) - 1);
  return formatShowTime((hours * HOUR_SECONDS * 1e9) as Ns);
}
