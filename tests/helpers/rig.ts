/** From a scenario as a test writes it to a plan. */
import { formatIssues } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import type { FileLoaded, ScenarioRead } from "../../shared/scenario.ts";
import { readScenario } from "../../shared/scenario.ts";

/** Files by the name that the scenario calls them; an object stands for its JSON. */
export type Files = Readonly<Record<string, string | object>>;

export const noFiles = (): FileLoaded => ({ problem: "there is no such file" });

/** Reads a scenario given as text or as an object, under the name `test.json`. */
export function read(scenario: string | object, files: Files = {}): ScenarioRead {
  return readScenario({ file: "test.json", bytes: bytesOf(scenario) }, (name) => {
    const file = Object.hasOwn(files, name) ? files[name] : undefined;
    return file === undefined ? noFiles() : { bytes: bytesOf(file) };
  });
}

/** The plan of a scenario. Throws the formatted issues if there are any. */
export function plan(scenario: string | object, files: Files = {}): Plan {
  const { plan: made, issues } = read(scenario, files);
  if (made === null) throw new Error(formatIssues(issues).join("\n"));
  return made;
}

function bytesOf(file: string | object): Uint8Array {
  return new TextEncoder().encode(typeof file === "string" ? file : JSON.stringify(file, null, 2));
}
