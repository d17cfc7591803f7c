/** The stability of a clock on the page: drawn when it is asked for, with the numbers that the command prints. */
import { spawnSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import type { Locator, Page } from "playwright-core";
import { beforeAll, describe, expect, test } from "vitest";
import type { StabilityReport } from "../../cli/verbs/stability.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";

const command = resolve("cli/dist/pulltest.cjs");

const room = inChromium();
beforeAll(() => {
  for (const wander of [true, false]) {
    const file = wander ? "wander" : "steady";
    writeFileSync(join(room.folder, `${file}.json`), JSON.stringify(rig(wander)));
    pulltest("rehearse", `${file}.json`, "--json", "--html", `${file}.html`);
  }
});

function rig(wander: boolean) {
  return {
    format: 1,
    title: "Two desks and a drifting box",
    run: { length: "01:30:00", seed: "quay-1", wander },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      devices: [
        { id: "foh", name: "FOH desk", clockSources: ["internal"], oscillator: { offsetPpm: 4.2 } },
        { id: "mon", name: "Monitor desk", clockSources: ["1"], oscillator: { offsetPpm: 1.8 } },
        {
          id: "box",
          name: "Loose box",
          clockSources: ["internal"],
          oscillator: { offsetPpm: 2, ageingPpbPerDay: 500 },
        },
        { id: "dark", name: "Dark box", clockSources: ["internal"], atStart: "off" },
      ],
      links: [{ id: "main", type: "madi", from: "foh.1", to: "mon.1", lengthMetres: 100 }],
    },
    events: [{ at: "00:10:00", do: "power-cut", device: "mon", forSeconds: 30 }],
  };
}

const printed = new Map<string, string>();

/** What the command prints to a question, asked once. */
function pulltest(...args: string[]): string {
  const question = args.join(" ");
  const known = printed.get(question);
  if (known !== undefined) return known;
  const { status, stdout, stderr } = spawnSync(process.execPath, [command, ...args], {
    cwd: room.folder,
    encoding: "utf8",
  });
  expect(status, stderr).toBe(0);
  printed.set(question, stdout);
  return stdout;
}

interface Look {
  readonly width?: number;
  readonly colorScheme?: "dark" | "light";
}

async function show(run: "wander" | "steady", { width = 1280, colorScheme = "dark" }: Look = {}) {
  const opened = await room.open(join(room.folder, `${run}.html`), { viewport: { width, height: 900 }, colorScheme });
  return { ...opened, part: opened.page.locator("#stability") };
}

async function unfolded(run: "wander" | "steady", look: Look = {}) {
  const shown = await show(run, look);
  await unfold(shown.part);
  return shown;
}

/** What is inside is made when the page hears of the opening, which is a moment later. */
async function unfold(part: Locator) {
  await part.locator("summary").first().click();
  await part.locator(".steadiness > *").first().waitFor();
}

const plain = (text: string | null) => (text ?? "").replaceAll(/[\u2068\u2069]/g, "");
const painted = (page: Page, selector: string) =>
  page.evaluate((name) => {
    const canvas = document.querySelector<HTMLCanvasElement>(name)!;
    const { data } = canvas.getContext("2d")!.getImageData(0, 0, canvas.width, canvas.height);
    let coloured = 0;
    for (let index = 3; index < data.length; index += 4) if (data[index]! > 0) coloured += 1;
    return coloured;
  }, selector);

describe("the curve", () => {
  test("is made when the part is opened, not before, and asks nothing of anybody", async () => {
    const { page, part, troubles } = await show("wander");
    expect(await part.locator("canvas").count()).toBe(0);
    await unfold(part);
    expect(await part.locator("canvas").count()).toBe(1);
    expect(await painted(page, "#stability canvas")).toBeGreaterThan(1000);
    expect(plain(await part.textContent())).toContain("FOH desk against true time. 00:00:00 to 01:30:00");
    expect(troubles).toEqual([]);
  });

  test.each([
    ["foh", "", "oadev"],
    ["mon", "", "mdev"],
    ["mon", "foh", "tdev"],
    ["mon", "foh", "mtie"],
  ] as const)("%s against %j as %s has in its table what the command prints", async (id, against, statistic) => {
    const { part } = await unfolded("wander");
    const [whose, reference, kind] = [0, 1, 2].map((index) => part.locator("select").nth(index));
    await whose!.selectOption(id);
    await reference!.selectOption(against);
    await kind!.selectOption(statistic);
    await part.locator("summary", { hasText: "as a table" }).click();
    const args = ["stability", "wander.json", "--json", "--device", id];
    const report = JSON.parse(pulltest(...args, ...(against === "" ? [] : ["--against", against]))) as StabilityReport;
    const expected = report.rows.flatMap(({ cells }) => {
      const cell = cells[statistic];
      if ("issue" in cell) return [];
      const ends = cell.interval === null ? ["–", "–"] : [cell.interval.low, cell.interval.high];
      return [[cell.value, ...ends].map((one) => (typeof one === "number" ? one.toExponential(4) : one))];
    });
    expect(expected.length).toBeGreaterThan(9);
    const rows = await part
      .locator("tbody tr")
      .evaluateAll((all) =>
        all.map((one) => [...one.querySelectorAll("td")].slice(0, 3).map((cell) => cell.lastChild?.textContent ?? "")),
      );
    expect(rows).toEqual(expected);
    const label = plain(await part.locator("canvas").getAttribute("aria-label"));
    expect(label).toContain(`${report.run!.deviceName} against ${report.run!.againstName ?? "true time"}: at 1 s`);
  });

  test("is chosen by keyboard, and what is chosen is read out", async () => {
    const { page, part } = await unfolded("wander");
    await part.locator("select").first().focus();
    await page.keyboard.press("ArrowDown");
    await expect.poll(async () => plain(await part.locator(".when").textContent())).not.toContain("FOH desk against");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Tab");
    for (const key of "Max") await page.keyboard.press(key);
    const live = page.locator("main > p[role=status]");
    await expect.poll(async () => plain(await live.textContent())).toMatch(/^Maximum time interval error/);
    expect(await part.locator("select").nth(2).inputValue()).toBe("mtie");
  });

  test("has the masks of its statistic as lines with letters, each with what became of it", async () => {
    const { part } = await unfolded("wander");
    const lines = () => part.locator(".curve-lines li").allTextContents();
    expect(await lines()).toEqual(["A ADEV, bars: 95 %"]);
    await part.locator("select").nth(2).selectOption("mtie");
    const masks = await lines();
    expect(masks).toHaveLength(5);
    expect(masks[0]).toBe("A MTIE");
    expect(masks[1]).toBe("B Primary reference clock, MTIE, ITU-T G.811: exceeded from 1 s");
    await part.locator("select").first().selectOption("mon");
    await part.locator("select").nth(1).selectOption("foh");
    expect((await lines())[1]).toBe("B Primary reference clock, MTIE, ITU-T G.811: not exceeded");
  });

  test("of the time error has AES11's limits against another clock, and none against true time", async () => {
    const { page, part } = await unfolded("wander");
    await part.locator("select").first().selectOption("mon");
    await part.locator("select").nth(2).selectOption("time-error");
    expect(await part.locator(".curve-lines li").count()).toBe(1);
    await part.locator("select").nth(1).selectOption("foh");
    // 100 m of coax are 505 ns, 2.4 % of a sample, and wander goes some 20 ns beyond: a tenth of 25 % is 521 ns.
    expect(await part.locator(".curve-lines li").allTextContents()).toEqual([
      "A Time error",
      "B AES11: output, 5 % of a sample",
      "C AES11: input, 25 % of a sample",
    ]);
    expect(plain(await part.textContent())).toContain("the furthest is 2.4 % of a sample");
    expect(await painted(page, "#stability canvas")).toBeGreaterThan(1000);
    await part.locator("summary", { hasText: "as a table" }).click();
    expect(await part.locator("tbody tr").count()).toBe(10);
    expect(await part.locator("tbody tr").first().textContent()).toMatch(/−50\d ns/);
  });

  test("a clock is never taken against itself, and one that is off says so", async () => {
    const { part, troubles } = await unfolded("wander");
    await part.locator("select").nth(1).selectOption("mon");
    await part.locator("select").first().selectOption("mon");
    expect(await part.locator("select").nth(1).inputValue()).toBe("");
    expect(await part.locator("select").nth(1).locator("option[value=mon]").isDisabled()).toBe(true);
    await part.locator("select").first().selectOption("dark");
    expect(await part.locator("canvas").count()).toBe(0);
    expect(await part.textContent()).toContain("There is no moment at which it puts out a clock.");
    expect(troubles).toEqual([]);
  });
});

describe("steady oscillators", () => {
  test("are a sentence, not an empty chart; drift is drawn all the same", async () => {
    const { part, troubles } = await unfolded("steady");
    const text = plain(await part.textContent());
    expect(text).toContain("wander is off");
    expect(text).toContain('"run": { "wander": true }');
    expect(text).toContain("On average 4.2 ppm fast. Nothing but that frequency");
    expect(await part.locator("canvas").count()).toBe(0);
    await part.locator("select").first().selectOption("box");
    expect(await part.locator("canvas").count()).toBe(1);
    expect(troubles).toEqual([]);
  });
});

describe("how it looks", () => {
  test.each([320, 390, 768, 1280])("at %d pixels nothing scrolls sideways, whatever is chosen", async (width) => {
    const { page, part } = await unfolded("wander", { width });
    for (const [id, kind] of [
      ["foh", "oadev"],
      ["mon", "mtie"],
      ["mon", "time-error"],
    ] as const) {
      await part.locator("select").first().selectOption(id);
      await part.locator("select").nth(2).selectOption(kind);
      await part.locator("summary", { hasText: "as a table" }).click();
      const wider = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect(wider, kind).toBe(0);
      const canvas = (await part.locator("canvas").boundingBox())!;
      expect(canvas.width, kind).toBeGreaterThan(240);
    }
  });

  test.each([1280, 390])("axe finds nothing to complain of, dark and light, %d pixels wide", async (width) => {
    const { page, part } = await unfolded("wander", { width });
    await part.locator("select").nth(2).selectOption("mtie");
    await part.locator("summary", { hasText: "as a table" }).click();
    const { violations, passes } = await foundByAxe(page, "#stability");
    expect(violations).toEqual([]);
    expect(passes).toBeGreaterThan(10);
  });

  test("on paper it is there if it was opened, without what only a screen can use", async () => {
    const { page, part } = await show("wander");
    await page.emulateMedia({ media: "print" });
    expect(await part.isVisible()).toBe(false);
    await page.emulateMedia({ media: "screen" });
    await unfold(part);
    await page.emulateMedia({ media: "print" });
    expect(await part.locator("canvas").isVisible()).toBe(true);
    expect(await part.locator(".choices").isVisible()).toBe(false);
  });
});
