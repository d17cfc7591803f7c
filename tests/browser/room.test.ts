/** The whole tool as one page, opened from a file: people change a scenario in it and see what comes of that. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { stampOf } from "../../sim/stamp.ts";
import { tell } from "../../sim/tell.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";

const template = readFileSync("viewer/dist/page.html", "utf8");
const room = inChromium();

/** Small, and over in no time, so that a test waits for nothing but the page. */
const SMALL = `{
  // One cable and two ends.
  "format": 1,
  "title": "Two desks",
  "run": { "length": "00:10:00", "seed": "quay-3" },
  "rig": {
    "sampleRateHz": 48000,
    "leaders": ["a"],
    "devices": [
      { "id": "a", "name": "First desk", "clockSources": ["internal"] },
      { "id": "b", "name": "Second desk", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": 5 } }
    ],
    "links": [{ "id": "main", "type": "madi", "from": "a.1", "to": "b.1" }],
    "feeds": [{ "id": "mix", "name": "Main mix", "through": ["a", "b"], "channels": 2, "heardBy": ["pa"] }]
  },
  "events": [
    { "at": "00:05:00", "do": "hang", "device": "b", "forSeconds": 20 } // the interval
  ]
}
`;

let files = 0;
async function openPage(html = template, options: Parameters<typeof room.open>[1] = {}) {
  files += 1;
  const file = join(room.folder, `room-${files}.html`);
  writeFileSync(file, html);
  return room.open(file, { viewport: { width: 1280, height: 900 }, ...options });
}
const drawn = (page: Page, title: string) => page.locator("h1", { hasText: title }).waitFor();
const heard = (page: Page) => page.locator(".sentences").textContent();
const eventLines = (page: Page) => page.locator("#events .event-words").allTextContents();
const isSettled = (page: Page) =>
  page.waitForFunction(
    () =>
      !document.querySelector("#page")!.classList.contains("is-old") &&
      !document.documentElement.hasAttribute("data-drawing") &&
      document.querySelector<HTMLElement>(".going")!.hidden,
  );
async function drop(page: Page, given: readonly { readonly name: string; readonly text: string }[]) {
  const data = await page.evaluateHandle((all) => {
    const transfer = new DataTransfer();
    for (const { name, text } of all) transfer.items.add(new File([text], name));
    return transfer;
  }, given);
  await page.dispatchEvent("body", "drop", { dataTransfer: data });
}
async function dropSmall(page: Page) {
  await drawn(page, "The FOH desk reboots");
  await drop(page, [{ name: "small.json", text: SMALL }]);
  await drawn(page, "Two desks");
  await isSettled(page);
}
function planOfSmall() {
  return readScenario({ file: "small.json", bytes: new TextEncoder().encode(SMALL) }, () => ({ problem: "" })).plan!;
}
/** The page with the small run and its file in it. */
function smallPage(added?: { readonly events: readonly unknown[]; readonly seed: string | null }) {
  const bytes = new TextEncoder().encode(SMALL);
  const moreEvents = added?.events ?? [];
  const read = readScenario({ file: "small.json", bytes, moreEvents }, () => ({ problem: "" }));
  const run = rehearse(read.plan!, { sha256: read.sha256 });
  const files = { main: "small.json", texts: { "small.json": SMALL }, ...(added && { added }) };
  return filledIn(template, { ...run, telling: tell(run), files });
}
/** People who have had a small scenario played, and go on from there: no other run is played first. */
async function openSmall(look?: Parameters<typeof room.open>[1]) {
  const opened = await openPage(smallPage(), look);
  await drawn(opened.page, "Two desks");
  return opened;
}
/** Walks with Tab until the focus is there. */
async function tabTo(page: Page, selector: string) {
  for (let step = 0; step < 200; step += 1) {
    if (await page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`Tab does not come to ${selector}`);
}

describe("without a run in it", () => {
  test("opens with the leader's reboot, its file and its events, and fetches nothing", async () => {
    const { page, troubles } = await openPage();
    await drawn(page, "The FOH desk reboots in act two");
    expect((await page.locator(".room-name").textContent())?.trim()).toBe("leader-reboot.json with quay.rig.json");
    await expect.poll(() => eventLines(page)).toEqual(["FOH desk reboots."]);
    // The policies come after the run.
    await page.locator("#return table").first().waitFor();
    expect(troubles).toEqual([]);
  });

  test("by keyboard alone: a shipped scenario, a cable pulled at the cursor, another outcome, and back", async () => {
    const { page, troubles } = await openPage();
    await drawn(page, "The FOH desk reboots");
    await tabTo(page, ".room-group select");
    await page.keyboard.type("The main cable");
    await page.keyboard.press("Enter");
    await page.locator(".room-name", { hasText: "main-out-good-spare.json" }).waitFor();
    await isSettled(page);
    const [before, lines] = [await heard(page), await eventLines(page)];

    await tabTo(page, "#events select[name=what]");
    await page.keyboard.type("Reboot");
    await page.keyboard.press("Tab");
    await page.keyboard.type("FOH");
    await tabTo(page, "#events button[type=submit]");
    await page.keyboard.press("Enter");
    await page.waitForFunction(
      (text) => document.querySelector<HTMLElement>(".sentences")!.textContent !== text,
      before,
    );
    await isSettled(page);
    await expect.poll(() => eventLines(page)).toHaveLength(lines.length + 1);
    await expect.poll(() => eventLines(page)).toContain("FOH desk reboots.");
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Add");

    await page.keyboard.press("Control+z");
    await page.waitForFunction(
      (text) => document.querySelector<HTMLElement>(".sentences")!.textContent === text,
      before,
    );
    await expect.poll(() => eventLines(page)).toEqual(lines);
    await page.keyboard.press("Control+Shift+z");
    await page.waitForFunction(
      (text) => document.querySelector<HTMLElement>(".sentences")!.textContent !== text,
      before,
    );
    expect(troubles).toEqual([]);
  });

  test("a draft is there after a reload, and can be discarded", async () => {
    const { page, troubles } = await openPage();
    await dropSmall(page);
    await page.locator("#events button", { hasText: "Remove" }).click();
    await page.locator("#events .none").waitFor();
    await isSettled(page);
    await page.reload();
    await drawn(page, "Two desks");
    await page.locator("#events .none").waitFor();
    expect(await page.locator(".room-notes").textContent()).toContain("your draft of before");
    await page.locator("button", { hasText: "Discard changes" }).click();
    await page.locator("#events .event-words").waitFor();
    await expect.poll(() => eventLines(page)).toHaveLength(1);
    // Even that is one step back, and so is opening something else.
    const notes = page.locator(".room-notes");
    expect(await notes.textContent()).toContain("Undo brings back small.json as you had changed it.");
    await page.keyboard.press("Control+z");
    await page.locator("#events .none").waitFor();
    expect(await notes.textContent()).not.toContain("Undo brings back");
    await page.keyboard.press("Control+Shift+z");
    await page.locator("#events .event-words").waitFor();
    await isSettled(page);
    await page.reload();
    await drawn(page, "Two desks");
    await expect.poll(() => eventLines(page)).toHaveLength(1);
    // A reload asks for the page itself.
    expect(troubles).toEqual([]);
  });

  test("a browser that keeps nothing for the page: it says so, and works", async () => {
    const { page } = await openPage(template, {
      before: () =>
        Object.defineProperty(window, "localStorage", {
          get() {
            throw new DOMException("denied", "SecurityError");
          },
        }),
    });
    await drawn(page, "The FOH desk reboots");
    expect(await page.locator(".room-notes").textContent()).toContain("keeps no draft");
  });

  test("a browser without workers: the run is played on the page, which says so", async () => {
    const { page, troubles } = await openPage(template, {
      before: () => Object.defineProperty(window, "Worker", { value: undefined }),
    });
    await drawn(page, "The FOH desk reboots");
    expect(await page.locator(".room-notes").textContent()).toContain("runs no workers");
    expect(troubles).toEqual([]);
  });
});

describe("files", () => {
  test("a broken file: every problem with its line, the run before stays, and the way to the line", async () => {
    const { page, troubles } = await openSmall();
    const broken = SMALL.replace('"a.1"', '"x.1"').replace('"do": "hang"', '"do": "sleep"');
    await drop(page, [{ name: "broken.json", text: broken }]);
    const issues = page.locator(".issues");
    await issues.waitFor();
    expect(await issues.locator("h2").textContent()).toContain("Two problems in the files; nothing was played");
    expect(await issues.locator("li").allTextContents()).toEqual([
      expect.stringMatching(/^Line 13.*rig\.links\[0\]\.from: expected a device and its port, received "x\.1"/),
      expect.stringMatching(/^Line 17.*events\[0\]\.do: expected one of unplug/),
    ]);
    expect(await page.locator("h1").textContent()).toBe("Two desks");
    expect(await page.locator("#page").getAttribute("class")).toContain("is-old");

    await issues.locator("button").nth(1).click();
    const at = await page.evaluate(() => {
      const text = document.querySelector<HTMLTextAreaElement>(".text-lines")!;
      return { isThere: document.activeElement === text, rest: text.value.slice(text.selectionStart).slice(0, 7) };
    });
    expect(at).toEqual({ isThere: true, rest: '"sleep"' });
    await page.keyboard.press("End");
    expect(troubles).toEqual([]);
  });

  test("typing in the text is an edit: the outcome follows, and one step back takes the row of keys back", async () => {
    const { page, troubles } = await openSmall();
    await page.locator("summary", { hasText: "The files as text" }).click();
    const text = page.locator(".text-lines");
    await page.waitForFunction(() => document.querySelector<HTMLTextAreaElement>(".text-lines")!.value.length > 100);
    await text.evaluate((field: HTMLTextAreaElement) => {
      const at = field.value.indexOf("Two desks");
      field.focus();
      field.setSelectionRange(at, at + "Two desks".length);
    });
    await page.keyboard.type("Three cables");
    await drawn(page, "Three cables");
    await isSettled(page);
    expect(await page.evaluate(() => document.activeElement?.className)).toBe("text-lines");
    await page.locator(".room-tools button", { hasText: "Undo" }).click();
    await drawn(page, "Two desks");
    expect(await text.inputValue()).toBe(SMALL);
    expect(troubles).toEqual([]);
  });

  test("by keyboard on the map: a device more with its cable, another name for it, and out again with what it takes along", async () => {
    const { page, troubles } = await openSmall();
    const onMap = () =>
      page
        .locator("#map [data-device]")
        .evaluateAll((all) => all.map((one) => (one as SVGElement).dataset.device).sort());
    const menu = page.locator(".map-plan");
    await page.locator('#map [data-device="b"]').focus();
    await page.keyboard.press("Enter");
    await menu.locator("button", { hasText: "Add a device" }).focus();
    await page.keyboard.press("Enter");
    await page.keyboard.type("Guest box");
    await page.keyboard.press("Tab");
    await page.keyboard.type("stage");
    await menu.locator("button", { hasText: "Add it" }).press("Enter");
    await page.locator('#map [data-device="guest-box"]').waitFor();
    await isSettled(page);
    expect(await onMap()).toEqual(["a", "b", "guest-box"]);
    const said = (await page.locator("#map .map-readout").textContent()) ?? "";
    expect(said.replaceAll(/[\u2068\u2069]/g, "")).toContain("Guest box: Locked to port 1, Second desk");
    expect(said).toContain("new in the plan");
    const marked = await page.locator("#map .plan-plate[data-mark=new]").count();
    expect(marked).toBe(["the device", "its cable", "the legend"].length);
    const text = (await page.locator("#plan").textContent()) ?? "";
    expect(text).toContain("Two things have changed since it was opened or saved");
    expect(text).toContain("Cable b-guest-box: new.");
    expect(await page.locator(".mast").textContent()).toContain(`plan ${/Plan (\S\S-\S\S):/.exec(text)?.[1]}`);

    await menu.locator("button", { hasText: "Another name" }).focus();
    await page.keyboard.press("Enter");
    expect((await foundByAxe(page, ["#map", "#plan", "#follow"])).violations).toEqual([]);
    await page.keyboard.press("Tab");
    await page.keyboard.type("a");
    await page.keyboard.press("Enter");
    await menu.locator(".form-problem", { hasText: 'Another device has the id "a".' }).waitFor();
    await page.keyboard.type("nother");
    await page.keyboard.press("Enter");
    await page.locator('#map [data-device="another"]').waitFor();
    await isSettled(page);
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Another name");

    await page.locator('#map [data-device="b"]').focus();
    await page.keyboard.press("Delete");
    await menu
      .locator("form", { hasText: "With it go the main cable, cable b-guest-box, the feed Main mix and one event." })
      .waitFor();
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => document.querySelector('#map [data-device="b"]') === null);
    await isSettled(page);
    expect(await page.evaluate(() => (document.activeElement as SVGElement | null)?.dataset.device)).toBe("a");
    for (const _ of ["out", "name", "new"]) await page.keyboard.press("Control+z");
    await page.locator("#plan", { hasText: "Nothing in the rig has changed" }).waitFor();
    expect(await onMap()).toEqual(["a", "b"]);
    expect(await page.locator("#plan .stamp").textContent()).toBe(stampOf(planOfSmall()));

    const [picker] = await Promise.all([
      page.waitForEvent("filechooser"),
      page.getByRole("button", { name: "Compare with a file" }).click(),
    ]);
    const older = SMALL.replace('"offsetPpm": 5', '"offsetPpm": 4');
    await picker.setFiles([{ name: "older.json", mimeType: "application/json", buffer: Buffer.from(older) }]);
    await page.locator("#plan", { hasText: "One thing differs from older.json, plan" }).waitFor();
    expect(await page.locator("#map .map-device .plan-plate").getAttribute("data-mark")).toBe("changed");

    // A thousandth before the event of the file: what is done is written where that is, and the map goes there to show it.
    expect(await page.locator("#show .readout .time").textContent()).toBe("00:04:59.999");
    await page.locator('#map [data-device="a"]').focus();
    await page.keyboard.press("Enter");
    expect(await page.locator("#map .map-menu .time").textContent()).toBe("00:05:00");
    await page.locator("#map .map-menu button", { hasText: "Reboot the first desk" }).press("Enter");
    await expect.poll(() => page.locator('#map [data-device="a"] .map-state').textContent()).toBe("BOOT");
    expect(await page.locator("#show .readout .time").textContent()).toBe("00:05:00.000");
    expect(troubles).toEqual([]);
  });

  test("a scenario without its rig says which file is missing; the rig dropped after it belongs to it", async () => {
    const { page, troubles } = await openPage();
    await drawn(page, "The FOH desk reboots");
    const { rig, ...rest } = JSON.parse(SMALL.replaceAll(/\/\/.*/g, ""));
    await drop(page, [{ name: "own.json", text: JSON.stringify({ ...rest, rig: "./own.rig.json" }) }]);
    await page.locator(".issues", { hasText: "not among the files that were opened" }).waitFor();
    await drop(page, [{ name: "own.rig.json", text: JSON.stringify(rig) }]);
    await drawn(page, "Two desks");
    await isSettled(page);
    expect(await page.locator(".issues").count()).toBe(0);
    expect(await page.locator(".room-name").textContent()).toContain("own.json with own.rig.json");
    expect(troubles).toEqual([]);
  });

  test("several picked at once; what is saved is the text with its comments", async () => {
    const { page, troubles } = await openPage();
    await drawn(page, "The FOH desk reboots");
    await page
      .locator("input[type=file]")
      .setInputFiles([{ name: "shore.json", mimeType: "application/json", buffer: Buffer.from(SMALL) }]);
    await drawn(page, "Two desks");
    await isSettled(page);
    const time = page.locator("#events .time-field").first();
    await time.fill("4 min");
    await time.press("Enter");
    await isSettled(page);
    const saved = page.waitForEvent("download");
    await page.locator("button", { hasText: "Save as file" }).click();
    const download = await saved;
    expect(download.suggestedFilename()).toBe("shore.json");
    expect(readFileSync((await download.path())!, "utf8")).toBe(SMALL.replace('"00:05:00"', '"00:04:00"'));
    expect((await page.locator(".room-name").textContent())?.trim()).toBe("shore.json");
    expect(troubles).toEqual([]);
  });

  test("an end at its flag: dragged by mouse and finger, moved by key and typed; undone; saved with its comments", async () => {
    const { page, troubles } = await openPage(template, { hasTouch: true });
    await dropSmall(page);
    const end = page.locator(".flag.undoes");
    const seconds = page.locator("#events .event-lasts input");
    const lasts = async (wanted: (seconds: number) => boolean) => {
      await expect.poll(async () => wanted(Number(await seconds.inputValue()))).toBe(true);
      await isSettled(page);
    };
    const middle = async () => {
      await end.scrollIntoViewIfNeeded();
      const { x, y, width, height } = (await end.locator(".cloth").boundingBox())!;
      return { x: x + width / 2, y: y + height / 2 };
    };
    const mouse = await middle();
    await page.mouse.move(mouse.x, mouse.y);
    await page.mouse.down();
    await page.mouse.move(mouse.x + 60, mouse.y + 4, { steps: 3 });
    // Shown on the way, written at the end of it.
    expect(await seconds.inputValue()).toBe("20");
    expect(await end.getAttribute("class")).toContain("moving");
    await page.mouse.up();
    await lasts((now) => now > 40 && now < 120);
    const dragged = Number(await seconds.inputValue());

    const finger = await middle();
    const touch = await page.context().newCDPSession(page);
    const put = (type: "touchStart" | "touchMove" | "touchEnd", x: number) =>
      touch.send("Input.dispatchTouchEvent", { type, touchPoints: type === "touchEnd" ? [] : [{ x, y: finger.y }] });
    await put("touchStart", finger.x);
    for (const by of [10, 25, 40]) await put("touchMove", finger.x + by);
    await put("touchEnd", 0);
    await lasts((now) => now > dragged);

    const before = Number(await seconds.inputValue());
    await page.keyboard.press("Alt+ArrowLeft");
    await page.keyboard.press("Alt+ArrowLeft");
    await lasts((now) => now === before - 2);
    await page.locator(".flag-bar input").fill("0:05:45");
    await page.locator(".flag-bar input").press("Enter");
    await lasts((now) => now === 45);
    const saved = page.waitForEvent("download");
    await page.locator("button", { hasText: "Save as file" }).click();
    expect(readFileSync((await (await saved).path())!, "utf8")).toBe(SMALL.replace("20 } // the", "45 } // the"));
    for (let step = 0; step < 4; step += 1) await page.keyboard.press("Control+z");
    await lasts((now) => now === 20);
    expect(troubles).toEqual([]);
  });

  test("pasted text, and a rig to begin with", async () => {
    const { page, troubles } = await openPage();
    await drawn(page, "The FOH desk reboots");
    await page.locator("button", { hasText: "Paste a text" }).click();
    await page.locator(".paste-form textarea").fill(SMALL);
    await page.locator("button", { hasText: "Rehearse this text" }).click();
    await drawn(page, "Two desks");
    await page.getByLabel("Begin a rig of your own").selectOption("network-pair");
    await drawn(page, "A primary and a secondary network");
    expect(await page.locator(".room-name").textContent()).toContain("network-pair.json");

    // The list of lessons was made with the first run; its buttons outlive those after.
    await isSettled(page);
    await page.locator("#lessons summary").first().click();
    await page.locator("#lessons button", { hasText: "Two clocks" }).click();
    await page.locator("#lessons", { hasText: "Step 1 of 7" }).waitFor();
    expect(troubles).toEqual([]);
  });
});

describe("while people change things", () => {
  test("window, cursor, chosen lane, focus and open folds stay", async () => {
    const { page, troubles } = await openSmall();
    await page.locator(".board").focus();
    for (const key of ["+", "+", "ArrowDown", "Shift+ArrowRight"]) await page.keyboard.press(key);
    await page.locator("summary", { hasText: "The lanes as a table" }).click();
    const look = () =>
      page.evaluate(() => ({
        time: document.querySelector(".readout .time")!.textContent,
        chosen: document.querySelector(".lane.chosen")!.getAttribute("data-lane"),
        axis: [...document.querySelectorAll(".rail .tick text")].map((one) => one.textContent),
        open: document.querySelectorAll("#show details[open]").length,
      }));
    const before = await look();
    expect(before.open).toBe(1);
    const remove = page.locator("#events button", { hasText: "Copy" });
    await remove.focus();
    await page.keyboard.press("Enter");
    await expect.poll(() => page.locator("#events .event-words").count()).toBe(2);
    await isSettled(page);
    expect(await look()).toEqual(before);
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Copy");
    await page.locator(".board").focus();
    await page.evaluate(() => {
      (document.querySelector("#events button[aria-label^=Remove]") as HTMLElement).click();
    });
    await isSettled(page);
    await expect.poll(() => page.locator("#events .event-words").count()).toBe(1);
    expect(await page.evaluate(() => document.activeElement?.className)).toBe("board");

    // Chosen elsewhere, its lane is marked, and whoever chose it stays where the buttons for it are.
    const box = page.locator("#map [data-device=b]");
    const list = page.getByLabel("See: device");
    for (const [chooser, lane, choose] of [
      [box, "device b", () => page.keyboard.press("Enter")],
      [list, "device a", () => list.selectOption("a")],
    ] as const) {
      await chooser.scrollIntoViewIfNeeded();
      await chooser.focus();
      await choose();
      await page.locator(`.lane.chosen[data-lane="${lane}"]`).waitFor({ state: "attached" });
      const { y } = (await chooser.boundingBox())!;
      expect(y > 0 && y < page.viewportSize()!.height).toBe(true);
    }
    expect(troubles).toEqual([]);
  });

  test("a long run shows how far it is, can be cancelled, and the next change is rehearsed all the same", async () => {
    const { page, troubles } = await openSmall();
    // A thousand losses of contact, each of which the second desk notices, coasts over and locks again after.
    const flaps = '{ "at": "00:00:10", "do": "intermittent", "link": "main", "everySeconds": 3, "outSeconds": 0.5 }';
    const slow = SMALL.replace('"00:10:00"', '"00:50:00"').replace(/\{ "at".*/, flaps);
    await drop(page, [{ name: "slow.json", text: slow }]);
    await page.locator(".going").waitFor();
    expect(await page.locator("#page").getAttribute("class")).toContain("is-old");
    await expect.poll(() => page.locator(".percent").textContent()).toMatch(/^[1-9]\d? %$/);
    await page.locator(".going button", { hasText: "Cancel" }).click();
    await page.locator(".run-state .word", { hasText: "Cancelled" }).waitFor();
    await drop(page, [{ name: "small.json", text: SMALL.replace("Two desks", "After it") }]);
    await drawn(page, "After it");
    await isSettled(page);
    expect(troubles).toEqual([]);
  });

  test("ten runs leave no listener and no drawing of the runs before behind", async () => {
    const { page, troubles } = await openSmall({ isNew: true });
    const session = await page.context().newCDPSession(page);
    await session.send("Performance.enable");
    const count = async () => {
      await session.send("HeapProfiler.collectGarbage");
      const { metrics } = await session.send("Performance.getMetrics");
      const of = (name: string) => metrics.find((one) => one.name === name)?.value ?? 0;
      return { listeners: of("JSEventListeners"), nodes: of("Nodes") };
    };
    const seed = page.locator("#events .run-fields input").nth(1);
    const runWith = async (text: string) => {
      await seed.fill(text);
      await seed.press("Enter");
      await page.locator(".foot .meta", { hasText: `Seed ${text}.` }).waitFor();
    };
    for (let run = 0; run < 3; run += 1) await runWith(`warm-${run}`);
    const before = await count();
    expect(before.listeners).toBeGreaterThan(50);
    const runs = 10;
    for (let run = 0; run < runs; run += 1) await runWith(`next-${run}`);
    // Less than one a run.
    const more = async (of: "listeners" | "nodes") => (await count())[of] - before[of];
    await expect.poll(() => more("listeners")).toBeLessThan(runs);
    await expect.poll(() => more("nodes")).toBeLessThan(runs);
    expect(troubles).toEqual([]);
  });
});

describe("a page with a run in it", () => {
  test("is shown at once, and people go on from its file", async () => {
    const { page, troubles } = await openPage(smallPage());
    expect(await page.locator("h1").textContent()).toBe("Two desks");
    await expect.poll(() => eventLines(page)).toEqual([expect.stringContaining("Second desk hangs")]);
    expect((await page.locator(".room-name").textContent())?.trim()).toBe("small.json");
    await page.locator("#events button", { hasText: "Remove" }).click();
    await page.locator("#events .none").waitFor();
    await isSettled(page);
    expect(await page.locator("#timeline").textContent()).not.toContain("hangs");
    expect(troubles).toEqual([]);
  });

  test("what was added on the command line stands in the text that people go on from", async () => {
    const { page, troubles } = await openPage(
      smallPage({ events: [{ at: "00:02:00", do: "reboot", device: "a" }], seed: null }),
    );
    await expect.poll(() => eventLines(page)).toEqual(["First desk reboots.", expect.stringContaining("hangs")]);
    await isSettled(page);
    expect(await page.locator(".room-notes").textContent()).toContain("added on the command line");
    expect(troubles).toEqual([]);
  });
});

describe("how it looks", () => {
  test.each([1280, 390])("axe finds nothing to complain of, dark and light, %d pixels wide", async (width) => {
    const { page } = await openSmall({ viewport: { width, height: 900 }, colorScheme: "dark" });
    await page.locator("summary", { hasText: "The files as text" }).click();
    await page.locator("button", { hasText: "Paste a text" }).click();
    await drop(page, [{ name: "broken.json", text: SMALL.replace('"a.1"', '"x.1"') }]);
    await page.locator(".issues").waitFor();
    expect(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)).toBe(
      0,
    );
    const parts = [".room-bar", ".issue-place", ".text-pane", "#events", ".run-state"];
    const { violations, passes } = await foundByAxe(page, parts);
    expect(violations).toEqual([]);
    expect(passes).toBeGreaterThan(12);
  });
});
