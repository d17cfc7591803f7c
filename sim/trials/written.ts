/** A fault in the words of a scenario file: read back, its events are those that the trial played. */
import { cableOf } from "../../shared/lines.ts";
import type { EventDeed, Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";
import { linkById } from "../by-id.ts";
import type { Fault } from "./list.ts";

/** An event as a file writes it. */
export type WrittenEvent = Readonly<Record<string, unknown>> & { readonly at: string; readonly do: string };

/** @param atNs when it begins; a file has whole milliseconds */
export function writtenFault(plan: Plan, { course }: Fault, atNs: Ns): WrittenEvent[] {
  return course.flatMap(({ afterSeconds, deed, undoes }, place): WrittenEvent[] => {
    const undone =
      deed.do === "lose-contact" || isSetAnew(plan, deed) ? null : course.find((each) => each.undoes === place);
    const fields = undoes === undefined || isSetAnew(plan, deed) ? fieldsOf(plan, deed) : null;
    if (fields === null) return [];
    const at = formatShowTime(later(atNs, nsFromSeconds(afterSeconds)));
    return [{ at, ...fields, ...(undone && { forSeconds: undone.afterSeconds - afterSeconds }) }];
  });
}

/** Where a device has had other sources meanwhile, "back after" would be back to those: its list is written out. */
function isSetAnew({ devices, events }: Plan, deed: EventDeed): boolean {
  if (deed.do !== "set-clock-sources") return false;
  return (
    devices.some(({ id, afterReboot }) => id === deed.device && afterReboot !== undefined) ||
    events.some((event) => event.do === "set-clock-sources" && event.device === deed.device)
  );
}

/** Null: it follows from what else is written. */
function fieldsOf(plan: Plan, deed: EventDeed): (Readonly<Record<string, unknown>> & { readonly do: string }) | null {
  switch (deed.do) {
    case "unplug":
      return { do: deed.do, ...cableInFile(plan, deed.link, deed.end), ...(deed.way !== null && { way: deed.way }) };
    case "lose-contact": {
      const { turn, turns, everySeconds, outSeconds } = deed.intermittent;
      if (turn > 1) return null;
      return { do: "intermittent", ...cableInFile(plan, deed.link, deed.end), everySeconds, outSeconds, count: turns };
    }
    case "power-cut": {
      const { device, supply } = deed;
      return { do: deed.do, ...(supply === null ? { device } : { supply }) };
    }
    case "reboot": {
      const { device, part } = deed;
      return { do: deed.do, device, ...(part !== "all" && { part }) };
    }
    case "battery-empty":
      return null;
    default:
      return deed;
  }
}

/** As a file names a cable and an end of it: a tap of a T-ed line by the line; an end by "from" or "to", or its device. */
export function cableInFile(
  plan: Plan,
  link: string,
  end: "a" | "b" | null,
): { readonly link: string; readonly end?: string } {
  const found = linkById(plan, link);
  if (found === undefined) return { link, ...(end !== null && { end: end === "a" ? "from" : "to" }) };
  const name = cableOf(found);
  // A stream is subscribed to as a whole.
  if (end === null || found.stream !== undefined) return { link: name };
  if (found.twoWay || (found.line !== undefined && end === "b")) return { link: name, end: found[end].device };
  return { link: name, end: end === "a" ? "from" : "to" };
}
