/** One fault written into the file, alone: what stands in the lanes then is what the trial of the plan's own draw played. */
import type { Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";
import type { Fault } from "../../sim/trials/list.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { writtenFault } from "../../sim/trials/written.ts";
import { addEvent, removeEvent, setRunLength } from "../room/edits.ts";

/** @param plan what the text says, its own faults among its events: these go */
export function withFaultAlone(text: string, plan: Plan, fault: Fault, atNs: Ns, watchSeconds: number): string {
  const kept = new Set(asPlanned(plan).plan.events.map(({ written }) => written));
  const gone = [...new Set(plan.events.map(({ written }) => written ?? null))].flatMap((written) =>
    written === null || kept.has(written) ? [] : [written],
  );
  const planned = gone.sort((one, other) => other - one).reduce((made, index) => removeEvent(made, index), text);
  const endNs = later(atNs, nsFromSeconds(watchSeconds));
  // Whole seconds, as people write them.
  const needed = formatShowTime((Math.ceil(endNs / 1e9) * 1e9) as Ns);
  const long = endNs > plan.lengthNs ? setRunLength(planned, needed) : planned;
  return writtenFault(plan, fault, atNs).reduce((made, event) => addEvent(made, event), long);
}

/** What a fault in the file changes beside events that are faults: what is said of numbers, how long the show is, places. */
const BESIDE = new Set(["written", "lengthNs", "expect", "assumed", "measured", "assumptions", "origins"]);
const texts = new WeakMap<Plan, string>();

/** Whether what was tried of one holds for the other: the same rig, the same show as planned. */
export function isSamePlan(one: Plan, other: Plan): boolean {
  return textOf(one) === textOf(other);
}

function textOf(plan: Plan): string {
  const known = texts.get(plan);
  if (known !== undefined) return known;
  const planned = asPlanned(plan).plan;
  // The page has feeds in an order of its own.
  const feeds = planned.feeds.toSorted((one, other) => (one.id < other.id ? -1 : 1));
  const text = JSON.stringify({ ...planned, feeds }, (key, value) => (BESIDE.has(key) ? undefined : value));
  texts.set(plan, text);
  return text;
}
