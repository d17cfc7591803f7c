/** The show of the bench, as read from its file, with its faults and without. */
import { readFileSync } from "node:fs";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";

/** From the folder of package.json, where npm runs its scripts. */
export const SHOW_FILE = "tests/bench/show.json";

export function readShow(): { readonly withFaults: Plan; readonly withoutFaults: Plan } {
  const { plan, issues } = readScenario({ file: SHOW_FILE, bytes: readFileSync(SHOW_FILE) }, () => ({
    problem: "the show of the bench is one file",
  }));
  if (plan === null) throw new Error(issues.map((issue) => JSON.stringify(issue)).join("\n"));
  return { withFaults: plan, withoutFaults: { ...plan, events: [] } };
}
