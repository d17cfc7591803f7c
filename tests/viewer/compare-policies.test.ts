/** A policy written into a scenario's files plays as the policy itself does, in every shipped scenario with a return. */
import { expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { filesFor, policyChoices } from "../../viewer/compare/policy-files.ts";
import { allShipped, shipped } from "../../viewer/room/shipped.ts";
import type { Run } from "../../viewer/run.ts";

const read = ({ main, texts }: ScenarioTexts) => {
  const bytes = (name: string) => new TextEncoder().encode(texts[name]);
  const { plan, issues } = readScenario({ file: main, bytes: bytes(main) }, (name) => ({
    bytes: bytes(plainName(name)),
  }));
  if (plan === null) throw new Error(JSON.stringify(issues));
  return plan;
};

test("the same states, the same clicks and the same silences as under the policy's own plan", () => {
  const seen = new Set<string>();
  const asFiled = new Set<string>();
  for (const { file } of allShipped()) {
    const files = shipped(file);
    const plan = read(files);
    const run = rehearse(plan) as unknown as Run;
    for (const { policy, plan: variant, isAsFiled } of policyChoices(run)) {
      if (variant === null) continue;
      const made = filesFor(files, plan, variant);
      expect(made, `${file} ${policy}`).not.toBeNull();
      const again = rehearse(read(made!));
      const wanted = rehearse(variant);
      // Events are numbered by the file they stand in; what is found is not.
      for (const part of ["devices", "links", "feeds", "networks"] as const)
        expect(again.summary[part], `${file} ${policy} ${part}`).toEqual(wanted.summary[part]);
      if (isAsFiled) {
        asFiled.add(policy);
        expect(made!.texts, `${file} ${policy}`).toEqual(files.texts);
      }
      seen.add(policy);
    }
  }
  expect([...seen].sort()).toEqual(["after-wait", "another-leads", "at-once", "follows", "stay"]);
  expect(asFiled.size).toBeGreaterThan(1);
});

test("a rig that stands in no file of these cannot be written to", () => {
  const files = shipped("leader-reboot.json");
  const plan = read(files);
  const { main } = files;
  const alone = { main, texts: { [main]: files.texts[main]! } };
  expect(filesFor(alone, plan, plan)).toBeNull();
});

test("nobody goes away, nothing to choose from", () => {
  const run = rehearse(read(shipped("two-clocks.json"))) as unknown as Run;
  expect(policyChoices(run)).toEqual([]);
});
