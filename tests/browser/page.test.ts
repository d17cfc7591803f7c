/** The page in a real Chromium, opened from a file: what is drawn is what the run says, by eye, key and pointer. */
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { GROUND } from "../../shared/states.ts";
import { changesOf, lanesOf } from "../../sim/lanes/lane.ts";
import type { RunData } from "../../sim/run-data.ts";
import { type Run, runOf } from "../../viewer/run.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";
import {
  busyRun,
  emptyRun,
  LONG_NAME,
  largeRun,
  longRun,
  MARKUP_NAME,
  RIGHT_TO_LEFT_NAME,
  RUN_SECONDS,
  slippingRun,
  strangeRun,
} from "./fixture.ts";

const template = readFileSync("cli/dist/page.html", "utf8");

const room = inChromium();

interface Look {
  readonly width?: number;
  readonly height?: number;
  readonly colorScheme?: "dark" | "light";
  readonly hasTouch?: boolean;
  readonly alter?: (html: string) => string;
}

let pages = 0;
async function show(run: Run, { alter = (html) => html, ...look }: Look = {}) {
  pages += 1;
  const file = join(room.folder, `page-${pages}.html`);
  writeFileSync(file, alter(filledIn(template, run)));
  return openFile(file, look);
}

async function openFile(
  file: string,
  { width = 1280, height = 900, colorScheme = "dark", hasTouch = false }: Look = {},
) {
  return room.open(file, { viewport: { width, height }, colorScheme, hasTouch });
}

const numbers = (page: Page, selector: string, attribute: string) =>
  page.locator(selector).evaluateAll((found, name) => found.map((one) => Number(one.getAttribute(name))), attribute);
const window_ = (page: Page) =>
  page.evaluate(() => {
    const labels = [...document.querySelectorAll(".axis .tick text")].map((label) => label.textContent ?? "");
    return { first: labels[0], last: labels.at(-1), count: labels.length };
  });
const cursorTime = (page: Page) => page.locator(".readout .time").textContent();
const scrollsSideways = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth);
const press = async (page: Page, ...keys: string[]) => {
  await page.locator(".board").focus();
  for (const key of keys) await page.keyboard.press(key);
};

/** Whatever can be unfolded, one in another too. */
async function openAll(page: Page): Promise<void> {
  await page.locator("details").evaluateAll((all) => {
    for (const each of all as { open?: boolean }[]) each.open = true;
  });
}

describe("what is drawn", () => {
  test("opens from a file without an error, a warning or a request, and says the three sentences first", async () => {
    const run = busyRun();
    const { page, troubles } = await show(run);
    expect(await page.locator("h1").textContent()).toBe(run.telling.title);
    expect(await page.locator(".sentences li").allTextContents()).toEqual(run.telling.sentences);
    const order = await page
      .locator("main > header, main > section, main > footer")
      .evaluateAll((parts) => parts.map((part) => part.id || part.className));
    expect(order.slice(0, 3)).toEqual(["head", "follow", "map"]);
    // Lanes and curves before all that is read more slowly.
    const main = order.filter((id) => ["show", "why", "timeline", "devices", "findings"].includes(id));
    expect(main).toEqual(["show", "why", "timeline", "devices", "findings"]);
    const inShow = await page.locator(".board > *").evaluateAll((parts) => parts.map((part) => part.className));
    expect(inShow).toEqual(["show-above", "show-head", "lanes", "curve"]);
    expect(troubles).toEqual([]);
  });

  test("every border of every lane is drawn, and stands in the table", async () => {
    const run = busyRun();
    const { page } = await show(run);
    const borders = lanesOf(run).all.flatMap((lane) => changesOf(lane).map((at) => ({ lane: lane.key, at })));
    expect(borders.length).toBeGreaterThan(60);
    const drawn = await page.locator("[data-lane]").evaluateAll((lanes) =>
      lanes.flatMap((lane) =>
        [...lane.querySelectorAll("[data-from], [data-at]")].flatMap((one) => {
          const isMark = one.hasAttribute("data-at");
          const names = isMark ? ["data-at"] : ["data-from", "data-to"];
          return names.map((name) => `${lane.getAttribute("data-lane")} ${Number(one.getAttribute(name))}`);
        }),
      ),
    );
    for (const { lane, at } of borders) expect(drawn, `${lane} at ${at}`).toContain(`${lane} ${at}`);

    await page.locator("summary", { hasText: "The lanes as a table" }).click();
    const rows = page.locator("table", { hasText: "Every state of every lane" }).locator("tbody tr");
    // It is made when the page hears of the opening, which is a moment later.
    await rows.first().waitFor();
    expect(await rows.count()).toBeGreaterThanOrEqual(borders.length - lanesOf(run).all.length);
  });

  test("a state that is drawn has an edge to tell it by, a sign or a pattern, and its words for those who cannot see it", async () => {
    const { page } = await show(busyRun());
    const labels = await page
      .locator(".lane-drawing .stretch")
      .evaluateAll((all) => all.map((one) => one.getAttribute("aria-label") ?? ""));
    expect(labels.length).toBeGreaterThan(60);
    for (const label of labels) expect(label).toMatch(/: .+, from \d\d:\d\d:\d\d\.\d{3} until /);
    const narrowest = await page
      .locator(".lane-drawing .stretch > rect")
      .evaluateAll((all) => Math.min(...all.map((one) => one.getBoundingClientRect().width)));
    expect(narrowest).toBeGreaterThanOrEqual(2);
  });

  test("slips drawn add up to the slips of the feed: as density from afar, one by one from near, none lost", async () => {
    const run = busyRun();
    const { page } = await show(run);
    const slips = page.locator('[data-lane="feed guest-mix"] .slips');
    const feed = run.summary.feeds.find(({ id }) => id === "guest-mix")!;
    expect(await slips.getAttribute("data-drawn")).toBe("density");
    expect(Number(await slips.getAttribute("data-slips"))).toBe(feed.slips);

    await press(page, "0", "Home", "+", "+", "+", "+");
    expect(await slips.getAttribute("data-drawn")).toBe("one by one");
    const ticks = await page.locator('[data-lane="feed guest-mix"] .slips path.slip').getAttribute("d");
    const inWindow = Number(await slips.getAttribute("data-slips"));
    expect(ticks!.split("M").length - 1).toBe(inWindow);
    expect(inWindow).toBeGreaterThan(20);
  });

  test("one chart, of the slips so far, whose list says the count at the cursor", async () => {
    const { page } = await show(busyRun());
    expect(await page.locator("canvas").count()).toBe(1);
    expect(await page.locator(".curve-lines").textContent()).toContain("Guest band 348");
    await press(page, "End", "Shift+ArrowRight");
    await page.evaluate(() => {});
    const painted = await page.evaluate(() => {
      const canvas = document.querySelector("canvas")!;
      const { data } = canvas.getContext("2d")!.getImageData(0, 0, canvas.width, canvas.height);
      let coloured = 0;
      for (let index = 3; index < data.length; index += 4) if (data[index]! > 0) coloured += 1;
      return coloured;
    });
    expect(painted).toBeGreaterThan(1000);
  });

  test("the curve begins and ends where the lanes do", async () => {
    for (const width of [1280, 390]) {
      const { page } = await show(busyRun(), { width });
      const lane = (await page.locator(".lane-drawing").first().boundingBox())!;
      const canvas = (await page.locator("canvas").boundingBox())!;
      expect(Math.abs(canvas.x - lane.x), `${width}`).toBeLessThan(1.5);
      expect(Math.abs(canvas.x + canvas.width - lane.x - lane.width), `${width}`).toBeLessThan(1.5);
    }
  });

  test("each event has a flag, and a line through all lanes at its instant", async () => {
    const run = busyRun();
    const { page } = await show(run);
    expect(await page.locator(".flag").count()).toBe(run.plan.events.length);
    const plot = (await page.locator(".lane-drawing").first().boundingBox())!;
    const lines = await page
      .locator(".overlay .event-line")
      .evaluateAll((all) => all.map((one) => one.getBoundingClientRect()));
    expect(lines).toHaveLength(run.plan.events.length);
    const rows = (await page.locator(".rows").boundingBox())!;
    for (const [index, { x, height }] of lines.entries()) {
      const at = run.summary.events[index]!.atSeconds;
      expect(Math.abs(x - (plot.x + (plot.width * at) / RUN_SECONDS))).toBeLessThan(1.5);
      expect(height).toBeGreaterThan(rows.height * 0.98);
    }
  });

  test("outcome, findings, expectations, assumed numbers and the safety words are there", async () => {
    const run = busyRun();
    const { page } = await show(run);
    const text = (await page.locator("main").textContent())!.replaceAll(/[\u2068\u2069]/g, "");
    for (const { name } of run.summary.feeds) expect(text).toContain(name);
    for (const { what, remedy } of run.summary.findings) {
      expect(text).toContain(what);
      expect(text).toContain(remedy);
    }
    for (const { expected, found } of run.summary.expect) {
      expect(text).toContain(expected);
      expect(text).toContain(found);
    }
    for (const line of run.summary.assumed) expect(text).toContain(line);
    expect(text).toContain(
      "In-ears out of ears. Headphones and comms headsets off. Before any change of clock, rate, source or link.",
    );
    expect(text).toContain("Use a mute that does not depend on the link that failed");
    expect(text).toContain("Pulltest talks to no device. It changes nothing in your rig.");
    expect(text).toContain("A rehearsal aid, not proof. Do the pull test.");
    expect(text).toContain("Not tested on site.");
    expect(text.replaceAll(/found|Found/g, "")).not.toMatch(/\b(pass|passed|safe|good|all well)\b|!/i);
    expect(await page.locator("footer .last").textContent()).toBe(run.telling.last);
  });
});

test("a finding leads to what it is about, on the map and among the lanes, and from there back to it", async () => {
  const { page } = await show(busyRun(), { width: 390, height: 844 });
  const inView = (selector: string) =>
    page.locator(selector).evaluate((one) => {
      const { top, bottom } = one.getBoundingClientRect();
      return top >= 0 && bottom <= innerHeight;
    });
  await page.getByRole("button", { name: "Show on the map: FOH desk" }).click();
  expect(await page.locator("#map .chosen").getAttribute("data-device")).toBe("foh");
  expect(await page.locator("#map .found").count()).toBe(3);
  expect(await page.locator(".lane.chosen .lane-name").textContent()).toBe("FOH desk");
  expect(await page.evaluate(() => (document.activeElement as SVGElement).dataset.device)).toBe("foh");
  await expect.poll(() => inView("#map .chosen"), { timeout: 10_000 }).toBe(true);
  await expect
    .poll(() => page.locator("[aria-live=polite].unseen").first().textContent())
    .toContain("FOH desk is chosen on the map. Both ends of cable guest-in give clock.");
  expect(await page.locator("#should-see h3").first().textContent()).toContain("FOH desk at ");

  const named = page.locator(".map-findings button");
  expect(await named.allTextContents()).toEqual(["Warning Both ends of cable guest-in give clock."]);
  await named.click();
  expect(await page.evaluate(() => document.activeElement?.id)).toBe("finding-1");
  // A long page scrolls smoothly for more than the second that a poll waits by itself.
  await expect.poll(() => inView("#finding-1 h3"), { timeout: 10_000 }).toBe(true);
  await page.locator("[data-device=mon]").focus();
  await page.keyboard.press("Enter");
  // Another choice is about something else.
  expect(await page.locator("#map .found").count()).toBe(0);
  expect(await page.locator(".map-about .none").textContent()).toBe("No finding names it.");
});

describe("what is accepted", () => {
  const run = busyRun();
  const [first, ...rest] = run.summary.findings;
  const reason = "The guest is on a converter tonight.";
  const having = (summary: Partial<Run["summary"]>): Run => ({ ...run, summary: { ...run.summary, ...summary } });

  test("stands apart from the findings, folded with its count, the reason in it", async () => {
    const { page } = await show(having({ findings: rest, accepted: [{ ...first!, reason }] }));
    expect(await page.locator("#findings .matter > .findings > li").count()).toBe(rest.length);
    const fold = page.locator("#findings details");
    expect(await fold.locator("summary").textContent()).toBe("Accepted: 1, counted nowhere");
    expect(await fold.locator("li").isVisible()).toBe(false);
    await fold.locator("summary").click();
    const text = await fold.locator("li").textContent();
    for (const words of ["Accepted error", first!.what, reason, first!.rule]) expect(text).toContain(words);
  });

  test("is there where nothing else is found, and no fold where nothing is accepted", async () => {
    const { page } = await show(having({ findings: [], accepted: [{ ...first!, reason }] }));
    expect(await page.locator("#findings .none").textContent()).toContain("found nothing else to say");
    expect(await page.locator("#findings details").count()).toBe(1);
    const { page: other } = await show(run);
    expect(await other.locator("#findings details").count()).toBe(0);
  });
});

describe("what the command writes", () => {
  test.each(["leader-reboot", "leader-reboot-stay", "own-clock", "main-out-good-spare", "surface-reboot"])(
    "%s: opens, and draws every border and every slip of its run",
    async (scenario) => {
      const file = join(room.folder, `${scenario}.html`);
      const command = ["cli/dist/pulltest.cjs", "rehearse", `scenarios/${scenario}.json`, "--html", file];
      expect(spawnSync(process.execPath, command).status).toBe(0);
      const { page, troubles } = await openFile(file);
      const run = runOf(JSON.parse((await page.locator("#run").textContent())!) as RunData);
      expect(await page.locator(".sentences li").allTextContents()).toEqual(run.telling.sentences);

      const drawn = await page.locator("[data-lane]").evaluateAll((lanes) =>
        lanes.map((lane) => ({
          key: lane.getAttribute("data-lane")!,
          slips: Number(lane.querySelector(".slips")?.getAttribute("data-slips") ?? 0),
          spans: [...lane.querySelectorAll("[data-from], [data-at]")].map((one) => ({
            from: Number(one.getAttribute("data-from") ?? one.getAttribute("data-at")),
            to: Number(one.getAttribute("data-to") ?? one.getAttribute("data-at")),
            isCrowd: one.getAttribute("data-state") === "several",
          })),
        })),
      );
      let borders = 0;
      for (const lane of lanesOf(run).all) {
        const { spans, slips } = drawn.find(({ key }) => key === lane.key)!;
        for (const at of changesOf(lane)) {
          borders += 1;
          const isDrawn = spans.some(
            ({ from, to, isCrowd }) => from === at || to === at || (isCrowd && from <= at && at <= to),
          );
          expect(isDrawn, `${lane.key} at ${at}`).toBe(true);
        }
        const feed = run.summary.feeds.find(({ id }) => lane.key === `feed ${id}`);
        expect(slips, lane.key).toBe(feed?.slips ?? 0);
      }
      expect(borders).toBeGreaterThan(drawn.length);
      expect(troubles).toEqual([]);
    },
  );
});

describe("window and cursor", () => {
  test("keys zoom, pan, go to the ends and back to the whole show", async () => {
    const { page } = await show(busyRun());
    const whole = await window_(page);
    expect(whole).toMatchObject({ first: "00:00:00", last: "01:30:00" });
    await press(page, "+", "+");
    const near = await window_(page);
    expect(near).not.toEqual(whole);
    await press(page, "ArrowRight");
    expect(await window_(page)).not.toEqual(near);
    await press(page, "Home");
    expect((await window_(page)).first).toBe("00:00:00");
    await press(page, "End");
    expect((await window_(page)).last).toBe("01:30:00");
    await press(page, "-", "-", "-");
    expect(await window_(page)).toEqual(whole);
    await press(page, "+", "0");
    expect(await window_(page)).toEqual(whole);
  });

  test("brackets walk from change to change, and the words at the cursor and who follows whom go with it", async () => {
    const { page } = await show(busyRun());
    expect(await cursorTime(page)).toBe("00:19:59.999");
    expect(await page.locator("#follow").textContent()).toMatch(/FOH desk leads/);
    await press(page, "]");
    expect(await cursorTime(page)).toBe("00:20:00.000");
    const foh = page.locator('[data-lane="device foh"] .row-words');
    expect(await foh.textContent()).toBe("Booting");
    await press(page, "]", "]", "]", "]", "]", "]");
    expect(await page.locator("#follow").textContent()).toMatch(/Monitor desk leads/);
    await press(page, "[");
    await press(page, "n");
    expect(await cursorTime(page)).toBe("00:40:00.000");
    await press(page, "p");
    expect(await cursorTime(page)).toBe("00:20:00.000");
    await expect.poll(() => page.locator("main > [role=status]").textContent()).toContain("00:20:00.000");
  });

  test("a lane chosen by key is read out with its state and its span, and Enter zooms to it", async () => {
    const { page } = await show(busyRun());
    await press(page, "ArrowDown", "]");
    const says = (await page.locator(".readout .says").textContent())!.replaceAll(/[\u2068\u2069]/g, "");
    expect(says).toBe("FOH desk: Booting, from 00:20:00.000 until 00:21:15.000, 1 min 15 s");
    await press(page, "Enter");
    const box = (await page.locator('[data-lane="device foh"] .s-device-starting.stretch > rect').boundingBox())!;
    const plot = (await page.locator(".lane-drawing").first().boundingBox())!;
    expect(box.width / plot.width).toBeGreaterThan(0.75);
    await press(page, "Escape");
    expect(await page.locator(".lane.chosen").count()).toBe(0);
  });

  test("a click places the cursor where it fell, in all views", async () => {
    const { page } = await show(busyRun());
    await page.locator(".lane-drawing").first().scrollIntoViewIfNeeded();
    const plot = (await page.locator(".lane-drawing").first().boundingBox())!;
    await page.mouse.click(plot.x + plot.width / 2, plot.y + plot.height / 2);
    expect(await cursorTime(page)).toMatch(/^00:(44:5\d|45:0\d)/);
    const line = (await page.locator(".overlay .cursor").boundingBox())!;
    expect(Math.abs(line.x - plot.x - plot.width / 2)).toBeLessThan(1.5);
    expect(await page.locator("#follow .when").textContent()).toContain((await cursorTime(page))!);
  });

  test("the wheel alone scrolls the page and says how to zoom; with Ctrl it zooms at the pointer", async () => {
    const { page } = await show(busyRun());
    const drawing = page.locator(".lane-drawing").first();
    await drawing.scrollIntoViewIfNeeded();
    const plot = (await drawing.boundingBox())!;
    const whole = await window_(page);
    await page.mouse.move(plot.x + plot.width / 4, plot.y + 10);
    const before = await page.evaluate(() => scrollY);
    await page.mouse.wheel(0, 200);
    await expect.poll(() => page.evaluate(() => scrollY)).toBeGreaterThan(before);
    expect(await window_(page)).toEqual(whole);
    expect(await page.locator(".wheel-hint").isVisible()).toBe(true);

    const at = (await drawing.boundingBox())!;
    await page.mouse.move(at.x + at.width / 4, Math.max(at.y + 10, 300));
    await page.keyboard.down("Control");
    await page.mouse.wheel(0, -400);
    await page.keyboard.up("Control");
    await expect.poll(() => window_(page)).not.toEqual(whole);
    // A quarter of 01:30:00 is 00:22:30: it stays under the pointer.
    const ticks = await page
      .locator(".axis .tick")
      .evaluateAll((all) => all.map((one) => ({ x: one.getBoundingClientRect().x, label: one.textContent })));
    expect(ticks.map(({ label }) => label).join(" ")).toMatch(/00:2\d/);
  });

  test("dragging moves the window, and is not a click", async () => {
    const { page } = await show(busyRun());
    await press(page, "+", "+", "+");
    await page.locator(".lane-drawing").nth(3).scrollIntoViewIfNeeded();
    const plot = (await page.locator(".lane-drawing").nth(3).boundingBox())!;
    const before = await window_(page);
    const cursor = await cursorTime(page);
    await page.mouse.move(plot.x + 500, plot.y + 10);
    await page.mouse.down();
    await page.mouse.move(plot.x + 300, plot.y + 12, { steps: 5 });
    await page.mouse.up();
    expect(await window_(page)).not.toEqual(before);
    expect(await cursorTime(page)).toBe(cursor);
  });

  test("two fingers on the lanes zoom them about their middle, and not the page", async () => {
    const { page, troubles } = await show(busyRun(), { width: 390, height: 844, hasTouch: true });
    const rows = page.locator(".lane-drawing").nth(3);
    await rows.evaluate((drawing) => drawing.scrollIntoView({ block: "center" }));
    const box = (await rows.boundingBox())!;
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const session = await page.context().newCDPSession(page);
    const fingers = (type: "touchStart" | "touchMove", apart: number) =>
      session.send("Input.dispatchTouchEvent", {
        type,
        touchPoints: [-1, 1].map((side, id) => ({ x: x + (side * apart) / 2, y, id })),
      });
    await fingers("touchStart", 60);
    for (let apart = 70; apart <= 240; apart += 10) await fingers("touchMove", apart);
    await session.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
    // Four times as near, of an hour and a half: 22 min 30 s about its middle.
    const window = page.locator(".overview-slider");
    await expect.poll(() => window.getAttribute("aria-valuetext")).toBe("From 00:33:45.000 to 00:56:15.000");
    expect(await page.evaluate(() => visualViewport?.scale)).toBe(1);
    expect(troubles).toEqual([]);
  });

  test("buttons do what keys do, for those who have neither wheel nor drag", async () => {
    const { page } = await show(busyRun());
    const whole = await window_(page);
    await page.getByRole("button", { name: "Zoom in" }).click();
    const near = await window_(page);
    expect(near).not.toEqual(whole);
    await page.getByRole("button", { name: "Later" }).click();
    expect(await window_(page)).not.toEqual(near);
    await page.getByRole("button", { name: "Whole show" }).click();
    expect(await window_(page)).toEqual(whole);
    await page.getByRole("button", { name: "Change after" }).click();
    expect(await cursorTime(page)).toBe("00:20:00.000");
    await page.getByRole("button", { name: /^Event 2/ }).press("Enter");
    expect(await cursorTime(page)).toBe("00:40:00.000");
    await page.locator("#timeline button", { hasText: "01:00:00" }).first().click();
    expect(await cursorTime(page)).toBe("01:00:00.000");
  });

  test("Tab goes into the lanes and out again, and the focus can be seen", async () => {
    const { page } = await show(busyRun());
    await page.locator(".board").focus();
    await page.keyboard.press("ArrowLeft");
    const outline = await page.locator(".board").evaluate((board) => getComputedStyle(board).outlineStyle);
    expect(outline).toBe("solid");
    const inside: boolean[] = [];
    for (let step = 0; step < 40; step += 1) {
      await page.keyboard.press("Tab");
      inside.push(await page.evaluate(() => document.activeElement?.closest(".board") !== null));
    }
    expect(inside[0]).toBe(true);
    // Cursor B 2, keys 1, overview 3, window and cursor 7, playing 2, flags 4, curves 4, one table to unfold; then out.
    expect(inside.indexOf(false)).toBe(24);
  });
});

describe("how it looks", () => {
  const ground = (page: Page) => page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
  const rgb = (hex: string) => `rgb(${[1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16)).join(", ")})`;

  test("dark or light as the system asks, light on paper", async () => {
    const { page } = await show(busyRun(), { colorScheme: "dark" });
    expect(await ground(page)).toBe(rgb(GROUND.dark.paper));
    await page.emulateMedia({ colorScheme: "light" });
    expect(await ground(page)).toBe(rgb(GROUND.light.paper));
    await page.emulateMedia({ colorScheme: "dark", media: "print" });
    expect(await ground(page)).toBe(rgb(GROUND.light.paper));
  });

  // 640 is what 1280 becomes at twice the size.
  test.each([320, 360, 390, 640, 768, 1280, 1920])(
    "at %d pixels nothing makes the page scroll sideways",
    async (width) => {
      const { page } = await show(busyRun(), { width });
      await openAll(page);
      expect(await scrollsSideways(page)).toBe(false);
      const plot = (await page.locator(".lane-drawing").first().boundingBox())!;
      expect(plot.width).toBeGreaterThan(250);
    },
  );

  test.each([390, 1280])(
    "at %d pixels names, who hears a feed, and what to test are read whole, with no line through them",
    async (width) => {
      const { page } = await show(busyRun(), { width });
      const kinds = [".lane-name", ".lane-note", ".lane-warning", ".spoken", ".group-name"];
      const labels = page.locator(kinds.map((kind) => `.rows ${kind}`).join(", "));
      expect(await labels.allTextContents()).toContain("Either silent or clicking: test it");
      const found = await labels.evaluateAll((all) => {
        const lines = [...document.querySelectorAll<SVGLineElement>(".overlay line")];
        // Hit by the pointer for once, so that the browser itself says what is on top.
        for (const line of lines) line.style.pointerEvents = "stroke";
        const crossed: (string | null)[] = [];
        let met = 0;
        for (const label of all) {
          label.scrollIntoView({ block: "center" });
          const range = document.createRange();
          range.selectNodeContents(label);
          const { left, right, top, height } = range.getBoundingClientRect();
          for (const line of lines) {
            const { x, width } = line.getBoundingClientRect();
            const at = x + width / 2;
            if (at < left || at > right) continue;
            met += 1;
            if (document.elementFromPoint(at, top + height / 2) === line) crossed.push(label.textContent);
          }
        }
        const cut = all.filter((one) => {
          const { overflowX, textOverflow } = getComputedStyle(one);
          return (
            overflowX !== "visible" || textOverflow !== "clip" || one.scrollWidth > one.closest(".rows")!.clientWidth
          );
        });
        return { cut: cut.map((one) => one.textContent), crossed, met };
      });
      expect(found).toMatchObject({ cut: [], crossed: [] });
      // Names stand above their lanes on a narrow page, beside them on a wide one.
      if (width === 390) expect(found.met).toBeGreaterThan(20);
    },
  );

  test("many lanes on a narrow page: the quiet ones are folded there, and shown when it is wide again", async () => {
    const run = largeRun(12);
    const { page } = await show(run, { width: 390 });
    const visible = () => page.locator(".lane:visible").count();
    expect(await visible()).toBe(1);
    await page.setViewportSize({ width: 1280, height: 900 });
    await expect.poll(visible).toBe(run.summary.devices.length + run.summary.links.length);
    expect(await page.getByRole("checkbox").count()).toBe(0);
  });

  test("a long table is folded with its count on the screen, and open on paper", async () => {
    const { page } = await show(largeRun(15));
    const table = page.locator("table", { hasText: "Outcome per device" });
    expect(await table.isVisible()).toBe(false);
    expect(await page.locator("#devices summary").textContent()).toBe("All 15 devices");
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    expect(await table.isVisible()).toBe(true);
    await page.evaluate(() => dispatchEvent(new Event("afterprint")));
    expect(await table.isVisible()).toBe(false);
  });

  test("on paper the lanes are lines, without pattern fills, and the buttons are gone", async () => {
    const { page } = await show(busyRun());
    expect(await page.locator("pattern, clipPath").count()).toBe(0);
    const pdf = await page.pdf({ format: "A4" });
    expect(pdf.subarray(0, 5).toString()).toBe("%PDF-");
    await page.emulateMedia({ media: "print" });
    expect(await page.locator(".tools").count()).toBeGreaterThan(1);
    expect(await page.locator(".tools:visible, .overview:visible, .flag-bar:visible").count()).toBe(0);
    // After printing the page is drawn for the screen again.
    await page.emulateMedia({ media: "screen" });
    expect(await page.evaluate(() => document.documentElement.className)).toBe("");
  });

  test.each([1280, 390])("axe finds nothing to complain of, dark and light, %d pixels wide", async (width) => {
    const { page } = await show(busyRun(), { width });
    await openAll(page);
    const { violations, passes } = await foundByAxe(page);
    expect(violations).toEqual([]);
    expect(passes).toBeGreaterThan(20);
  });
});

describe("runs at the edge", () => {
  test("nothing at all: each part says so", async () => {
    const { page, troubles } = await show(emptyRun());
    const text = await page.locator("main").textContent();
    for (const words of [
      "No devices in this rig.",
      "No links in this rig.",
      "No feeds in this rig.",
      "Nothing changes in this run.",
    ])
      expect(text).toContain(words);
    await press(page, "+", "]", "ArrowDown", "Enter", "n", "Escape");
    expect(troubles).toEqual([]);
  });

  test("two hundred devices: quiet lanes are folded, counted and can be shown; crowded states are told", async () => {
    const run = largeRun(200);
    const { page, troubles } = await show(run);
    const visible = () => page.locator(".lane:visible").count();
    expect(await visible()).toBe(1);
    const crowd = page.locator('[data-lane="device d007"] [data-state="several"]').first();
    expect(await crowd.getAttribute("aria-label")).toMatch(
      /\d+ states from .*: Pulling in and Locked|Locked and Pulling in/,
    );
    await page.getByRole("checkbox").check();
    expect(await visible()).toBe(run.summary.devices.length + run.summary.links.length);
    await page.locator('[data-lane="device d150"]').scrollIntoViewIfNeeded();
    await expect.poll(() => page.locator('[data-lane="device d150"] .stretch').count()).toBe(1);
    await press(page, "+", "+", "ArrowRight");
    expect(troubles).toEqual([]);
  });

  test("a hundred thousand slips: all counted from afar, each drawn from near", async () => {
    const { page, troubles } = await show(slippingRun(100_000));
    const slips = page.locator('[data-lane="feed split"] .slips');
    expect(Number(await slips.getAttribute("data-slips"))).toBe(100_000);
    await press(page, ..."+".repeat(9));
    expect(await slips.getAttribute("data-drawn")).toBe("one by one");
    const seconds = RUN_SECONDS / 2 ** 9;
    const expected = (seconds / (RUN_SECONDS - 2)) * 100_000;
    expect(Math.abs(Number(await slips.getAttribute("data-slips")) - expected)).toBeLessThanOrEqual(1);
    expect(troubles).toEqual([]);
  });

  test("seventy days: hours beyond ninety-nine, and the one slip is seen", async () => {
    const { page, troubles } = await show(longRun());
    expect(await page.locator(".axis").textContent()).toContain("1440:00:00");
    expect(Number(await page.locator('[data-lane="feed split"] .slips').getAttribute("data-slips"))).toBe(1);
    const [from] = await numbers(page, '[data-lane="feed split"] .s-feed-slipping.stretch', "data-from");
    expect(from).toBe(70 * 86_400 - 3600);
    await press(page, "]", "Enter", ..."+".repeat(60));
    expect(await slipsInWindow(page)).toBe(1);
    expect(troubles).toEqual([]);
  });

  test("names that are markup or run from right to left stay names", async () => {
    const { page, troubles } = await show(strangeRun());
    expect(await page.title()).toContain(MARKUP_NAME);
    expect(await page.locator("main img, main b").count()).toBe(0);
    expect(await page.locator(".lane-name bdi").allTextContents()).toContain(MARKUP_NAME);
    expect(await page.locator(".lane-name bdi").allTextContents()).toContain(RIGHT_TO_LEFT_NAME);
    expect(await page.locator("#heard tbody th bdi").allTextContents()).toContain(LONG_NAME);
    await openAll(page);
    for (const width of [1280, 390]) {
      await page.setViewportSize({ width, height: 844 });
      await expect.poll(() => scrollsSideways(page)).toBe(false);
    }
    expect(troubles).toEqual([]);
  });

  test("a page without a run, or with one of another format, says what to do", async () => {
    const { page } = await show(busyRun(), { alter: (html) => html.replace('"format":1', '"format":2') });
    expect(await page.locator("main").textContent()).toContain("format 2");
  });
});

async function slipsInWindow(page: Page): Promise<number> {
  const slips = page.locator('[data-lane="feed split"] .slips');
  return (await slips.count()) === 0 ? 0 : Number(await slips.getAttribute("data-slips"));
}
