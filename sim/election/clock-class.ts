/** What a device says of its clock in an election, by its state: IEEE 1588 table 5 (7.6.2.4). */

import type { PtpPlan } from "../../shared/plan.ts";
import { CLASS_FOLLOWER_ONLY } from "../../shared/ptp-profiles.ts";
import type { DeviceState } from "../../shared/record.ts";
import { INTERNAL } from "../choice.ts";

/** A class that a device holds only while it is on its reference; then in holdover; then when that is over. */
const DEGRADES: Readonly<Record<number, { readonly holding: number; readonly after: number }>> = {
  6: { holding: 7, after: 187 },
  13: { holding: 14, after: 193 },
};

/**
 * Class 6 (13 where the time is of its own making) while the device is locked to a reference from outside the election,
 * or on its own clock by choice: then it is the reference. 7 (14) in holdover. 187 (193) in every other state: holdover
 * is over, or it has not got so far. Of the two degradations that the table offers it is B, which may follow: a device
 * that never followed again would keep others on a clock that nobody vouches for. "Within specification" is read as:
 * for as long as it is in holdover. What it takes from the election itself (`isFromElection`; in holdover: took, before
 * it lost it) does not raise its class, or it would leave the leader that it has just locked to. Every other class
 * stays; one that never leads says 255.
 */
export function clockClassOf(ptp: PtpPlan, state: DeviceState, source: string | null, isFromElection: boolean): number {
  if (ptp.followerOnly) return CLASS_FOLLOWER_ONLY;
  const degraded = DEGRADES[ptp.clockClass];
  if (degraded === undefined) return ptp.clockClass;
  if (state === "holdover") return isFromElection ? degraded.after : degraded.holding;
  const isOnReference = (state === "locked" && !isFromElection) || (state === "free-run" && source === INTERNAL);
  return isOnReference ? ptp.clockClass : degraded.after;
}
