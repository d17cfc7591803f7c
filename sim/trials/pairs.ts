/**
 * Two faults at once, where the second may make the first worse: all pairs but those whose faults reach no device in
 * common, which together are what each of them is.
 */
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import { linkById } from "../by-id.ts";
import type { Fault } from "./list.ts";
import type { CaseToll, FeedToll } from "./rank.ts";
import { type Sweep, Trier } from "./trial.ts";

export interface Pairs {
  readonly cases: readonly (readonly [Fault, Fault])[];
  /** Pairs that reach nothing in common. */
  readonly leftOut: number;
}

/** Of the single faults of a sweep, as its first draw and moment have them. The one that is named first begins. */
export function pairsOf(sweep: Sweep): Pairs {
  const trier = new Trier(sweep);
  const singles = sweep.cases.flatMap((faults, place) =>
    faults.length === 1 ? [{ fault: faults[0] as Fault, place }] : [],
  );
  const reaches = singles.map(({ fault, place }) => reachOf(sweep.plan, fault, trier.newRows(place)));
  const cases: (readonly [Fault, Fault])[] = [];
  let leftOut = 0;
  for (const [one, first] of singles.entries())
    for (const [other, second] of singles.entries()) {
      if (other <= one || first.fault.on === second.fault.on) continue;
      if (sharesAny(reaches[one] as ReadonlySet<string>, reaches[other] as ReadonlySet<string>))
        cases.push([first.fault, second.fault]);
      else leftOut += 1;
    }
  return { cases, leftOut };
}

/** Devices that a fault happens to, whose clocks it changes, or at whose ports: by the rows that it makes. */
function reachOf(plan: Plan, { devices, links }: Fault, rows: readonly Row[]): ReadonlySet<string> {
  const reached = new Set(devices);
  const reachLink = (id: string) => {
    const link = linkById(plan, id);
    if (link === undefined) return;
    reached.add(link.a.device);
    reached.add(link.b.device);
  };
  for (const id of links) reachLink(id);
  for (const { subject } of rows) {
    const [kind = "", name = ""] = subject.split(" ");
    if (kind === "link") reachLink(name);
    else if (kind === "device" || kind === "node" || kind === "bridge") reached.add(name);
    else if (kind === "port") reached.add(name.slice(0, name.lastIndexOf(".")));
    // What bridges make of a network is about everybody on it.
    else if (kind === "bridging") for (const { id, ptp } of plan.devices) if (ptp !== undefined) reached.add(id);
  }
  return reached;
}

function sharesAny(one: ReadonlySet<string>, other: ReadonlySet<string>): boolean {
  for (const each of one) if (other.has(each)) return true;
  return false;
}

/** More silence than both, s, or more clicks and dropouts: below that nobody could say that it is more. */
const MORE_SECONDS = 1;
const MORE_TIMES = 3;

/** Pairs that are worse than their two faults one after the other; `singles` by the name of the fault. */
export function worseTogether(pairs: readonly CaseToll[], singles: ReadonlyMap<string, CaseToll>): CaseToll[] {
  return pairs.filter(({ faults, feeds }) =>
    feeds.some((feed) => {
      const alone = faults.map(({ id }) => singles.get(id)?.feeds.find((each) => each.feed === feed.feed));
      const sum = (of: (toll: FeedToll) => number) =>
        alone.reduce((total, toll) => total + (toll === undefined ? 0 : of(toll)), 0);
      return (
        feed.silentSeconds > sum(({ silentSeconds }) => silentSeconds) + MORE_SECONDS ||
        feed.clicks + feed.dropouts > sum(({ clicks, dropouts }) => clicks + dropouts) + MORE_TIMES ||
        (feed.normalAfterSeconds === null && alone.every((toll) => toll?.normalAfterSeconds !== null))
      );
    }),
  );
}
