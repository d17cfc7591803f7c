/** Cables of a table: which ports they join, whatever people call the devices; and the clocks that they bring. */
import { quote } from "../../shared/issues.ts";
import { isStreamType, LINK_TYPES, linkType } from "../../shared/link-types.ts";
import { nearest } from "../../shared/nearest.ts";
import { type Arrival, gathered, QUESTION } from "./devices.ts";
import { type Entry, fieldOf, type Refuse, setField, textOf, textsOf } from "./entry.ts";
import { type End, endFrom, freeId, idFrom, type Names } from "./names.ts";
import type { Place } from "./sheet.ts";

export interface CableBench {
  readonly devices: Entry[];
  readonly names: Names;
  /** False: no table lists the devices, and whoever a cable names is one. */
  readonly devicesAreListed: boolean;
  readonly refuse: Refuse;
}

/** Gives each its ends and an id, and the names by which other tables may call it. */
export function joinCables(cables: readonly Entry[], links: Names, bench: CableBench): void {
  const ends = cables.map((cable) => ({ cable, from: endsAt(cable, "from", bench), to: endsAt(cable, "to", bench) }));
  const used = new Set(ends.flatMap(({ from, to }) => [...from, ...to].map(({ device, port }) => `${device}.${port}`)));
  const taken = new Set(cables.map((cable) => textOf(cable, "id")));
  for (const { cable, from, to } of ends) {
    const chosen: string[] = [];
    const [starts, arrives] = [from, to].map((side) => side.map((end) => withPort(end, used, chosen)));
    setEnds(cable, starts as string[], arrives as string[]);
    if (chosen.length > 0)
      cable.notes.push(`Provisional: no table says which ports. Taken until somebody says: ${chosen.join(", ")}.`);
    const at = textOf(cable, "terminatedAt") === "" ? textsOf(cable, "terminatedAt") : [];
    if (at.length > 0)
      setField(
        cable,
        "terminatedAt",
        at.map((text) => terminated(endFrom(text, bench.names), arrives as string[])),
      );
    nameCable(cable, [from[0], to[0]].map((end) => end?.device ?? "nowhere").join("-"), taken, links);
  }
}

function endsAt(cable: Entry, side: "from" | "to", { devices, names, devicesAreListed, refuse }: CableBench): End[] {
  const place = cable.cells.get(side) ?? cable.at;
  const portKey = side === "from" ? "~fromPort" : "~toPort";
  const port = textOf(cable, portKey).replace(/^\D+/, "");
  const text = textOf(cable, side).trim();
  if (text === "") {
    const remedy = "write where this end of the cable goes, or take the row away";
    refuse(place, "a device and its port, such as stage.1", "nothing", remedy);
    return [];
  }
  // A word-clock line with T-pieces has its receivers one behind another.
  return text.split(/\s*;\s*/).map((each) => {
    const end = endFrom(each, names);
    const device = end.isKnown ? end.device : unlisted(end.device, place, { devices, names, devicesAreListed, refuse });
    return { ...end, device, port: end.port ?? (port === "" ? null : port) };
  });
}

/** A device that is in no table of devices: one more, where there is no such table, else an issue. */
export function unlisted(called: string, place: Place, bench: CableBench, kind: string | null = null): string {
  const { devices, names, devicesAreListed, refuse } = bench;
  if (!devicesAreListed) return gathered(called, kind, place, devices, names);
  const meant = nearest(called.replace(/\s+\d+$/, ""), names.all());
  const hint = meant === null ? "" : `did you mean ${quote(meant)}? If not, `;
  refuse(
    place,
    "a device of the table of devices",
    quote(called),
    `${hint}add it there: ${QUESTION.toLowerCase().replace("? w", "? W")}`,
  );
  return called;
}

const PORT_MAX = 999;

/** @param used ports that are taken, one more where one is chosen; that one is in `chosen` as well */
export function withPort({ device, port }: End, used: Set<string>, chosen: string[]): string {
  if (port !== null) return `${device}.${Number(port)}`;
  let free = 1;
  // Beyond the last port that there can be the reader of the file says so.
  while (free < PORT_MAX && used.has(`${device}.${free}`)) free++;
  used.add(`${device}.${free}`);
  chosen.push(`${device}.${free}`);
  return `${device}.${free}`;
}

function setEnds(cable: Entry, from: readonly string[], to: readonly string[]): void {
  const type = LINK_TYPES.find((each) => each === textOf(cable, "type"));
  const isTwoWay = type !== undefined && linkType(type).twoWay;
  const place = (side: "from" | "to") => cable.cells.get(side) ?? cable.at;
  setField(cable, "from", undefined);
  setField(cable, "to", undefined);
  if (isTwoWay) {
    // Two ways in one cable: nothing of it goes back in another.
    setField(cable, "return", undefined);
    setField(cable, "ends", [...from, ...to]);
    cable.cells.set("ends", place("from"));
    cable.cells.set("ends.0", place("from"));
    cable.cells.set("ends.1", place("to"));
    return;
  }
  if (from.length > 0) setField(cable, "from", from[0]);
  if (to.length > 0) setField(cable, "to", to.length === 1 ? to[0] : to);
}

/** At a receiver of the line: by its device alone, or with its port. */
function terminated(end: End, receivers: readonly string[]): string {
  if (end.port !== null) return `${end.device}.${end.port}`;
  return receivers.find((receiver) => receiver.startsWith(`${end.device}.`)) ?? end.device;
}

function nameCable(cable: Entry, instead: string, taken: Set<string>, links: Names): void {
  const label = textOf(cable, "id");
  const wanted = idFrom(label, idFrom(instead, "cable"));
  const id = label === "" ? freeId(wanted, taken) : wanted;
  taken.add(id);
  if (label !== "" && label !== id) cable.notes.push(`Label: ${label}`);
  setField(cable, "id", id);
  links.add(id, label);
}

/** Clock that cables bring. Streams bring none, and need cables themselves. */
export function arrivalsOf(cables: readonly Entry[]): Arrival[] {
  return cables.flatMap((cable) => {
    if (isStreamType(textOf(cable, "type"))) return [];
    const ends = textsOf(cable, "ends");
    const [from, ...to] = ends.length > 0 ? ends : [...textsOf(cable, "from"), ...textsOf(cable, "to")];
    if (from === undefined) return [];
    const isBothWays = ends.length > 0 || fieldOf(cable, "return") === true;
    return to.flatMap((end) => {
      const there = arrival(cable, end, from);
      return isBothWays ? [there, arrival(cable, from, end)] : [there];
    });
  });
}

function arrival(cable: Entry, at: string, from: string): Arrival {
  const [device = "", port = ""] = at.split(".");
  return { cable: textOf(cable, "id"), device, port, from: from.split(".")[0] ?? "" };
}
