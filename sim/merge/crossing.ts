/** The cables that join two plans as entries of the joined file, and what crosses over them as feeds of their own. */
import { linkType } from "../../shared/link-types.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf, linkOf } from "../by-id.ts";
import { waysOf } from "../converted.ts";
import type { Company } from "./company.ts";
import type { Companies } from "./conflict.ts";
import type { Join } from "./join.ts";
import { LABEL_LETTERS, unused } from "./names.ts";
import type { Draft, Entry } from "./union.ts";

/** Channels over a joining cable where no plan says how many: a stereo mix, *assumed*. */
const CROSSING_CHANNELS = 2;

export interface JoinPlaced {
  readonly join: Join;
  /** Of its link in the joined file. */
  readonly id: string;
}

/**
 * @param typed in the order in which the ends of joins are; @param order by what the plans say
 * @param named the id in the joined file of a device of a company
 */
export function placeJoins(
  draft: Draft,
  joins: readonly Join[],
  { typed, order, named }: { typed: Companies; order: Companies; named: (company: Company, device: string) => string },
  network: string | null,
): readonly JoinPlaced[] {
  const taken = new Set(draft.rig.links.map(({ id }) => String(id)));
  return joins.map((join, index) => {
    const id = unused(`join-${index + 1}`, taken);
    taken.add(id);
    const ports = join.ends.map(({ device, port }, side) => `${named(typed[side] as Company, device)}.${port}`);
    const inOrder = order[0] === typed[0] ? ports : [...ports].reverse();
    draft.rig.links.push(linkEntry(id, join, { ports, inOrder }, network));
    return { join, id };
  });
}

function linkEntry(
  id: string,
  { type, ways }: Join,
  { ports, inOrder }: { readonly ports: readonly string[]; readonly inOrder: readonly string[] },
  network: string | null,
): Entry {
  if (linkType(type).twoWay) return { id, type, ends: inOrder, ...(type === "ethernet" ? { network } : {}) };
  if (ways === "both") return { id, type, from: inOrder[0], to: inOrder[1], return: true };
  const [from, to] = ways === "there" ? ports : [...ports].reverse();
  return { id, type, from, to };
}

export interface Crossing {
  readonly feed: Entry;
  /** Whose listeners hear it, and by what ears, wherever it goes on to. */
  readonly hears: string;
  readonly ears: readonly string[];
}

/**
 * For each way of each joining cable that carries audio: what goes from the device at its one end to the device at its
 * other. How it goes on from there, mixed with the rest, the company's own feeds say; it is heard there by those who hear
 * what ends there.
 */
export function crossingFeeds(
  plan: Plan,
  joins: readonly JoinPlaced[],
  companyOf: (device: string) => Company,
  taken: ReadonlySet<string>,
): readonly Crossing[] {
  const ids = new Set(taken);
  return joins.flatMap(({ id }) => {
    const link = linkOf(plan, id);
    if (link.channels === 0) return [];
    return waysOf(link).map(({ from, to }): Crossing => {
      const sender = companyOf(from.device);
      const feed = unused(`over-${id}-from-${sender.name}`, ids);
      ids.add(feed);
      const passing = plan.feeds.filter(({ through }) => through.includes(to.device));
      const earsOf = (feeds: Plan["feeds"]) => [...new Set(feeds.flatMap(({ heardBy }) => heardBy))].sort();
      return {
        hears: companyOf(to.device).name,
        ears: earsOf(passing),
        feed: {
          id: feed,
          name: `${deviceOf(plan, from.device).name} to ${deviceOf(plan, to.device).name}`.slice(0, LABEL_LETTERS),
          through: [from.device, to.device],
          channels: CROSSING_CHANNELS,
          over: [id],
          heardBy: earsOf(passing.filter(({ through }) => through.at(-1) === to.device)),
        },
      };
    });
  });
}
