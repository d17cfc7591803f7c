/**
 * Changes to what a rig is made of, each from the texts of a scenario to its texts. Prose (titles, stories, comments) is
 * left as it stands.
 */

import { EditError } from "../../shared/json-text.ts";
import type { MentionKind } from "../../shared/mentions.ts";
import { hasOwnSupply, itemsOf } from "../../shared/mentions.ts";
import { clockSources } from "../../shared/scenario-schema-devices.ts";
import { id as idSchema, label } from "../../shared/scenario-values.ts";
import { appended, changed, entryOf, mentionsOf, type RigFiles, rigFilesOf } from "../../sim/rig-files.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";

/** Things that have an entry with an id in the rig, and the list that it is in. */
const LISTS = {
  device: "devices",
  link: "links",
  network: "networks",
  spare: "spares",
  feed: "feeds",
} as const satisfies Partial<Record<MentionKind, string>>;

export type ThingKind = keyof typeof LISTS;

/**
 * Another id, everywhere it is named. What no file says of a device and is drawn by its id (its offset within the
 * tolerance, its identity in elections) is drawn anew.
 * @throws EditError where the id is none, or taken
 */
export function renamed(files: ScenarioTexts, kind: ThingKind, from: string, to: string): ScenarioTexts {
  const rigFiles = rigFilesOf(files);
  const found = entryOf(rigFiles, LISTS[kind], from);
  if (found === null) throw new EditError(`There is no ${kind} "${from}" in the rig.`);
  if (to === from) return files;
  if (!idSchema.safeParse(to).success)
    throw new EditError(`"${to}" is no id: letters, digits, - and _, beginning with a letter or a digit.`);
  if (kind === "device" && (to === "from" || to === "to"))
    throw new EditError(`"${to}" is no id for a device: events name the ends of a cable so.`);
  if (entryOf(rigFiles, LISTS[kind], to) !== null) throw new EditError(`Another ${kind} has the id "${to}".`);
  const mentions = mentionsOf(rigFiles);
  const isSupply = kind === "device" && hasOwnSupply(found.entry);
  if (isSupply && suppliesOf(rigFiles).has(to)) throw new EditError(`A supply has the name "${to}" already.`);
  return changed(
    files,
    mentions
      .filter((one) => one.id === from && (one.kind === kind || (isSupply && one.kind === "supply")))
      .map(({ file, path, behind }) => ({ file, path, value: to + behind })),
  );
}

function suppliesOf(rigFiles: RigFiles): ReadonlySet<string> {
  const written = mentionsOf(rigFiles).flatMap(({ kind, id }) => (kind === "supply" ? [id] : []));
  return new Set(written);
}

/** How people name it; empty: by its id. */
export function setName(
  files: ScenarioTexts,
  kind: "device" | "network" | "feed",
  id: string,
  name: string,
): ScenarioTexts {
  const rigFiles = rigFilesOf(files);
  const found = entryOf(rigFiles, LISTS[kind], id);
  if (found === null) throw new EditError(`There is no ${kind} "${id}" in the rig.`);
  const text = name.trim();
  if (text !== "" && !label.safeParse(text).success)
    throw new EditError("A name is a text of 1 to 200 characters in one line.");
  const value = text === "" || text === id ? undefined : text;
  return changed(files, [{ file: rigFiles.rigFile, path: [...found.path, "name"], value }]);
}

/** What it listens to, the first that is there. */
export function setClockSources(files: ScenarioTexts, id: string, sources: readonly string[]): ScenarioTexts {
  const rigFiles = rigFilesOf(files);
  const found = entryOf(rigFiles, "devices", id);
  if (found === null) throw new EditError(`There is no device "${id}" in the rig.`);
  if (!clockSources.safeParse([...sources]).success)
    throw new EditError('Clock sources are port numbers and "internal", at least one.');
  return changed(files, [{ file: rigFiles.rigFile, path: [...found.path, "clockSources"], value: [...sources] }]);
}

export interface NewDevice {
  readonly id: string;
  readonly name: string;
  readonly kind: string;
}

/**
 * A device without a cable. It runs on its own clock, since there is nothing it could listen to yet: the first cable that
 * brings it one changes that (`cable-edits.ts`). A switch passes packets on and has no clock to set.
 */
export function withDevice(files: ScenarioTexts, { id, name, kind }: NewDevice): ScenarioTexts {
  const rigFiles = rigFilesOf(files);
  if (entryOf(rigFiles, "devices", id) !== null) throw new EditError(`Another device has the id "${id}".`);
  const own = kind === "switch" ? {} : { clockSources: ["internal"] };
  const device = { id, ...(name === id ? {} : { name }), kind, ...own };
  return appended(rigFiles, "devices", device);
}

/** "Guest desk" is "guest-desk", or "guest-desk-2" where that is taken. */
export function freeId(files: ScenarioTexts, kind: ThingKind, name: string): string {
  const { rig } = rigFilesOf(files);
  const taken = new Set(itemsOf(rig[LISTS[kind]]).map(([{ id }]) => id));
  const bare = name
    .normalize("NFD")
    .replaceAll(/\p{M}/gu, "")
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, "-")
    .replaceAll(/^-+|-+$/g, "")
    .slice(0, 60);
  const wanted = bare === "" ? kind : bare;
  for (let count = 1; ; count++) {
    const id = count === 1 ? wanted : `${wanted}-${count}`;
    if (!taken.has(id) && id !== "from" && id !== "to") return id;
  }
}
