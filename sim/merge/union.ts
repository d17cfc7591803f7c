/**
 * Both plans in one file, nothing joined yet. What a file leaves to its own defaults and to its own run is written out
 * where the joined file has others, so that each company's devices stay what they were; what is about "all devices" is
 * about all of its own.
 */
import { type Fields, fieldsOf, itemsOf } from "../../shared/mentions.ts";
import type { DevicePlan } from "../../shared/plan.ts";
import { meaningOf, type Said } from "../meaning.ts";
import { canonical } from "../stamp.ts";
import type { Company } from "./company.ts";
import type { Companies } from "./conflict.ts";
import { copied, prefixed, type Renames, renamed } from "./names.ts";
import { commonRun, type RunWords, runOf } from "./run.ts";
import { acceptancesOfAll } from "./settings-conflicts.ts";
import { isOneThing, namesIn, type Twin, typeMeaning } from "./things.ts";

/** A file as it is being made. */
export interface Draft {
  title: string;
  story: string;
  run: Record<string, unknown>;
  rig: Rig;
  events: Entry[];
  expect: Entry[];
  accepted: Entry[];
}
export type Entry = Record<string, unknown>;

export interface Rig {
  sampleRateHz: number;
  leaders: string[];
  deviceTypes: Record<string, unknown>;
  devices: Entry[];
  networks: Entry[];
  links: Entry[];
  spares: Entry[];
  feeds: Entry[];
  supplies: Entry[];
}

const LISTS = ["devices", "networks", "links", "spares", "feeds", "supplies"] as const;

export interface Common {
  readonly run: RunWords;
  readonly sampleRateHz: number;
  readonly isOne: (kind: Twin["kind"], id: string) => boolean;
}

/** What is asked of both is symmetric, so that the order in which two plans are named changes nothing. */
export function commonOf(companies: Companies, twins: readonly Twin[]): Common {
  const [one, other] = companies;
  return {
    run: commonRun(companies),
    sampleRateHz: Math.min(one.plan.sampleRateHz, other.plan.sampleRateHz),
    isOne: (kind, id) => isOneThing(twins, kind, id),
  };
}

/** By what the plans say, not by their order or their names. */
export function inOwnOrder(companies: Companies): Companies {
  const [one, other] = companies.map(({ plan }) => canonical(meaningOf(plan) as unknown as Said)) as [string, string];
  return one <= other ? companies : [companies[1], companies[0]];
}

/** One company's part of the joined file, everything under its new name. */
export function partOf(company: Company, other: Company, renames: Renames, common: Common): Fields {
  const value = copied(company.value);
  const rig = fieldsOf(value.rig) as Record<string, unknown>;
  const types = fieldsOf(rig.deviceTypes);
  const devices = itemsOf(rig.devices).map(([entry]) => {
    const plan = company.plan.devices.find(({ id }) => id === entry.id) as DevicePlan;
    return writtenOut(entry, plan, { company, other, renames, common, types });
  });
  const networks = (company.plan.networks ?? []).map(({ id }) => {
    const written = itemsOf(rig.networks).find(([network]) => network.id === id)?.[0] ?? { id };
    return withName(written, "networks", "network", { company, other, common });
  });
  const feeds = itemsOf(rig.feeds).map(([feed]) => {
    const named = withName(feed, "feeds", "feed", { company, other, common });
    const hops = company.plan.feeds.find(({ id }) => id === feed.id)?.hops ?? [];
    // Between two things of both plans there may be another cable now.
    const over = [...new Set(hops.flatMap((hop) => hop.over.slice(0, 1).map(({ link }) => link)))];
    return hops.some(({ from, to }) => common.isOne("device", from) && common.isOne("device", to))
      ? { ...named, over }
      : named;
  });
  const links = itemsOf(rig.links).map(([link]) => {
    const network = company.plan.links.find(({ id }) => id === link.id)?.ethernet?.network;
    return network === undefined ? link : { ...link, network };
  });
  const events = itemsOf(value.events).flatMap(([event]) =>
    event.do === "temperature" && event.device === undefined
      ? company.plan.devices.map(({ id }) => ({ ...event, device: id }))
      : [event],
  );
  const all = new Set(acceptancesOfAll(company).map((path) => path.join(".")));
  const own = (list: unknown, base: string) =>
    itemsOf(list).map(([item, index]) =>
      all.has(`${base}.${index}`) ? { ...item, devices: company.plan.devices.map(({ id }) => id) } : item,
    );
  const accepted = [...own(value.accepted, "accepted"), ...own(rig.accepted, "rig.accepted")];
  const { accepted: _own, ...bare } = rig;
  const part = { ...value, rig: { ...bare, devices, networks, feeds, links }, events, accepted };
  return renamed(part, renames);
}

interface Beside {
  readonly company: Company;
  readonly other: Company;
  readonly common: Common;
}

/** With the name of its company in front where the other plan has something of that name. */
function withName(entry: Fields, list: "devices" | "networks" | "feeds", kind: Twin["kind"], beside: Beside): Fields {
  const { company, other, common } = beside;
  if (typeof entry.name !== "string" || common.isOne(kind, String(entry.id))) return entry;
  if (!namesIn(other, list).has(entry.name)) return entry;
  return { ...entry, name: prefixed(company.label, entry.name) };
}

function writtenOut(
  entry: Fields,
  plan: DevicePlan,
  { company, other, renames, common, types }: Beside & { readonly renames: Renames; readonly types: Fields },
): Fields {
  const { startCelsius, wander } = runOf(company);
  const { run, sampleRateHz } = common;
  const saysOfItself = (field: string): boolean => {
    const like = entry.like;
    if (entry[field] !== undefined) return true;
    if (typeof like !== "string" || types[like] === undefined) return false;
    return (typeMeaning(company, like) as readonly Fields[]).some((type) => type[field] !== undefined);
  };
  const more: Record<string, unknown> = {};
  if (plan.sampleRateHz !== sampleRateHz && !saysOfItself("sampleRateHz")) more.sampleRateHz = plan.sampleRateHz;
  if (startCelsius !== run.startCelsius && !saysOfItself("startCelsius"))
    more.startCelsius = plan.oscillator.startCelsius;
  if (wander !== run.wander && plan.oscillator.wander === null)
    more.oscillator = { ...fieldsOf(entry.oscillator), wander: false };
  const isGiven = fieldsOf(entry.ptp).identity !== undefined;
  const identity = isGiven ? null : identityUnder(renames, plan, company, other);
  if (identity !== null) more.ptp = { ...fieldsOf(entry.ptp), identity };
  return withName({ ...entry, ...more }, "devices", "device", { company, other, common });
}

/**
 * The last tie-break of an election comes from the id: under a new one another device might win. So who gets a new id
 * keeps the identity that the old one gave it, down to the last digit, which tells the two companies apart.
 */
function identityUnder(renames: Renames, { id, ptp }: DevicePlan, company: Company, other: Company): string | null {
  if (ptp === undefined || renames.get("device")?.has(id) !== true) return null;
  const taken = new Set([company, other].flatMap(identitiesOf));
  const twin = other.plan.devices.find((device) => device.id === id)?.ptp;
  if (twin?.identity !== ptp.identity) return ptp.identity;
  const stem = ptp.identity.slice(0, -1);
  const [one = "", second = ""] = [..."0123456789abcdef"]
    .map((digit) => stem + digit)
    .filter((each) => !taken.has(each));
  return inOwnOrder([company, other])[0] === company ? one : second;
}

function identitiesOf({ plan }: Company): readonly string[] {
  return plan.devices.flatMap(({ ptp }) => (ptp === undefined ? [] : [ptp.identity]));
}

/** Parts of one company or of two as one file; what is one thing in both stands in it once. */
export function united(parts: readonly Fields[], common: Common, title: string): Draft {
  const rigs = parts.map((part) => fieldsOf(part.rig));
  const once = (list: (typeof LISTS)[number]): Entry[] => {
    const entries = new Map<string, Entry>();
    for (const rig of rigs)
      for (const [item] of itemsOf(rig[list])) {
        const id = String(item.id);
        if (!entries.has(id)) entries.set(id, { ...item });
      }
    return [...entries.values()];
  };
  const all = (list: "events" | "expect" | "accepted"): Entry[] =>
    parts.flatMap((part) => itemsOf(part[list]).map(([item]) => ({ ...item })));
  return {
    title,
    story: "",
    run: { ...common.run },
    rig: {
      sampleRateHz: common.sampleRateHz,
      leaders: [...new Set(rigs.flatMap(({ leaders }) => (Array.isArray(leaders) ? leaders.map(String) : [])))],
      deviceTypes: Object.assign({}, ...rigs.map(({ deviceTypes }) => deviceTypes ?? {})),
      devices: once("devices"),
      networks: once("networks"),
      links: once("links"),
      spares: once("spares"),
      feeds: once("feeds"),
      supplies: once("supplies"),
    },
    events: all("events"),
    expect: all("expect"),
    accepted: all("accepted"),
  };
}

export function draftCopy(draft: Draft): Draft {
  return copied(draft as unknown as Fields) as unknown as Draft;
}

/** The thing of an id in a list of a draft, to be changed. */
export function entryOf(draft: Draft, list: (typeof LISTS)[number], id: string): Entry {
  const entry = draft.rig[list].find((each) => each.id === id);
  if (entry === undefined) throw new Error(`a draft names "${id}", which it does not have in ${list}`);
  return entry;
}
