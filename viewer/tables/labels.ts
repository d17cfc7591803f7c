/** What columns are called on the page. Each is a heading that a pasted list may have as well. */
import type { RigTable } from "./bench.ts";

const CALLED: Readonly<Record<string, string>> = {
  "devices name": "Name",
  "feeds name": "Name",
  "cables id": "Cable",
  "~leads": "Leader",
  clockSources: "Clock source",
  "devices bootSeconds": "Boot time (s)",
  "cables from": "From",
  "cables to": "To",
  return: "Both ways",
  "cables lengthMetres": "Length (m)",
  laidAlong: "Laid along",
  "~spareOf": "Spare of",
  through: "Goes through",
  "feeds heardBy": "Heard by",
  "devices id": "Device id",
  "feeds id": "Feed id",
};

export function labelOf(table: RigTable, key: string): string {
  const called = CALLED[`${table} ${key}`] ?? CALLED[key];
  if (called !== undefined) return called;
  const words = key
    .replace(/^~/, "")
    .replace(/([a-z0-9])([A-Z])/g, "$1 $2")
    .replace(".", ": ")
    .toLowerCase()
    .replace(/ hz$/, " Hz");
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}`;
}

/** In the order in which people think of them; the others stand behind, when they are asked for. */
export const CORE: Readonly<Record<RigTable, readonly string[]>> = {
  devices: ["name", "kind", "~leads", "clockSources", "id"],
  cables: ["id", "type", "from", "to", "return", "lengthMetres", "laidAlong", "~spareOf"],
  feeds: ["name", "through", "channels", "heardBy", "id"],
};
