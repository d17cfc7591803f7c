/** Phase and frequency of a whole flow, timebase and wander included: what an observer with a perfect clock would read. */
import type { Flow } from "./flow.ts";
import { phaseAgainstTimebase, rateAgainstTimebase } from "./flow.ts";
import type { Ns } from "./time.ts";
import type { Timebase } from "./timebase.ts";
import { slopeAt, wanderAt } from "./wander.ts";

/** Seconds ahead of true time. */
export function clockPhaseAt(timebases: readonly Timebase[], flow: Flow, at: Ns): number {
  const timebase = timebases[flow.timebase] as Timebase;
  return timebase.phaseSecondsAt(at) + phaseAgainstTimebase(flow, at) + wanderAt(flow.wander, at);
}

/** Fractional frequency against true time. */
export function clockRateAt(timebases: readonly Timebase[], flow: Flow, at: Ns): number {
  const timebase = timebases[flow.timebase] as Timebase;
  return timebase.rateAt(at) + rateAgainstTimebase(flow, at) + slopeAt(flow.wander, at);
}
