/** The curves on the page: four charts on one canvas that share window and cursor with the lanes. */
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import type { Page } from "playwright-core";
import { beforeAll, describe, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";
import { emptyRun, slippingRun } from "./fixture.ts";

const command = resolve("cli/dist/pulltest.cjs");
const CHARTS = ["Slips so far", "Frequency", "Phase against the leader", "Buffer fill"] as const;
type Chart = (typeof CHARTS)[number];

const room = inChromium();
beforeAll(() => {
  for (const name of ["two-clocks", "leader-reboot", "festival-day"]) {
    const html = join(room.folder, `${name}.html`);
    const { status, stderr } = spawnSync(
      process.execPath,
      [command, "rehearse", `scenarios/${name}.json`, "--html", html],
      { encoding: "utf8" },
    );
    expect(status, stderr).toBeLessThan(2);
  }
});

interface Look {
  readonly width?: number;
  readonly colorScheme?: "dark" | "light";
}

function open(name: string, { width = 1280, colorScheme = "dark" }: Look = {}) {
  return room.open(join(room.folder, `${name}.html`), { viewport: { width, height: 900 }, colorScheme });
}

async function choose(page: Page, chart: Chart) {
  await page.locator(".curve-choices button", { hasText: chart }).click();
  await isDrawn(page);
}

const isDrawn = (page: Page) =>
  page.waitForFunction(() => {
    const box = document.querySelector<HTMLElement>(".curve-box")!;
    return box.clientWidth === 0 || (box.dataset.state === "drawn" && !box.hasAttribute("aria-busy"));
  });

const plain = (text: string | null) => (text ?? "").replaceAll(/[\u2068\u2069]/g, "");
const values = async (page: Page) =>
  (await page.locator(".curve-lines .count").allTextContents()).map((text) =>
    Number(text.replace("−", "-").split(" ")[0]),
  );
const press = async (page: Page, ...keys: string[]) => {
  await page.locator(".board").focus();
  for (const key of keys) await page.keyboard.press(key);
};

describe("four charts", () => {
  test("one at a time, chosen by buttons in words, by key as well, and nothing errs", async () => {
    const { page, troubles } = await open("two-clocks");
    const pressed = () => page.locator(".curve-choices [aria-pressed=true]").allTextContents();
    expect(await page.locator(".curve-choices button:visible").allTextContents()).toEqual(CHARTS);
    expect(await pressed()).toEqual(["Slips so far"]);
    for (const chart of CHARTS.slice(1)) {
      await page.locator(".curve-choices button", { hasText: chart }).focus();
      await page.keyboard.press("Enter");
      await isDrawn(page);
      expect(await pressed()).toEqual([chart]);
      expect(await page.locator(".curve canvas").count()).toBe(1);
      const label = plain(await page.locator(".curve canvas").getAttribute("aria-label"));
      expect(label).toContain(plain(await page.locator(".curve-says").textContent()));
      const live = page.locator("main > p[role=status]");
      await expect
        .poll(async () => plain(await live.textContent()))
        .toContain(await page.locator(".curve h3").textContent());
    }
    expect(troubles).toEqual([]);
  });

  test("say what the scenario says: 10.5 ppm apart, 907 samples in half an hour", async () => {
    const { page } = await open("two-clocks");
    await choose(page, "Frequency");
    expect(plain(await page.locator(".curve-says").textContent())).toBe(
      "Fastest in this window: FOH desk, +5.00 ppm; slowest: Guest desk, −5.50 ppm.",
    );
    await choose(page, "Phase against the leader");
    expect(plain(await page.locator(".curve-says").textContent())).toContain("Guest desk, −907.20 samples at 00:30:00");
    expect(await page.locator(".curve-lines .count").allTextContents()).toContainEqual(
      expect.stringMatching(/ samples$/),
    );
  });

  test("a run by hand without flows or feeds has words in place of lines", async () => {
    const template = readFileSync("cli/dist/page.html", "utf8");
    for (const [name, run] of [
      ["slipping", slippingRun(1000)],
      ["empty", emptyRun()],
    ] as const) {
      writeFileSync(join(room.folder, `${name}.html`), filledIn(template, run));
      const { page, troubles } = await open(name);
      for (const chart of CHARTS) {
        await choose(page, chart);
        const words = page.locator(".curve .none");
        if (await words.isVisible()) expect((await words.textContent())!.length).toBeGreaterThan(10);
        else expect(await page.locator(".curve-lines li").count()).toBeGreaterThan(0);
      }
      await choose(page, "Frequency");
      expect(await page.locator(".curve .none").textContent()).toBe("No device puts out a clock in this run.");
      expect(troubles).toEqual([]);
    }
  });
});

describe("one window and one cursor", () => {
  test("the canvas begins and ends where the lanes do, and its cursor stands where theirs does, on every chart", async () => {
    for (const width of [1280, 390]) {
      const { page } = await open("two-clocks", { width });
      for (const chart of CHARTS) {
        await choose(page, chart);
        const lane = (await page.locator(".lane-drawing").first().boundingBox())!;
        const canvas = (await page.locator(".curve canvas").boundingBox())!;
        expect(Math.abs(canvas.x - lane.x), `${chart} ${width}`).toBeLessThan(1.5);
        expect(Math.abs(canvas.width - lane.width), `${chart} ${width}`).toBeLessThan(1.5);
        // The cursor begins at half time of half an hour, less a millisecond.
        const cursor = (await page.locator(".curve-mark.a").boundingBox())!;
        expect(Math.abs(cursor.x + 1 - canvas.x - canvas.width / 2), `${chart} ${width}`).toBeLessThan(2);
      }
    }
  });

  test("zooming and moving the window changes sentence and table; the table has the window's ends", async () => {
    const { page } = await open("two-clocks");
    await choose(page, "Phase against the leader");
    await page.locator(".curve .as-table summary").click();
    await press(page, "+", "Home");
    await expect.poll(() => page.locator(".curve caption").textContent()).toMatch(/from 00:00:00\S* to 00:15:00/);
    await expect
      .poll(async () => plain(await page.locator(".curve-says").textContent()))
      .toContain("−453.60 samples at 00:15:00");
    await press(page, "ArrowRight");
    await expect.poll(() => page.locator(".curve caption").textContent()).toMatch(/from 00:03:45\S* to 00:18:45/);
    const cells = await page.locator(".curve tbody tr", { hasText: "Guest desk" }).locator("td").allTextContents();
    expect(cells[0]).toContain("−113.4");
    expect(cells[1]).toContain("−567.0");
  });

  test("cursor B is drawn, and read against the cursor beside the curve and in its table", async () => {
    const { page } = await open("two-clocks", { width: 390 });
    await choose(page, "Phase against the leader");
    await page.locator(".curve .as-table summary").click();
    const guest = (selector: string) =>
      page.locator(selector, { hasText: "Guest desk" }).locator("td, .curve-from-b > span").allTextContents();
    expect(await page.locator(".curve-mark.b").isVisible()).toBe(false);
    // What is clicked beside the plots is no place in time.
    expect(await page.locator(".readout .time").textContent()).toMatch(/^00:(15:00|14:59)/);
    await press(page, "b");
    for (let step = 0; step < 25; step += 1) await page.keyboard.press("Shift+ArrowRight");
    // A quarter of half an hour later: 10.5 ppm of 450 s are 226.8 samples at 48 kHz.
    await expect
      .poll(() => guest(".curve-lines li"))
      .toEqual(["at cursor B −453.60 samples", "from there −226.80 samples"]);
    await expect.poll(() => guest(".curve tbody tr")).toContainEqual(expect.stringMatching(/[^ ]−226\.80 samples$/));
    const box = (await page.locator(".curve-box").boundingBox())!;
    const [a, b] = await Promise.all(
      [".curve-mark.a", ".curve-mark.b"].map(async (each) => (await page.locator(each).boundingBox())!),
    );
    expect(Math.abs(b!.x + 2 - box.x - box.width / 2)).toBeLessThan(2);
    expect(Math.abs(a!.x + 1 - b!.x - 2 - box.width / 4)).toBeLessThan(2);
    await page.keyboard.press("c");
    expect(await guest(".curve-lines li")).toEqual([]);
    await expect.poll(() => page.locator(".curve caption").count()).toBe(1);
  });

  test("the pointer reads, and leaves the cursor alone; a click moves the cursor for lanes and curve", async () => {
    const { page } = await open("two-clocks");
    await choose(page, "Phase against the leader");
    const time = () => page.locator(".readout .time").textContent();
    const before = await time();
    const guest = async () => Math.min(...(await values(page)));
    expect(await guest()).toBeCloseTo(-453.6, 1);
    await page.locator(".curve-box").scrollIntoViewIfNeeded();
    const box = (await page.locator(".curve-box").boundingBox())!;
    await page.mouse.move(box.x + box.width / 4, box.y + 60);
    await expect.poll(() => page.locator(".curve-when").textContent()).toMatch(/^Under the pointer, 00:07:/);
    expect(Math.abs((await guest()) + 226.8)).toBeLessThan(2);
    expect(await time()).toBe(before);
    await page.mouse.click(box.x + (box.width * 3) / 4, box.y + 60);
    expect(await time()).toMatch(/^00:22:/);
    await page.mouse.move(box.x + box.width / 2, box.y - 200);
    await expect.poll(() => page.locator(".curve-when").textContent()).toMatch(/^At the cursor, 00:22:/);
    expect(Math.abs((await guest()) + 680.4)).toBeLessThan(2);
  });

  test("only those of the chosen lane, if asked, with the letters that they had", async () => {
    const { page } = await open("leader-reboot");
    await choose(page, "Frequency");
    const only = page.locator(".curve-choices button", { hasText: "Only the chosen lane" });
    const lines = () =>
      page.locator(".curve-lines li").evaluateAll((all) =>
        all.map((one) =>
          [...one.children]
            .slice(0, 2)
            .map((part) => part.textContent)
            .join(" "),
        ),
      );
    const all = await lines();
    expect(all.length).toBeGreaterThan(4);
    expect(await only.isVisible()).toBe(false);
    await press(page, "ArrowDown", "ArrowDown");
    await only.click();
    expect(await only.getAttribute("aria-pressed")).toBe("true");
    expect(await lines()).toEqual([all[1]]);
    await press(page, "ArrowDown");
    expect(await lines()).toEqual([all[2]]);
    await press(page, "Escape");
    expect(await lines()).toEqual(all);
  });

  test("while the window moves nothing errs, and at rest it is drawn for where it has come to", async () => {
    const { page, troubles } = await open("festival-day");
    await choose(page, "Frequency");
    await page.locator(".curve .as-table summary").click();
    await press(page, "0", "+", "+", "+", ...Array.from({ length: 20 }, () => "ArrowRight"), "End");
    await expect.poll(() => page.locator(".curve caption").textContent()).toMatch(/to 13:00:00/);
    await isDrawn(page);
    expect(troubles).toEqual([]);
  });
});

describe("how it looks", () => {
  test("lines are painted in more colours than the ground's, in dark and light", async () => {
    for (const colorScheme of ["dark", "light"] as const) {
      const { page } = await open("leader-reboot", { colorScheme });
      await choose(page, "Buffer fill");
      const coloured = await page.evaluate(() => {
        const canvas = document.querySelector<HTMLCanvasElement>(".curve canvas")!;
        const { data } = canvas.getContext("2d")!.getImageData(0, 0, canvas.width, canvas.height);
        const colours = new Map<string, number>();
        for (let at = 0; at < data.length; at += 4) {
          if (data[at + 3] !== 255) continue;
          const key = `${data[at]} ${data[at + 1]} ${data[at + 2]}`;
          colours.set(key, (colours.get(key) ?? 0) + 1);
        }
        return [...colours.values()].filter((count) => count > 100).length;
      });
      expect(coloured).toBeGreaterThan(3);
    }
  });

  test.each([1280, 390])("axe finds nothing, dark and light, and nothing scrolls sideways, %d wide", async (width) => {
    const { page } = await open("leader-reboot", { width });
    await page.locator(".curve").scrollIntoViewIfNeeded();
    for (const chart of CHARTS) {
      await choose(page, chart);
      const summary = page.locator(".curve .as-table summary");
      if ((await summary.isVisible()) && (await page.locator(".curve .as-table[open]").count()) === 0)
        await summary.click();
      const wider = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect(wider, chart).toBe(0);
      expect((await foundByAxe(page, ".curve")).violations, chart).toEqual([]);
    }
  });
});
