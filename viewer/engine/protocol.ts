/** What the page and its engine say to each other. Every answer carries the number of the request that it is for. */
import type { Issue } from "../../shared/issues.ts";
import type { PolicyComparison } from "../../sim/policies.ts";
import type { RunData, ScenarioTexts } from "../../sim/run-data.ts";

/** Plays a scenario. */
export interface Request {
  readonly id: number;
  readonly do: "rehearse";
  readonly files: ScenarioTexts;
  /** In place of the file's own. */
  readonly seed?: string;
}

/**
 * In this order: `progress` any number of times; then one of `done`, `issues` and `failed`; after `done`, once,
 * `returns`, because a comparison of policies takes many times as long as the run.
 */
export type Answer = { readonly id: number } & (
  | { readonly is: "progress" /** Of the work up to `done`, from 0 to 1. */; readonly share: number }
  | { readonly is: "done" /** Without `policies`. */; readonly data: RunData }
  /** Empty: no leader comes back. Null: it would take long, and was not played. */
  | { readonly is: "returns"; readonly policies: readonly PolicyComparison[] | null }
  /** The files cannot be read as a scenario: every problem at once. */
  | { readonly is: "issues"; readonly issues: readonly Issue[] }
  /** The engine gave up, which is no fault of a file: a run without end, or a mistake of ours. */
  | { readonly is: "failed"; readonly problem: string }
);

/** Said once, before any request: this engine runs. */
export interface Ready {
  readonly is: "ready";
}
