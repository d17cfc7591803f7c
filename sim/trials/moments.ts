/**
 * When to try a fault: the standings of a show as planned. Between two changes that last, it makes no difference when
 * a cable goes, but for the fraction of a sample at which it does; so one instant stands for all of them.
 */
import type { EventPlan, Plan } from "../../shared/plan.ts";
import type { RunRecord } from "../../shared/record.ts";
import { type Ns, nsFromSeconds, secondsBetween, ZERO } from "../../shared/time.ts";
import { looksOf, valueAt } from "../timeline.ts";

/** An instant to try faults at, and how long all stands as it does then. */
export interface Standing {
  readonly atNs: Ns;
  readonly fromNs: Ns;
  readonly toNs: Ns;
}

/** A standing that is over before anybody would have repaired anything is a passage, *assumed*. */
const LASTS_SECONDS = 60;

/** Faults in a scenario, in contrast to what a show plans: arrivals, settings, weather. */
const FAULTS: ReadonlySet<EventPlan["do"]> = new Set([
  "unplug",
  "plug",
  "lose-contact",
  "make-contact",
  "cut",
  "mend",
  "reboot",
  "power-cut",
  "battery-empty",
  "power-back",
  "hang",
  "unhang",
  "stop-sync",
  "start-sync",
  "stick",
  "unstick",
  "choose-source",
]);

/**
 * The show without the faults that its file rehearses, and how many events went with them. What comes and goes by plan
 * stays: devices that are off and cables that are out as the show begins.
 */
export function asPlanned(plan: Plan): { readonly plan: Plan; readonly leftOut: number } {
  const off = new Set(plan.devices.filter(({ atStart }) => atStart === "off").map(({ id }) => id));
  const out = new Set(plan.links.filter(({ atStart }) => atStart === "unplugged").map(({ id }) => id));
  const isPlanned = (event: EventPlan): boolean => {
    if (!FAULTS.has(event.do)) return true;
    if (event.do === "unplug" || event.do === "plug") return out.has(event.link);
    if (event.do === "power-cut" || event.do === "power-back") return event.device !== null && off.has(event.device);
    return false;
  };
  const kept = plan.events.flatMap((event, was) => (isPlanned(event) ? [{ event, was }] : []));
  const now = new Map(kept.map(({ was }, index) => [was, index]));
  const events = kept.map(({ event }) =>
    event.undoes === null ? event : { ...event, undoes: now.get(event.undoes) ?? null },
  );
  // A cable that comes and goes is one event of the file, however often it does.
  const gone = plan.events.filter((event) => event.undoes === null && !isPlanned(event));
  const leftOut = new Set(gone.map(({ written }, place) => written ?? `added ${place}`)).size;
  return { plan: { ...plan, events }, leftOut };
}

/** Of a run of the show as planned: each in which who follows whom, and what is plugged in, is another. By instant. */
export function standingsOf(plan: Plan, record: RunRecord): Standing[] {
  const looks = looksOf(record);
  const lines = [...looks.devices.values(), ...looks.links.values()];
  const instants = new Set<number>([ZERO, record.endNs, ...plan.events.map(({ atNs }) => atNs)]);
  for (const { changes } of lines) for (const { atNs } of changes) instants.add(atNs);
  const sorted = [...instants].filter((at) => at <= record.endNs).sort((a, b) => a - b) as Ns[];
  const longest = new Map<string, Standing>();
  for (const [index, fromNs] of sorted.entries()) {
    const toNs = sorted[index + 1];
    if (toNs === undefined || secondsBetween(fromNs, toNs) < LASTS_SECONDS) continue;
    const key = JSON.stringify([
      ...[...looks.devices].map(([id, line]) => [id, valueAt(line, fromNs)?.state, valueAt(line, fromNs)?.source]),
      ...[...looks.links].map(([id, line]) => [id, valueAt(line, fromNs)?.state, valueAt(line, fromNs)?.clock]),
    ]);
    const known = longest.get(key);
    if (known === undefined || toNs - fromNs > known.toNs - known.fromNs)
      longest.set(key, { fromNs, toNs, atNs: middle(fromNs, toNs) });
  }
  const found = [...longest.values()].sort((one, other) => one.fromNs - other.fromNs);
  if (found.length > 0) return found;
  return [{ fromNs: ZERO, toNs: record.endNs, atNs: middle(ZERO, record.endNs) }];
}

/** Where only one is wanted: the longest. */
export function mainStanding(standings: readonly Standing[]): Standing {
  return standings.reduce((best, each) => (each.toNs - each.fromNs > best.toNs - best.fromNs ? each : best));
}

/** In whole seconds where there are any, as people would say it. */
function middle(fromNs: Ns, toNs: Ns): Ns {
  const half = (fromNs + toNs) / 2;
  const second = nsFromSeconds(Math.round(half / 1e9));
  return second > fromNs && second < toNs ? second : (Math.floor(half) as Ns);
}
