/** The faults of a scenario as stretches of show time: from the event to its repair. */
import type { EventPlan, Plan } from "../shared/plan.ts";
import type { Ns } from "../shared/time.ts";
import { NEVER } from "../shared/time.ts";
import type { Looks } from "./timeline.ts";

export interface Fault {
  readonly fromNs: Ns;
  /** The undoing event, or the end of `starting` for a reboot; NEVER if it is not repaired. */
  readonly repairedNs: Ns;
}

export function faultsOf(plan: Plan, looks: Looks): Fault[] {
  const faults: Fault[] = [];
  for (const [index, event] of plan.events.entries()) {
    const repairedNs = repairOf(plan, looks, event, index);
    if (repairedNs !== null) faults.push({ fromNs: event.atNs, repairedNs });
  }
  return faults;
}

/** Null if the event is no fault: a repair, a setting that stays, weather. */
function repairOf(plan: Plan, looks: Looks, event: EventPlan, index: number): Ns | null {
  const undoing = plan.events.find((each) => each.undoes === index);
  if (undoing !== undefined) return undoing.atNs;
  if (event.undoes !== null) return null;
  const nextAfter = (isRepair: (each: EventPlan) => boolean): Ns =>
    plan.events.slice(index + 1).find(isRepair)?.atNs ?? NEVER;
  switch (event.do) {
    case "unplug":
      return nextAfter((each) => each.do === "plug" && each.link === event.link);
    case "cut":
      return nextAfter((each) => each.do === "mend" && each.path === event.path);
    case "power-cut":
      return nextAfter(
        (each) => each.do === "power-back" && each.device === event.device && each.supply === event.supply,
      );
    case "hang":
      return nextAfter((each) => (each.do === "reboot" || each.do === "unhang") && each.device === event.device);
    case "reboot": {
      if (event.part === "surface") return null;
      const states = looks.devices.get(event.device)?.changes ?? [];
      return states.find((change) => change.atNs > event.atNs && change.value.state !== "starting")?.atNs ?? NEVER;
    }
    default:
      return null;
  }
}

/**
 * True if trouble that begins now belongs to a return: something was repaired, nothing is broken any more, and nothing
 * was set otherwise or bent since. `choose-source` is how a crew sends devices back, so it is part of the return.
 */
export function isOnReturn(plan: Plan, faults: readonly Fault[], at: Ns): boolean {
  if (faults.some((fault) => fault.fromNs <= at && at < fault.repairedNs)) return false;
  const repaired = latest(
    faults.map((fault) => fault.repairedNs),
    at,
  );
  const changed = latest(
    plan.events.filter(isChange).map((event) => event.atNs),
    at,
  );
  return repaired >= 0 && repaired >= changed;
}

/** A setting or a bend that stays: what follows from it is no return. */
function isChange(event: EventPlan): boolean {
  return (
    event.undoes === null && ["set-clock-sources", "set-port-clock", "step-frequency", "temperature"].includes(event.do)
  );
}

function latest(instants: readonly Ns[], at: Ns): number {
  return instants.reduce<number>((best, each) => (each <= at && each > best ? each : best), -1);
}
