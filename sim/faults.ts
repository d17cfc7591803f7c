/** The faults of a scenario as stretches of show time: from the event to its repair. */
import { isAbout } from "../shared/lines.ts";
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
  if (event.undoes !== null) return null;
  const nextAfter = (isRepair: (each: EventPlan, at: number) => boolean): Ns =>
    plan.events.slice(index + 1).find((each, after) => isRepair(each, index + 1 + after))?.atNs ?? NEVER;
  const undone = nextAfter((each) => each.undoes === index);
  switch (event.do) {
    case "lose-contact":
      return endOf(plan, event);
    // Whatever starts anew sends sync again, and follows.
    case "stop-sync":
    case "stick": {
      const repair = event.do === "stick" ? "unstick" : "start-sync";
      const told = nextAfter((each) => each.do === repair && each.device === event.device);
      const states = looks.devices.get(event.device)?.changes ?? [];
      const down = states.find(({ atNs, value }) => atNs >= event.atNs && ["off", "starting"].includes(value.state));
      return down !== undefined && down.atNs < told ? down.atNs : told;
    }
    default:
  }
  if (undone !== NEVER) return undone;
  switch (event.do) {
    case "unplug":
      return nextAfter(
        (each) => each.do === "plug" && plan.links.some((link) => isAbout(event, link) && isAbout(each, link)),
      );
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
 * When the last turn of a cable that comes and goes is over: a contact that has held for a while is not repaired.
 * NEVER where the run ends without contact.
 */
function endOf(
  plan: Plan,
  { link, way, intermittent }: Extract<EventPlan, { do: "lose-contact" | "make-contact" }>,
): Ns {
  const last = plan.events.findLastIndex(
    (each) =>
      each.do === "lose-contact" &&
      each.link === link &&
      each.way === way &&
      each.intermittent.turns === intermittent.turns &&
      each.intermittent.turn === intermittent.turns,
  );
  return plan.events.find((each) => each.undoes === last)?.atNs ?? NEVER;
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
