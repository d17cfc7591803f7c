/** The rig map in a real Chromium: drawn from runs, walked by keys, moved without dragging, read by those who do not see it. */
import { readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import type { Page } from "playwright-core";
import { beforeAll, describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { type RunData, runData } from "../../sim/run-data.ts";
import { tell } from "../../sim/tell.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium, type Look } from "./chromium.ts";
import { buildRun, device, link, strangeRun } from "./fixture.ts";
import { type MapBundle, mapBundle } from "./map-bundle.ts";
import type * as OnPage from "./map-on-page.ts";

declare const rigMap: typeof OnPage;

const room = inChromium();
let bundle: MapBundle;
beforeAll(async () => {
  bundle = await mapBundle();
});

function played(file: string): RunData {
  const load = (name: string) => ({ bytes: readFileSync(join(dirname(file), name)) });
  const { plan } = readScenario({ file, bytes: readFileSync(file) }, load);
  if (plan === null) throw new Error(`${file} cannot be read`);
  const run = rehearse(plan);
  return runData({ ...run, telling: tell(run) });
}

interface MapLook extends Look {
  readonly actions?: boolean;
  readonly at?: number;
}

let files = 0;
async function show(data: RunData, { actions = false, at = 0, ...options }: MapLook = {}) {
  files += 1;
  const file = join(room.folder, `map-${files}.html`);
  writeFileSync(
    file,
    `<!doctype html><html lang="en"><head><title>Map</title><style>${bundle.style}</style></head><body></body></html>`,
  );
  const opened = await room.open(file, { viewport: { width: 1280, height: 900 }, reducedMotion: "reduce", ...options });
  await opened.page.addScriptTag({ content: bundle.script });
  await opened.page.evaluate(([run, given]) => rigMap.openMap(run, given), [data, actions] as const);
  await cursor(opened.page, at);
  return opened;
}

const cursor = (page: Page, cursorSeconds: number) =>
  page.evaluate((at) => rigMap.setLook({ cursorSeconds: at }), cursorSeconds);
const lane = (page: Page) => page.evaluate(() => rigMap.look().lane);
const readout = (page: Page) => page.locator(".map-readout").textContent();
const focused = (page: Page) =>
  page.evaluate(() => {
    const { device, link } = (document.activeElement as SVGElement).dataset;
    return device ?? link;
  });
const spot = async (page: Page, id: string) => {
  const put = await page.locator(`[data-device=${id}]`).getAttribute("transform");
  const [x, y] = put!.match(/[\d.]+/g)!.map(Number);
  return { x: x!, y: y! };
};

describe("what is drawn", () => {
  test("dead cables by a gap, a cross and a word; clock by arrowheads; who is on one clock by an outline with a word", async () => {
    const { page, troubles } = await show(played("scenarios/leader-reboot.json"), { at: 1199 });
    const cross = page.locator("[data-link=foh-stage] .map-cross");
    const line = page.locator("[data-link=foh-stage] .map-line");
    expect(await page.locator(".map-device").count()).toBe(7);
    expect(await cross.isVisible()).toBe(false);
    expect(await line.getAttribute("stroke-dasharray")).toBeNull();
    expect(await page.locator(".map-head[visibility=visible]").count()).toBe(6);
    expect(await page.locator(".map-word.domain").allTextContents()).toEqual(["leads six others"]);

    await cursor(page, 1202);
    expect(await cross.isVisible()).toBe(true);
    const [before, gap] = (await line.getAttribute("stroke-dasharray"))!.split(" ").map(Number);
    expect(before).toBeGreaterThan(10);
    expect(gap).toBe(22);
    expect(await page.locator(".map-word", { hasText: "DOWN" }).count()).toBe(3);
    expect(await page.locator("[data-device=foh] .map-state").textContent()).toBe("BOOT");
    expect(await page.locator("[data-device=mon] .map-state").textContent()).toBe("LEAD");
    expect(await page.locator("#map .when").textContent()).toMatch(/Monitor desk\W? leads/);
    expect(troubles).toEqual([]);
  });

  test("a spare by a thinner line and its word", async () => {
    const { page } = await show(played("scenarios/spare-that-was-none.json"), { at: 60 });
    const width = (id: string) =>
      page
        .locator(`[data-link=${id}] .map-line`)
        .evaluate((found) => Number.parseFloat(getComputedStyle(found).strokeWidth));
    expect(await width("spare")).toBeLessThan(await width("main"));
    expect(await page.locator(".map-word", { hasText: "spare" }).count()).toBe(1);
  });

  test("an untested cable by a tag and its word, a tested one by neither", async () => {
    const { page } = await show(
      runData(
        buildRun({
          devices: [device("foh", "FOH desk", ["internal"]), device("stage", "Stage box", ["1"])],
          links: [
            link("main", ["foh", 1], ["stage", 1], { tested: "2026-11-20" }),
            link("spare", ["foh", 2], ["stage", 2]),
          ],
        }),
      ),
    );
    const tag = (id: string) => page.locator(`[data-link=${id}] .map-tag`);
    expect(await tag("main").count()).toBe(0);
    expect(await tag("spare").isVisible()).toBe(true);
    expect(await page.locator(".map-word", { hasText: "untested" }).count()).toBe(1);
    expect(await page.locator("[data-link=spare]").getAttribute("aria-label")).toContain("untested on site");
    expect(await page.locator("[data-link=main]").getAttribute("aria-label")).toContain("pulled on site on 2026-11-20");
    expect(await page.locator("#map .when").textContent()).toContain("One cable is untested, of two.");
    await page.getByText("The map as tables").click();
    expect(await page.locator("#map table tr", { hasText: "Spare cable" }).textContent()).toContain("untested on site");
  });

  test("no device covers another, on a desk's screen and on a phone, where the page does not scroll sideways", async () => {
    const data = played("scenarios/one-switch-reboots.json");
    for (const width of [1280, 390]) {
      const { page } = await show(data, { viewport: { width, height: 844 } });
      const boxes = await page
        .locator(".map-box")
        .evaluateAll((all) => all.map((one) => one.getBoundingClientRect().toJSON() as DOMRect));
      expect(boxes).toHaveLength(9);
      for (const [index, one] of boxes.entries())
        for (const other of boxes.slice(index + 1))
          expect(
            one.right > other.left && other.right > one.left && one.bottom > other.top && other.bottom > one.top,
          ).toBe(false);
      for (const { height, width } of boxes) expect(Math.min(height, width)).toBeGreaterThanOrEqual(24);
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth),
      ).toBe(false);
    }
  });

  test("names that are markup, and a rig without devices", async () => {
    const made = strangeRun();
    const { page, troubles } = await show(runData(made));
    expect(await page.locator("#map img, #map script").count()).toBe(0);
    expect(await page.locator(".map-device").count()).toBe(3);
    expect(troubles).toEqual([]);
    const empty = await show(runData(buildRun({ leaders: [] })));
    expect(await empty.page.locator("#map .when").textContent()).toContain("No devices in this rig.");
    expect(empty.troubles).toEqual([]);
  });
});

describe("hands", () => {
  test("pointing and focus tell the same; a click chooses the lane, and a chosen lane is marked", async () => {
    const { page } = await show(played("scenarios/leader-reboot.json"), { at: 1202 });
    await page.hover("[data-device=foh]");
    const pointedAt = await readout(page);
    expect(pointedAt).toContain("Booting, since 00:20:00.000");
    expect(pointedAt).toContain("at 00:21:15.000");
    await page.mouse.move(5, 5);
    await page.locator("[data-device=foh]").focus();
    expect(await readout(page)).toBe(pointedAt);
    await page.click("[data-device=mon]");
    expect(await lane(page)).toBe("device mon");
    await page.evaluate(() => rigMap.setLook({ lane: "link foh-stage back" }));
    expect(await page.locator(".chosen").getAttribute("data-link")).toBe("foh-stage");
    expect(await page.locator("[aria-pressed=true]").count()).toBe(1);
    await page.evaluate(() => rigMap.setLook({ lane: "feed pa-mix" }));
    expect(await page.locator(".on-feed").count()).toBe(2);
  });

  test("arrow keys walk along cables; one stop for the Tab key; Enter chooses", async () => {
    const { page } = await show(played("scenarios/spare-that-was-none.json"));
    expect(await page.locator(".map-drawing [tabindex='0']").count()).toBe(1);
    await page.locator("[data-device=foh]").focus();
    const way: (string | undefined)[] = [];
    for (const key of ["ArrowRight", "ArrowRight", "ArrowLeft", "ArrowLeft"]) {
      await page.keyboard.press(key);
      way.push(await focused(page));
    }
    expect(way[3]).toBe("foh");
    expect(["pa", "stage"]).toContain(way[1]);
    await page.keyboard.press("Enter");
    expect(await lane(page)).toBe("device foh");
    expect(await page.locator(".map-drawing [tabindex='0']").count()).toBe(1);
  });

  test("what is walked to is read, wherever the pointer lies, and does not hide behind its own words", async () => {
    const { page } = await show(played("scenarios/one-switch-reboots.json"), {
      viewport: { width: 390, height: 500 },
    });
    await page.locator("[data-device=foh]").hover();
    await page.locator("[data-device=foh]").focus();
    const seen = new Set<string | undefined>();
    for (let step = 0; step < 12; step += 1) {
      await page.keyboard.press("ArrowDown");
      const now = await page.evaluate(() => {
        const element = document.activeElement as SVGElement;
        const words = document.querySelector(".map-readout")!;
        const name = element.dataset.device === undefined ? "" : (element.querySelector("text")?.textContent ?? "");
        return {
          id: element.dataset.device ?? element.dataset.link,
          name,
          words: words.textContent,
          hidden: element.getBoundingClientRect().bottom - words.getBoundingClientRect().top,
        };
      });
      seen.add(now.id);
      // A long name is broken into lines.
      expect(now.words).toContain(now.name.replaceAll(/[\u2068\u2069]/g, ""));
      expect(now.hidden).toBeLessThanOrEqual(0);
    }
    expect(seen.size).toBeGreaterThan(3);
  });

  test("a device is moved by dragging, by buttons and by keys; it stays moved, and can be put back", async () => {
    const data = played("scenarios/spare-that-was-none.json");
    const { page } = await show(data);
    const before = await spot(page, "pa");
    const box = (await page.locator("[data-device=pa] .map-box").boundingBox())!;
    await page.mouse.move(box.x + 20, box.y + 10);
    await page.mouse.down();
    await page.mouse.move(box.x + 60, box.y + 40);
    await page.mouse.move(box.x + 120, box.y + 90);
    await page.mouse.up();
    const dragged = await spot(page, "pa");
    expect(dragged.x).toBeCloseTo(before.x + 100, 0);
    expect(dragged.y).toBeCloseTo(before.y + 80, 0);
    // A drag is no click.
    expect(await lane(page)).toBeNull();

    await page.click("[data-device=pa]");
    await page.getByRole("button", { name: "Move right" }).click();
    expect((await spot(page, "pa")).x).toBeCloseTo(dragged.x + 24, 0);
    await page.locator("[data-device=pa]").focus();
    await page.keyboard.press("Shift+ArrowDown");
    expect((await spot(page, "pa")).y).toBeCloseTo(dragged.y + 24, 0);

    await page.evaluate((run) => rigMap.openMap(run, false), data);
    expect((await spot(page, "pa")).x).toBeCloseTo(dragged.x + 24, 0);
    await page.getByRole("button", { name: "Put all back" }).click();
    expect(await spot(page, "pa")).toEqual(before);
    await page.evaluate((run) => rigMap.openMap(run, false), data);
    expect(await spot(page, "pa")).toEqual(before);
  });

  test("without actions there is no menu; with them each deed is told with the cursor's seconds", async () => {
    const data = played("scenarios/spare-that-was-none.json");
    const plain = await show(data);
    await plain.page.click("[data-device=stage]");
    expect(await plain.page.locator(".map-menu").count()).toBe(0);

    const { page } = await show(data, { actions: true, at: 600 });
    expect(await page.locator(".map-menu").isVisible()).toBe(false);
    await page.click("[data-device=foh]");
    await page.getByRole("button", { name: "Reboot the FOH desk" }).click();
    await page.getByRole("button", { name: "Reboot its surface only" }).click();
    await page.getByRole("button", { name: "Take power from the FOH desk" }).click();
    await page.click("[data-device=stage]");
    await cursor(page, 700);
    expect(await page.locator(".map-sources li").allTextContents()).toEqual([
      expect.stringContaining("first port 1 (the FOH desk)"),
      expect.stringContaining("then port 2 (the FOH desk)"),
    ]);
    const setIt = page.getByRole("button", { name: "Set it so at the cursor" });
    expect(await setIt.isDisabled()).toBe(true);
    await page.getByRole("button", { name: "Listen to port 2 earlier" }).click();
    await page.getByRole("button", { name: "Listen to it as well: then its own clock" }).click();
    await page.getByRole("button", { name: "Do not listen to port 1" }).click();
    await setIt.click();
    await page.evaluate(() => rigMap.setLook({ lane: "link main there", cursorSeconds: 800 }));
    await page.getByRole("button", { name: "Pull the main cable at the FOH desk" }).click();
    await page.getByRole("button", { name: "Cut all that is laid along the stage-left wall" }).click();
    await cursor(page, 2402);
    await page.getByRole("button", { name: "Plug the main cable in" }).click();
    expect(await page.evaluate(() => rigMap.done)).toEqual([
      ["reboot", "foh", "all", 600],
      ["reboot", "foh", "surface", 600],
      ["power", "foh", false, 600],
      ["setSources", "stage", ["2", "internal"], 700],
      ["pull", "main", "b", 800],
      ["cut", "stage-left wall", 800],
      ["plug", "main", 2402],
    ]);
  });
});

describe("for everybody", () => {
  test("the tables say what the map shows, at the cursor", async () => {
    const { page } = await show(played("scenarios/leader-reboot.json"), { at: 1199 });
    await page.getByText("The map as tables").click();
    const row = (name: string) => page.locator("#map table tr", { hasText: name }).first().textContent();
    expect(await row("PA processor")).toContain("listens to \u2068FOH desk\u2069 at port 1");
    await cursor(page, 1202);
    expect(await row("FOH desk")).toContain("Booting");
    expect(await page.locator("#map table").count()).toBe(2);
  });

  test("axe finds nothing, dark, light, with a menu and tables open", async () => {
    const { page } = await show(played("scenarios/one-switch-reboots.json"), { actions: true, at: 1801 });
    await page.click("[data-device=foh]");
    await page.getByText("The map as tables").click();
    expect((await foundByAxe(page)).violations).toEqual([]);
  });

  test("printed, it fits on paper and is drawn in lines", async () => {
    const { page } = await show(played("scenarios/one-switch-reboots.json"), { at: 1801 });
    await page.emulateMedia({ media: "print" });
    expect(await page.locator("#map pattern, #map image, #map canvas, #map [clip-path]").count()).toBe(0);
    const drawing = (await page.locator(".map-drawing").boundingBox())!;
    await page.evaluate(() => document.documentElement.classList.add("printing"));
    const printed = (await page.locator(".map-drawing").boundingBox())!;
    expect(printed.width).toBeLessThanOrEqual(720);
    expect(printed.width / printed.height).toBeCloseTo(drawing.width / drawing.height, 1);
    expect(await page.locator(".map-readout").isVisible()).toBe(false);
  });
});

test("a move of the cursor over 60 devices and 200 cables changes what differs, and lays nothing out anew", async () => {
  const devices = Array.from({ length: 60 }, (_, index) =>
    device(`d${index}`, `Device ${index}`, index === 0 ? ["internal"] : ["1"]),
  );
  const tree = devices
    .slice(1)
    .map(({ id }, index) => link(`t${index}`, [`d${Math.floor(index / 4)}`, 10 + index], [id, 1]));
  const more = Array.from({ length: 200 - tree.length }, (_, index) =>
    link(`x${index}`, [`d${index % 60}`, 200 + index], [`d${(index * 7 + 11) % 60}`, 400 + index]),
  );
  const states = [0, 1, 2, 3, 4, 5].map((step) => ({
    state: step % 2 ? ("acquiring" as const) : ("locked" as const),
    source: "1",
    fromSeconds: step * 900,
    toSeconds: (step + 1) * 900,
  }));
  const data = runData(buildRun({ leaders: ["d0"], devices, links: [...tree, ...more], states: { d7: states } }));
  const { page } = await show(data);
  const changes = await page.evaluate(() => {
    let count = 0;
    const watch = new MutationObserver((all) => {
      count += all.filter(({ target }) => (target as Element).closest?.(".map-drawing") !== null).length;
    });
    watch.observe(document.querySelector("#map")!, { subtree: true, attributes: true, childList: true });
    rigMap.setLook({ cursorSeconds: 100 });
    count += watch.takeRecords().length;
    const quiet = count;
    rigMap.setLook({ cursorSeconds: 1000 });
    return { quiet, change: watch.takeRecords().length };
  });
  // The sentence above the map has the time in it.
  expect(changes.quiet).toBeLessThan(5);
  expect(changes.change).toBeGreaterThan(changes.quiet);
  expect(changes.change).toBeLessThan(30);
  const measured = await page.evaluate(() => [rigMap.millisecondsAMove(200), rigMap.millisecondsAMove(200)]);
  console.log(
    `cursor moves over 60 devices and 200 cables: ${measured.map((each) => each.toFixed(2)).join(", ")} ms of script each`,
  );
});
