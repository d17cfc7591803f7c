/** The page answers why, for the chosen lane at the cursor. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { story } from "../tell/stories.ts";
import { inChromium } from "./chromium.ts";

const room = inChromium();

test("chain by chain, and each step is a way to put the cursor there", async () => {
  const { run, telling } = story("leader-reboot.json");
  const file = join(room.folder, "run.html");
  writeFileSync(file, filledIn(readFileSync("cli/dist/page.html", "utf8"), { ...run, telling }));
  const { page, troubles } = await room.open(file);
  const why = page.locator("#why");
  expect(await why.textContent()).toContain("Choose a lane");

  // The first lane, at the instant of the reboot.
  await page.locator(".board").focus();
  await page.keyboard.press("ArrowDown");
  await page.locator("#timeline button", { hasText: "00:20:00" }).first().click();
  await expect.poll(async () => (await why.locator("li").allTextContents()).at(-1)).toBe("00:20:00FOH desk reboots.");

  await page.locator("#timeline button", { hasText: "00:21:15" }).first().click();
  await expect.poll(() => page.locator("#show .time").first().textContent()).toContain("00:21:15");
  await why.locator("li").nth(1).waitFor();
  await why.locator("li button", { hasText: /^00:20:00$/ }).click();
  await expect.poll(() => page.locator("#show .time").first().textContent()).toContain("00:20:00");
  expect(troubles).toEqual([]);
});
