/** What differs between the rig on the page and the one that was opened, saved last, or picked to compare with. */
import type { Plan } from "../../shared/plan.ts";
import { type Change, changesBetween } from "../../sim/changes.ts";
import { readTexts } from "../../sim/plan-of.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { isSame, type Workspace } from "./workspace.ts";

/** Whether something of the rig is new in it or differs from before; what is gone has no place of its own. */
export type Mark = "new" | "changed";

export interface Changed {
  /** Null: there is nothing to compare with. */
  since(plan: Plan): Since | null;
  /** By "device foh" and "link main". */
  marks(plan: Plan): ReadonlyMap<string, Mark>;
  /** Null: with what was opened. Returns why it cannot be, or null. */
  compareWith(files: ScenarioTexts | null): string | null;
}

export interface Since {
  /** Name of the file that was picked; null: what was opened or saved. */
  readonly file: string | null;
  /** Null where it cannot be read. */
  readonly before: Plan | null;
  readonly changes: readonly Change[];
}

/** @param told called when it is something else that is compared with */
export function createChanged(workspace: Workspace, told: () => void): Changed {
  const plans = new WeakMap<ScenarioTexts, { readonly plan: Plan | null; readonly problem: string }>();
  let picked: ScenarioTexts | null = null;
  let [main, original] = [workspace.files()?.main, workspace.original()];
  let known: { readonly plan: Plan; readonly from: ScenarioTexts; readonly since: Since } | null = null;

  const planOf = (files: ScenarioTexts) => {
    const read = plans.get(files) ?? readPlan(files);
    plans.set(files, read);
    return read;
  };
  workspace.subscribe(() => {
    const files = workspace.files();
    // Another scenario is another rig.
    if (files?.main !== main) picked = null;
    main = files?.main;
    if (workspace.original() === original) return;
    original = workspace.original();
    told();
  });
  const since = (plan: Plan): Since | null => {
    const from = picked ?? original;
    if (from === null) return null;
    if (known?.plan === plan && known.from === from) return known.since;
    const file = picked?.main ?? null;
    // Nothing is read as long as nothing was changed.
    if (picked === null && isSame(from, workspace.files())) return { file, before: plan, changes: [] };
    const before = planOf(from).plan;
    const made = { file, before, changes: before === null ? [] : changesBetween(before, plan) };
    known = { plan, from, since: made };
    return made;
  };
  return {
    since,
    marks(plan) {
      const marks = new Map<string, Mark>();
      for (const { what, id, is } of since(plan)?.changes ?? [])
        if (is !== "gone" && (what === "devices" || what === "links"))
          marks.set(`${what === "devices" ? "device" : "link"} ${id}`, is);
      return marks;
    },
    compareWith(files) {
      const problem = files === null ? "" : planOf(files).problem;
      if (problem !== "") return problem;
      picked = files;
      told();
      return null;
    },
  };
}

function readPlan(files: ScenarioTexts) {
  const { plan, issues } = readTexts(files, "it was not picked together with the scenario");
  const [first] = issues;
  const problem = first && `${first.file}, line ${first.line}: expected ${first.expected}, received ${first.received}.`;
  return { plan, problem: problem ?? "" };
}
