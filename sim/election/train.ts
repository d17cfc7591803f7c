/** Announcements as they go over a network: not message by message, but as a train that runs until it is changed. */
import type { Ns } from "../../shared/time.ts";
import { NEVER } from "../../shared/time.ts";

/** What an announcement says of the leader and of the way to it: the data sets that IEEE 1588 compares. */
export interface DataSet {
  readonly priority1: number;
  readonly clockClass: number;
  readonly clockAccuracy: number;
  readonly offsetScaledLogVariance: number;
  readonly priority2: number;
  /** Identity of the leader: sixteen hexadecimal digits. */
  readonly leader: string;
  /** Boundary devices between the leader and the sender. */
  readonly stepsRemoved: number;
  /** Identity and port of the sender. */
  readonly sender: PortIdentity;
}

export interface PortIdentity {
  readonly clock: string;
  readonly port: number;
}

/** Announcements at `firstNs`, and every `announceNs` after it, until another frame of the same key. */
export interface Train {
  readonly data: DataSet;
  /** Identities of the devices it came through, the leader and the sender among them; empty if the profile has no trace. */
  readonly path: readonly string[];
  /** Device ids, for those who read: of the leader, and of the sender. */
  readonly leaderDevice: string;
  readonly senderDevice: string;
  readonly announceNs: Ns;
  readonly firstNs: Ns;
  readonly syncNs: Ns;
}

export function isSameData(a: DataSet, b: DataSet): boolean {
  return (
    a === b ||
    (a.leader === b.leader &&
      a.stepsRemoved === b.stepsRemoved &&
      a.sender.clock === b.sender.clock &&
      a.sender.port === b.sender.port &&
      a.priority1 === b.priority1 &&
      a.clockClass === b.clockClass &&
      a.clockAccuracy === b.clockAccuracy &&
      a.offsetScaledLogVariance === b.offsetScaledLogVariance &&
      a.priority2 === b.priority2)
  );
}

/** Last instant of a grid at or before `at`; the grid has no beginning. */
export function gridAtOrBefore(onGridNs: Ns, intervalNs: Ns, at: Ns): Ns {
  return (at - modulo(at - onGridNs, intervalNs)) as Ns;
}

/** First instant of a grid at or after `at`. */
export function gridAtOrAfter(onGridNs: Ns, intervalNs: Ns, at: Ns): Ns {
  const next = at + modulo(onGridNs - at, intervalNs);
  return (next < NEVER ? next : NEVER) as Ns;
}

/** The remainder that is never negative. */
function modulo(a: number, by: number): number {
  const rest = a % by;
  return rest < 0 ? rest + by : rest + 0; // never −0, which is not the 0 of a copied state
}
