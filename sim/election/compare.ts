/**
 * Which of two announcements is better: IEEE 1588 figures 34 and 35 (27 and 28 in the edition of 2008), as read in the
 * public code of two daemons (linuxptp `bmc.c`, statime `dataset_comparison.rs`). Where the two differ, steps one
 * apart, this is linuxptp's reading: the shorter way is never the worse one. Identities of senders and receivers are
 * those of ports, as there.
 */
import type { DataSet, PortIdentity } from "./train.ts";

export type Verdict = "better" | "better-by-topology" | "error-1" | "error-2" | "worse-by-topology" | "worse";

/** An announcement as a port has it, or what a device says of itself: see {@link own}. */
export interface Candidate {
  readonly data: DataSet;
  /** Identity and port of who heard it. */
  readonly receiver: PortIdentity;
}

/** What decides between two leaders, in its order; the identity comes last. */
const FIELDS = ["priority1", "clockClass", "clockAccuracy", "offsetScaledLogVariance", "priority2", "leader"] as const;
export type DecidingField = (typeof FIELDS)[number];

/** The first field in which two leaders differ; null: they are the same leader. Lower is better in each. */
export function decidingField(a: DataSet, b: DataSet): DecidingField | null {
  if (a.leader === b.leader) return null;
  for (const field of FIELDS) if (a[field] !== b[field]) return field;
  return null;
}

/** Of two leaders, a is the worse one. */
export function isWorse(a: DataSet, b: DataSet): boolean {
  const field = decidingField(a, b);
  return field !== null && a[field] > b[field];
}

/** Below 0 if a comes first: by identity, then by port. */
export function comparePorts(a: PortIdentity, b: PortIdentity): number {
  if (a.clock !== b.clock) return a.clock < b.clock ? -1 : 1;
  return a.port - b.port;
}

/** What a is against b. */
export function compare(a: Candidate, b: Candidate): Verdict {
  const field = decidingField(a.data, b.data);
  if (field !== null) return a.data[field] < b.data[field] ? "better" : "worse";
  const steps = a.data.stepsRemoved - b.data.stepsRemoved;
  if (steps < -1) return "better";
  if (steps > 1) return "worse";
  if (steps === -1) return shorterAgainst(b);
  if (steps === 1) return flipped(shorterAgainst(a));
  const bySender = comparePorts(a.data.sender, b.data.sender);
  const order = bySender !== 0 ? bySender : a.receiver.port - b.receiver.port;
  if (order === 0) return "error-2";
  return order < 0 ? "better-by-topology" : "worse-by-topology";
}

/** What a way that is one step shorter is against this one. */
function shorterAgainst(longer: Candidate): Verdict {
  const order = comparePorts(longer.receiver, longer.data.sender);
  if (order === 0) return "error-1";
  return order < 0 ? "better" : "better-by-topology";
}

function flipped(verdict: Verdict): Verdict {
  switch (verdict) {
    case "better":
      return "worse";
    case "better-by-topology":
      return "worse-by-topology";
    default:
      return verdict;
  }
}

export function isBetter(verdict: Verdict): boolean {
  return verdict === "better" || verdict === "better-by-topology";
}

/** The best of some; of two that cannot be told apart the first. Null: there are none. */
export function bestOf<T extends Candidate>(candidates: readonly T[]): T | null {
  let best: T | null = null;
  for (const each of candidates) if (best === null || isBetter(compare(each, best))) best = each;
  return best;
}
