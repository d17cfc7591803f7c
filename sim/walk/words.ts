/** What a result comes to, in sentences, for page and command alike. */
import type { Plan } from "../../shared/plan.ts";
import type { PullResults } from "../../shared/scenario-pull-results.ts";
import { capital, counted, listed, theCableIn } from "../tell/words.ts";
import { resultWords } from "./judged.ts";
import type { Weighed } from "./take.ts";

export interface WeighedWords {
  /** Whether the result is of this plan; empty where there is none. */
  readonly plan: string;
  /** What differs from the plan that was walked with. */
  readonly changes: readonly string[];
  /** Pulls in which the site contradicts the rehearsal, first of all. */
  readonly contradictions: readonly string[];
  /** What goes into the plan. */
  readonly takes: readonly string[];
  /** What stays untested, and why. */
  readonly untested: readonly string[];
}

/** @param results null: numbers of tables alone */
export function weighedWords(plan: Plan, results: PullResults | null, weighed: Weighed): WeighedWords {
  const { plan: stamp, pulls } = results ?? { plan: null, pulls: [] };
  const { otherPlan, tested, refuted, changedSince, fits, contradictions, open } = weighed;
  const cables = (ids: readonly string[]) => listed(ids.map((id) => theCableIn(plan, id)));
  const days = [...new Set(tested.map(({ date }) => date))].sort();
  return {
    plan:
      stamp === null
        ? ""
        : otherPlan === null
          ? `Pulled with this plan, ${stamp}.`
          : `Pulled with another plan, ${stamp}. ${capital(counted(otherPlan.changes.length, "thing has", "things have"))} changed since.`,
    changes: otherPlan?.changes.map(({ words }) => words) ?? [],
    contradictions: contradictions.map(resultWords),
    takes: [
      ...days.map(
        (day) =>
          `Pulled on ${day}, as expected: ${cables(tested.filter(({ date }) => date === day).map(({ link }) => link))}.`,
      ),
      ...fits.map(({ words }) => `${words}.`),
    ],
    untested: [
      ...(refuted.length === 0 ? [] : [`Not as expected: ${cables(refuted)}. Untested until pulled again.`]),
      ...(changedSince.length === 0
        ? []
        : [`Changed since it was pulled: ${cables(changedSince)}. To be pulled again.`]),
      ...(open.length === 0
        ? []
        : [
            `No answer, or skipped: ${counted(open.length, "pull", "pulls")} of ${counted(pulls.length, "", "").trim()}.`,
          ]),
    ],
  };
}
