/**
 * A scenario between reading and resolving: everything that the schema accepted, item by item, with its place. One
 * broken device must not hide what is wrong with the next, so each item stands for itself, and checks leave out what
 * they cannot know.
 */
import type { Issue, Path } from "./issues.ts";
import { quote } from "./issues.ts";
import { nearest } from "./nearest.ts";
import type { JsonFile } from "./read-json.ts";
import type {
  AcceptedFile,
  DeviceFile,
  DeviceTypeFile,
  EventFile,
  ExpectFile,
  FeedFile,
  LinkFile,
  NetworkFile,
  ScenarioFile,
  SpareFile,
  SupplyFile,
} from "./scenario-schema.ts";
import type { Ns } from "./time.ts";

/** A value and where it stands. */
export interface Place {
  readonly json: JsonFile;
  readonly path: Path;
}

export interface Item<T> extends Place {
  /** What it calls itself, even if the rest is broken. */
  readonly id: string | null;
  /** Null where the schema refused it. */
  readonly value: T | null;
}

export interface Draft {
  readonly scenario: Place;
  readonly title: string;
  readonly story: string;
  readonly run: ScenarioFile["run"] | null;
  /** Null where it could not be read. */
  readonly lengthNs: Ns | null;
  /** Null where no rig could be read at all. */
  readonly rig: Place | null;
  readonly sampleRateHz: number | null;
  readonly leaders: readonly string[];
  readonly types: readonly Item<DeviceTypeFile>[];
  /** False where a library could not be read, so that an unknown type proves nothing. */
  readonly typesAreWhole: boolean;
  readonly devices: readonly Item<DeviceFile>[];
  readonly networks: readonly Item<NetworkFile>[];
  readonly links: readonly Item<LinkFile>[];
  readonly spares: readonly Item<SpareFile>[];
  readonly feeds: readonly Item<FeedFile>[];
  readonly supplies: readonly Item<SupplyFile>[];
  readonly events: readonly Item<EventFile>[];
  readonly expects: readonly Item<ExpectFile>[];
  readonly accepted: readonly Item<AcceptedFile>[];
}

/** What an issue says; `received` is the value at the place unless it is given. */
export interface Said {
  readonly expected: string;
  readonly received?: string;
  readonly remedy: string;
}

/** Collects issues. `steps` lead from the place to the value that is wrong. */
export type Report = (place: Place, steps: Path, said: Said) => void;

export function makeReport(issues: Issue[]): Report {
  return (place, steps, { expected, remedy, received }) => {
    const path = [...place.path, ...steps];
    issues.push(place.json.issue(path, { expected, received: received ?? quote(place.json.at(path)), remedy }));
  };
}

/** Remedies compare words; beyond so many nobody reads them. */
const REMEDIES_MAX = 60;

/** Words for a thing that is not there: "did you mean …?", or what there is. */
export function makeUnknown(): (word: string, known: readonly string[], kind: string) => string {
  let asked = 0;
  return (word, known, kind) => {
    if (known.length === 0) return `describe a ${kind} of that name first`;
    const near = ++asked <= REMEDIES_MAX ? nearest(word, known) : null;
    if (near) return `did you mean ${quote(near)}?`;
    const shown = known.slice(0, 12).map(quote).join(", ");
    return `choose one of ${shown}${known.length > 12 ? ", …" : ""}`;
  };
}

export type Unknown = ReturnType<typeof makeUnknown>;

/** Ids as they are compared everywhere: by code unit, the same on every machine. */
export function byId(a: { readonly id: string }, b: { readonly id: string }): number {
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}

/** Reports each item whose id an earlier one has. */
export function reportDuplicates(items: readonly Item<unknown>[], kind: string, report: Report): void {
  const seen = new Map<string, Item<unknown>>();
  for (const item of items) {
    if (item.id === null) continue;
    const first = seen.get(item.id);
    if (first)
      report(item, ["id"], { expected: `an id that no other ${kind} has`, remedy: "give one of the two another id" });
    else seen.set(item.id, item);
  }
}

export function idsOf(items: readonly Item<unknown>[]): string[] {
  return [...new Set(items.flatMap(({ id }) => (id === null ? [] : [id])))];
}

/** The first item of each id that the schema accepted. */
export function sound<T>(items: readonly Item<T>[]): (Item<T> & { readonly id: string; readonly value: T })[] {
  const seen = new Set<string>();
  const found: (Item<T> & { readonly id: string; readonly value: T })[] = [];
  for (const item of items) {
    if (item.id === null || seen.has(item.id)) continue;
    seen.add(item.id);
    if (item.value !== null) found.push(item as (typeof found)[number]);
  }
  return found;
}

/** A default that was filled in, to be listed if it matters. */
export interface Filled {
  readonly on: "run" | "device" | "network" | "link" | "spare";
  readonly id: string;
  readonly name: string;
  readonly value: unknown;
  readonly unit: string;
}
