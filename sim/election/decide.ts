/**
 * What becomes of a port: the state decision of IEEE 1588 figure 33 (26 in the edition of 2008), as read in the public
 * code of linuxptp (`bmc.c`) and statime (`bmca.rs`).
 *
 * | own clock                | against                    | the port                                               |
 * | never follows            | best heard on this port    | better or the same, or nothing heard: M1, else P1      |
 * | may follow               | best heard on any port     | better or the same, or nothing heard: M2               |
 * | may follow, and is worse |                            | best came in here: S1                                  |
 * |                          | best heard on this port    | best is better by topology alone: P2, else M3          |
 *
 * A port that listens and has heard nobody goes on listening, and a device that never leads asks nobody: it follows the
 * best that it hears, whatever its own priority, and listens where that did not come in. Both are left to the caller.
 * (A daemon there compares such a device as well, and warns of a priority that keeps it from following.)
 */
import type { Candidate, Verdict } from "./compare.ts";
import { compare } from "./compare.ts";

/** M1, M2: leads with its own clock. M3: leads, passing on what comes in elsewhere. P1, P2: passive. S1: follows. */
export type Decision = "M1" | "M2" | "M3" | "P1" | "P2" | "S1";

/**
 * `own`: what the device says of itself. `best`: the best that any of its ports has heard, `heard` the best of this
 * port; the same object if it came in here.
 */
export function decide(
  own: Candidate,
  neverFollows: boolean,
  best: Candidate | null,
  heard: Candidate | null,
): Decision {
  if (neverFollows) return heard === null || isNoWorse(compare(own, heard)) ? "M1" : "P1";
  if (best === null || isNoWorse(compare(own, best))) return "M2";
  if (best === heard) return "S1";
  return heard !== null && compare(best, heard) === "better-by-topology" ? "P2" : "M3";
}

function isNoWorse(verdict: Verdict): boolean {
  return verdict !== "worse" && verdict !== "worse-by-topology";
}
