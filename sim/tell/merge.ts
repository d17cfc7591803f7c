/** Two plans that are to be joined, in words: what they do not agree about, what is asked, what each way comes to. */

import { deviceOf, feedOf } from "../by-id.ts";
import type { Conflict } from "../merge/conflict.ts";
import type { Case, Heard } from "../merge/heard.ts";
import { freePort, JOIN_TYPES } from "../merge/join.ts";
import type { FeedOwned, Merge, MergeOutcome, Way } from "../merge.ts";
import { agree, capital, counted, isPlural, kilohertz, listed, listener, showTime, theDevice } from "./words.ts";

/** "House and Tour: 12 devices led by foh at 48 kHz; 5 devices led by desk at 48 kHz." */
export function companiesSentences({ companies }: Merge): readonly string[] {
  return companies.map(({ label, file, plan, leader }) => {
    const device = leader === null ? null : deviceOf(plan, leader);
    const led =
      device === null
        ? "nobody is meant to lead"
        : `${theDevice(device)} ${agree(isPlural(device.name), "leads", "lead")}`;
    return `${label} (${file}): ${plan.title}. ${capital(counted(plan.devices.length, "device", "devices"))} at ${kilohertz(plan.sampleRateHz)}; ${led}.`;
  });
}

export function conflictsHead({ conflicts }: Merge): string {
  if (conflicts.length === 0)
    return "No conflict was found between the two plans. They were read, not compared on site.";
  return `${capital(counted(conflicts.length, "conflict", "conflicts"))} or open ${conflicts.length === 1 ? "question" : "questions"}:`;
}

/** What it is, then what is asked and what to do. */
export function conflictSentences({ question, remedy }: Conflict): string {
  return `${question} ${remedy}`;
}

/** What is asked when nothing joins the two yet; the last is what could be typed. */
export function askSentences({ companies, areNamed, isBlocked }: Merge): readonly string[] {
  if (isBlocked) return ["Nothing was joined: a conflict above has to be settled first."];
  const ends = companies.map((company) => {
    const device = company.leader ?? company.plan.devices[0]?.id ?? "desk";
    return { device, port: freePort(company, device) };
  });
  const [here, there] = ends.map(({ device, port }) => `${device}.${port}`);
  const free = ends.map(({ device, port }, side) => `port ${port} of ${device} (${companies[side]?.label})`);
  const names = areNamed ? ` --names ${companies.map(({ name }) => name).join(",")}` : "";
  return [
    `Which cables join the two? Name each: a device and port of ${companies[0].label}, then one of ${companies[1].label}, then the type (${listed(JOIN_TYPES, "or")}; MADI when left out). One way only: :there from the first to the second, :back the other way.`,
    `No plan has a cable in ${listed(free)}: if these are the two,`,
    `pulltest merge ${companies[0].file} ${companies[1].file} --join ${here}=${there}${names}`,
  ];
}

/** "As both plans have it", "FOH desk (of House) reboots at 00:30:00". */
export function caseHead({ device, atSeconds }: Case, { plan, companyOf }: MergeOutcome): string {
  if (device === null || atSeconds === null) return "As both plans have it, nothing added";
  const reboots = deviceOf(plan, device);
  const owner = companyOf(device);
  const isNamed = owner === null || reboots.name.startsWith(owner);
  return `${capital(theDevice(reboots))}${isNamed ? "" : ` of ${owner}`} ${agree(isPlural(reboots.name), "reboots", "reboot")} at ${showTime(atSeconds)}`;
}

export interface HeardLine {
  /** "PA", "In-ears (tour mixes)". */
  readonly who: string;
  readonly crosses: boolean;
  /** Which ways, "alone" among them, and what is heard in them: those that are alike stand together. */
  readonly rows: readonly { readonly ways: readonly string[]; readonly words: string }[];
}

export interface HeardBlock {
  readonly company: string;
  readonly lines: readonly HeardLine[];
}

export const ALONE = "alone";

/** What each company's listeners hear in one case, the ways beside each other. */
export function heardBlocks(merge: Merge, outcome: MergeOutcome, at: number): readonly HeardBlock[] {
  const made = outcome.ways.filter(({ whyNot }) => whyNot === null);
  return merge.companies.map(({ name, label }) => ({
    company: label,
    lines: outcome.feeds.filter(({ company }) => company === name).map((feed) => heardLine(feed, outcome, made, at)),
  }));
}

function heardLine(feed: FeedOwned, outcome: MergeOutcome, made: readonly Way[], at: number): HeardLine {
  const find = (heard: readonly (readonly Heard[])[]) => heard[at]?.find((one) => one.feed === feed.id);
  const all = [
    ...(feed.crosses ? [] : [{ way: ALONE, heard: find(outcome.alone) }]),
    ...made.map(({ name, heard }) => ({ way: name, heard: find(heard) })),
  ];
  const rows = new Map<string, string[]>();
  for (const { way, heard } of all) {
    const words = heard?.words ?? "not in this file";
    rows.set(words, [...(rows.get(words) ?? []), way]);
  }
  return {
    who: whoHears(feed, outcome),
    crosses: feed.crosses,
    rows: [...rows].map(([words, ways]) => ({ ways, words })),
  };
}

/** "PA", "Wedges (house mixes)"; of what crosses over a joining cable its ends as well. */
function whoHears({ id, ears, crosses }: FeedOwned, { plan }: MergeOutcome): string {
  const feed = feedOf(plan, id);
  if (!crosses) return listener(feed, plan.feeds).head;
  const who = ears.length === 0 ? "" : `, for ${listener({ ...feed, heardBy: ears }, []).mid}`;
  return `Over the joining cable, ${feed.name}${who}`;
}

/** "alone and in every way", "in every way", "house leads and converters". */
export function waysWords(ways: readonly string[], outcome: MergeOutcome, crosses: boolean): string {
  const made = outcome.ways.filter(({ whyNot }) => whyNot === null).map(({ name }) => name);
  const isEvery = made.every((name) => ways.includes(name));
  if (!isEvery) return listed(ways);
  return crosses ? "every way" : ways.includes(ALONE) ? "alone and every way" : "every way";
}

/** Which ways no listener could tell apart in one case. */
export function alikeSentences({ alike, ways }: MergeOutcome, at: number): readonly string[] {
  const made = ways.filter(({ whyNot }) => whyNot === null);
  return (alike[at] ?? []).map((names) =>
    names.length === made.length
      ? "By what listeners hear then, no two ways can be told apart."
      : `By what listeners hear then, ${listed(names)} cannot be told apart.`,
  );
}

/** What nobody may take from this: which way is best is for both companies to agree. */
export const AGREEMENT =
  "These are facts for an agreement, not a choice: who leads, and who sets what on whose desk, is for both companies to agree before doors. Changes in a break, in-ears out of ears, outputs down at the last device.";
