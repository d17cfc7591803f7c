/** The pull test walked through with a telephone in the hand, and with nothing but keys. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";

const template = readFileSync("viewer/dist/page.html", "utf8");
const room = inChromium();

/** The page with the main cable and its spare, drawn. */
async function openPage(look: Parameters<typeof room.open>[1]) {
  const file = join(room.folder, "walk.html");
  writeFileSync(file, template);
  const { page } = await room.open(file, look);
  await page.locator('select[aria-label^="Open a scenario"]').focus();
  await page.selectOption('select[aria-label^="Open a scenario"]', "main-out-good-spare.json");
  await page.waitForFunction(() => document.querySelector("h1")?.textContent?.includes("the spare is one") === true);
  await isSettled(page);
  return page;
}
const isSettled = (page: Page) =>
  page.waitForFunction(
    () =>
      !document.querySelector("#page")!.classList.contains("is-old") &&
      !document.documentElement.hasAttribute("data-drawing"),
  );
const heading = (page: Page) => page.locator("#walk-heading");
const button = (page: Page, name: string | RegExp) => page.locator("dialog.walk").getByRole("button", { name });
const focused = (page: Page) => page.evaluate(() => document.activeElement?.textContent ?? "");
async function tabTo(page: Page, words: string) {
  for (let step = 0; step < 20; step += 1) {
    if ((await focused(page)) === words) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`Tab does not come to ${words}`);
}

describe("the pull test", () => {
  test("is walked by keys alone, goes on after a reload, and is taken into the plan in one step", async () => {
    const page = await openPage({ viewport: { width: 1280, height: 900 } });
    await page.locator("#pull-test button", { hasText: "Walk through" }).focus();
    await page.keyboard.press("Enter");
    await expect.poll(() => heading(page).textContent()).toBe("Before the first pull");
    const cautions = await page.locator(".walk-caution").allTextContents();
    expect(cautions).toEqual([
      "In-ears out of ears. Headphones and comms headsets off. Before any change of clock, rate, source or link.",
      "Use a mute that does not depend on the link that failed: the amplifier or speaker processor, the last device you control. Bring up slowly.",
      "If what you see differs from this card: mute, then think. People before audio; no running in the dark, no climbing.",
      "Every expectation met. Not tested on site.",
    ]);
    await tabTo(page, "To the first pull");
    await page.keyboard.press("Enter");
    expect(await heading(page).textContent()).toBe("Pull main cable, Stage box port 1 to FOH desk port 1");
    // Nothing can be answered before somebody has said that all is down.
    expect(await button(page, "As expected").isDisabled()).toBe(true);
    await tabTo(page, "Yes: speakers down, in-ears out");
    await page.keyboard.press("Enter");
    expect(await focused(page)).toBe("Pulled");
    await page.keyboard.press("Enter");
    expect(await focused(page)).toBe("Audio is back");
    expect((await foundByAxe(page, "dialog.walk")).violations).toEqual([]);

    // The stopwatch runs on over a reload.
    await page.reload();
    await expect.poll(() => button(page, "Audio is back").count()).toBe(1);
    await isSettled(page);
    await button(page, "Audio is back").focus();
    await page.keyboard.press("Enter");
    await expect
      .poll(() => page.locator(".walk-measured").textContent())
      .toMatch(/^Measured .* the rehearsal has 0\.3 s/);
    await tabTo(page, "As expected");
    await page.keyboard.press("Enter");
    await tabTo(page, "Next pull");
    await page.keyboard.press("Enter");
    // Each pull is asked for again.
    expect(await button(page, "As expected").isDisabled()).toBe(true);
    await page.keyboard.press("Escape");
    await expect.poll(() => page.locator("dialog.walk[open]").count()).toBe(0);
    expect(await page.locator("#pull-test").textContent()).toContain("1 of 3 pulls gone through");
    expect((await foundByAxe(page, "#pull-test")).violations).toEqual([]);

    await page.locator("#pull-test button", { hasText: "Take it into the plan" }).focus();
    await page.keyboard.press("Enter");
    await expect.poll(() => page.locator("#pull-test").textContent()).toContain("Taken into this plan");
    await isSettled(page);
    expect(await page.locator("#pull-test button", { hasText: "Take it into the plan" }).count()).toBe(0);
    await expect.poll(() => page.locator("#map").textContent()).toMatch(/cables? (are|is) untested, of/);
    await page.keyboard.press("Control+z");
    await expect.poll(() => page.locator("#pull-test").textContent()).toContain("To take into the plan");
  });

  test("is walked by a thumb on a small telephone, every pull to its end, and saved", async () => {
    const page = await openPage({ viewport: { width: 320, height: 568 }, hasTouch: true });
    await page.locator("#pull-test button", { hasText: "Walk through" }).tap();
    await button(page, "To the first pull").tap();
    for (const [place, answer] of ["As expected", "Skipped", "Different"].entries()) {
      await expect.poll(() => page.locator(".walk-head p").textContent()).toMatch(`Pull ${place + 1} of 3`);
      if (answer !== "Skipped") await button(page, /^Yes: speakers down/).tap();
      await button(page, answer).tap();
      if (answer === "Different") await page.locator(".walk-note input").fill("In-ears clicked");
      expect(await button(page, answer).getAttribute("aria-pressed")).toBe("true");
      const wide = await page.evaluate(() => {
        const dialog = document.querySelector("dialog.walk")!;
        return dialog.scrollWidth - dialog.clientWidth;
      });
      expect(wide).toBe(0);
      const targets = await page
        .locator("dialog.walk button")
        .evaluateAll((all) => all.map((each) => each.getBoundingClientRect().height));
      expect(Math.min(...targets)).toBeGreaterThanOrEqual(44);
      await button(page, place === 2 ? "To the end" : "Next pull").tap();
    }
    await expect.poll(() => page.locator(".walk-body").textContent()).toContain("1 of them contradicts the rehearsal.");
    const [download] = await Promise.all([page.waitForEvent("download"), button(page, "Save the result").tap()]);
    const saved = JSON.parse(readFileSync(await download.path(), "utf8"));
    expect(download.suggestedFilename()).toBe(`pull-test-${saved.plan}.json`);
    expect(saved.pulls.map(({ answer }: { answer?: string }) => answer)).toEqual(["expected", "skipped", "different"]);
    expect(saved.pulls[2].note).toBe("In-ears clicked");
    expect(Object.keys(saved.files.texts)).toEqual(["main-out-good-spare.json"]);

    // Read back by dropping it where it belongs, from another telephone.
    await button(page, "To the page").tap();
    const other = await page.evaluateHandle(
      (text) => {
        const transfer = new DataTransfer();
        transfer.items.add(new File([text], "theirs.json"));
        return transfer;
      },
      JSON.stringify(saved).replace("In-ears clicked", "In-ears were silent"),
    );
    await page.dispatchEvent("#pull-test h2", "drop", { dataTransfer: other });
    await expect.poll(() => page.locator("#pull-test").textContent()).toContain("In-ears were silent");
    expect(await page.locator(".room-name strong").textContent()).toBe("main-out-good-spare.json");
  });
});
