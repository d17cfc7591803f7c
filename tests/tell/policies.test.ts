/** The policies side by side as they are printed: narrow and wide, and in words that promise nothing. */
import { describe, expect, test } from "vitest";
import { policiesText } from "../../cli/print/policies.ts";
import { comparePolicies } from "../../sim/policies.ts";
import { heardUnder } from "../../sim/tell/policies.ts";
import { showTime } from "../../sim/tell/words.ts";
import { told } from "./stories.ts";

const compared = told().flatMap(({ name, run }) => {
  const comparisons = comparePolicies(run);
  return comparisons.length === 0 ? [] : [{ name, run, comparisons }];
});

test("there are runs with a leader that comes back", () => expect(compared.length).toBeGreaterThanOrEqual(4));

describe.each(compared)("$name", ({ name, run, comparisons }) => {
  const print = { file: `scenarios/${name}`, version: "0.0.0", plan: run.plan, summary: run.summary, comparisons };
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

  test("one block for each absence, each with all five", () => {
    const lines = text(null).split("\n");
    const count = (line: string) => lines.filter((one) => one === line).length;
    expect(count("What was changed")).toBe(comparisons.length);
    for (const { absence } of comparisons) {
      const alone = policiesText(
        { ...print, comparisons: comparisons.filter((one) => one.absence === absence) },
        { ink: (_style, told) => told, columns: null },
      );
      expect(alone).toContain(` at ${showTime(absence.goneAtSeconds)} and `);
      for (const part of alone.split("\n\n").slice(1, -1)) expect(text(null)).toContain(part);
    }
  });

  test("every number of the table is in the words that the page has, and nothing else", () => {
    let pieces = 0;
    for (const { policies } of comparisons)
      for (const { outcome } of policies)
        for (const feed of outcome?.feeds ?? []) {
          const told = heardUnder(feed, outcome!.runs);
          pieces += told.length;
          const has = (kind: string) => told.some((one) => one.kind === kind);
          expect(has("clicks")).toBe(feed.slips.most > 0);
          expect(has("device-down")).toBe(feed.silentForDeviceDownSeconds > 0);
          expect(has("clock")).toBe(feed.silentForClockSeconds.most > 0);
          expect(has("level")).toBe(feed.returnsAtFullLevel > 0);
          const { whileFaulty, onReturn } = feed.dropouts;
          expect(told.filter(({ kind }) => kind === "dropout")).toHaveLength(
            Number(whileFaulty.most > 0) + Number(onReturn.most > 0),
          );
          if (has("clean")) expect(told).toHaveLength(1);
        }
    expect(pieces).toBeGreaterThan(10);
  });

  test("promises nothing, and ends with the sentence that always ends", () => {
    expect(text(null)).not.toMatch(/\b(safe|safely|pass|passes|passed|good|well|best|undefined|NaN|null)\b|!/i);
    expect(text(null).trimEnd().split("\n").at(-1)).toMatch(/^A rehearsal with \d+ assumed numbers, not a test\./);
  });
});
