/** Reads a run of nodes: their announcements' instants, their rows, what their devices heard. */
import type { PtpProfileName } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { announcementBeforeStart, electionNumbers } from "../../sim/election/numbers.ts";
import { gridAtOrAfter, gridAtOrBefore } from "../../sim/election/train.ts";
import type { HandNode, HandRun } from "./hand-network.ts";

/** On one segment, from best to worst. */
export const three: readonly HandNode[] = [
  { id: "foh", on: ["x"], ptp: { priority1: 100 } },
  { id: "mon", on: ["x"], ptp: { priority1: 110 } },
  { id: "pa", on: ["x"] },
];

/** From when a device begins to lead until it first announces. */
export const BEGINS_AFTER_SECONDS = 0.001;

/** The announcements of a device that has led since before the show. */
export function announcing(device: string, profile: PtpProfileName = "default", seed = "1") {
  return instantsOn(
    announcementBeforeStart({ seed, device, network: "a" }, electionNumbers(profile).announceNs),
    profile,
  );
}

/** The announcements of a device that began to lead at an instant of the show, and leads on. */
export function announcingSince(leadsAt: number, profile: PtpProfileName = "default") {
  return instantsOn(nsFromSeconds(leadsAt + BEGINS_AFTER_SECONDS), profile);
}

/** The last at or before an instant, and the first at or after it, and the last sync; seconds. */
function instantsOn(onGrid: Ns, profile: PtpProfileName) {
  const { announceNs, syncNs } = electionNumbers(profile);
  return {
    before: (at: number) => gridAtOrBefore(onGrid, announceNs, nsFromSeconds(at)) / 1e9,
    lastSync: (at: number) => gridAtOrBefore(onGrid, syncNs, nsFromSeconds(at)) / 1e9,
    after: (at: number) => gridAtOrAfter(onGrid, announceNs, nsFromSeconds(at)) / 1e9,
  };
}

export interface Line {
  readonly at: number;
  readonly role: string;
  readonly leader: string | null;
  readonly parent: string | null;
  readonly steps: number;
  readonly reason: string;
  readonly cause: number;
}

/** Rows of one node after the start. */
export function linesOf({ rows }: HandRun, device: string, port: number | null = null): Line[] {
  return rows.flatMap(({ atNs, subject, fact, cause }) => {
    if (fact.kind !== "election" || subject !== `node ${device} a` || fact.port !== port || atNs === 0) return [];
    const { role, leader, parent, steps, reason } = fact;
    return [{ at: atNs / 1e9, role, leader, parent, steps, reason, cause }];
  });
}

/** Up and by whose clock, or why not; in seconds. */
export function heardBy({ heard }: HandRun, device: string): (readonly [at: number, what: string])[] {
  return (heard.get(device) ?? []).map(({ atNs, arrival: { up, signal, reason } }) => {
    const what = signal?.seen.through[0] ?? (up ? "nothing yet" : (reason ?? ""));
    return [atNs / 1e9, what] as const;
  });
}
