/** The policies side by side as they are printed: narrow and wide, and in words that promise nothing. */
import { describe, expect, test } from "vitest";
import { policiesText } from "../../cli/print/policies.ts";
import { comparePolicies } from "../../sim/policies.ts";
import { told } from "./stories.ts";

const compared = told().flatMap(({ name, run }) => {
  const comparison = comparePolicies(run);
  return comparison === null ? [] : [{ name, run, comparison }];
});

test("there are runs with a leader that comes back", () => expect(compared.length).toBeGreaterThanOrEqual(4));

describe.each(compared)("$name", ({ name, run, comparison }) => {
  const print = { file: `scenarios/${name}`, version: "0.0.0", plan: run.plan, summary: run.summary, comparison };
  const text = (columns: number | null) => policiesText(print, { ink: (_style, told) => told, columns });

  test.each([32, 44, 80, 120])("fits into %i columns", (columns) => {
    // Paths and field names do not break.
    const long = text(columns)
      .split("\n")
      .filter((line) => line.length > columns && line.trim().split(" ").length > 2);
    expect(long).toEqual([]);
  });

  test("a table where there is room for one, sentences where there is not", () => {
    for (const columns of [80, null]) expect(text(columns)).toMatch(/^ +dropouts {3,}/m);
    expect(text(44)).not.toMatch(/^ +dropouts {3,}/m);
    expect(text(44)).toMatch(/^ {2}(back following|under each)\*?: /m);
  });

  test("promises nothing, and ends with the sentence that always ends", () => {
    expect(text(null)).not.toMatch(/\b(safe|safely|pass|passes|passed|good|well|best|undefined|NaN|null)\b|!/i);
    expect(text(null).trimEnd().split("\n").at(-1)).toMatch(/^A rehearsal with \d+ assumed numbers, not a test\./);
  });
});
