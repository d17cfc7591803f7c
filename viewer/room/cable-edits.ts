/** A cable or a stream more between two devices of a rig: what it could be, and the texts with it. */

import { EditError } from "../../shared/json-text.ts";
import type { LinkTypeName } from "../../shared/link-types.ts";
import { isStreamType, linkType } from "../../shared/link-types.ts";
import { type Fields, fieldsOf, itemsOf } from "../../shared/mentions.ts";
import {
  appended,
  type Change,
  changed,
  entryOf,
  fieldOf,
  type RigFiles,
  rigFilesOf,
  textsIn,
} from "../../sim/rig-files.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import {
  carriersOf,
  carriesAudio,
  endsByPort,
  linksOf,
  type Socket,
  socketText,
  type WrittenLink,
} from "./rig-ports.ts";

export interface NewCable {
  readonly id: string;
  readonly type: LinkTypeName;
  readonly from: string;
  readonly to: string;
  /** A second cable the other way; only where a type is one-way. */
  readonly return: boolean;
  /** Null: not known, so that the default is assumed; of a stream always. */
  readonly lengthMetres: number | null;
  /** The link that it stands in for; null: none. */
  readonly spareOf: string | null;
}

/** Assumed where nothing in the rig says otherwise: what joins a stage box and a desk most often here. */
const TYPE_ASSUMED: LinkTypeName = "madi";

/**
 * As the rig has it already: between the same two devices, else between two of their kinds, else at either of them, else
 * anywhere. Audio and clock go out from `one`, unless what it is like goes the other way.
 * @param spareOf a link between the two that it is to stand in for
 */
export function proposedCable(
  files: ScenarioTexts,
  one: string,
  other: string,
  spareOf: string | null = null,
): Omit<NewCable, "id"> {
  const rigFiles = rigFilesOf(files);
  const links = linksOf(rigFiles);
  const kindOf = (id: string) => kindIn(rigFiles, id);
  const joins = ({ ends: [a, b] }: WrittenLink, same: (id: string, as: string) => boolean) => {
    if (same(a!.device, one) && same(b!.device, other)) return [one, other] as const;
    return same(a!.device, other) && same(b!.device, one) ? ([other, one] as const) : null;
  };
  const exactly = (id: string, as: string) => id === as;
  const byKind = (id: string, as: string) => kindOf(id) === kindOf(as);
  const spared = links.find(({ id }) => id === spareOf);
  const cables = links.filter(({ ends, isStream, type }) => !isStream && type !== "word-clock" && ends.length === 2);
  // A device without a cable so far is to get a clock by its first.
  const reaches = (link: WrittenLink) => link.comesBack || !isNew(rigFiles, joins(link, byKind)?.[0] ?? "");
  const isSwitched = kindOf(one) === "switch" || kindOf(other) === "switch";
  const found =
    spared ??
    cables.find((link) => joins(link, exactly) !== null) ??
    (isSwitched ? undefined : cables.find((link) => joins(link, byKind) !== null && reaches(link)));
  const isHouse = kindOf(one) === "house-clock" || kindOf(other) === "house-clock";
  const [from, to] = (found && (joins(found, exactly) ?? joins(found, byKind))) ?? waiting(rigFiles, one, other);
  if (found) {
    const lengthMetres = typeof found.entry.lengthMetres === "number" ? found.entry.lengthMetres : null;
    const comesBack = found.comesBack && !linkType(found.type).twoWay;
    return { type: found.type, from, to, return: comesBack, lengthMetres, spareOf: spared?.id ?? null };
  }
  const type = isHouse ? "word-clock" : (typeAt(cables, [one, other], kindOf) ?? TYPE_ASSUMED);
  return { type, from, to, return: false, lengthMetres: null, spareOf: null };
}

/** What is in use at the two, then anywhere; where a switch is at an end it can only be ethernet. */
function typeAt(
  cables: readonly WrittenLink[],
  devices: readonly string[],
  kindOf: (id: string) => string,
): LinkTypeName | null {
  if (devices.some((id) => kindOf(id) === "switch")) return "ethernet";
  const at = cables.filter(({ ends }) => ends.some(({ device }) => devices.includes(device)));
  return mostCommon(at) ?? mostCommon(cables);
}

function mostCommon(links: readonly WrittenLink[]): LinkTypeName | null {
  const counts = new Map<LinkTypeName, number>();
  for (const { type } of links) counts.set(type, (counts.get(type) ?? 0) + 1);
  return [...counts].sort(([, a], [, b]) => b - a)[0]?.[0] ?? null;
}

/** A clock of the house sends; a device without a cable is the one that gets it. */
function waiting(rigFiles: RigFiles, one: string, other: string): readonly [string, string] {
  if (kindIn(rigFiles, other) === "house-clock") return [other, one];
  if (kindIn(rigFiles, one) === "house-clock") return [one, other];
  return isNew(rigFiles, one) && !isNew(rigFiles, other) ? [other, one] : [one, other];
}

/** Without a cable so far. */
function isNew(rigFiles: RigFiles, id: string): boolean {
  return !linksOf(rigFiles).some(({ ends }) => ends.some(({ device }) => device === id));
}

function kindIn(rigFiles: RigFiles, id: string): string {
  const found = entryOf(rigFiles, "devices", id);
  const kind = found === null ? undefined : fieldOf(rigFiles, found.entry, "kind");
  return typeof kind === "string" ? kind : "other";
}

/**
 * The cable at free ports. A device without a cable so far, and without a part in the plan of who leads, listens to it from
 * now on; behind a main that is listened to, its spare is listened to as well.
 * @throws EditError where it cannot be
 */
export function withCable(files: ScenarioTexts, cable: NewCable): ScenarioTexts {
  const rigFiles = rigFilesOf(files);
  for (const id of [cable.from, cable.to])
    if (entryOf(rigFiles, "devices", id) === null) throw new EditError(`There is no device "${id}" in the rig.`);
  if (cable.from === cable.to) throw new EditError("A cable goes from one device to another.");
  if (entryOf(rigFiles, "links", cable.id) !== null) throw new EditError(`Another cable has the id "${cable.id}".`);
  const links = linksOf(rigFiles);
  const main = links.find(({ id }) => id === cable.spareOf);
  if (main !== undefined && main.ends.length > 2)
    throw new EditError(`${main.id} is a line with several receivers: give a device a lead of its own instead.`);
  const [a, b] = isStreamType(cable.type) ? onOneNetwork(links, cable) : freePorts(rigFiles, links, cable);
  const { id, type, lengthMetres } = cable;
  const network = type === "ethernet" ? networkFor(rigFiles, links, cable) : null;
  const { medium } = fieldsOf(main?.entry);
  const entry = {
    ...{ id, type },
    ...(medium === undefined ? {} : { medium }),
    ...(linkType(type).twoWay ? { ends: [a, b].map(socketText) } : { from: socketText(a), to: socketText(b) }),
    ...(network === null ? {} : { network }),
    ...(cable.return && !linkType(type).twoWay && !isStreamType(type) ? { return: true } : {}),
    ...(lengthMetres === null || isStreamType(type) ? {} : { lengthMetres }),
  };
  const made: WrittenLink = {
    ...{ id, type, entry, index: links.length, ends: [a, b] },
    isStream: isStreamType(type),
    comesBack: linkType(type).twoWay || cable.return,
  };
  // Main and spare are one way.
  const isGrouped = main !== undefined && carriesAudio(made);
  const joined = changed(appended(rigFiles, "links", entry), [
    ...(isGrouped ? [] : feedChanges(rigFiles, links, made)),
    ...listening(rigFiles, made, main),
  ]);
  return isGrouped ? withSpare(rigFilesOf(joined), main.id, id) : joined;
}

/** Lowest ports that nothing is in, now or when an event plugs it in, and that nothing is said of. */
function freePorts(
  rigFiles: RigFiles,
  links: readonly WrittenLink[],
  { from, to }: NewCable,
): readonly [Socket, Socket] {
  const events = itemsOf(rigFiles.scenario.events).map(([event]) => event);
  const inUse = endsByPort(links, events);
  const free = (device: string): Socket => {
    const ports = fieldsOf(fieldOf(rigFiles, entryOf(rigFiles, "devices", device)?.entry ?? {}, "ports"));
    for (let port = 1; port <= 999; port++)
      if (!inUse.has(`${device}.${port}`) && ports[port] === undefined) return { device, port };
    throw new EditError(`Every port of ${device} is in use.`);
  };
  return [free(from), free(to)];
}

function onOneNetwork(links: readonly WrittenLink[], { type, from, to }: NewCable): readonly [Socket, Socket] {
  const at = (device: string) =>
    links.flatMap(({ type: as, ends, entry }) =>
      as === "ethernet"
        ? ends.filter((end) => end.device === device).map((end) => ({ end, network: entry.network }))
        : [],
    );
  for (const one of at(from))
    for (const other of at(to)) if (one.network === other.network) return [one.end, other.end];
  throw new EditError(
    `${linkType(type).name} goes over a network, and ${from} and ${to} are not on one: add their ethernet cables first.`,
  );
}

/** Of a rig with several: that of an end that passes packets on, else one that an end is on already, else the first. */
function networkFor(rigFiles: RigFiles, links: readonly WrittenLink[], { from, to }: NewCable): string | null {
  const networks = itemsOf(rigFiles.rig.networks).map(([{ id }]) => String(id));
  if (networks.length < 2) return null;
  const on = (device: string) =>
    links.flatMap(({ type, ends, entry }) =>
      type === "ethernet" && ends.some((end) => end.device === device) ? [String(entry.network)] : [],
    );
  const [one, other] = [from, to].map((id) => (passesOn(rigFiles, id) ? on(id)[0] : undefined));
  if (one !== undefined && other !== undefined && one !== other)
    throw new EditError(`${from} is on the network ${one} and ${to} on ${other}, and both pass packets on.`);
  return one ?? other ?? [...on(from), ...on(to), networks[0]!].find((network) => networks.includes(network)) ?? null;
}

function passesOn(rigFiles: RigFiles, id: string): boolean {
  const bridge = fieldOf(rigFiles, entryOf(rigFiles, "devices", id)?.entry ?? {}, "bridge");
  return (bridge ?? kindIn(rigFiles, id) === "switch") !== false;
}

/** A feed that went one way between the two goes on there: it says so from now on. */
function feedChanges(rigFiles: RigFiles, links: readonly WrittenLink[], made: WrittenLink): readonly Change[] {
  const groups = itemsOf(rigFiles.rig.spares).map(([{ links: members }]) => textsIn(members));
  const standsIn = (id: string) => groups.find((group) => group.includes(id))?.[0] ?? id;
  return itemsOf(rigFiles.rig.feeds).flatMap(([{ through, over }, index]): Change[] => {
    const devices = textsIn(through);
    const named = textsIn(over);
    const more = devices.flatMap((to, at) => {
      const hop = [devices[at - 1] ?? to, to] as const;
      if (at === 0 || carriersOf([made], ...hop).length === 0) return [];
      const before = carriersOf(links, ...hop).map(({ id }) => id);
      const ways = new Set(before.map(standsIn));
      return ways.size === 1 && !before.some((id) => named.includes(id)) ? [...ways] : [];
    });
    if (more.length === 0) return [];
    const path = [...rigFiles.rigPath, "feeds", index, "over"];
    return [{ file: rigFiles.rigFile, path, value: [...named, ...new Set(more)] }];
  });
}

/** Who listens to it, each as its clock sources say; where the ends must agree and neither does, the second takes. */
function listening(rigFiles: RigFiles, made: WrittenLink, main: WrittenLink | undefined): readonly Change[] {
  if (made.isStream) return [];
  const changes = made.ends.flatMap((end, place): Change[] => {
    const found = entryOf(rigFiles, "devices", end.device);
    const arrives = place > 0 || made.comesBack;
    const sources = found === null || !arrives ? null : sourcesWith(rigFiles, found.entry, made, place, main);
    if (found === null || sources === null) return [];
    return [{ file: rigFiles.rigFile, path: [...found.path, "clockSources"], value: sources }];
  });
  if (changes.length > 0 || !linkType(made.type).clockIsAgreed) return changes;
  const { device, port } = made.ends[1]!;
  const path = [...(entryOf(rigFiles, "devices", device)?.path ?? []), "ports", String(port)];
  return [{ file: rigFiles.rigFile, path, value: { clock: "take" } }];
}

/** The clock sources of the device at an end; null: they stay as they are. */
function sourcesWith(
  rigFiles: RigFiles,
  device: Fields,
  { ends }: WrittenLink,
  place: number,
  main: WrittenLink | undefined,
): readonly string[] | null {
  const end = ends[place]!;
  const other = ends[1 - place]!.device;
  const source = String(end.port);
  const sources = textsIn(fieldOf(rigFiles, device, "clockSources"));
  const mainPort = main?.ends.find((one) => one.device === end.device)?.port;
  const at = mainPort === undefined ? -1 : sources.indexOf(String(mainPort));
  if (at >= 0) return [...sources.slice(0, at + 1), source, ...sources.slice(at + 1)];
  const kind = kindIn(rigFiles, end.device);
  const isFree = (id: string) => isNew(rigFiles, id) && !textsIn(rigFiles.rig.leaders).includes(id);
  if (!isFree(end.device) || kind === "house-clock" || kind === "switch") return null;
  // Of two that are new the sender keeps its own clock, or they would listen to each other.
  return place === 0 && isFree(other) ? null : [source];
}

function withSpare(rigFiles: RigFiles, main: string, spare: string): ScenarioTexts {
  const group = itemsOf(rigFiles.rig.spares).find(([{ links }]) => textsIn(links).includes(main));
  if (group === undefined) {
    const taken = new Set(itemsOf(rigFiles.rig.spares).map(([{ id }]) => id));
    const wanted = [`${main}-pair`, `${main}-pair-2`, `${main}-pair-3`].find((id) => !taken.has(id));
    return appended(rigFiles, "spares", { id: wanted ?? `${spare}-pair`, links: [main, spare] });
  }
  const [{ links }, index] = group as readonly [Fields, number];
  const path = [...rigFiles.rigPath, "spares", index, "links"];
  return changed(rigFiles.files, [{ file: rigFiles.rigFile, path, value: [...textsIn(links), spare] }]);
}
