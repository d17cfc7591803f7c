/**
 * What both plans have under one id or one name. The same id may be one thing that both list (a truck that serves both),
 * or two things that happen to be called alike; a file cannot say which, so it is asked, and until then they are two.
 */
import { type Path, withoutLine } from "../../shared/issues.ts";
import { fieldsOf, itemsOf } from "../../shared/mentions.ts";
import { fieldsApart } from "../changes.ts";
import { type Fields, meaningOf, type Said } from "../meaning.ts";
import { canonical } from "../stamp.ts";
import { listed } from "../tell/words.ts";
import { type Companies, type Conflict, placesOf } from "./conflict.ts";

export const THINGS = [
  { kind: "device", list: "devices", word: "device" },
  { kind: "network", list: "networks", word: "network" },
  { kind: "link", list: "links", word: "cable" },
  { kind: "spare", list: "spares", word: "spare group" },
  { kind: "feed", list: "feeds", word: "feed" },
] as const;
export type ThingKind = (typeof THINGS)[number]["kind"];

/** One that both have under one id. */
export interface Twin {
  readonly kind: ThingKind;
  readonly id: string;
  /** By their own words, the ids of other things in them as they stand. */
  readonly isAlike: boolean;
  /** Ids of what it hangs on and what is not known to be one thing in both. */
  readonly waitsFor: readonly string[];
  /** One thing: asked for, and alike, down to what it hangs on. */
  readonly isOne: boolean;
}

export interface TwinsAsked {
  readonly twins: readonly Twin[];
  /** Ids of what is one thing in both plans, as asked for. */
  readonly same: ReadonlySet<string>;
}

export function isOneThing(twins: readonly Twin[], kind: string, id: string): boolean {
  return twins.some((twin) => twin.kind === kind && twin.id === id && twin.isOne);
}

function rowOf(kind: ThingKind): (typeof THINGS)[number] {
  return THINGS.find((each) => each.kind === kind) as (typeof THINGS)[number];
}

export function twinsOf([one, other]: Companies, same: ReadonlySet<string>): readonly Twin[] {
  const [here, there] = [meaningOf(one.plan), meaningOf(other.plan)];
  const twins: Twin[] = [];
  for (const { kind, list } of THINGS)
    for (const [id, fields] of Object.entries(here[list])) {
      const counterpart = there[list][id];
      // A tap of a line has no entry of its own.
      if (counterpart === undefined || id.includes(":")) continue;
      const isAlike = canonical(fields) === canonical(counterpart);
      const needed = needs(kind, fields).filter(([what, which]) => !isOneThing(twins, what, which));
      const waitsFor = [...new Set(needed.map(([what, which]) => `${rowOf(what).word} ${which}`))];
      twins.push({ kind, id, isAlike, waitsFor, isOne: isAlike && waitsFor.length === 0 && same.has(id) });
    }
  return twins;
}

/** What has to be one thing before this can be. */
function needs(kind: ThingKind, fields: Fields): readonly (readonly [ThingKind, string])[] {
  const texts = (name: string): string[] => {
    const value = fields[name];
    if (typeof value === "string") return [value];
    return Array.isArray(value) ? value.map(String) : [];
  };
  const device = (port: string) => ["device", port.slice(0, port.lastIndexOf("."))] as const;
  if (kind === "link")
    return [
      ...["from", "to", "ends"].flatMap(texts).map(device),
      ...texts("network").map((id) => ["network", id] as const),
    ];
  if (kind === "spare") return texts("links").map((id) => ["link", id]);
  if (kind === "feed") return texts("through").map((id) => ["device", id]);
  return [];
}

export function thingConflicts(companies: Companies, { twins, same }: TwinsAsked): Conflict[] {
  const unanswered = [...same].filter((id) => !twins.some((twin) => twin.id === id));
  return [
    ...twins.flatMap((twin) => (twin.isOne ? [] : [twinConflict(companies, twin, { twins, same })])),
    ...typeConflicts(companies),
    ...nameConflicts(companies),
    ...unanswered.map(
      (id): Conflict => ({
        kind: "same-id",
        about: id,
        places: [withoutLine(`--same ${id}`), withoutLine(`--same ${id}`)],
        what: `--same ${id} names nothing that both plans have.`,
        question: "Which id do both use for it?",
        remedy: "Give it the same id in both files, or leave the option out.",
        isBlocking: true,
      }),
    ),
  ];
}

/** Where a thing stands in the value of its company. */
export function pathOf(company: Companies[number], list: string, id: string): Path {
  const index = itemsOf(fieldsOf(company.value.rig)[list]).findIndex(([item]) => item.id === id);
  return index < 0 ? ["rig"] : ["rig", list, index];
}

const FIELDS_SHOWN = 3;

function twinConflict(companies: Companies, twin: Twin, { twins, same }: TwinsAsked): Conflict {
  const [one, other] = companies;
  const { kind, id, isAlike, waitsFor } = twin;
  const { list, word } = rowOf(kind);
  // Where another thing of this id is the one that was meant, this one goes on being two.
  const isAsked = same.has(id) && !twins.some((each) => each.id === id && each.isOne);
  const base = {
    about: `${word} ${id}`,
    places: placesOf(companies, pathOf(one, list, id), pathOf(other, list, id)),
    isBlocking: isAsked,
  };
  const apart = `Until then they are two, ${one.name}-${id} and ${other.name}-${id}.`;
  if (isAlike && waitsFor.length === 0)
    return {
      ...base,
      kind: "maybe-one",
      what: `Both plans have a ${word} ${id}, with the same settings.`,
      question: `Is it one ${word} that both list?`,
      remedy: `If it is: --same ${id}. ${apart}`,
    };
  if (isAlike)
    return {
      ...base,
      kind: "maybe-one",
      what: `Both plans have a ${word} ${id} with the same settings, on ${listed(waitsFor)}, which may be two each.`,
      question: `Is it one ${word} that both list?`,
      remedy: isAsked
        ? `It can only be if these are: name them with --same as well.`
        : `If it is, these are too: --same for each of them and for ${id}. ${apart}`,
    };
  const fields = apartIn(meaningOf(one.plan)[list][id] as Fields, meaningOf(other.plan)[list][id] as Fields);
  const shown = fields.slice(0, FIELDS_SHOWN);
  const more = fields.length - shown.length;
  return {
    ...base,
    kind: "same-id",
    what: `Both plans have a ${word} ${id}, and they differ: ${shown.join("; ")}${more > 0 ? `; ${more} more` : ""}.`,
    question: `Is it one ${word}, described in two ways, or are they two?`,
    remedy: isAsked
      ? "Make both entries say the same, since it is to be one."
      : `If it is one: make both entries say the same, then --same ${id}. ${apart}`,
  };
}

/** "boot 60 s or 75 s"; the four numbers of wander are one. */
function apartIn(one: Fields, other: Fields): readonly string[] {
  const all = fieldsApart(one, other, (device) => device);
  const isWander = (label: string) => label.startsWith("oscillator wander");
  return [
    ...all.filter(({ label }) => !isWander(label)).map((field) => `${field.label} ${field.one} or ${field.other}`),
    ...(all.some(({ label }) => isWander(label)) ? ["the wander of its oscillator"] : []),
  ];
}

/** What a type comes to with all that it is like. */
export function typeMeaning(company: Companies[number], id: string): Said {
  const types = fieldsOf(fieldsOf(company.value.rig).deviceTypes);
  const chain: unknown[] = [];
  const seen = new Set<string>();
  for (let at: unknown = id; typeof at === "string" && !seen.has(at); ) {
    seen.add(at);
    const { like, ...own } = fieldsOf(types[at]);
    chain.push(own);
    at = like;
  }
  return chain as Said;
}

/** Names of types that both use, and that come to something else in each. */
export function typesApart([one, other]: Companies): readonly string[] {
  const names = (company: Companies[number]) => Object.keys(fieldsOf(fieldsOf(company.value.rig).deviceTypes));
  const there = new Set(names(other));
  return names(one).filter(
    (id) => there.has(id) && canonical(typeMeaning(one, id)) !== canonical(typeMeaning(other, id)),
  );
}

function typeConflicts(companies: Companies): readonly Conflict[] {
  const [one, other] = companies;
  return typesApart(companies).map((id) => {
    const types = companies.map(({ value }) => fieldsOf(fieldsOf(fieldsOf(value.rig).deviceTypes)[id]));
    const keys = [...new Set(types.flatMap((type) => Object.keys(type)))].sort();
    const differ = keys.filter(
      (key) => canonical((types[0]?.[key] ?? null) as Said) !== canonical((types[1]?.[key] ?? null) as Said),
    );
    return {
      kind: "same-id",
      about: `device type ${id}`,
      places: placesOf(companies, ["rig", "deviceTypes", id], ["rig", "deviceTypes", id]),
      what: `Both plans have a device type ${id}, and they differ${differ.length === 0 ? " in what they are like" : `: ${listed(differ)}`}.`,
      question: "Which of the two was measured on the devices that come?",
      remedy: `Correct the one that is wrong. Until then they are two, ${one.name}-${id} and ${other.name}-${id}.`,
      isBlocking: false,
    };
  });
}

/** Two things of one name under two ids: on paper and over comms nobody could tell them apart. */
function nameConflicts(companies: Companies): readonly Conflict[] {
  const [one, other] = companies;
  return THINGS.flatMap(({ list, word }) =>
    [...namesIn(one, list)].flatMap(([name, id]): Conflict[] => {
      const there = namesIn(other, list).get(name);
      // Of one id it is asked about already.
      if (there === undefined || id === there) return [];
      return [
        {
          kind: "same-name",
          about: `${word} ${name}`,
          places: placesOf(companies, [...pathOf(one, list, id), "name"], [...pathOf(other, list, there), "name"]),
          what: `Both plans call a ${word} ${name}: ${id} of ${one.label}, ${there} of ${other.label}.`,
          question: `Which name does each have on paper and over comms?`,
          remedy: `Rename one in its file. Until then: ${one.label} ${name} and ${other.label} ${name}.`,
          isBlocking: false,
        },
      ];
    }),
  );
}

/** Ids by name, of those that have a name of their own. */
export function namesIn(company: Companies[number], list: string): ReadonlyMap<string, string> {
  return new Map(
    itemsOf(fieldsOf(company.value.rig)[list]).flatMap(([{ id, name }]) =>
      typeof id === "string" && typeof name === "string" ? [[name, id] as const] : [],
    ),
  );
}
