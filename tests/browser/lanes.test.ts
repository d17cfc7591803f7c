/** The lanes under the hand: two cursors, the overview, playing, changes of any lane, and events moved at their flags. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { changesOf, lanesOf } from "../../sim/lanes/lane.ts";
import { changesOfAll } from "../../viewer/lanes/changes.ts";
import type { Run } from "../../viewer/run.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";
import { busyRun, RUN_SECONDS } from "./fixture.ts";

const template = readFileSync("cli/dist/page.html", "utf8");
const room = inChromium();

let files = 0;
async function open(html: string, options: Parameters<typeof room.open>[1] = {}) {
  files += 1;
  const file = join(room.folder, `lanes-${files}.html`);
  writeFileSync(file, html);
  return room.open(file, { viewport: { width: 1280, height: 900 }, ...options });
}
const show = (run: Run, options: Parameters<typeof room.open>[1] = {}) => open(filledIn(template, run), options);

const press = async (page: Page, ...keys: string[]) => {
  await page.locator(".board").focus();
  for (const key of keys) await page.keyboard.press(key);
};
const cursorTime = async (page: Page) => (await page.locator(".readout .time").textContent())!;
const seconds = (time: string) => time.split(":").reduce((sum, part) => sum * 60 + Number(part), 0);
const plain = (text: string | null) => (text ?? "").replaceAll(/[\u2068\u2069]/g, "");
const button = (page: Page, name: string | RegExp) => page.locator("#show").getByRole("button", { name, exact: true });
const said = (page: Page) => page.locator("main > [role=status]").textContent();
/** First and last instant of the window. */
const windowNow = (page: Page) =>
  page.locator(".overview-slider").evaluate((slider) => {
    const [from, to] = [...slider.getAttribute("aria-valuetext")!.matchAll(/[\d:.]+/g)].map(([time]) =>
      time.split(":").reduce((sum, part) => sum * 60 + Number(part), 0),
    );
    return { from: from!, to: to! };
  });

describe("two cursors", () => {
  test("B is put where the cursor is; the way from it is told in seconds, milliseconds and samples, seen and heard", async () => {
    const { page, troubles } = await show(busyRun());
    expect(await page.locator(".readout-b").isVisible()).toBe(false);
    await press(page, "]", "b", "n");
    expect(await page.locator(".readout-b").textContent()).toBe(
      "B at 00:20:00.000; the cursor is 1200 s later: 1,200,000 ms, 57,600,000 samples at 48 kHz".replace(
        "1200",
        "1,200",
      ),
    );
    await expect.poll(() => said(page)).toContain("From cursor B: 1,200 s later");
    // Drawn through all lanes, each at its own instant.
    const plot = (await page.locator(".lane-drawing").first().boundingBox())!;
    const at = async (selector: string) => {
      const box = (await page.locator(selector).boundingBox())!;
      return ((box.x + box.width / 2 - plot.x) / plot.width) * RUN_SECONDS;
    };
    expect(Math.abs((await at(".overlay .cursor-b")) - 1200)).toBeLessThan(12);
    expect(Math.abs((await at(".overlay .cursor")) - 2400)).toBeLessThan(12);
    await press(page, "x");
    expect(await cursorTime(page)).toBe("00:20:00.000");
    await press(page, "z");
    const { from, to } = await windowNow(page);
    expect([from, to]).toEqual([1050, 2550]);
    await press(page, "c");
    expect(await page.locator(".readout-b").isVisible()).toBe(false);
    expect(await page.locator(".cursor-b, .between").count()).toBe(0);
    expect(troubles).toEqual([]);
  });

  test("by pointer without dragging: a button for the next click, and Shift with a click; buttons for the rest", async () => {
    const { page } = await show(busyRun());
    const drawing = page.locator(".lane-drawing").nth(3);
    await drawing.scrollIntoViewIfNeeded();
    const before = await cursorTime(page);
    await button(page, "B by next click").click();
    const clickAt = async (share: number, modifiers: "Shift"[] = []) => {
      const plot = (await drawing.boundingBox())!;
      await drawing.click({ position: { x: plot.width * share, y: plot.height / 2 }, modifiers });
    };
    await clickAt(0.25);
    expect(await cursorTime(page)).toBe(before);
    const b = () => page.locator(".readout-b .time").textContent();
    expect(Math.abs(seconds((await b())!) - RUN_SECONDS / 4)).toBeLessThan(10);
    // One click, and not the next one too.
    await clickAt(0.5);
    expect(Math.abs(seconds(await cursorTime(page)) - RUN_SECONDS / 2)).toBeLessThan(10);
    expect(Math.abs(seconds((await b())!) - RUN_SECONDS / 4)).toBeLessThan(10);
    await clickAt(0.75, ["Shift"]);
    expect(Math.abs(seconds((await b())!) - (RUN_SECONDS * 3) / 4)).toBeLessThan(10);
    await button(page, "Swap").click();
    expect(Math.abs(seconds(await cursorTime(page)) - (RUN_SECONDS * 3) / 4)).toBeLessThan(10);
    await button(page, "Between").click();
    expect((await windowNow(page)).to - (await windowNow(page)).from).toBeLessThan(RUN_SECONDS / 2);
    await button(page, "Clear B").click();
    expect(await page.locator(".readout-b").isVisible()).toBe(false);
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("B here");
    await button(page, "B here").press("Enter");
    expect(await b()).toBe(await cursorTime(page));
  });
});

describe("the overview", () => {
  test("marks the window in the whole show, and moves it by click, buttons and keys", async () => {
    const { page, troubles } = await show(busyRun());
    const isMarked = async () => {
      const strip = (await page.locator(".overview-drawing").boundingBox())!;
      const box = (await page.locator(".overview-window").boundingBox())!;
      const { from, to } = await windowNow(page);
      expect(Math.abs(box.x - strip.x - (from / RUN_SECONDS) * strip.width)).toBeLessThan(2.5);
      expect(Math.abs(box.width - ((to - from) / RUN_SECONDS) * strip.width)).toBeLessThan(4.5);
      return { from, to };
    };
    expect(await isMarked()).toEqual({ from: 0, to: RUN_SECONDS });
    await press(page, "Home", "+", "+", "Home");
    expect(await isMarked()).toEqual({ from: 0, to: RUN_SECONDS / 4 });
    await button(page, "Window after").click();
    expect(await isMarked()).toEqual({ from: RUN_SECONDS / 4, to: RUN_SECONDS / 2 });
    await page.locator(".overview-slider").press("PageDown");
    await page.locator(".overview-slider").press("ArrowLeft");
    expect(await isMarked()).toEqual({ from: (RUN_SECONDS * 7) / 16, to: (RUN_SECONDS * 11) / 16 });
    const cursor = await cursorTime(page);
    const strip = (await page.locator(".overview-slider").boundingBox())!;
    await page.mouse.click(strip.x + strip.width * 0.25, strip.y + strip.height / 2);
    const { from, to } = await isMarked();
    expect(Math.abs((from + to) / 2 - RUN_SECONDS / 4)).toBeLessThan(10);
    // It moves the window only.
    expect(await cursorTime(page)).toBe(cursor);
    await page.locator(".overview-slider").press("End");
    expect((await isMarked()).to).toBe(RUN_SECONDS);
    expect(troubles).toEqual([]);
  });

  test("shows where something is wrong in the show, and nothing where nothing is", async () => {
    const { page } = await show(busyRun());
    const drawn = (where: Page) =>
      where.locator(".overview-busy").evaluateAll((paths) => paths.map((path) => path.getAttribute("d")));
    const busy = await drawn(page);
    expect(busy).toHaveLength(3);
    expect(busy).not.toContain("");
    const empty = busyRun();
    const { page: other } = await show({ ...empty, summary: { ...empty.summary, devices: [], links: [], feeds: [] } });
    expect(await drawn(other)).toEqual(["", "", ""]);
  });
});

describe("changes", () => {
  test("brackets stay in the chosen lane, braces and their buttons go to any", async () => {
    const run = busyRun();
    const { page } = await show(run);
    const lanes = lanesOf(run).all;
    const foh = changesOf(lanes.find(({ key }) => key === "device foh")!);
    const any = changesOfAll(lanes);
    expect(await button(page, /^Any lane: next/).isVisible()).toBe(false);
    await press(page, "ArrowDown", "]");
    const walk = async (action: () => Promise<void>, count: number) => {
      const met: number[] = [];
      for (let step = 0; step < count; step += 1) {
        await action();
        met.push(Math.round(seconds(await cursorTime(page)) * 1000));
      }
      return met;
    };
    const milli = (instants: readonly number[]) => instants.map((at) => Math.round(at * 1000));
    expect(await walk(() => press(page, "]"), 2)).toEqual(milli(foh.filter((at) => at > 1200).slice(0, 2)));
    const from = foh.filter((at) => at > 1200)[1]!;
    const after = any.filter((at) => at > from).slice(0, 6);
    expect(await walk(() => press(page, "}"), 3)).toEqual(milli(after.slice(0, 3)));
    const next = button(page, "Any lane: next change, cursor there");
    expect(await walk(() => next.click(), 3)).toEqual(milli(after.slice(3)));
    expect(await walk(() => press(page, "{"), 2)).toEqual(milli([after[4]!, after[3]!]));
    expect(after.some((at) => !foh.includes(at))).toBe(true);
    // Without a lane their buttons go, and the focus is not lost with them.
    await next.press("Escape");
    expect(await next.isVisible()).toBe(false);
    expect(await page.evaluate(() => document.activeElement?.className)).toBe("board");
  });
});

describe("playing", () => {
  test("a speed at which the window passes in about twenty seconds; the cursor goes at it, and stops where it is told to", async () => {
    const { page, troubles } = await show(busyRun());
    const speed = page.locator("#show select");
    expect(await speed.locator("option").allTextContents()).toEqual(["1×", "10×", "100×", "1000×"]);
    expect(await speed.inputValue()).toBe("100");
    await press(page, "+", "+", "+", "+");
    expect(await speed.inputValue()).toBe("10");
    await speed.selectOption("1000");
    const before = seconds(await cursorTime(page));
    const began = Date.now();
    await press(page, " ");
    await page.waitForFunction(() => document.querySelector(".play")!.textContent === "Pause");
    await expect.poll(async () => seconds(await cursorTime(page)) - before).toBeGreaterThan(600);
    await press(page, " ");
    const [gone, took] = [seconds(await cursorTime(page)) - before, (Date.now() - began) / 1000];
    expect(gone).toBeLessThan(took * 1000 + 1);
    const rests = await cursorTime(page);
    await page.waitForTimeout(200);
    expect(await cursorTime(page)).toBe(rests);
    // The window went along, as wide as before.
    const { from, to } = await windowNow(page);
    expect(seconds(rests)).toBeGreaterThanOrEqual(from);
    expect(seconds(rests)).toBeLessThanOrEqual(to);
    expect(Math.abs(to - from - RUN_SECONDS / 16)).toBeLessThan(1);
    expect(from).toBeGreaterThan(before - RUN_SECONDS / 16);
    await expect.poll(() => said(page)).toContain("Paused.");
    expect(troubles).toEqual([]);
  });

  test("what changes is read out as it passes, at the end it stops, and Play begins anew", async () => {
    const { page } = await show(busyRun());
    await page.locator("#show select").selectOption("1000");
    // All that was read out from here on: what the page says as it opens comes a moment later.
    await expect.poll(() => said(page)).not.toBe("");
    await page.evaluate(() => {
      const live = document.querySelector("main > [role=status]")!;
      const all: string[] = [];
      Object.assign(window, { saidAll: all });
      new MutationObserver(() => all.push(live.textContent ?? "")).observe(live, { childList: true });
    });
    await button(page, "Play").click();
    await expect.poll(() => cursorTime(page), { timeout: 20_000 }).toBe("01:30:00.000");
    expect(await page.locator(".play").textContent()).toBe("Play");
    await expect.poll(() => said(page)).toContain("The show is over.");
    const all = await page.evaluate(() => (window as unknown as { saidAll: string[] }).saidAll);
    expect(all[0]).toBe("Playing at 1000 times the speed of the show.");
    expect(plain(all.join(" "))).toMatch(/00:2\d:\d\d\.\d{3} .+: .+/);
    // A sentence every other second at most: four seconds of playing, its begin and its end.
    expect(all.length).toBeLessThan(8);
    await button(page, "Play").click();
    await expect.poll(async () => seconds(await cursorTime(page))).toBeLessThan(RUN_SECONDS);
  });

  test("stops when the page is hidden", async () => {
    const { page } = await show(busyRun());
    await button(page, "Play").click();
    await page.evaluate(() => {
      Object.defineProperty(document, "hidden", { value: true, configurable: true });
      document.dispatchEvent(new Event("visibilitychange"));
    });
    expect(await page.locator(".play").textContent()).toBe("Play");
    const rests = await cursorTime(page);
    await page.waitForTimeout(200);
    expect(await cursorTime(page)).toBe(rests);
  });

  test("for those who want no motion it goes in steps of a second, and the window stands until it is left", async () => {
    const { page } = await show(busyRun(), { reducedMotion: "reduce" });
    await page.locator("#show select").selectOption("100");
    await page.evaluate(() => {
      const seen: { cursor: string; window: string }[] = [];
      Object.assign(window, { seen });
      const time = document.querySelector(".readout .time")!;
      const slider = document.querySelector(".overview-slider")!;
      new MutationObserver(() => {
        seen.push({ cursor: time.textContent!, window: slider.getAttribute("aria-valuetext")! });
      }).observe(time, { childList: true });
    });
    await press(page, "+", "+", "+");
    await press(page, " ");
    await page.waitForTimeout(3600);
    await press(page, " ");
    const seen = await page.evaluate(() => (window as unknown as { seen: { cursor: string; window: string }[] }).seen);
    const instants = [...new Set(seen.map(({ cursor }) => seconds(cursor)))];
    expect(instants.length).toBeGreaterThanOrEqual(2);
    expect(instants.length).toBeLessThan(6);
    for (let index = 1; index < instants.length; index += 1)
      expect(instants[index]! - instants[index - 1]!).toBeGreaterThanOrEqual(99);
    expect(new Set(seen.slice(-3).map(({ window }) => window)).size).toBe(1);
  });
});

describe("keys", () => {
  test("the question mark shows them all, Escape takes them away and gives the focus back; letters do nothing elsewhere", async () => {
    const { page } = await show(busyRun());
    await press(page, "?");
    const sheet = page.locator("dialog.keys");
    expect(await sheet.isVisible()).toBe(true);
    expect(await sheet.locator("kbd").allTextContents()).toEqual(expect.arrayContaining(["B", "[ ]", "Space", "?"]));
    await page.keyboard.press("Escape");
    expect(await sheet.isVisible()).toBe(false);
    expect(await page.evaluate(() => document.activeElement?.className)).toBe("board");
    await button(page, "Keys of the lanes").click();
    expect(await sheet.isVisible()).toBe(true);
    await sheet.getByRole("button", { name: "Close" }).click();
    // A button keeps its own Space, a choice its own arrows.
    const before = await cursorTime(page);
    await page.locator("#show select").press("ArrowDown");
    expect(await windowNow(page)).toEqual({ from: 0, to: RUN_SECONDS });
    await page.locator("#timeline button").first().focus();
    await page.keyboard.press("b");
    expect(await page.locator(".readout-b").isVisible()).toBe(false);
    expect(await cursorTime(page)).toBe(before);
  });
});

describe("an event at its flag", () => {
  const times = (page: Page) =>
    page.locator("#events .events .time-field").evaluateAll((all) => all.map((one) => (one as HTMLInputElement).value));
  const flagTime = (page: Page) => page.locator(".flag-bar input");

  test("moved by a typed time, by Alt with arrows in one step back, and taken away: the list of events says the same", async () => {
    const { page, troubles } = await open(template);
    await page.locator("h1", { hasText: "The FOH desk reboots" }).waitFor();
    expect(await page.locator(".flag-bar").isVisible()).toBe(false);
    const flag = page.locator(".flag").first();
    await flag.press("Enter");
    expect(await flagTime(page).inputValue()).toBe("00:20:00");
    await flagTime(page).fill("0:25:00");
    await flagTime(page).press("Enter");
    await expect.poll(() => page.locator(".flag").first().getAttribute("aria-label")).toContain("00:25:00");
    expect((await times(page))[0]).toBe("00:25:00");
    expect(await flagTime(page).inputValue()).toBe("00:25:00");

    await page.locator(".flag").first().focus();
    for (let step = 0; step < 3; step += 1) await page.keyboard.press("Alt+ArrowRight");
    const moved = await cursorTime(page);
    expect(seconds(moved)).toBeGreaterThan(1500);
    await expect.poll(async () => seconds((await times(page))[0]!)).toBe(seconds(moved));
    await expect
      .poll(() => page.locator(".flag").first().getAttribute("aria-label"))
      .toContain(moved.replace(/\.000$/, ""));
    // Still at the flag, still chosen: one can go on.
    await expect.poll(() => page.evaluate(() => document.activeElement?.getAttribute("data-event"))).toBe("0");
    await page.keyboard.press("Alt+ArrowLeft");
    await expect.poll(async () => seconds((await times(page))[0]!)).toBeLessThan(seconds(moved));
    // Three presses were one step.
    await page.keyboard.press("Control+z");
    await page.keyboard.press("Control+z");
    await expect.poll(async () => (await times(page))[0]).toBe("00:25:00");
    // The list says what the file says at once, the rail what was rehearsed.
    await expect
      .poll(() => page.locator(".flag").first().getAttribute("aria-label"), { timeout: 20_000 })
      .toContain("00:25:00");

    await page.locator(".flag").first().press("Enter");
    await page.locator(".flag-bar button", { hasText: "Remove" }).click();
    await expect.poll(() => page.locator(".flag").count()).toBe(0);
    expect(await page.locator("#events .none").count()).toBe(1);
    expect(troubles).toEqual([]);
  });

  test("what is no time is told, and changes nothing; a run without its file has nothing to move", async () => {
    const { page } = await open(template);
    await page.locator("h1", { hasText: "The FOH desk reboots" }).waitFor();
    await page.locator(".flag").first().press("Enter");
    await flagTime(page).fill("soon");
    await flagTime(page).press("Tab");
    expect(await page.locator(".flag-bar [role=alert]").textContent()).toContain("soon: write it as hh:mm:ss");
    expect((await times(page))[0]).toBe("00:20:00");

    const { page: other } = await show(busyRun());
    await other.locator(".flag").first().press("Enter");
    expect(await other.locator(".flag-bar").isVisible()).toBe(false);
    await other.keyboard.press("Alt+ArrowRight");
    await expect.poll(() => said(other)).toBe("This event cannot be changed here.");
  });
});

describe("how it looks with all of it in use", () => {
  test.each([1280, 390])(
    "axe finds nothing, dark and light, nothing scrolls sideways, targets are large enough: %d pixels",
    async (width) => {
      const { page } = await open(template, { viewport: { width, height: 900 }, colorScheme: "dark" });
      await page.locator("h1", { hasText: "The FOH desk reboots" }).waitFor();
      await press(page, "ArrowDown", "]", "b", "]", "+");
      await page.locator(".flag").first().press("Enter");
      expect(await page.locator(".flag-bar").isVisible()).toBe(true);
      const small = await page.locator("#show .board :is(button, select, input):visible").evaluateAll((all) =>
        all.flatMap((one) => {
          const { width, height } = one.getBoundingClientRect();
          return width < 24 || height < 24 ? [one.textContent] : [];
        }),
      );
      expect(small).toEqual([]);
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth),
      ).toBe(false);
      const { violations, passes } = await foundByAxe(page, "#show");
      expect(violations).toEqual([]);
      expect(passes).toBeGreaterThan(10);
      // The head that stays must leave the lanes more than half of a phone.
      const head = (await page.locator(".show-head").boundingBox())!;
      expect(head.height).toBeLessThan(450);
    },
  );
});
