/** A cable that joins two plans, as it was asked for, and the ports that both plans use already. */
import { type Path, withoutLine } from "../../shared/issues.ts";
import { POINT_TO_POINT } from "../../shared/link-types.ts";
import { type Fields, fieldsOf, itemsOf } from "../../shared/mentions.ts";
import type { Company } from "./company.ts";
import type { Companies, Conflict } from "./conflict.ts";
import type { Twin } from "./things.ts";
import { isOneThing, pathOf } from "./things.ts";

export const JOIN_TYPES = [...POINT_TO_POINT, "ethernet"] as const;
export type JoinType = (typeof JOIN_TYPES)[number];

export interface JoinEnd {
  /** By the id that its own plan has. */
  readonly device: string;
  readonly port: number;
}

export interface Join {
  /** As typed. */
  readonly text: string;
  /** In the first plan, in the second. */
  readonly ends: readonly [JoinEnd, JoinEnd];
  readonly type: JoinType;
  /** Of a type with a cable for each direction: "there" is from the first plan to the second. */
  readonly ways: "both" | "there" | "back";
}

interface PortUse {
  readonly key: string;
  /** The cable that is in it. */
  readonly link: string;
  readonly path: Path;
}

/** Ports of a plan that a cable is in, or will be by an event; streams have none of their own. */
export function portsUsed({ value }: Company): readonly PortUse[] {
  const rig = fieldsOf(value.rig);
  const links = itemsOf(rig.links).filter(
    ([link]) => link.channels === undefined || !("from" in link) || !isStream(link),
  );
  const uses = links.flatMap(([link, index]) =>
    ["from", "to", "ends"].flatMap((name): PortUse[] => {
      const ends = link[name];
      const path = ["rig", "links", index, name];
      const use = (end: unknown, at: Path): PortUse[] =>
        typeof end === "string" ? [{ key: end, link: String(link.id), path: at }] : [];
      return Array.isArray(ends) ? ends.flatMap((end, at) => use(end, [...path, at])) : use(ends, path);
    }),
  );
  const later = itemsOf(value.events).flatMap(([event, index]): PortUse[] => {
    if (event.do !== "plug" || typeof event.into !== "number") return [];
    const link = links.find(([each]) => each.id === event.link)?.[0];
    const end = event.end === "from" || event.end === "to" ? link?.[event.end] : event.end;
    if (typeof end !== "string") return [];
    const [device] = end.split(".");
    return [{ key: `${device}.${event.into}`, link: String(event.link), path: ["events", index, "into"] }];
  });
  return [...uses, ...later];
}

function isStream({ type }: Fields): boolean {
  return !JOIN_TYPES.some((one) => one === type);
}

/** A port is used twice: by two joining cables, by one and a cable of its own plan, by cables of both plans. */
export function portConflicts(companies: Companies, joins: readonly Join[], twins: readonly Twin[]): Conflict[] {
  const used = companies.map(portsUsed);
  const conflicts: Conflict[] = [];
  const taken = new Map<string, Join>();
  for (const join of joins)
    join.ends.forEach(({ device, port }, side) => {
      const company = companies[side] as Company;
      const key = `${device}.${port}`;
      const own = used[side]?.find((use) => use.key === key);
      const before = taken.get(`${side} ${key}`);
      taken.set(`${side} ${key}`, join);
      const here = withoutLine(`--join ${join.text}`);
      if (own !== undefined)
        conflicts.push({
          kind: "port-twice",
          about: `${company.name} ${key}`,
          places: [here, company.placeOf(own.path)],
          what: `Port ${port} of ${device} (${company.label}) is to have a joining cable, and ${own.link} is in it.`,
          question: `Which port of ${device} is free on site?`,
          remedy: `Name another port in --join, or move ${own.link} in ${company.file}.`,
          isBlocking: true,
        });
      if (before !== undefined)
        conflicts.push({
          kind: "port-twice",
          about: `${company.name} ${key}`,
          places: [withoutLine(`--join ${before.text}`), here],
          what: `Two joining cables are to go into port ${port} of ${device} (${company.label}).`,
          question: `Which port of ${device} is the second one for?`,
          remedy: "Name another port in one of the two.",
          isBlocking: true,
        });
    });
  for (const use of used[0] ?? []) {
    const [device = ""] = use.key.split(".");
    if (!isOneThing(twins, "device", device)) continue;
    const other = used[1]?.find(
      ({ key, link }) => key === use.key && !(link === use.link && isOneThing(twins, "link", link)),
    );
    if (other === undefined) continue;
    conflicts.push({
      kind: "port-twice",
      about: use.key,
      places: [companies[0].placeOf(use.path), companies[1].placeOf(other.path)],
      what: `Port ${use.key.split(".")[1]} of ${device}, which is in both plans, has ${use.link} of ${companies[0].label} and ${other.link} of ${companies[1].label} in it.`,
      question: "Is it one cable that both list, or whose cable moves?",
      remedy: `If it is one: give it one id in both files, then --same for it too. Else choose another port of ${device} in one of them.`,
      isBlocking: true,
    });
  }
  return conflicts;
}

/** The lowest port that nothing of its plan is in or speaks of. */
export function freePort(company: Company, device: string, taken: ReadonlySet<number> = new Set()): number {
  const path = pathOf(company, "devices", device);
  const entry = path.length < 3 ? {} : fieldsOf(itemsOf(fieldsOf(company.value.rig).devices)[Number(path[2])]?.[0]);
  const own = company.plan.devices.find(({ id }) => id === device);
  const numbers = new Set([
    ...taken,
    ...portsUsed(company).flatMap(({ key }) => (key.split(".")[0] === device ? [Number(key.split(".")[1])] : [])),
    ...(own?.clockSources ?? []).map(Number),
    ...Object.keys(fieldsOf(entry.ports)).map(Number),
    ...Object.keys({ ...own?.ports, ...own?.converters }).map(Number),
  ]);
  for (let port = 1; ; port += 1) if (!numbers.has(port)) return port;
}
