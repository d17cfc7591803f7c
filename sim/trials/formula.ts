/**
 * What the formulas of availability say of a feed, which know of parts that are there or not, and of no clock: a cable
 * with its spares in parallel, and all that a feed goes through in series. Beside what shows come to, it says what the
 * clocks add.
 */
import type { Plan } from "../../shared/plan.ts";
import { availability, inParallel, inSeries } from "../chance/availability.ts";
import { courseSeconds, type Fault, type FaultKind, faultsIn, REPAIR_SECONDS } from "./list.ts";
import { middleOf, type Rates, rateOf } from "./rates.ts";

/** Faults that take away all of what they happen to. */
const TAKES_ALL: ReadonlySet<FaultKind> = new Set(["cable-out", "power-out", "reboot", "engine-reboot", "hang"]);

/** Expected silence of each feed in one show, s, each rate and repair in the middle of what it may be. */
export function silenceByFormula(plan: Plan, { rates, repairs }: Rates): ReadonlyMap<string, number> {
  const middles = Object.fromEntries(
    Object.entries(repairs).map(([what, range]) => [what, range === undefined ? 0 : middleOf(range)]),
  );
  const faults = faultsIn(plan, { ...REPAIR_SECONDS, ...middles }).filter(({ kind }) => TAKES_ALL.has(kind));
  const up = (is: (fault: Fault) => boolean, alsoSeconds: number): number =>
    inSeries(
      faults.filter(is).flatMap((fault) => {
        const rate = rateOf(fault, rates);
        if (rate === null) return [];
        return [availability(middleOf(rate.mtbfHours) * 3600, courseSeconds(fault) + alsoSeconds)];
      }),
    );
  const ofDevice = (id: string) => up(({ devices }) => devices.includes(id), bootOf(plan, id));
  const ofLink = (id: string) => up(({ kind, on }) => kind === "cable-out" && on === id, 0);
  const seconds = plan.lengthNs / 1e9;
  return new Map(
    plan.feeds.map((feed) => {
      const devices = feed.through.map(ofDevice);
      const hops = feed.hops.map(({ over }) => inParallel(over.map(({ link }) => ofLink(link))));
      return [feed.id, (1 - inSeries([...devices, ...hops])) * seconds];
    }),
  );
}

/** After each of these a device boots. */
function bootOf({ devices }: Plan, id: string): number {
  return devices.find((device) => device.id === id)?.bootSeconds ?? 0;
}
