/** Two runs on one axis, in the room: before and after a change, against a policy, against another scenario. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";

const template = readFileSync("viewer/dist/page.html", "utf8");
const room = inChromium();

interface Way {
  readonly width?: number;
  readonly isNew?: boolean;
  readonly colorScheme?: "dark" | "light";
}

async function openAt(file: string, { width = 1280, colorScheme = "dark", isNew = false }: Way = {}) {
  const path = join(room.folder, "compare.html");
  writeFileSync(path, template);
  const opened = await room.open(path, { viewport: { width, height: 900 }, colorScheme, isNew });
  const { page } = opened;
  await page.locator(".sentences").waitFor();
  if ((await page.locator(".room-name", { hasText: file }).count()) === 0)
    await page.locator(".room-group select").first().selectOption(file);
  await page.locator(".room-name", { hasText: file }).waitFor();
  await settled(page);
  return opened;
}
const settled = (page: Page) =>
  page.waitForFunction(
    () =>
      !document.querySelector("#page")!.classList.contains("is-old") &&
      !document.documentElement.hasAttribute("data-drawing") &&
      document.querySelector<HTMLElement>(".going")!.hidden,
  );
const first = (page: Page) => page.locator("#compare .compare-first").textContent();
const cursor = (page: Page) => page.locator("#show .readout .time").textContent();
const press = (page: Page, text: string) => page.locator("#compare button", { hasText: text }).click();
const outcomes = (page: Page) =>
  page
    .locator(".compare-outcomes tbody tr")
    .evaluateAll((rows) =>
      rows.map((row) =>
        [...row.querySelectorAll("th, td")].map((cell) =>
          [...cell.querySelectorAll("li, .turn span")].map((one) => one.textContent),
        ),
      ),
    );
async function tabTo(page: Page, isThere: string) {
  for (let step = 0; step < 300; step += 1) {
    if (await page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, isThere)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`Tab does not come to ${isThere}`);
}
const violations = async (page: Page) => (await foundByAxe(page, "#compare")).violations;
/** The main cable, which comes out at 00:40:00, kept; then that it comes out is taken away. */
async function pulledAndNot(way?: Way) {
  const opened = await openAt("main-out-good-spare.json", way);
  const { page } = opened;
  await press(page, "Keep this run to compare");
  await page.locator("#compare", { hasText: "This run is kept" }).waitFor();
  await page.locator("#events button[aria-label^=Remove]").first().click();
  await page.locator(".compared").waitFor();
  await settled(page);
  return opened;
}

describe("before and after a change", () => {
  test("by keyboard alone: kept, the pulled cable taken away, the first difference at its instant", async () => {
    const { page, troubles } = await openAt("main-out-good-spare.json");
    await tabTo(page, "#compare button");
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Keep this run to compare");
    await page.keyboard.press("Enter");
    await page.locator("#compare", { hasText: "This run is kept" }).waitFor();
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Stop comparing");
    await page.keyboard.down("Shift");
    await tabTo(page, "#events button[aria-label^=Remove]");
    await page.keyboard.up("Shift");
    await page.keyboard.press("Enter");
    await page.locator(".compared").waitFor();
    await settled(page);
    expect(await first(page)).toContain("First difference at 00:40:00.000, in cable main");
    expect(await first(page)).toContain("Before: Down. After: Carries, clock each way.");

    await tabTo(page, ".compared button");
    await page.keyboard.press("Enter");
    expect(await cursor(page)).toContain("00:40:00");
    await tabTo(page, ".compare-board");
    for (let turn = 0; turn < 8; turn += 1) await page.keyboard.press("+");
    expect(await cursor(page)).toBe("00:40:00.000");
    await page.keyboard.press("]");
    const second = await cursor(page);
    expect(second! > "00:40:00.000").toBe(true);
    await page.keyboard.press("]");
    expect((await cursor(page))! > second!).toBe(true);
    await page.keyboard.press("[");
    expect(await cursor(page)).toBe(second);
    await page.keyboard.press("0");
    await page.keyboard.press("f");
    expect(await cursor(page)).toContain("00:40:00");
    // The keys of the lanes, the second cursor among them.
    await page.keyboard.press("b");
    await page.keyboard.press("Shift+ArrowRight");
    expect(await page.locator(".readout-b").textContent()).toContain("the cursor is 54 s later");
    expect(troubles).toEqual([]);
  });

  test("wheel and drag on the pairs do what they do on the lanes, and are the same window", async () => {
    const { page, troubles } = await pulledAndNot();
    const windowOf = () => page.locator(".overview-slider").getAttribute("aria-valuetext");
    await page.locator(".pair-axis").scrollIntoViewIfNeeded();
    const { x, y, width } = (await page.locator(".pair-axis").boundingBox())!;
    const before = await cursor(page);
    await page.mouse.move(x + width / 2, y + 30);
    await page.keyboard.down("Control");
    await page.mouse.wheel(0, -500);
    await page.keyboard.up("Control");
    await expect.poll(windowOf).not.toBe("From 00:00:00.000 to 01:30:00.000");
    const zoomed = await windowOf();
    await page.mouse.down();
    await page.mouse.move(x + width / 2 - 150, y + 30, { steps: 4 });
    await page.mouse.up();
    expect((await windowOf())! > zoomed!).toBe(true);
    // A drag is no click.
    expect(await cursor(page)).toBe(before);
    await page.mouse.click(x + width / 4, y + 30);
    expect(await cursor(page)).not.toBe(before);
    expect(await page.locator(".compared .time").last().textContent()).toBe(await cursor(page));
    expect(troubles).toEqual([]);
  });

  test("lanes in pairs: only those that differ, each piece in the looks of its own run, the line at the instant", async () => {
    const { page, troubles } = await pulledAndNot();
    const lanes = () =>
      page.locator(".pairs .lane").evaluateAll((rows) => rows.map((row) => row.getAttribute("data-lane")));
    const shown = await lanes();
    expect(shown.slice(0, 2)).toEqual(["first device stage", "second device stage"]);
    expect(shown).toContain("second feed pa-mix");
    expect(shown).not.toContain("first device foh");
    const stateAt = (lane: string) =>
      page
        .locator(`[data-lane="${lane}"] .stretch`)
        .evaluateAll((all) => all.map((one) => one.getAttribute("data-state")));
    expect(await stateAt("first link main there")).toContain("link-down");
    expect(await stateAt("second link main there")).toEqual(["clock-each-way"]);
    const place = await page.evaluate(() => {
      const line = document.querySelector(".pair-marks .first-line")!.getBoundingClientRect();
      const plot = document.querySelector(".pairs .lane .row-plot")!.getBoundingClientRect();
      return (line.left - plot.left) / plot.width;
    });
    expect(place).toBeCloseTo(40 / 90, 2);
    expect(await page.locator(".pair-axis .first-word").textContent()).toBe("First difference");
    expect(await page.locator(".differs").count()).toBe(shown.length / 2);

    await page.locator(".compare-all input").click();
    const all = await lanes();
    expect(all.length).toBeGreaterThan(shown.length);
    expect(all).toContain("first device foh");
    expect(
      await page.locator(".pairs .lane").evaluateAll((rows) => rows.every((row) => row.getClientRects().length > 0)),
    ).toBe(true);
    expect(await page.evaluate(() => document.activeElement?.matches(".compare-all input"))).toBe(true);
    expect(troubles).toEqual([]);
  });

  test("what the PA had and has of it, and in words that it is better", async () => {
    const { page } = await pulledAndNot();
    expect(await outcomes(page)).toEqual([
      [
        [],
        ["silent 0.3 s", "one dropout while faulty", "back at full level with no fade"],
        ["clean"],
        ["Better", "silent 0.3 s less", "one dropout fewer while faulty", "no return at full level any more"],
      ],
    ]);
    expect(await page.locator(".compare-turns").textContent()).toBe("Better for the PA.");
    expect(await page.locator(".turn-better svg path").count()).toBe(1);
  });

  test("the kept run stays through further changes and steps back, until comparing is stopped", async () => {
    const { page, troubles } = await pulledAndNot();
    await page.keyboard.press("Control+z");
    await page.locator("#compare", { hasText: "In no lane do the two runs differ" }).waitFor();
    expect(await page.locator(".compare-outcomes").textContent()).toContain("The same");
    await page.keyboard.press("Control+Shift+z");
    await page.locator("#compare", { hasText: "First difference at 00:40:00.000" }).waitFor();
    await settled(page);
    await page.locator(".room-group select").first().selectOption("leader-reboot.json");
    await page.locator("h1", { hasText: "The FOH desk reboots" }).waitFor();
    await settled(page);
    expect(await page.locator("#compare").textContent()).toContain("Only in “After”");
    await press(page, "Stop comparing");
    expect(await page.locator(".compared").count()).toBe(0);
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Keep this run to compare");
    expect(troubles).toEqual([]);
  });

  test("a row of changes leaves no listener and no drawing of the runs before behind", async () => {
    const { page } = await pulledAndNot({ isNew: true });
    const session = await page.context().newCDPSession(page);
    await session.send("Performance.enable");
    const count = async () => {
      await session.send("HeapProfiler.collectGarbage");
      const { metrics } = await session.send("Performance.getMetrics");
      const of = (name: string) => metrics.find((one) => one.name === name)?.value ?? 0;
      return { listeners: of("JSEventListeners"), nodes: of("Nodes") };
    };
    const turn = async () => {
      await page.keyboard.press("Control+z");
      await page.locator("#compare", { hasText: "In no lane" }).waitFor();
      await page.keyboard.press("Control+Shift+z");
      await page.locator("#compare", { hasText: "First difference" }).waitFor();
      await settled(page);
    };
    for (let warm = 0; warm < 2; warm += 1) await turn();
    const before = await count();
    expect(before.listeners).toBeGreaterThan(50);
    const rounds = 5;
    for (let round = 0; round < rounds; round += 1) await turn();
    // Less than one listener a round; a drawing has far more nodes than are allowed here.
    const more = async (of: "listeners" | "nodes") => (await count())[of] - before[of];
    await expect.poll(() => more("listeners")).toBeLessThan(rounds);
    await expect.poll(() => more("nodes")).toBeLessThan(100 * rounds);
  });
});

describe("with another run", () => {
  test("a policy of the present scenario is played aside, and the page stays as it is", async () => {
    const { page, troubles } = await openAt("leader-reboot.json");
    const heard = await page.locator(".sentences").textContent();
    const select = page.locator("#compare select");
    expect(await select.locator("optgroup").first().locator("option").allTextContents()).toEqual([
      "back at once: as in the file",
      "back after a wait",
      "stay until told",
      "back following",
      "another leads",
    ]);
    await select.selectOption({ label: "stay until told" });
    await page.locator("#compare button", { hasText: /^Compare$/ }).click();
    await page.locator(".compared").waitFor();
    expect(await first(page)).toContain("First difference at 00:21:15");
    expect(await page.locator(".compare-turns").textContent()).toContain("Worse for the PA; better for");
    expect((await outcomes(page)).flat(2)).toContain("Worse");
    expect(await page.locator(".sentences").textContent()).toBe(heard);
    // An edit: the policy was played from the files before it.
    await page.locator("#events button[aria-label^=Remove]").first().click();
    await page.locator("#compare", { hasText: "choose it again to play it anew" }).waitFor();
    // Nobody goes away any more, so there is no policy to choose; what is on the page can be kept in its place.
    expect(await page.locator("#compare optgroup").count()).toBe(1);
    await press(page, "Keep this run to compare");
    await page.locator("#compare", { hasText: "This run is kept" }).waitFor();
    expect(troubles).toEqual([]);
  });

  test("a policy that is the file's own differs nowhere", async () => {
    const { page } = await openAt("leader-reboot.json");
    await page.locator("#compare select").selectOption({ label: "back at once: as in the file" });
    await page.locator("#compare button", { hasText: /^Compare$/ }).click();
    await page.locator("#compare", { hasText: "In no lane do the two runs differ" }).waitFor();
  });

  test("a shipped scenario: what only one of the two has is said", async () => {
    const { page, troubles } = await openAt("main-out-good-spare.json");
    await page.locator("#compare select").selectOption("leader-reboot.json");
    await page.locator("#compare button", { hasText: /^Compare$/ }).click();
    await page.locator(".compared").waitFor();
    const text = await page.locator("#compare").textContent();
    expect(text).toContain("Only in “This run”: ");
    expect(text).toContain("Only in ““The FOH desk reboots");
    expect(troubles).toEqual([]);
  });

  test("what takes long can be cancelled", async () => {
    const { page, troubles } = await openAt("main-out-good-spare.json");
    await page.locator("#compare select").selectOption("festival-day.json");
    await page.locator("#compare button", { hasText: /^Compare$/ }).click();
    await page.locator("#compare progress").waitFor();
    await press(page, "Cancel");
    expect(await page.locator("#compare select").count()).toBe(1);
    expect(await page.locator(".compared").count()).toBe(0);
    expect(troubles).toEqual([]);
  });
});

describe("everybody can read it", () => {
  test.each([1280, 390])("at %d pixels, dark and light: nothing for axe to find, nothing runs out", async (width) => {
    const { page } = await openAt("main-out-good-spare.json", { width });
    expect(await violations(page)).toEqual([]);
    await press(page, "Keep this run to compare");
    await page.locator("#events button[aria-label^=Remove]").first().click();
    await page.locator(".compared").waitFor();
    await settled(page);
    for (const fold of await page.locator("#compare summary").all()) await fold.click();
    expect(await violations(page)).toEqual([]);
    const overflow = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    expect(overflow).toBeLessThanOrEqual(0);
  });

  test("on paper: the pairs and the table, without the buttons; nothing of it where nothing is compared", async () => {
    const { page } = await openAt("main-out-good-spare.json");
    await page.emulateMedia({ media: "print" });
    expect(await page.locator("#compare").isVisible()).toBe(false);
    await page.emulateMedia({ media: "screen" });
    await press(page, "Keep this run to compare");
    await page.locator("#events button[aria-label^=Remove]").first().click();
    await page.locator(".compared").waitFor();
    await page.emulateMedia({ media: "print" });
    expect(await page.locator(".compare-outcomes").isVisible()).toBe(true);
    expect(await page.locator(".pairs").isVisible()).toBe(true);
    expect(await page.locator("#compare button").first().isVisible()).toBe(false);
  });
});
