/** The rules of an election once more, written otherwise: as keys to sort by and a table to look up. */
import type { Candidate, Verdict } from "../../sim/election/compare.ts";
import type { Decision } from "../../sim/election/decide.ts";
import type { DataSet, PortIdentity } from "../../sim/election/train.ts";

const hex = (value: number, digits: number): string => value.toString(16).padStart(digits, "0");
const named = ({ clock, port }: PortIdentity): string => `${clock}/${hex(port, 4)}`;

/** Two leaders stand to each other as these texts do. */
function rankOf(data: DataSet): string {
  const { priority1, clockClass, clockAccuracy, offsetScaledLogVariance, priority2, leader } = data;
  return (
    hex(priority1, 2) +
    hex(clockClass, 2) +
    hex(clockAccuracy, 2) +
    hex(offsetScaledLogVariance, 4) +
    hex(priority2, 2)
  ).concat(leader);
}

const sign = (a: string, b: string): "<" | "=" | ">" => (a < b ? "<" : a > b ? ">" : "=");

/**
 * IEEE 1588 figure 35 as a table: a's steps less b's, then how two names stand to each other: the receiver to the sender
 * of the longer way, or a's sender to b's, or the ports that heard them.
 */
const SAME_LEADER: Readonly<Record<string, Verdict>> = {
  "-2": "better",
  "-1 <": "better",
  "-1 =": "error-1",
  "-1 >": "better-by-topology",
  "0 <": "better-by-topology",
  "0 >": "worse-by-topology",
  "0 = <": "better-by-topology",
  "0 = =": "error-2",
  "0 = >": "worse-by-topology",
  "1 <": "worse",
  "1 =": "error-1",
  "1 >": "worse-by-topology",
  "2": "worse",
};

export function referenceCompare(a: Candidate, b: Candidate): Verdict {
  if (a.data.leader !== b.data.leader) return rankOf(a.data) < rankOf(b.data) ? "better" : "worse";
  const steps = Math.max(-2, Math.min(2, a.data.stepsRemoved - b.data.stepsRemoved));
  const longer = steps < 0 ? b : a;
  const words: (string | number)[] = [steps];
  if (Math.abs(steps) === 1) words.push(sign(named(longer.receiver), named(longer.data.sender)));
  if (steps === 0) {
    words.push(sign(named(a.data.sender), named(b.data.sender)));
    if (words[1] === "=") words.push(sign(hex(a.receiver.port, 4), hex(b.receiver.port, 4)));
  }
  return SAME_LEADER[words.join(" ")] as Verdict;
}

/**
 * The decision as a table: whether the device may follow; how its own clock stands to the best heard anywhere ("none":
 * nothing heard), or on this port if it never follows; where the best came in; how the best stands to this port's best.
 */
const DECISIONS: readonly (readonly [pattern: RegExp, decision: Decision])[] = [
  [/^never (none|better|better-by-topology|error-1|error-2)$/, "M1"],
  [/^never (worse|worse-by-topology)$/, "P1"],
  [/^may (none|better|better-by-topology|error-1|error-2) /, "M2"],
  [/^may (worse|worse-by-topology) here /, "S1"],
  [/^may (worse|worse-by-topology) elsewhere better-by-topology$/, "P2"],
  [/^may (worse|worse-by-topology) elsewhere (none|better|error-1|error-2|worse|worse-by-topology)$/, "M3"],
];

export function referenceDecide(
  own: Candidate,
  neverFollows: boolean,
  best: Candidate | null,
  heard: Candidate | null,
): Decision {
  const verdict = (a: Candidate | null, b: Candidate | null): string =>
    a === null || b === null ? "none" : referenceCompare(a, b);
  const words = neverFollows
    ? `never ${verdict(own, heard)}`
    : `may ${verdict(own, best)} ${best === heard ? "here" : "elsewhere"} ${verdict(best, heard)}`;
  const rows = DECISIONS.filter(([pattern]) => pattern.test(words));
  if (rows.length !== 1) throw new Error(`"${words}" is in ${rows.length} rows`);
  return (rows[0] as (typeof rows)[number])[1];
}
