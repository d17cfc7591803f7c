/** What one takes away from the page: pictures, the record, a link, paper. Each is opened by another than its maker. */
import { spawn } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { csvParse } from "d3";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { stampOf } from "../../sim/stamp.ts";
import type { Run } from "../../viewer/run.ts";
import { inChromium } from "./chromium.ts";
import { busyRun, largeRun, strangeRun } from "./fixture.ts";

const template = readFileSync("viewer/dist/page.html", "utf8");
const room = inChromium();

let files = 0;
async function show(run: Run, options: { width?: number; colorScheme?: "dark" | "light" } = {}) {
  files += 1;
  const file = join(room.folder, `take-${files}.html`);
  writeFileSync(file, filledIn(template, run));
  const { width = 1280, colorScheme = "dark" } = options;
  const opened = await room.open(file, { viewport: { width, height: 900 }, colorScheme });
  await opened.page.locator("#take-away").waitFor();
  return opened;
}

const press = (page: Page, name: string) => page.getByRole("button", { name, exact: true }).click();
async function saved(page: Page, button: string): Promise<{ name: string; bytes: Buffer }> {
  const [download] = await Promise.all([page.waitForEvent("download"), press(page, button)]);
  return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
}
async function picture(page: Page, subject: string) {
  await page.locator("#take-away select").selectOption(subject);
  const { name, bytes } = await saved(page, "Picture (SVG)");
  const text = bytes.toString("utf8");
  const read = await page.evaluate((xml) => {
    const read = new DOMParser().parseFromString(xml, "image/svg+xml");
    const root = read.documentElement;
    const all = [...read.querySelectorAll("*")];
    return {
      isWellFormed: read.querySelector("parsererror") === null,
      root: root.localName,
      names: [...new Set(all.map(({ localName }) => localName))],
      attributes: [...new Set(all.flatMap((one) => [...one.attributes].map(({ name }) => name)))],
      values: all.flatMap((one) => [...one.attributes].map(({ value }) => value)),
      // Without the marks that set names apart.
      words: [...read.querySelectorAll("text")].map((text) => text.textContent!.replaceAll(/[\u2066-\u2069]/g, "")),
      shapes: read.querySelectorAll("path, rect, line").length,
      size: [Number(root.getAttribute("width")), Number(root.getAttribute("height"))],
    };
  }, text);
  return { name, text, ...read };
}

describe("a picture as SVG", () => {
  test.each(["lanes", "map", "slips"])("of %s stands alone, and says what it is of", async (subject) => {
    const run = busyRun();
    const { page, troubles } = await show(run);
    const found = await picture(page, subject);
    expect(found).toMatchObject({ isWellFormed: true, root: "svg" });
    expect(found.name).toBe(`pulltest-the-foh-desk-reboots-in-act-two-0f0f0f0f-${subject}.svg`);
    // Nothing that another program would have to fetch, resolve or run, and hatches as lines.
    for (const name of ["pattern", "style", "image", "script", "foreignObject", "use", "clipPath", "a"])
      expect(found.names).not.toContain(name);
    for (const attribute of found.attributes) expect(attribute).not.toMatch(/^(class|style|id|href|on.*|data-.*)$/);
    for (const value of found.values) expect(value).not.toMatch(/var\(|url\(|currentcolor|rgba\(0, 0, 0, 0\)/i);
    expect(found.text).toContain('font-family="sans-serif"');
    expect(found.text.match(/font-family=/g)).toHaveLength(1);
    const words = found.words.join(" ");
    expect(words).toContain(run.telling.title);
    expect(words).toContain(`Plan ${stampOf(run.plan)}, files ${run.summary.scenario.sha256.slice(0, 12)}`);
    expect(words).toContain("Window 00:00:00.000 to 01:30:00.000. Cursor 00:19:59.999.");
    expect(words).toContain(run.telling.last);
    expect(found.shapes).toBeGreaterThan(subject === "lanes" ? 150 : 15);
    expect(troubles).toEqual([]);
  });

  test("the lanes have their names, what they are at the cursor, and a legend of what is in the window", async () => {
    const run = busyRun();
    const { page } = await show(run);
    const words = (await picture(page, "lanes")).words.join(" ");
    for (const { name } of [...run.summary.devices, ...run.summary.feeds]) expect(words).toContain(name);
    for (const said of ["Locked to port 2, FOH desk", "Coasting (holdover)", "Silent: muted", "FOH desk reboots"])
      expect(words).toContain(said);
    // Another window: the last half hour, in which nobody coasts.
    await page.locator("#show .board").focus();
    await page.keyboard.press("+");
    await page.keyboard.press("+");
    await page.keyboard.press("End");
    const later = (await picture(page, "lanes")).words.join(" ");
    expect(later).toContain("Window 01:07:30.000 to 01:30:00.000");
    expect(later).not.toContain("Coasting (holdover)");
    expect(later).toContain("Clicks");
    // With a second cursor each has its letter, and the lines are read at both.
    await page.locator("#show .board").focus();
    for (const key of ["Home", "b", "Shift+ArrowRight"]) await page.keyboard.press(key);
    const both = (await picture(page, "slips")).words;
    expect(both).toEqual(expect.arrayContaining(["A", "B", expect.stringContaining("; cursor B, ")]));
    expect(both.join(" ")).toMatch(/at cursor B [\d,]+ slips?; from there [+−]?[\d,]+ slips?/);
  });

  test("is in the colours that the page has, and as wide from a telephone", async () => {
    const grounds: string[] = [];
    for (const colorScheme of ["dark", "light"] as const) {
      const { page } = await show(busyRun(), { colorScheme, width: 390 });
      const { text, size } = await picture(page, "lanes");
      expect(size[0]).toBe(1280);
      grounds.push(/<rect width="1280"[^>]* fill="([^"]+)"/.exec(text)?.[1] ?? "");
      expect(await page.locator(".picture-stage").count()).toBe(0);
    }
    expect(grounds).toEqual(["#12171d", "#faf9f5"]);
  });

  test("has every lane that the page shows, those far below the screen as well", async () => {
    const run = largeRun(60);
    const { page } = await show(run);
    const few = await picture(page, "lanes");
    await page.locator(".quiet-switch input").check();
    const all = await picture(page, "lanes");
    for (const { name } of run.summary.devices) expect(all.words).toContain(name);
    expect(few.words).not.toContain(run.summary.devices.at(-1)!.name);
    expect(all.shapes - few.shapes).toBeGreaterThan(run.summary.devices.length);
    // Too high for any browser's canvas.
    expect(4 * all.size[1]!).toBeGreaterThan(16_384);
    await press(page, "Picture (PNG 4×)");
    await page.locator(".take-said", { hasText: "Take it smaller, or as SVG." }).waitFor();
  });

  test("names that are markup, or no XML at all, stay text", async () => {
    const run = strangeRun();
    const title = "Night \u0001 & <b>day</b> \ufffe";
    const { page, troubles } = await show({ ...run, telling: { ...run.telling, title } });
    for (const subject of ["lanes", "map"]) {
      const found = await picture(page, subject);
      expect(found.isWellFormed).toBe(true);
      expect(found.words.join(" ")).toContain("Night \ufffd & <b>day</b> \ufffd");
    }
    expect(troubles).toEqual([]);
  });

  test("of what the run has not: it says so and saves nothing", async () => {
    const { page } = await show(strangeRun());
    await page.locator("#take-away select").selectOption("slips");
    await press(page, "Picture (SVG)");
    await page.locator(".take-said", { hasText: "There is nothing of that in this run to draw." }).waitFor();
  });
});

test("a picture as PNG has 1, 2 and 4 times the pixels of the drawing, and shows it", async () => {
  const { page, troubles } = await show(busyRun());
  const { size } = await picture(page, "map");
  for (const scale of [1, 2, 4]) {
    const { name, bytes } = await saved(page, `Picture (PNG ${scale}×)`);
    expect(name).toMatch(new RegExp(`-map-${scale}x\\.png$`));
    // PNG (ISO/IEC 15948): eight bytes of signature, then the header with width and height.
    expect(bytes.subarray(0, 8)).toEqual(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]));
    expect([bytes.readUInt32BE(16), bytes.readUInt32BE(20)]).toEqual(size.map((each) => each * scale));
    const colours = await page.evaluate(
      async (address) => {
        const image = new Image();
        image.src = address;
        await image.decode();
        const canvas = document.createElement("canvas");
        [canvas.width, canvas.height] = [image.width, image.height];
        const context = canvas.getContext("2d")!;
        context.drawImage(image, 0, 0);
        const pixels = new Uint32Array(context.getImageData(0, 0, image.width, image.height).data.buffer);
        return new Set(pixels).size;
      },
      `data:image/png;base64,${bytes.toString("base64")}`,
    );
    expect(colours).toBeGreaterThan(20);
  }
  expect(troubles).toEqual([]);
});

test("the record as CSV: what a spreadsheet reads is what the run holds", async () => {
  const run = busyRun();
  const { page, troubles } = await show(run);
  const { name, bytes } = await saved(page, "CSV of the record");
  expect(name).toBe("pulltest-the-foh-desk-reboots-in-act-two-0f0f0f0f-record.csv");
  const text = bytes.toString("utf8");
  expect(text.startsWith("\ufeffrow,")).toBe(true);
  expect(text.endsWith("\r\n")).toBe(true);
  const rows = csvParse(text.slice(1));
  expect(rows.filter(({ row }) => row === "event")).toHaveLength(run.plan.events.length);
  const slips = run.record.rows.reduce((sum, { fact }) => sum + (fact.kind === "slips" ? fact.count : 0), 0);
  expect(slips).toBeGreaterThan(1000);
  expect(rows.filter(({ row }) => row === "slip")).toHaveLength(slips);
  for (const { id, name } of run.summary.devices)
    expect(rows.some((row) => row.row === "device" && row.id === id && row.name === name)).toBe(true);
  expect(troubles).toEqual([]);
});

describe("a link", () => {
  const readout = (page: Page) => page.locator(".readout").textContent();
  const ticks = (page: Page) => page.locator(".rail-drawing .tick text").allTextContents();

  test("opens the same window, cursor and lane; a lane that is not there is left out", async () => {
    const { page } = await show(busyRun());
    await page.locator("#show .board").focus();
    for (const key of ["n", "n", "+", "+", "+", "ArrowDown", "ArrowDown", "Shift+ArrowRight"])
      await page.keyboard.press(key);
    const [before, axis] = [await readout(page), await ticks(page)];
    await press(page, "Link to this view");
    await expect.poll(() => page.url()).toContain("#v1;from=");
    const address = page.url();
    expect(await page.getByRole("textbox", { name: "Link to this view" }).inputValue()).toBe(address);
    expect(address).toMatch(/;lane=device%20\w+$/);

    // The same page, opened anew.
    await page.goto("about:blank");
    await page.goto(address);
    await page.locator("#take-away").waitFor();
    expect(await readout(page)).toBe(before);
    expect(await ticks(page)).toEqual(axis);
    expect(await page.locator(".lane.chosen").count()).toBe(1);

    // Another link typed over it.
    await page.evaluate(() => {
      location.hash = "#v1;from=0;to=600;cursor=60;lane=device%20nobody";
    });
    await expect.poll(() => readout(page)).toContain("At 00:01:00.000");
    expect((await ticks(page)).at(-1)).toBe("00:10:00");
    expect(await page.locator(".lane.chosen").count()).toBe(1);
  });

  test.each(["#show", "#v2;from=1;to=2", "#v1;from=x;to=;cursor=-3"])("%s changes nothing", async (hash) => {
    const { page } = await show(busyRun());
    const [before, axis] = [await readout(page), await ticks(page)];
    const address = page.url();
    await page.goto("about:blank");
    await page.goto(`${address}${hash}`);
    await page.locator("#take-away").waitFor();
    expect([await readout(page), await ticks(page)]).toEqual([before, axis]);
  });
});

test("served by the command the page works as from a file, its engine included", async () => {
  const child = spawn(process.execPath, [resolve("cli/dist/pulltest.cjs"), "view"]);
  try {
    const address = await new Promise<string>((done) => child.stdout.once("data", (text) => done(String(text).trim())));
    const file = join(room.folder, "blank.html");
    writeFileSync(file, "");
    const { page, troubles } = await room.open(file);
    await page.goto(`${address}#v1;from=600;to=1800;cursor=1300`);
    // Nothing is in this page but scenarios: what it shows it has played.
    await page.locator("h1", { hasText: "The FOH desk reboots" }).waitFor();
    expect(await page.locator(".readout").textContent()).toContain("At 00:21:40.000");
    expect(troubles.filter((trouble) => !trouble.includes(address))).toEqual([]);
  } finally {
    child.kill("SIGINT");
  }
});

describe("on paper", () => {
  test.each([1280, 390])("from %d pixels: one column, dark on white, tables as tables, nothing cut", async (width) => {
    const run = busyRun();
    const { page, troubles } = await show(run, { width });
    // A4 less its margins, and the ground of a dark page.
    await page.setViewportSize({ width: 725, height: 1050 });
    await page.emulateMedia({ media: "print", colorScheme: "dark" });
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    const found = await page.evaluate(() => {
      const boxOf = (one: Element) => one.getBoundingClientRect();
      const drawings = [...document.querySelectorAll("#show .lane .row-plot")];
      const table = document.querySelector("#heard table")!;
      const style = getComputedStyle(document.documentElement);
      const widest = () => [...document.querySelectorAll("body *")].filter((one) => boxOf(one).right > 725.5);
      const nameOf = (one: Element) => `${one.localName} ${one.id} ${one.getAttribute("class")} ${boxOf(one).right}`;
      return {
        ground: style.backgroundColor,
        ink: style.color,
        wide: document.documentElement.scrollWidth > 725 ? widest().map(nameOf) : [],
        lanes: drawings.filter((plot) => boxOf(plot).width > 300).length,
        cutLanes: drawings.filter((plot) => {
          const svg = boxOf(plot.querySelector("svg")!);
          return svg.width === 0 || svg.left < 0 || svg.right > 725 || svg.width > boxOf(plot).width + 0.5;
        }).length,
        cutTables: [...document.querySelectorAll("table")].filter((one) => boxOf(one).right > 725.5).length,
        isTable: getComputedStyle(table).display === "table" && getComputedStyle(table.querySelector("td")!).display,
        heads: [...table.querySelectorAll("thead th")].every((head) => boxOf(head).width > 20),
        controls: [...document.querySelectorAll("button, input, select, textarea")]
          .filter((one) => (one as HTMLElement).offsetParent !== null && !one.matches(".told .time"))
          .map((one) => `${one.localName}.${one.className} ${one.textContent}`),
      };
    });
    expect(found).toEqual({
      ground: "rgb(250, 249, 245)",
      ink: "rgb(23, 28, 34)",
      wide: [],
      lanes: run.summary.devices.length + run.summary.links.length + run.summary.feeds.length,
      cutLanes: 0,
      cutTables: 0,
      isTable: "table-cell",
      heads: true,
      controls: [],
    });
    for (const sentence of run.telling.sentences)
      expect(await page.locator(".sentences li", { hasText: sentence }).first().isVisible()).toBe(true);
    for (const words of [
      "In-ears out of ears. Headphones and comms headsets off.",
      "Use a mute that does not depend on the link that failed",
      "Not tested on site.",
      "mute, then think. People before audio; no running in the dark, no climbing.",
    ])
      expect(await page.locator("aside, .verdict", { hasText: words }).first().isVisible()).toBe(true);
    expect(await page.locator("#follow .tree").first().isVisible()).toBe(true);
    expect(troubles).toEqual([]);
  });

  test("of the room where people change things, nothing to press or to fill in", async () => {
    const file = join(room.folder, "room.html");
    writeFileSync(file, template);
    const { page } = await room.open(file);
    await page.locator("#take-away").waitFor();
    const controls = page
      .locator("button:visible, input:visible, select:visible, textarea:visible")
      .and(page.locator(":not(.told .time, .events .time-field)"));
    expect(await controls.count()).toBeGreaterThan(15);
    await page.emulateMedia({ media: "print" });
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    expect(await controls.allTextContents()).toEqual([]);
    // Of an event its instant stays, without the frame of a field.
    const instant = page.locator(".events .time-field").first();
    expect(await instant.inputValue()).toBe("00:20:00");
    expect(await instant.evaluate((field) => getComputedStyle(field).borderTopWidth)).toBe("0px");
  });

  test("a PDF has no picture and no pattern in it: every hatch is a line", async () => {
    const { page } = await show(busyRun());
    const pdf = (await page.pdf({ preferCSSPageSize: true, format: "A4", printBackground: true })).toString("latin1");
    expect((pdf.match(/\/Type \/Page\b/g) ?? []).length).toBeGreaterThan(2);
    expect(pdf).not.toMatch(/\/Subtype \/Image/);
    expect(pdf).not.toMatch(/\/PatternType 1/);
    // On the screen as before.
    expect(await page.locator(".paper-caution").isVisible()).toBe(false);
    expect(await page.locator("#take-away button").first().isVisible()).toBe(true);
  });
});
