/**
 * Everything that a run of a scenario says, as one text, to be compared byte for byte between engines. Free of Node, so
 * that a browser can say it too.
 */
import { clockPhaseAt } from "../../shared/clock-phase.ts";
import type { Flow } from "../../shared/flow.ts";
import { formatIssues } from "../../shared/issues.ts";
import { packRecord } from "../../shared/packed-record.ts";
import { readScenario } from "../../shared/scenario.ts";
import type { Ns } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";

export interface RunBytes {
  readonly text: string;
  /** Of the flows that were told, those with wander, and how many instants were read off clocks. */
  readonly wandering: number;
  readonly looks: number;
}

/** Instants at which every clock is read, over the show. */
const LOOKS = 40;

/**
 * Reads a scenario, lets every oscillator wander, plays it, and writes down the record, the summary, and the phases of
 * all clocks. Throws if it cannot be read.
 *
 * @param texts of all files, by name.
 */
export function bytesOfRun(name: string, texts: Readonly<Record<string, string>>): RunBytes {
  const scenario = JSON.parse(texts[name] as string) as { run: object };
  const bytes = new TextEncoder().encode(JSON.stringify({ ...scenario, run: { ...scenario.run, wander: true } }));
  const { plan, issues } = readScenario({ file: name, bytes }, (other) => ({
    bytes: new TextEncoder().encode(texts[other.replace(/^\.\//, "")]),
  }));
  if (plan === null) throw new Error(formatIssues(issues).join("\n"));
  const { record, summary } = rehearse(plan);
  const { timebases } = buildRig(plan);
  const phases: (readonly [string, Ns, number])[] = [];
  let wandering = 0;
  const now = new Map<string, Flow>();
  let row = 0;
  for (let look = 1; look <= LOOKS; look++) {
    // Off the knots of any grid, by a prime.
    const at = Math.floor((plan.lengthNs / LOOKS) * look - 7919) as Ns;
    for (; row < record.rows.length && (record.rows[row]?.atNs ?? 0) <= at; row++) {
      const { fact, subject } = record.rows[row] as (typeof record.rows)[number];
      if (fact.kind !== "flow") continue;
      if (fact.flow === null) now.delete(subject);
      else now.set(subject, fact.flow);
      if (fact.flow?.wander) wandering += 1;
    }
    for (const [subject, flow] of now) phases.push([subject, at, clockPhaseAt(timebases, flow, at)]);
  }
  return { text: JSON.stringify([packRecord(record), summary, phases]), wandering, looks: phases.length };
}
