/** What the page and its engine say to each other. Every answer carries the number of the request that it is for. */
import type { Issue } from "../../shared/issues.ts";
import type { PolicyComparison } from "../../sim/policies.ts";
import type { RunData, ScenarioTexts } from "../../sim/run-data.ts";
import type { Wanted } from "../../sim/trials/setup.ts";
import type { Sweep, TrialResult } from "../../sim/trials/trial.ts";
import type { Walk } from "../../sim/walk/steps.ts";

export type Request =
  /** Plays a scenario. */
  | {
      readonly id: number;
      readonly do: "rehearse";
      readonly files: ScenarioTexts;
      /** In place of the file's own. */
      readonly seed?: string;
    }
  /** Rehearses each pull of its pull test. */
  | { readonly id: number; readonly do: "walk"; readonly files: ScenarioTexts }
  /** Tries every single fault of one plan, or of several by the same chance. */
  | { readonly id: number; readonly do: "try"; readonly layouts: readonly ScenarioTexts[]; readonly wanted: Asked };

/** What people choose of {@link Wanted}. */
export type Asked = Pick<Wanted, "atNs" | "everyMoment" | "draws">;

/** One plan's faults, and how many events of its file are faults themselves and not played. */
export interface Swept {
  readonly sweep: Sweep;
  readonly leftOut: number;
}

/**
 * To `rehearse`, in this order: `progress` any number of times; then one of `done`, `issues` and `failed`; after `done`, once,
 * `returns`, because a comparison of policies takes many times as long as the run. To `try`: `sweeps`, `results` any number of times, `tried`;
 * to `walk`: `walk`; or one of the other two.
 */
export type Answer = { readonly id: number } & (
  | { readonly is: "progress" /** Of the work up to `done`, from 0 to 1. */; readonly share: number }
  | { readonly is: "done" /** Without `policies`. */; readonly data: RunData }
  /** Empty: no leader comes back. Null: it would take long, and was not played. */
  | { readonly is: "returns"; readonly policies: readonly PolicyComparison[] | null }
  | { readonly is: "sweeps"; readonly sweeps: readonly Swept[] }
  | {
      readonly is: "results" /** Place of the plan. */;
      readonly layout: number;
      readonly results: readonly TrialResult[];
    }
  | { readonly is: "tried" }
  | { readonly is: "walk"; readonly walk: Walk }
  /** The files cannot be read as a scenario: every problem at once. */
  | { readonly is: "issues"; readonly issues: readonly Issue[] }
  /** The engine gave up, which is no fault of a file: a run without end, or a mistake of ours. */
  | { readonly is: "failed"; readonly problem: string }
);

/** Said once, before any request: this engine runs. */
export interface Ready {
  readonly is: "ready";
}
