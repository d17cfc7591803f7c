/** The rigs to begin with: each is read, plays, finds what it says, and the plan check has no error in it. */
import { parse } from "jsonc-parser";
import { describe, expect, test } from "vitest";
import { formatIssues } from "../../shared/issues.ts";
import { readScenario } from "../../shared/scenario.ts";
import { check } from "../../sim/check/index.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { TEMPLATES } from "../../sim/templates/index.ts";

test("there are six, each by a name of its own", () => {
  expect(new Set(TEMPLATES.map(({ name }) => name)).size).toBe(6);
});

describe.each(TEMPLATES)("$name", ({ name, text }) => {
  const { plan, issues } = readScenario({ file: `${name}.json`, bytes: new TextEncoder().encode(text) }, () => ({
    problem: "a template stands alone",
  }));

  test("is read, plays, and meets what it expects", () => {
    expect(formatIssues(issues)).toEqual([]);
    const { summary } = rehearse(plan!);
    expect(summary.expect.filter((one) => !one.met)).toEqual([]);
    expect(summary.verdict).toBe("met");
    expect(summary.events.length).toBeGreaterThan(0);
  });

  test("has no error of the plan check, and nothing accepted that is not there", () => {
    const found = check(plan!).filter(({ rule, severity }) => severity === "error" || rule === "acceptance-unused");
    expect(found).toEqual([]);
  });

  test("tells a story in Lantern Quay, and says beside the fields what they are for", () => {
    expect(plan!.story).toContain("Lantern Quay");
    expect(text.match(/^ *\/\/ /gm)?.length).toBeGreaterThan(2);
    expect(parse(text)).not.toHaveProperty("$schema");
  });
});
