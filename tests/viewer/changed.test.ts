/** What differs from the plan that was opened, saved, or picked to compare with. */
import { describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { createChanged } from "../../viewer/room/changed.ts";
import { setClockSources, setName } from "../../viewer/room/rig-edits.ts";
import { removed } from "../../viewer/room/rig-removal.ts";
import { fromTemplate, shipped } from "../../viewer/room/shipped.ts";
import { createWorkspace } from "../../viewer/room/workspace.ts";

const planOf = ({ main, texts }: ScenarioTexts) => {
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readScenario({ file: main, bytes: bytes(texts[main]!) }, (name) => ({ bytes: bytes(texts[plainName(name)]!) }))
    .plan!;
};

function at(files: ScenarioTexts) {
  const workspace = createWorkspace();
  let told = 0;
  const changed = createChanged(workspace, () => {
    told += 1;
  });
  const nothing = changed.since(planOf(files));
  workspace.open(files);
  const edit = (change: (files: ScenarioTexts) => ScenarioTexts) => {
    expect(workspace.editFiles("a test", change)).toBeNull();
    return planOf(workspace.files()!);
  };
  return { workspace, changed, edit, nothing, told: () => told };
}

const QUAY = shipped("leader-reboot.json");

describe("what has changed", () => {
  test("is nothing to compare with, then nothing, then each thing, and nothing again once it is saved", () => {
    const { workspace, changed, edit, nothing, told } = at(QUAY);
    expect(nothing).toBeNull();
    expect(changed.since(planOf(QUAY))?.changes).toEqual([]);
    edit((files) => setClockSources(files, "stage", ["1"]));
    const plan = edit((files) => removed(files, "device", "rec").files);
    const { file, changes } = changed.since(plan)!;
    expect(file).toBeNull();
    expect(changes.map(({ what, id, is }) => `${what} ${id} ${is}`)).toEqual([
      "devices rec gone",
      "devices stage changed",
      "links mon-rec gone",
      "feeds multitrack gone",
    ]);
    expect([...changed.marks(plan)]).toEqual([["device stage", "changed"]]);
    const before = told();
    workspace.saved();
    expect(told()).toBe(before + 1);
    expect(changed.since(plan)?.changes).toEqual([]);
    expect(changed.marks(plan).size).toBe(0);
  });

  test("is told against a file that is picked, until another scenario is opened or people go back", () => {
    const { workspace, changed } = at(QUAY);
    const plan = planOf(QUAY);
    const other = setName(QUAY, "device", "foh", "Old FOH desk");
    expect(changed.compareWith({ ...other, main: other.main })).toBeNull();
    expect(changed.since(plan)).toMatchObject({ file: "leader-reboot.json" });
    expect([...changed.marks(plan)]).toEqual([["device foh", "changed"]]);
    expect(changed.compareWith(null)).toBeNull();
    expect(changed.marks(plan).size).toBe(0);
    changed.compareWith(other);
    workspace.open(fromTemplate("two-desks"));
    expect(changed.since(planOf(fromTemplate("two-desks")))).toMatchObject({ file: null, changes: [] });
  });

  test("is not told against what cannot be read, which says why", () => {
    const { changed } = at(QUAY);
    const alone: ScenarioTexts = { main: QUAY.main, texts: { [QUAY.main]: QUAY.texts[QUAY.main]! } };
    expect(changed.compareWith(alone)).toMatch(/^leader-reboot\.json, line \d+: .*not picked together/);
    expect(changed.since(planOf(QUAY))?.file).toBeNull();
  });
});
