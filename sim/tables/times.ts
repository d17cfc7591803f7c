/** Instants of all tables, read once every table is there: the show table says when the show starts by the clock. */
import { type AsSaid, NO_CLOCK, readInstant, type ShowClock, showClockOf } from "../../shared/as-said.ts";
import { quote } from "../../shared/issues.ts";
import type { Ns } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";
import { TABLES, type TableName } from "./columns.ts";
import { type Entry, entryAt, fieldOf, placeOf, type Refuse, setField, textOf } from "./entry.ts";

/** Gives every instant the file's form, and an event to whatever arrives later. */
export function settleTimes(tables: Record<TableName, Entry[]>, refuse: Refuse): void {
  const [show] = tables.show;
  if (show !== undefined) {
    const starts = textOf(show, "run.startsAt");
    if (/^\d:\d\d$/.test(starts)) setField(show, "run.startsAt", `0${starts}`);
    settle(show, "run.length", (text) => readInstant(text, NO_CLOCK), refuse);
  }
  const clock = showClockOf(show === undefined ? undefined : fieldOf(show, "run"));
  for (const { name, columns } of TABLES) {
    if (name === "show") continue;
    const keys = columns.flatMap(({ key, as }) => (as === "time" ? [key] : []));
    for (const entry of tables[name as TableName])
      for (const key of keys) settle(entry, key, (text) => instantOf(text, clock), refuse);
  }
  tables.events.unshift(
    ...tables.devices.flatMap((device) =>
      arrival(device, "off", { do: "power-back", device: textOf(device, "id") }, refuse),
    ),
    ...tables.cables.flatMap((cable) => arrival(cable, "unplugged", { do: "plug", link: textOf(cable, "id") }, refuse)),
  );
}

/** Where no table says how long the show is, nor when it starts, "20:00" may be anything. */
function instantOf(text: string, clock: ShowClock): AsSaid<Ns> {
  const read = readInstant(text, clock);
  if (!("value" in read) || read.understood === null || clock.startsAt !== null || clock.lengthNs !== null) return read;
  return {
    expected: "an instant of the show, such as 00:20:00 or 20 min",
    remedy: `as hours and minutes it is ${formatShowTime(read.value)}: write that, or 00:${text.padStart(5, "0")}; a table of the show may say when it starts by the clock (starts at)`,
  };
}

function settle(entry: Entry, key: string, read: (text: string) => AsSaid<Ns>, refuse: Refuse): void {
  const text = textOf(entry, key);
  if (text === "" || parseShowTime(text) !== null) return;
  const place = placeOf(entry, key.split("."));
  const found = read(text);
  if ("expected" in found) {
    refuse(place, found.expected, quote(text), found.remedy);
    return;
  }
  setField(entry, key, formatShowTime(found.value));
  if (found.understood !== null) entry.readAs.push({ place, text, as: found.understood });
}

/** What arrives later is not there at the start, and comes by an event of its own. */
function arrival(
  entry: Entry,
  atStart: "off" | "unplugged",
  deed: Readonly<Record<string, string>>,
  refuse: Refuse,
): Entry[] {
  const at = textOf(entry, "~arrives");
  if (at === "") return [];
  const place = placeOf(entry, ["~arrives"]);
  const written = textOf(entry, "atStart");
  if (written !== "" && written !== atStart) {
    const remedy = `leave out one of the two: what arrives later is ${atStart} at the start`;
    refuse(place, `nothing, or ${atStart} at the start`, quote(at), remedy);
  }
  setField(entry, "atStart", atStart);
  if (!entry.cells.has("atStart")) entry.cells.set("atStart", place);
  const event = entryAt(place);
  for (const [key, value] of Object.entries({ at, ...deed })) {
    setField(event, key, value);
    event.cells.set(key, place);
  }
  return [event];
}
