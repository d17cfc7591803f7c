/** The page answers why, for the chosen lane at the cursor. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { told } from "../tell/stories.ts";
import { launchChromium, openWatched } from "./chromium.ts";

let browser: Browser;
let scratch: string;
beforeAll(async () => {
  browser = await launchChromium();
  scratch = mkdtempSync(join(tmpdir(), "pulltest-why-"));
});
afterAll(async () => {
  await browser?.close();
  if (scratch) rmSync(scratch, { recursive: true });
});

test("chain by chain, and each step is a way to put the cursor there", async () => {
  const story = told().find(({ name }) => name === "leader-reboot.json");
  if (story === undefined) throw new Error("there is no leader-reboot.json");
  const file = join(scratch, "run.html");
  writeFileSync(file, filledIn(readFileSync("cli/dist/page.html", "utf8"), { ...story.run, telling: story.telling }));
  const { page, troubles } = await openWatched(browser, pathToFileURL(file).href);
  const why = page.locator("#why");
  expect(await why.textContent()).toContain("Choose a lane");

  // The first lane, at the instant of the reboot.
  await page.locator(".board").focus();
  await page.keyboard.press("ArrowDown");
  await page.locator("#timeline button", { hasText: "00:20:00" }).first().click();
  await why.locator("li").first().waitFor();
  const lines = await why.locator("li").allTextContents();
  expect(lines.length).toBeGreaterThan(0);
  expect(lines.at(-1)).toBe("00:20:00FOH desk reboots.");

  await page.locator("#timeline button", { hasText: "00:21:15" }).first().click();
  await why.locator("li").nth(1).waitFor();
  expect(await page.locator("#show .time").first().textContent()).toContain("00:21:15");
  await why.locator("li button", { hasText: /^00:20:00$/ }).click();
  await expect.poll(() => page.locator("#show .time").first().textContent()).toContain("00:20:00");
  expect(troubles).toEqual([]);
});
