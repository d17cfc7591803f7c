/** What two plans share without saying so: places that cables are laid along, supplies. */
import type { Path } from "../../shared/issues.ts";
import { fieldsOf, itemsOf } from "../../shared/mentions.ts";
import type { Said } from "../meaning.ts";
import type { Company } from "./company.ts";
import { bothSay, type Companies, type Conflict, placesOf } from "./conflict.ts";
import { idsOf } from "./names.ts";

export function pathConflicts(companies: Companies): Conflict[] {
  const [one, other] = companies.map(({ value }) => idsOf(value).of("path"));
  return [...(one ?? [])]
    .filter((path) => other?.has(path))
    .map((path) => ({
      kind: "shared-path",
      about: path,
      places: placesOf(companies, laidAlong(companies[0], path), laidAlong(companies[1], path)),
      what: `Both plans lay cables along "${path}".`,
      question: "Is it the same place?",
      remedy:
        "It is taken as one: a cut there takes the cables of both. If it is not, call it something else in one of the files.",
      isBlocking: false,
    }));
}

function laidAlong({ value }: Company, path: string): Path {
  for (const [{ laidAlong: along }, index] of itemsOf(fieldsOf(value.rig).links)) {
    const at = Array.isArray(along) ? along.indexOf(path) : -1;
    if (at >= 0) return ["rig", "links", index, "laidAlong", at];
  }
  return ["rig", "links"];
}

/** Labels of supplies that both have and that are not the names of devices; a device's own supply goes with it. */
function suppliesInBoth(companies: Companies): readonly string[] {
  const [one, other] = companies.map(({ value }) => idsOf(value));
  const isDevice = (id: string) => one?.of("device").has(id) === true && other?.of("device").has(id) === true;
  return [...(one?.of("supply") ?? [])].filter((id) => other?.of("supply").has(id) && !isDevice(id));
}

function batteryOf({ value }: Company, id: string): Said {
  const entry = itemsOf(fieldsOf(value.rig).supplies).find(([supply]) => supply.id === id)?.[0];
  return (entry?.batterySeconds ?? null) as Said;
}

export function suppliesApart(companies: Companies): readonly string[] {
  return suppliesInBoth(companies).filter((id) => batteryOf(companies[0], id) !== batteryOf(companies[1], id));
}

export function supplyConflicts(companies: Companies): Conflict[] {
  const apart = suppliesApart(companies);
  return suppliesInBoth(companies).map((id) => {
    const places = placesOf(companies, poweredBy(companies[0], id), poweredBy(companies[1], id));
    const base = { kind: "shared-supply", about: id, places, isBlocking: false } as const;
    if (!apart.includes(id))
      return {
        ...base,
        what: `Both plans have devices on a supply "${id}".`,
        question: "Is it the same supply?",
        remedy:
          "It is taken as one: if it fails, it takes the devices of both. If it is not, call it something else in one of the files.",
      };
    const battery = (company: Company) => {
      const seconds = batteryOf(company, id);
      return seconds === null ? "no battery" : `a battery for ${seconds} s`;
    };
    return {
      ...base,
      what: `Both plans have a supply "${id}": ${bothSay(companies, battery(companies[0]), battery(companies[1]))}.`,
      question: "Is it one supply, described in two ways, or are they two?",
      remedy: "Until both say the same they are two, each with the name of its company in front.",
    };
  });
}

function poweredBy({ value }: Company, id: string): Path {
  const rig = fieldsOf(value.rig);
  for (const [{ power, id: device }, index] of itemsOf(rig.devices)) {
    const at = Array.isArray(power) ? power.indexOf(id) : -1;
    if (at >= 0) return ["rig", "devices", index, "power", at];
    if (power === undefined && device === id) return ["rig", "devices", index, "id"];
  }
  const entry = itemsOf(rig.supplies).findIndex(([supply]) => supply.id === id);
  return entry < 0 ? ["rig"] : ["rig", "supplies", entry, "id"];
}
