/** Devices of a table, those that only cables and a patch sheet name, and what nobody has said of them yet. */
import { quote } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import type { Entry, Refuse } from "./entry.ts";
import { entryAt, fieldOf, placeOf, setField, textOf, textsOf } from "./entry.ts";
import { freeId, idFrom, idFromName, type Names } from "./names.ts";
import type { Place } from "./sheet.ts";

/** What has to be answered of every device before anything can be said of the rig. */
export const QUESTION = "Does it lead? What does it listen to?";
/** In place of clock sources: the file leaves them out, and that is meant. */
export const AS_ASSUMED = "as assumed";
const OWN_CLOCK = /^(?:internal|int|(?:its )?own(?: clock)?|itself|leads|leader|master)$/i;

/** Gives each an id, and the names by which other tables may call it. */
export function nameDevices(devices: readonly Entry[], names: Names): void {
  devices.forEach((device, index) => {
    const written = textOf(device, "id");
    const name = textOf(device, "name");
    const instead = `device-${index + 1}`;
    const id = written === "" ? idFromName(name, instead) : idFrom(written, instead);
    if (written === "") device.cells.set("id", device.cells.get("name") ?? device.at);
    if (written !== "" && written !== id && name === "") setField(device, "name", written);
    if (id === name) setField(device, "name", undefined);
    setField(device, "id", id);
    names.add(id, name, written);
  });
}

/** A device that another table names and no table of devices lists. */
export function gathered(called: string, kind: string | null, at: Place, devices: Entry[], names: Names): string {
  const known = names.find(called);
  if (known !== null) return known;
  const taken = { has: (id: string) => names.find(id) !== null };
  const id = freeId(idFromName(called, `device-${devices.length + 1}`), taken);
  const device = entryAt(at);
  for (const key of ["id", "name", "kind", "clockSources"]) device.cells.set(key, at);
  setField(device, "id", id);
  if (called !== id) setField(device, "name", called);
  if (kind !== null) setField(device, "kind", kind);
  devices.push(device);
  names.add(id, called);
  return id;
}

/** A clock that comes over a cable: to which port of whom, from whom. */
export interface Arrival {
  readonly cable: string;
  readonly device: string;
  readonly port: string;
  readonly from: string;
}

/** What devices and cables are called, and the clocks that cables bring. */
export interface Called {
  readonly names: Names;
  readonly links: Names;
  readonly arrivals: readonly Arrival[];
  readonly refuse: Refuse;
}

/** Clock sources of a field in people's words ("FOH desk", "Main", "port 2", "own clock") as the file has them. */
export function resolveSources(entry: Entry, key: string, device: string, called: Called): void {
  const written = fieldOf(entry, key);
  if (written === undefined) return;
  const resolved = textsOf(entry, key).map((source) => {
    const found = sourceFor(source, device, called);
    if (found !== null) return found;
    const { arrivals, names, refuse } = called;
    const near = arrivals.filter((each) => each.device === device).flatMap(({ from, cable }) => [from, cable]);
    const isDevice = names.find(source) !== null;
    const meant = isDevice ? null : nearest(source, [...near, ...names.all()]);
    refuse(
      placeOf(entry, key.split(".")),
      "a port that a cable arrives at, the device or the cable that it comes from, or own clock",
      quote(source),
      isDevice
        ? "no cable brings this device a clock from there: add one to the table of cables, or mend its row"
        : meant === null
          ? "write the number of the port, or who is at the other end"
          : `did you mean ${quote(meant)}?`,
    );
    return source;
  });
  setField(entry, key, Array.isArray(written) ? resolved : resolved[0]);
}

/** A port or internal; null where no cable brings the device a clock from what is named. */
export function sourceFor(
  source: string,
  device: string,
  { names, links, arrivals }: Omit<Called, "refuse">,
): string | null {
  const port = /^(?:(?:port|socket|p)\s*)?([1-9]\d{0,2})$/i.exec(source)?.[1];
  if (port !== undefined) return port;
  if (OWN_CLOCK.test(source)) return "internal";
  const from = names.find(source);
  const cable = links.find(source);
  const here = arrivals.filter((each) => each.device === device);
  return (here.find((each) => each.from === from) ?? here.find((each) => each.cable === cable))?.port ?? null;
}

/** Who leads by the table's own column: 1, 2, 3 or yes. Null: it has no such column. */
export function writtenLeaders(devices: readonly Entry[]): string[] | null {
  if (!devices.some((device) => device.cells.has("~leads"))) return null;
  return devices
    .flatMap((device) => {
      const text = textOf(device, "~leads");
      const rank = /^\d+/.exec(text)?.[0];
      const isLeader = rank !== undefined ? Number(rank) > 0 : /^(?:yes|y|x|true|leader|leads|first|✓)$/i.test(text);
      return isLeader ? [{ id: textOf(device, "id"), rank: rank === undefined ? 1 : Number(rank) }] : [];
    })
    .sort((one, other) => one.rank - other.rank)
    .map(({ id }) => id);
}

export interface Settled {
  readonly leaders: readonly string[] | null;
  /** Devices of which something was taken that no table says. */
  readonly provisional: readonly string[];
}

/**
 * Sources in the file's own words; where a device has none, a provisional answer: a device that hears nobody, or that
 * leads, goes by its own clock; any other listens to the cable from whoever is nearest to the leader.
 */
export function settleSources(devices: readonly Entry[], called: Called): Settled {
  const leaders = writtenLeaders(devices);
  const open: Entry[] = [];
  for (const device of devices) {
    const id = textOf(device, "id");
    const sources = textsOf(device, "clockSources");
    const isLeftOut = sources.length === 1 && sources[0]?.toLowerCase() === AS_ASSUMED;
    if (isLeftOut) setField(device, "clockSources", undefined);
    for (const key of ["clockSources", "afterReboot.clockSources"]) resolveSources(device, key, id, called);
    // What comes from a type, and what only passes packets on, needs no answer of its own.
    if (sources.length === 0 && !device.fields.like && fieldOf(device, "kind") !== "switch") open.push(device);
  }
  const first = leaders?.[0] ?? leaderAmong(devices, open);
  const from = nearestToLeader(first, called.arrivals);
  for (const device of open) {
    const id = textOf(device, "id");
    const arrival = id === first ? undefined : from.get(id);
    setField(device, "clockSources", [arrival?.port ?? "internal"]);
    const answer =
      arrival === undefined
        ? id === first
          ? "it leads, on its own clock"
          : "its own clock, since no cable brings it one from the leader"
        : `port ${arrival.port}, where ${arrival.from} arrives`;
    device.notes.push(`Provisional: ${QUESTION} Taken until somebody says: ${answer}.`);
  }
  const provisional = open.map((device) => textOf(device, "id"));
  return { leaders: leaders ?? (first === null ? null : [first]), provisional };
}

/** Who goes by its own clock first of all; else, of those of whom nothing is said, the first desk, or the first. */
function leaderAmong(devices: readonly Entry[], open: readonly Entry[]): string | null {
  const leader =
    devices.find((device) => textsOf(device, "clockSources")[0] === "internal") ??
    open.find((device) => fieldOf(device, "kind") === "desk") ??
    open[0];
  return leader === undefined ? null : textOf(leader, "id");
}

/** For each device the arrival over which the leader is fewest cables away; of several the first in the table. */
function nearestToLeader(leader: string | null, arrivals: readonly Arrival[]): Map<string, Arrival> {
  const found = new Map<string, Arrival>();
  const reached = new Set(leader === null ? [] : [leader]);
  for (const at of reached) {
    for (const arrival of arrivals) {
      if (arrival.from !== at || reached.has(arrival.device)) continue;
      reached.add(arrival.device);
      found.set(arrival.device, arrival);
    }
  }
  return found;
}
