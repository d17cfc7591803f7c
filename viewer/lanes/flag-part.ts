/** What a flag stands for in the file: where a written event begins, or where one that lasts is over. */
import type { Plan } from "../../shared/plan.ts";

export interface FlagPart {
  /** Place in the file's `events`. */
  readonly written: number;
  /** Index in `Plan.events` of what ends here; null: the flag is a beginning. */
  readonly ends: number | null;
}

/** Null: it is written nowhere by itself, as a battery that runs down is not, or stood on the command line. */
export function flagPart({ events }: Pick<Plan, "events">, index: number): FlagPart | null {
  const event = events[index];
  const written = event?.written ?? null;
  if (event === undefined || written === null || event.do === "battery-empty") return null;
  // Of a cable that comes and goes the file says the first turn alone.
  if ("intermittent" in event && (event.do === "make-contact" || event.intermittent.turn > 1)) return null;
  return { written, ends: event.undoes };
}

/** The event in the plan that this part of the file has become; -1: none. */
export function indexOfPart(plan: Pick<Plan, "events">, written: number, isEnd: boolean): number {
  return plan.events.findIndex((event, index) => {
    const part = event.written === written ? flagPart(plan, index) : null;
    return part !== null && (part.ends !== null) === isEnd;
  });
}
