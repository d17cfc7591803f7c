/** The show of the bench, as read from its file, with its faults and without. */
import { readFileSync } from "node:fs";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";

/** From the folder of package.json, where npm runs its scripts. */
export const SHOW_FILE = "tests/bench/show.json";

interface Show {
  readonly withFaults: Plan;
  readonly withoutFaults: Plan;
  /** With its faults, and with the noise of its type in every oscillator. */
  readonly withWander: Plan;
}

export function readShow(): Show {
  const bytes = readFileSync(SHOW_FILE);
  const file = JSON.parse(bytes.toString());
  const noisy = Buffer.from(JSON.stringify({ ...file, run: { ...file.run, wander: true } }));
  const withFaults = planOf(bytes);
  return { withFaults, withoutFaults: { ...withFaults, events: [] }, withWander: planOf(noisy) };
}

function planOf(bytes: Uint8Array): Plan {
  const { plan, issues } = readScenario({ file: SHOW_FILE, bytes }, () => ({
    problem: "the show of the bench is one file",
  }));
  if (plan === null) throw new Error(issues.map((issue) => JSON.stringify(issue)).join("\n"));
  return plan;
}
