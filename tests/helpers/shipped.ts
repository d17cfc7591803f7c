/** The shipped scenarios, and their plans. */
import { readdirSync, readFileSync } from "node:fs";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";

/** Names of all shipped scenarios in `scenarios`: rigs, libraries and schemas have a second dot. */
export const SHIPPED: readonly string[] = readdirSync("scenarios").filter((name) => /^[^.]+\.json$/.test(name));

export function shippedPlans(): (readonly [name: string, plan: Plan])[] {
  return SHIPPED.map((name) => [name, shippedPlan(name)] as const);
}

/** @param name of a file in `scenarios` */
export function shippedPlan(name: string): Plan {
  const { plan, issues } = readScenario({ file: name, bytes: readFileSync(`scenarios/${name}`) }, (wanted) => ({
    bytes: readFileSync(`scenarios/${wanted}`),
  }));
  if (plan === null) throw new Error(JSON.stringify(issues));
  return plan;
}

/** The scenario and what stands beside it, as texts. */
export function shippedTexts(name: string): ScenarioTexts {
  const texts: Record<string, string> = {};
  readScenario({ file: name, bytes: readFileSync(`scenarios/${name}`) }, (wanted) => {
    const bytes = readFileSync(`scenarios/${wanted}`);
    texts[plainName(wanted)] = bytes.toString("utf8");
    return { bytes };
  });
  return { main: name, texts: { [name]: readFileSync(`scenarios/${name}`, "utf8"), ...texts } };
}
