/** From a scenario to tables and back: the same plan, of random rigs and of everything that is shipped. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { formatIssues } from "../../shared/issues.ts";
import { readScenario } from "../../shared/scenario.ts";
import { jsonSchemas } from "../../shared/scenario-schema.ts";
import { shapeOf, type TableName } from "../../sim/tables/columns.ts";
import { guarded, unguarded } from "../../sim/tables/values.ts";
import { wholeScenario } from "../../sim/tables/whole.ts";
import { tablesFromScenario } from "../../sim/tables/write.ts";
import { smallRig } from "../cli/command.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { fileOfPlan } from "../helpers/plan-file.ts";
import { plans } from "../helpers/random-rig.ts";
import { SHIPPED } from "../helpers/shipped.ts";
import { readText, thereAndBack } from "./sheets.ts";

describe("the same plan comes back", () => {
  test("of random rigs", { timeout: PATIENCE_MS }, () => {
    const reached = { readable: 0, spares: 0, events: 0, tables: 0 };
    const runs = tries(40);
    fc.assert(
      fc.property(plans({ spares: true, secondSources: true, bending: true, heatTables: true }), (random) => {
        const file = fileOfPlan(random);
        const before = readText(JSON.stringify(file));
        // The reader of files refuses some of what a law may play, such as pulling a cable that is out.
        if (before.plan === null) return;
        const { text, issues } = thereAndBack(file);
        expect(formatIssues(issues)).toEqual([]);
        expect(readText(text as string).plan).toEqual(before.plan);
        reached.readable++;
        if (random.spares.length > 0) reached.spares++;
        if (random.events.length > 1) reached.events++;
        if (random.devices.some(({ oscillator }) => oscillator.tempcoTable !== null)) reached.tables++;
      }),
      runs,
    );
    const least = (runs.numRuns as number) / 10;
    for (const [what, count] of Object.entries(reached)) expect(count, what).toBeGreaterThan(least);
  });

  test.each(SHIPPED)("of %s", (main) => {
    const texts: Record<string, string> = { [main]: readFileSync(`scenarios/${main}`, "utf8") };
    const before = readScenario({ file: main, bytes: readFileSync(`scenarios/${main}`) }, (name) => {
      const bytes = readFileSync(`scenarios/${name}`);
      texts[name] = bytes.toString();
      return { bytes };
    });
    const { scenario, types } = wholeScenario({ main, texts });
    const { text, issues } = thereAndBack(scenario, types);
    expect(formatIssues(issues)).toEqual([]);
    expect(readText(text as string).plan).toEqual(before.plan);
  });
});

test("every field that the schema has for a device, a link, an event and the rest has a column", () => {
  const scenario = jsonSchemas()["scenario.schema.json"] as Node;
  const parts: [TableName, string][] = [
    ["devices", "device"],
    ["types", "deviceType"],
    ["cables", "link"],
    ["spares", "spare"],
    ["networks", "network"],
    ["feeds", "feed"],
    ["supplies", "supply"],
    ["events", "event"],
    ["expect", "expectation"],
    ["accepted", "accepted"],
  ];
  const elsewhere = new Set(["ends"]); // in from and to
  let seen = 0;
  for (const [table, definition] of parts) {
    const keys = shapeOf(table).columns.map(({ key }) => key);
    for (const path of leaves((scenario.definitions as Record<string, Node>)[definition] as Node)) {
      const covered = keys.some((key) => key === path || path.startsWith(`${key}.`));
      expect(covered || elsewhere.has(path), `${table}: ${path}`).toBe(true);
      seen++;
    }
  }
  expect(seen).toBeGreaterThan(120);
});

describe("what a spreadsheet would take for a formula", () => {
  test.each(["=1+1", "+48 V", "-Left", "@home", "'=1", "''+x", "\ttab", "\rreturn"])(
    "%j is text, and comes back",
    (text) => {
      expect(guarded(text)).toBe(`'${text}`);
      expect(unguarded(guarded(text))).toBe(text);
    },
  );

  test.each(["FOH", "'quoted'", "", "12", "a=b"])("%j stays as it is", (text) => {
    expect(guarded(text)).toBe(text);
    expect(unguarded(text)).toBe(text);
  });

  test("names like formulas go out with an apostrophe, numbers below zero stay numbers, and both come back", () => {
    const scenario = smallRig();
    const foh = scenario.rig.devices[0] as (typeof scenario.rig.devices)[number];
    foh.name = '=HYPERLINK("http://quay.invalid";"FOH")';
    foh.oscillator.offsetPpm = -3.5;
    const rows = tablesFromScenario(scenario, {}).find(({ name }) => name === "devices")?.rows ?? [];
    expect(rows[1]).toContain(`'${foh.name}`);
    expect(rows[1]).toContain("-3.5");
    const { text } = thereAndBack(scenario);
    expect(readText(text as string).plan).toEqual(readText(JSON.stringify(scenario)).plan);
  });
});

interface Node {
  readonly [key: string]: unknown;
}

/** Paths of all fields, through alternatives; a list or a choice of shapes in one field is one. */
function leaves(node: Node): string[] {
  const alternatives = (node.oneOf ?? node.anyOf) as Node[] | undefined;
  if (alternatives !== undefined && node.properties === undefined) return alternatives.flatMap(leaves);
  return Object.entries((node.properties ?? {}) as Record<string, Node>).flatMap(([key, inner]) => {
    const deeper = inner.properties === undefined ? [] : leaves(inner);
    return deeper.length === 0 ? [key] : deeper.map((path) => `${key}.${path}`);
  });
}
