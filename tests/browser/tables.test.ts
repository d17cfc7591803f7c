/** A rig that is made in three tables, by a hand that has a keyboard and nothing else. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";

const template = readFileSync("viewer/dist/page.html", "utf8");
const room = inChromium();

const DEVICES = `Device\tType\tLeader\tListens to\tBoot time\tOwner
FOH desk\tconsole\t1\town clock\t75 s\thire
Monitor desk\tconsole\t2\tFOH desk, own clock\t1.2 min\thire
Stage box\tstagebox\t\tFOH desk; spare\t30\thire
PA processor\tPA processor\t\tFOH desk\t20\thouse
In-ear transmitter\tin-ear transmitter\t\tMonitor desk\t10\thouse
Recorder\tmultitrack\t\tFOH desk\t\tguest
`;
const CABLES = `Cable\tFrom\tTo\tType\tTwo way\tLength\tPath\tSpare of
Main\tStage box 1\tFOH desk 1\tMADI\tyes\t80 m\tstage-left wall\t
Spare\tStage box 2\tFOH desk 2\tMADI\tyes\t95,5\tstage-right wall\tMain
Split\tStage box 3\tMonitor desk 1\tMADI\tyes\t50 ft\tmonitor side\t
Clock\tFOH desk 6\tMonitor desk 3\tWord clock\t\t60 m\tstage-left wall\t
PA left\tFOH desk 3\tPA processor 1\tAES/EBU\t\t12,5 m\tFOH riser\t
PA right\tFOH desk 4\tPA processor 2\tAES3\t\t12,5 m\tFOH riser\t
Ears 1\tMonitor desk 4\tIn-ear transmitter 1\tAES3\t\t4\tmonitor side\t
Ears 2\tMonitor desk 5\tIn-ear transmitter 2\tAES3\t\t4\tmonitor side\t
Rec\tFOH desk 5\tRecorder 1\tMADI\t\t3\tFOH riser\t
`;
const FEEDS = `Feed\tGoes through\tChannels\tHeard by\tOver
PA mix\tStage box > FOH desk > PA processor\t32, 2\tPA\tMain, PA left
PA right\tStage box > FOH desk > PA processor\t32, 2\tPA\tMain, PA right
In-ear mix\tStage box > Monitor desk > In-ear transmitter\t32, 2\tIEMs\tEars 1
Choir ears\tStage box > Monitor desk > In-ear transmitter\t32, 2\tIEMs\tEars 2
Recording\tFOH desk > Recorder\t32\trecording\t
Cue mix\tFOH desk > Stage box\t4\tcomms\tMain
`;

async function openPage(look: Parameters<typeof room.open>[1] = {}) {
  const file = join(room.folder, "tables.html");
  writeFileSync(file, template);
  return room.open(file, { viewport: { width: 1280, height: 900 }, ...look });
}
const isSettled = (page: Page) =>
  page.waitForFunction(
    () =>
      !document.querySelector("#page")!.classList.contains("is-old") &&
      !document.documentElement.hasAttribute("data-drawing"),
  );
/** Walks with Tab until the focus is there. */
async function tabTo(page: Page, selector: string, key = "Tab") {
  for (let step = 0; step < 300; step += 1) {
    if (await page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector)) return;
    // Past the cells of a table in one go.
    const isCell = await page.evaluate(() => document.activeElement?.matches("td, tbody th") ?? false);
    if (isCell && key === "Tab" && !selector.includes("data-")) await page.keyboard.press("Escape");
    await page.keyboard.press(key);
  }
  throw new Error(`${key} does not come to ${selector}`);
}
const press = async (page: Page, ...keys: readonly string[]) => {
  for (const key of keys) await page.keyboard.press(key);
};
/** Words of a column, without those of its heading. */
const column = (page: Page, table: string, key: string) =>
  page.locator(`[aria-labelledby="${table}-table"] tbody [data-col="${key}"] > span:not(.cell-head)`).allTextContents();
const focused = (page: Page) =>
  page.evaluate(() => {
    const { row, col } = (document.activeElement as HTMLElement).dataset;
    return `${row} ${col}`;
  });
describe("by keyboard alone", () => {
  test("from an empty page, with three pasted lists, to a rehearsed reboot of the leader, a file and back", async () => {
    const { page, troubles } = await openPage();
    await page.locator("h1", { hasText: "The FOH desk reboots" }).waitFor();
    await tabTo(page, "select[aria-label='Begin a rig of your own']");
    await page.keyboard.type("Empty");
    await press(page, "Enter");
    await page.locator("h1", { hasText: "A new rig" }).waitFor();
    await isSettled(page);
    expect(await focused(page)).toBe("-1 name");
    expect(await page.locator(".tables-asks").textContent()).toContain("Which devices are there?");

    // As if it were copied out of a spreadsheet: by keys, from a field of the page.
    await tabTo(page, ".paste-list summary", "Shift+Tab");
    await press(page, "Enter", "Tab");
    await page.keyboard.insertText(DEVICES);
    await press(page, "Control+a", "Control+x");
    await tabTo(page, "[data-row='-1'][data-col='name']");
    await press(page, "Control+v");
    // Their clocks come over cables that nobody has named yet.
    await page.locator(".cell-issue", { hasText: "No cable brings it a clock from FOH desk yet." }).first().waitFor();
    expect(await column(page, "devices", "id")).toHaveLength(6);
    // The others by the form beside the grid: their headings say where they belong.
    await tabTo(page, ".paste-list textarea", "Shift+Tab");
    await page.keyboard.insertText(CABLES);
    await press(page, "Tab", "Enter");
    await page.locator("[aria-labelledby='cables-table'] h3", { hasText: "Cables: 9" }).waitFor();
    await isSettled(page);
    expect(await column(page, "devices", "clockSources")).toEqual([
      "listens to its own clock",
      "listens to port 3 (FOH desk), then its own clock",
      "listens to port 1 (FOH desk), then port 2 (FOH desk)",
      "listens to port 1 (FOH desk)",
      "listens to port 1 (Monitor desk)",
      "listens to port 1 (FOH desk)",
    ]);
    await page.keyboard.insertText(FEEDS);
    await press(page, "Tab", "Enter");
    await page.locator("[aria-labelledby='feeds-table'] h3", { hasText: "Feeds: 6" }).waitFor();
    await isSettled(page);
    expect(await page.locator(".tables-asks li").count()).toBe(0);
    expect(await page.locator(".tables-map [data-device]").count()).toBe(6);
    expect(await page.locator(".tables-told").textContent()).toBe("Pasted six feeds: 6 added.");

    const before = await page.evaluate(() => localStorage.getItem("pulltest draft"));
    const kept = (JSON.parse(before!) as { files: { texts: Record<string, string> } }).files.texts["new-rig.json"]!;
    expect(kept).toContain("// Owner: hire");
    const [saved] = await Promise.all([
      page.waitForEvent("download"),
      tabTo(page, ".room-group:nth-child(2) button:nth-child(3)", "Shift+Tab").then(() => press(page, "Enter")),
    ]);
    const text = readFileSync(await saved.path(), "utf8");
    expect(text).toBe(kept);
    const shown = await page.locator(".rig-table tbody").allTextContents();
    const data = await page.evaluateHandle((given) => {
      const transfer = new DataTransfer();
      transfer.items.add(new File([given], "back.json"));
      return transfer;
    }, text);
    await page.dispatchEvent("body", "drop", { dataTransfer: data });
    await page.locator(".room-name", { hasText: "back.json" }).waitFor();
    await isSettled(page);
    expect(await page.locator(".rig-table tbody").allTextContents()).toEqual(shown);

    await tabTo(page, "#events select[name=what]");
    await page.keyboard.type("Reboot");
    await press(page, "Tab");
    await page.keyboard.type("FOH");
    await tabTo(page, "#events button[type=submit]");
    await press(page, "Enter");
    await page.locator(".sentences", { hasText: "from 00:21:15 the FOH desk again" }).waitFor();
    await isSettled(page);
    expect(await page.locator(".sentences").textContent()).toContain("silent for 1 min 15 s");
    expect(await page.locator("#events .event-words").allTextContents()).toEqual(["FOH desk reboots."]);
    expect(troubles).toEqual([]);
  });

  test("a wrong cell says so and keeps the run before; order, sorting, rows, and every step back", async () => {
    const { page, troubles } = await openPage();
    await page.locator("h1", { hasText: "The FOH desk reboots" }).waitFor();
    await tabTo(page, ".rig-tables > summary");
    await press(page, "Enter");
    await page.locator("[aria-labelledby='devices-table'] h3", { hasText: "Devices: 7" }).waitFor();
    await tabTo(page, "[aria-labelledby='cables-table'] [data-col][tabindex='0']");
    await press(page, "Control+Home", "End", "ArrowLeft", "ArrowLeft");
    expect(await focused(page)).toBe("0 lengthMetres");
    await page.keyboard.type("far");
    await press(page, "Enter");
    await page.locator("[aria-invalid] .cell-issue", { hasText: "Expected a length, such as" }).waitFor();
    expect(await focused(page)).toBe("1 lengthMetres");
    expect(await page.locator("#page").getAttribute("class")).toContain("is-old");
    expect(await page.locator("button[title^='Undo: ']").getAttribute("title")).toBe("Undo: length of cable foh-stage");
    await press(page, "ArrowUp", "F2");
    await page.keyboard.type("300 ft");
    await press(page, "Tab");
    await isSettled(page);
    expect((await column(page, "cables", "lengthMetres"))[0]).toBe("91.44");
    expect(await focused(page)).toBe("0 laidAlong");
    await press(page, "Control+z", "Control+z");
    await isSettled(page);
    expect((await column(page, "cables", "lengthMetres"))[0]).toBe("90");

    await press(page, "ArrowUp", "Home", "ArrowRight", "Enter");
    expect(await page.locator("[aria-sort='ascending']").textContent()).toContain("Type");
    const types = await column(page, "cables", "type");
    expect(types).toEqual([...types].sort());
    await press(page, "ArrowLeft", "ArrowDown");
    const first = (await column(page, "cables", "id"))[0];
    await press(page, "Control+Delete");
    await page.locator("[aria-labelledby='cables-table'] h3", { hasText: "Cables: 6" }).waitFor();
    expect(await column(page, "cables", "id")).not.toContain(first);
    await press(page, "Control+z");
    await page.locator("[aria-labelledby='cables-table'] h3", { hasText: "Cables: 7" }).waitFor();
    // A row that is typed goes on with Tab, and Enter begins the next.
    await press(page, "Control+Enter");
    await page.keyboard.type("Extra");
    await press(page, "Tab");
    await page.keyboard.type("madi");
    await press(page, "Tab");
    await page.keyboard.type("Recorder");
    await press(page, "Enter");
    expect(await focused(page)).toBe("-1 id");
    await press(page, "ArrowUp", "Control+z", "Control+z", "Control+z");
    await page.locator("[aria-labelledby='cables-table'] h3", { hasText: "Cables: 7" }).waitFor();

    await tabTo(page, "[aria-labelledby='devices-table'] [data-col='name']", "Shift+Tab");
    await press(page, "Control+Home", "ArrowDown", "ArrowRight", "ArrowRight", "ArrowRight", "Enter");
    await page.locator(".cell-editor .map-sources").waitFor();
    expect(await page.evaluate(() => document.activeElement?.getAttribute("aria-label"))).toBe(
      "Listen to port 1 later",
    );
    await press(page, "Enter");
    await tabTo(page, ".cell-editor > button");
    await press(page, "Enter");
    await isSettled(page);
    expect((await column(page, "devices", "clockSources"))[1]).toBe("listens to its own clock, then port 1 (FOH desk)");
    expect(await focused(page)).toBe("1 clockSources");
    await press(page, "Enter", "Escape");
    expect(await focused(page)).toBe("1 clockSources");
    // Left by Tab, what was ordered by then stands there.
    await press(page, "Enter", "Enter", "Tab", "Tab", "Tab", "Tab", "Tab", "Tab", "Tab", "Tab");
    await expect
      .poll(async () => (await column(page, "devices", "clockSources"))[1])
      .toBe("listens to port 1 (FOH desk), then its own clock");
    await tabTo(page, "[data-col='clockSources'][data-row='1']", "Shift+Tab");
    await press(page, "Escape", "Tab");
    expect(await page.evaluate(() => document.activeElement?.closest("table"))).toBe(null);
    expect(troubles).toEqual([]);
  });
});

test.each([1280, 390])("axe finds nothing to complain of, %d pixels wide", async (width) => {
  const { page } = await openPage({ viewport: { width, height: 900 } });
  await page.locator(".rig-tables > summary").click();
  const cell = page.locator("[aria-labelledby='cables-table'] [data-row='0'][data-col='lengthMetres']");
  await cell.click();
  await page.keyboard.type("far");
  await page.keyboard.press("Enter");
  await page.locator("[aria-invalid] .cell-issue").waitFor();
  await page.locator(".more-columns summary").first().click();
  await page.locator("[data-row='1'][data-col='clockSources']").click();
  await page.keyboard.press("Enter");
  await page.locator(".cell-editor").waitFor();
  const { violations, passes } = await foundByAxe(page, ".rig-tables");
  expect(violations).toEqual([]);
  expect(passes).toBeGreaterThan(10);
  expect(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth)).toBe(true);
});
