/**
 * The page before the rest of it is there: what people wait for stands on the screen and works, and what they ask of the
 * rest meanwhile is done when it comes.
 */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { readTexts } from "../../sim/plan-of.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { allDrawn, inChromium, theChromium } from "./chromium.ts";

const template = readFileSync("cli/dist/page.html", "utf8");
const room = inChromium();

/** The run of a scenario, with its files, as `rehearse --html` writes it. */
function pageOf(folder: string, main: string, ...others: readonly string[]): string {
  const texts = Object.fromEntries([main, ...others].map((name) => [name, readFileSync(join(folder, name), "utf8")]));
  const { plan, sha256 } = readTexts({ main, texts }, "it is not there");
  const run = rehearse(plan!, { sha256 });
  return filledIn(template, { ...run, telling: tell(run), files: { main, texts } });
}

const rebootPage = () => pageOf("scenarios", "leader-reboot.json", "quay.rig.json");

/** To the page its HTML is not read to its end, until somebody says so. */
function neverRead(): void {
  Object.defineProperty(document, "readyState", { configurable: true, get: () => "loading" });
}

async function openBefore(html: string, before: () => void = neverRead): Promise<{ page: Page; troubles: string[] }> {
  const file = join(room.folder, "held.html");
  writeFileSync(file, html);
  const page = await (await theChromium()).newPage({ viewport: { width: 1280, height: 900 } });
  const troubles: string[] = [];
  page.on("pageerror", ({ message }) => troubles.push(message));
  page.on("console", (message) => {
    if (message.type() === "error") troubles.push(message.text());
  });
  await page.addInitScript(before);
  await page.goto(`file://${file}`);
  return { page, troubles };
}

async function restComes(page: Page): Promise<void> {
  await page.evaluate(() => {
    Reflect.deleteProperty(document, "readyState");
    document.dispatchEvent(new Event("DOMContentLoaded"));
  });
  await allDrawn(page);
}

/** Past the frames, and the quarter of a second without any, that the rest waits for. */
const past = (page: Page) => page.waitForTimeout(400);

describe("before the rest of the page", () => {
  test("head, who follows whom and lanes are there and at work; nothing moves when the rest comes", async () => {
    const { page, troubles } = await openBefore(rebootPage());
    await past(page);
    expect(await page.locator(".sentences li").count()).toBe(3);
    expect(await page.locator(".follow .line").count()).toBe(7);
    expect(await page.locator(".lane-drawing .stretch").count()).toBeGreaterThan(20);
    expect(await page.locator("#map, .foot, .curve").count()).toBe(0);
    await page.locator(".board").focus();
    await page.keyboard.press("+");
    const window = await page.locator(".overview-slider").getAttribute("aria-valuetext");
    const placeOf = () =>
      page.evaluate(() =>
        [".room-bar", ".head", "#follow", "#show"].map(
          (each) => document.querySelector(each)!.getBoundingClientRect().y,
        ),
      );
    await page.evaluate(() => scrollTo(0, 0));
    const before = await placeOf();
    await restComes(page);
    expect((await placeOf()).slice(0, 3)).toEqual(before.slice(0, 3));
    expect(await page.locator("#map, .foot, .curve").count()).toBe(3);
    expect(await page.locator(".overview-slider").getAttribute("aria-valuetext")).toBe(window);
    expect(troubles).toEqual([]);
    await page.close();
  });

  test("what is asked of the bar and of the folds waits, and is done", async () => {
    const { page, troubles } = await openBefore(rebootPage());
    await past(page);
    await page.getByText("The files as text").click();
    const saved = page.waitForEvent("download");
    await page.getByRole("button", { name: "Save as file" }).click();
    await restComes(page);
    expect((await saved).suggestedFilename()).toBe("leader-reboot.json");
    expect(await page.locator(".text-lines").inputValue()).toContain('"at": "00:20:00"');
    expect(troubles).toEqual([]);
    await page.close();
  });

  test("lanes that no screen reaches come with the rest, in their places", async () => {
    const { page, troubles } = await openBefore(pageOf("tests/bench", "show.json"));
    await past(page);
    const names = () => page.locator(".rows .lane-name").allTextContents();
    const first = await names();
    expect(first).toHaveLength(40);
    await restComes(page);
    const all = await names();
    expect(all.length).toBeGreaterThan(200);
    expect(all.slice(0, 40)).toEqual(first);
    expect(troubles).toEqual([]);
    await page.close();
  });

  test("whoever prints as soon as the page is read has all of it on paper", async () => {
    const { page } = await openBefore(rebootPage(), () => {
      const seen: boolean[] = [];
      Object.assign(globalThis, { seen });
      document.addEventListener("DOMContentLoaded", () => {
        seen.push(document.querySelector("#map") !== null);
        dispatchEvent(new Event("beforeprint"));
        const isAll = ["#map", "#assumed", ".foot", ".curve"].every((each) => document.querySelector(each) !== null);
        seen.push(isAll);
      });
    });
    expect(await page.evaluate(() => (globalThis as unknown as { seen: boolean[] }).seen)).toEqual([false, true]);
    await page.close();
  });

  test("a link to a part of the page finds it", async () => {
    const file = join(room.folder, "linked.html");
    writeFileSync(file, rebootPage());
    const page = await (await theChromium()).newPage({ viewport: { width: 1280, height: 900 } });
    await page.goto(`file://${file}#findings`);
    await allDrawn(page);
    const top = await page.locator("#findings").evaluate((part) => part.getBoundingClientRect().top);
    expect(top).toBeGreaterThanOrEqual(-1);
    expect(top).toBeLessThan(450);
    await page.close();
  });
});
