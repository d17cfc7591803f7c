/** Tries every single fault for the page, and hands over what is done as it comes. */
import type { Issue } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import { formatShowTime } from "../../shared/units.ts";
import { readTexts } from "../../sim/plan-of.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { layoutSweeps, WANTED } from "../../sim/trials/setup.ts";
import { type TrialResult, Trier, trialCount } from "../../sim/trials/trial.ts";
import type { Answer, Request } from "./protocol.ts";

/** A meter that moves more often looks no smoother, and each answer takes time of both sides. */
const BETWEEN_MS = 100;

/** The first plan's chance is everybody's. */
export function tryFaults({ id, layouts, wanted }: Request & { do: "try" }, answer: (answer: Answer) => void): void {
  const plans: Plan[] = [];
  const issues: Issue[] = [];
  for (const files of layouts) {
    const read = readTexts(files);
    if (read.plan === null) issues.push(...read.issues);
    else plans.push(read.plan);
  }
  const [first] = plans;
  if (issues.length > 0 || first === undefined) {
    answer({ id, is: "issues", issues });
    return;
  }
  const { atNs } = wanted;
  const over = plans.find(({ lengthNs }) => atNs !== null && atNs > lengthNs);
  if (over !== undefined && atNs !== null) {
    const problem = `at ${formatShowTime(atNs)} the show “${over.title}” is over: put the cursor earlier`;
    answer({ id, is: "failed", problem });
    return;
  }
  const sweeps = layoutSweeps(plans, { ...WANTED, ...wanted }, first.seed);
  const leftOut = plans.map((plan) => asPlanned(plan).leftOut);
  answer({ id, is: "sweeps", sweeps: sweeps.map((sweep, place) => ({ sweep, leftOut: leftOut[place] as number })) });
  for (const [layout, sweep] of sweeps.entries()) {
    const trier = new Trier(sweep);
    const count = trialCount(sweep);
    let results: TrialResult[] = [];
    let toldMs = performance.now();
    for (let index = 0; index < count; index += 1) {
      results.push(trier.play(index));
      if (index + 1 < count && performance.now() - toldMs < BETWEEN_MS) continue;
      answer({ id, is: "results", layout, results });
      results = [];
      toldMs = performance.now();
    }
  }
  answer({ id, is: "tried" });
}
