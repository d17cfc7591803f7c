/**
 * Where a file names something: every place that has to change with a name, and every place that is left without a
 * meaning when the thing is gone. Works on a file's value as it was read, sound or not: of what has another shape than
 * a file's it finds nothing.
 */
import type { Path } from "./issues.ts";

/** A supply and a path have no entry of their own: they are what names them. */
export type MentionKind = "device" | "type" | "network" | "link" | "spare" | "feed" | "supply" | "path";

export interface Mention {
  readonly kind: MentionKind;
  readonly id: string;
  /** Of the text that names it; of a device type's own entry the path of the entry, whose key is the name. */
  readonly path: Path;
  /** What follows the id in that text: the port in "stage.1". */
  readonly behind: string;
  /** Whether this is where the thing itself stands. */
  readonly isOwn: boolean;
}

/** An object of a file, whatever is in it. */
export type Fields = Readonly<Record<string, unknown>>;

/**
 * All mentions of a scenario, a rig in a file of its own, or a library, in the order of the schema.
 *
 * Not among them: what is named by saying nothing (a device without `power` has a supply by its own id, see
 * {@link hasOwnSupply}; a link without `network` is on the only one), ports and "internal", and prose. `end` in an event
 * counts as a device unless it is "from" or "to".
 */
export function mentionsIn(value: unknown): readonly Mention[] {
  const found: Mention[] = [];
  const file = fieldsOf(value);
  inRig(file, [], found);
  inRig(fieldsOf(file.rig), ["rig"], found);
  itemsOf(file.events).forEach(([event, index]) => {
    const here = ["events", index];
    add(found, "device", event.device, [...here, "device"]);
    add(found, "link", event.link, [...here, "link"]);
    if (event.end !== "from" && event.end !== "to") add(found, "device", event.end, [...here, "end"]);
    add(found, "supply", event.supply, [...here, "supply"]);
    add(found, "path", event.path, [...here, "path"]);
  });
  itemsOf(file.expect).forEach(([expected, index]) => {
    for (const kind of ["feed", "device", "link"] as const) add(found, kind, expected[kind], ["expect", index, kind]);
  });
  return found;
}

/** Whether nothing is said of its power, so that its supply goes by the id of the device. */
export function hasOwnSupply(device: unknown): boolean {
  return fieldsOf(device).power === undefined;
}

function inRig(rig: Fields, base: Path, found: Mention[]): void {
  addAll(found, "device", rig.leaders, [...base, "leaders"]);
  Object.entries(fieldsOf(rig.deviceTypes)).forEach(([id, type]) => {
    const here = [...base, "deviceTypes", id];
    found.push({ kind: "type", id, path: here, behind: "", isOwn: true });
    add(found, "type", fieldsOf(type).like, [...here, "like"]);
  });
  const each = (name: string, look: (item: Fields, here: Path) => void) =>
    itemsOf(rig[name]).forEach(([item, index]) => {
      look(item, [...base, name, index]);
    });
  each("devices", (device, here) => {
    add(found, "device", device.id, [...here, "id"], true);
    add(found, "type", device.like, [...here, "like"]);
    addAll(found, "supply", device.power, [...here, "power"]);
  });
  each("networks", ({ id }, here) => add(found, "network", id, [...here, "id"], true));
  each("links", (link, here) => {
    add(found, "link", link.id, [...here, "id"], true);
    addPort(found, link.from, [...here, "from"]);
    for (const name of ["to", "ends", "terminatedAt"]) {
      const ends = link[name];
      if (!Array.isArray(ends)) addPort(found, ends, [...here, name]);
      else for (const [index, end] of ends.entries()) addPort(found, end, [...here, name, index]);
    }
    add(found, "network", link.network, [...here, "network"]);
    addAll(found, "path", link.laidAlong, [...here, "laidAlong"]);
  });
  each("spares", ({ id, links }, here) => {
    add(found, "spare", id, [...here, "id"], true);
    addAll(found, "link", links, [...here, "links"]);
  });
  each("feeds", ({ id, through, over }, here) => {
    add(found, "feed", id, [...here, "id"], true);
    addAll(found, "device", through, [...here, "through"]);
    addAll(found, "link", over, [...here, "over"]);
  });
  each("supplies", ({ id }, here) => add(found, "supply", id, [...here, "id"]));
  each("accepted", ({ devices, links }, here) => {
    addAll(found, "device", devices, [...here, "devices"]);
    addAll(found, "link", links, [...here, "links"]);
  });
}

function add(found: Mention[], kind: MentionKind, id: unknown, path: Path, isOwn = false): void {
  if (typeof id === "string") found.push({ kind, id, path, behind: "", isOwn });
}

function addAll(found: Mention[], kind: MentionKind, ids: unknown, path: Path): void {
  if (!Array.isArray(ids)) return;
  for (const [index, id] of ids.entries()) add(found, kind, id, [...path, index]);
}

/** "stage.1": ids have no point in them. */
function addPort(found: Mention[], end: unknown, path: Path): void {
  if (typeof end !== "string") return;
  const point = end.indexOf(".");
  const [id, behind] = point < 0 ? [end, ""] : [end.slice(0, point), end.slice(point)];
  found.push({ kind: "device", id, path, behind, isOwn: false });
}

/** The items of a list with their places; none where it is no list. */
export function itemsOf(list: unknown): readonly (readonly [Fields, number])[] {
  return Array.isArray(list) ? list.map((item, index) => [fieldsOf(item), index] as const) : [];
}

/** The fields of an object; none where it is something else. */
export function fieldsOf(value: unknown): Fields {
  return typeof value === "object" && value !== null && !Array.isArray(value) ? (value as Fields) : {};
}
