/** A run inside the page's template. */
import { readFile } from "node:fs/promises";
import { type PageRun, runData } from "../../sim/run-data.ts";
import { inHtml } from "./html.ts";
import { jsonText } from "./plain.ts";

/** Where the template wants the run. */
const PLACE = "<!--run-->";

export async function pageText(run: PageRun): Promise<string> {
  const template = await readFile(new URL("page.html", import.meta.url), "utf8");
  return filledIn(template, run);
}

export function filledIn(template: string, run: PageRun): string {
  if (!template.includes(PLACE)) throw new Error(`the page's template has no ${PLACE}`);
  // "<" never stands in the data itself, so nothing in it can end the script or begin a comment.
  const data = jsonText(runData(run), 0).replaceAll("<", "\\u003c");
  // The browser shows the title before any script has run.
  const title = `<title>${inHtml(run.plan.title)} · Pulltest</title>`;
  return template
    .replace(/<title>[^<]*<\/title>/, () => title)
    .replace(PLACE, () => `<script type="application/json" id="run">${data}</script>`);
}
