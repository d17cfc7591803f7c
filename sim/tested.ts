/**
 * When a cable was last pulled on site, and whether that still holds. What a pull is about is the cable, its spares, the
 * devices at all their ends and the network: whether that has changed since, the stamp beside the date says. The rest of
 * a plan may change without a pull being worth less.
 */
import { cableOf } from "../shared/lines.ts";
import type { LinkPlan, Plan } from "../shared/plan.ts";
import { type Fields, type Meaning, meaningOf, type Said } from "./meaning.ts";
import { stampOfSaid } from "./stamp.ts";

export interface Tested {
  /** "2026-11-20" */
  readonly date: string;
  /** Something that the pull was about is not as it was. Where only a date is known: nothing is known of that. */
  readonly isChanged: boolean;
}

/** A plan never changes, and each of its cables asks. */
const meanings = new WeakMap<Plan, Meaning>();

/** Null: nobody has pulled it; a stream has nothing to pull. */
export function testedOf(plan: Plan, link: LinkPlan): Tested | null {
  const { tested, testedAs, stream } = link;
  if (stream !== undefined || tested === undefined) return null;
  return { date: tested, isChanged: testedAs !== undefined && testedAs !== pullStampOf(plan, link) };
}

/** A cable whose pull counts no longer is untested as well. */
export function isUntested(plan: Plan, link: LinkPlan): boolean {
  return link.stream === undefined && (testedOf(plan, link)?.isChanged ?? true);
}

/** "untested", "pulled on 2026-11-20", "untested since it changed (pulled on 2026-11-20)" */
export function testedWords(plan: Plan, link: LinkPlan): string {
  const tested = testedOf(plan, link);
  if (tested === null) return "untested";
  return tested.isChanged ? `untested since it changed (pulled on ${tested.date})` : `pulled on ${tested.date}`;
}

/** Stamp of what a pull of this cable is about. */
export function pullStampOf(plan: Plan, link: LinkPlan): string {
  const meaning = meanings.get(plan) ?? meaningOf(plan);
  meanings.set(plan, meaning);
  // The taps of a line are one cable, with one date.
  const own = plan.links.filter((each) => cableOf(each) === cableOf(link)).map(({ id }) => id);
  const groups = plan.spares.filter(({ links }) => links.some((id) => own.includes(id)));
  const ids = [...new Set([...own, ...groups.flatMap(({ links }) => links)])];
  const all = plan.links.filter(({ id }) => ids.includes(id));
  const devices = [...new Set(all.flatMap(({ a, b }) => [a.device, b.device]))];
  const networks = all.flatMap(({ ethernet, stream }) => ethernet?.network ?? stream?.network ?? []);
  return stampOfSaid({
    cable: cableOf(link),
    rig: { sampleRateHz: plan.sampleRateHz },
    links: picked(meaning.links, ids),
    spares: picked(
      meaning.spares,
      groups.map(({ id }) => id),
    ),
    devices: picked(meaning.devices, devices),
    networks: picked(meaning.networks, networks),
  });
}

function picked(all: Readonly<Record<string, Fields>>, ids: readonly string[]): Said {
  return Object.fromEntries(ids.map((id) => [id, all[id] ?? null])) as Said;
}
