import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type axeCore from "axe-core";
import type { Page } from "playwright-core";

const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** The rules of axe-core that ask for colours, and so can find something in one palette that is not in the other. */
const COLOUR_RULES = ["color-contrast", "link-in-text-block"];

declare const axe: typeof axeCore;

/**
 * What axe-core finds to complain of in a part of the page, in the palette that the page has and then in the other;
 * the page keeps that one. `passes` counts the rules that found something to look at and nothing to complain of.
 */
export async function foundByAxe(
  page: Page,
  where: string | readonly string[] = "html",
): Promise<{ readonly violations: readonly string[]; readonly passes: number }> {
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(source);
  const parts = [where].flat();
  const isDark = () => page.evaluate(() => matchMedia("(prefers-color-scheme: dark)").matches);
  const first = await isDark();
  const all = await page.evaluate(run, [parts, null] as const);
  await page.emulateMedia({ colorScheme: first ? "light" : "dark" });
  if ((await isDark()) === first) throw new Error("the page cannot be shown in the other palette");
  const colours = await page.evaluate(run, [parts, COLOUR_RULES] as const);
  if (colours.contrasts === 0) throw new Error(`there is no text to read in ${parts.join(", ")}`);
  return { violations: [...all.violations, ...colours.violations], passes: all.passes };
}

async function run([include, rules]: readonly [readonly string[], readonly string[] | null]) {
  const { violations, passes } = await axe.run(
    { include: [...include] },
    {
      resultTypes: ["violations", "passes"],
      selectors: false,
      ...(rules && { runOnly: { type: "rule", values: [...rules] } }),
    },
  );
  const palette = matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
  return {
    violations: violations.map(({ id, nodes }) => `${palette}, ${id}: ${nodes[0]?.html} ${nodes[0]?.failureSummary}`),
    passes: passes.length,
    contrasts: passes.find(({ id }) => id === "color-contrast")?.nodes.length ?? 0,
  };
}
