/** The page has a leader's return under five policies, as the engine found it, and says so where it was not played. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { filledIn } from "../../cli/print/page.ts";
import { comparePolicies, type PolicyComparison } from "../../sim/policies.ts";
import { adviceSentences, heardUnder, policyName } from "../../sim/tell/policies.ts";
import { story } from "../tell/stories.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";
import { emptyRun } from "./fixture.ts";

const room = inChromium();
const template = readFileSync("cli/dist/page.html", "utf8");

function toldRun(name: string) {
  const { run, telling } = story(name);
  return { ...run, telling };
}
const reboot = toldRun("leader-reboot.json");
const winter = toldRun("winter-truck.json");
const policies = comparePolicies(reboot);

interface Look {
  readonly width?: number;
  readonly colorScheme?: "dark" | "light";
}

async function show(html: string, { width = 1280, colorScheme = "dark" }: Look = {}) {
  const file = join(room.folder, "run.html");
  writeFileSync(file, html);
  return room.open(file, { viewport: { width, height: 900 }, colorScheme });
}

const compared = (look?: Look) => show(filledIn(template, { ...reboot, policies }), look);

/** Rows of the first table: the name, then a list of what each cell says, without the head that a narrow page shows. */
const cells = (page: Page) =>
  page
    .locator("#return table")
    .first()
    .locator("tbody tr")
    .evaluateAll((rows) =>
      rows.map((row) => ({
        name: row.querySelector("th")?.textContent ?? "",
        cells: [...row.querySelectorAll("td")].map((cell) =>
          [...cell.querySelectorAll("li")].map((piece) => ({
            text: piece.textContent ?? "",
            hasSign: piece.querySelector("svg path") !== null,
          })),
        ),
      })),
    );

describe("side by side", () => {
  test("every listener under every policy, as it came out of the runs", async () => {
    const { page, troubles } = await compared();
    const [comparison] = policies as readonly [PolicyComparison];
    const heads = await page.locator("#return thead th").allTextContents();
    expect(heads.slice(1).map((head) => head.toLowerCase().replace(" (in the file)", ""))).toEqual(
      comparison.policies.map(({ policy }) => policyName(policy)),
    );
    expect(heads.filter((head) => head.includes("(in the file)"))).toHaveLength(1);

    const rows = await cells(page);
    let feeds = 0;
    for (const { name, cells: shown } of rows.slice(1, -1)) {
      const ids = reboot.plan.feeds.filter((feed) => {
        const found = comparison.policies.map(({ outcome }) => outcome!.feeds.find(({ id }) => id === feed.id)!);
        const texts = found.map((heard) => heardUnder(heard, 8).map(({ text }) => text));
        return JSON.stringify(texts) === JSON.stringify(shown.map((cell) => cell.map(({ text }) => text)));
      });
      expect(ids.length, name).toBeGreaterThan(0);
      feeds += ids.length;
    }
    expect(feeds).toBe(reboot.plan.feeds.length);
    const pa = rows.find(({ name }) => name === "PA")!;
    expect(pa.cells[0]!.map(({ text }) => text)).toContain("silent 1 min 15 s: device down");
    expect(troubles).toEqual([]);
  });

  test("the advice stands first, in words, and those that do least harm are framed", async () => {
    const { page } = await compared();
    const text = (await page.locator("#return .fix").textContent())!;
    for (const sentence of adviceSentences(reboot.plan, policies[0]!)) expect(text).toContain(sentence);
    const best = page.locator("#return .weight");
    expect(await best.allTextContents()).toEqual(policies[0]!.advice!.best.map(() => "Least harm"));
    expect(await best.first().evaluate((one) => getComputedStyle(one).borderTopStyle)).toBe("solid");
    expect(await page.locator("#return").textContent()).not.toMatch(
      /\b(safe|pass|passes|passed|good|undefined|NaN)\b|!/i,
    );
  });

  test("each sign has its words, and two things that differ have signs of different shape", async () => {
    const { page } = await compared();
    const shapes = await page.locator("#return .piece").evaluateAll((all) =>
      all.map((piece) => ({
        shape: [...piece.querySelectorAll("path")].map((path) => path.getAttribute("d")).join(""),
        kind: (piece.textContent ?? "")
          .replace(/[\d,–]+/g, "")
          .replace(/dropouts?/, "dropout")
          .trim(),
      })),
    );
    expect(shapes.length).toBeGreaterThan(10);
    for (const { shape, kind } of shapes) {
      expect(kind).not.toBe("");
      expect(shape).not.toBe("");
    }
    const kindsOf = (word: string) =>
      new Set(shapes.filter(({ kind }) => kind.includes(word)).map(({ shape }) => shape));
    const signs = ["clean", "clicks", "dropout", "silent"].map((word) => [...kindsOf(word)]);
    for (const each of signs) expect(each).toHaveLength(1);
    expect(new Set(signs.flat()).size).toBe(signs.length);
  });

  test("what each policy changes is folded, as it would stand in the file", async () => {
    const { page } = await compared();
    const code = page.locator("#return code").first();
    expect(await code.isVisible()).toBe(false);
    await page.locator("#return summary").click();
    expect(await page.locator("#return code").allTextContents()).toContain('stage: "revertive": false');
    expect(await code.isVisible()).toBe(true);
  });

  test("one block for each absence of a leader", async () => {
    const both = comparePolicies(winter);
    expect(both).toHaveLength(2);
    const { page, troubles } = await show(filledIn(template, { ...winter, policies: both }));
    expect(await page.locator("#return .policies").count()).toBe(2);
    expect(troubles).toEqual([]);
  });
});

describe("without the runs", () => {
  test("a leader comes back: how to have the page with it", async () => {
    const { page } = await show(filledIn(template, reboot));
    expect(await page.locator("#return").textContent()).toContain("make this page with --return-policies");
    expect(await page.locator("#return table").count()).toBe(0);
  });

  test("nobody who leads comes back: nothing is said of it", async () => {
    for (const run of [emptyRun(), { ...emptyRun(), policies: [] }]) {
      const { page, troubles } = await show(filledIn(template, run));
      expect(await page.locator("#return").count()).toBe(0);
      expect(troubles).toEqual([]);
    }
  });
});

describe("how it looks", () => {
  test.each([320, 390, 640, 800, 1280])("at %d pixels nothing is cut off or makes the page scroll", async (width) => {
    const { page } = await compared({ width });
    await page.locator("#return summary").click();
    const found = await page.evaluate(() => ({
      sideways: document.documentElement.scrollWidth > document.documentElement.clientWidth,
      cut: [...document.querySelectorAll("#return th, #return td, #return code, #return p")]
        .filter((one) => one.clientWidth > 0 && one.scrollWidth > one.clientWidth + 1)
        .map((one) => one.textContent),
    }));
    // Heads of columns that cards have instead are one pixel wide for those who listen.
    expect({ ...found, cut: found.cut.filter((text) => width > 768 || !/^[A-Z]/.test(text ?? "")) }).toEqual({
      sideways: false,
      cut: [],
    });
  });

  test("on a phone a card for each listener, with the policy beside what comes of it", async () => {
    const { page } = await compared({ width: 390 });
    const row = page.locator("#return tbody tr", { hasText: "device down" }).first();
    const heads = row.locator(".cell-head");
    expect(await heads.count()).toBe(5);
    for (const head of await heads.all()) expect(await head.isVisible()).toBe(true);
    const boxes = await row.locator("td").evaluateAll((all) => all.map((one) => one.getBoundingClientRect()));
    for (const [index, { top }] of boxes.entries())
      if (index > 0) expect(top).toBeGreaterThanOrEqual(boxes[index - 1]!.bottom - 1);
  });

  test.each([1280, 390])("axe finds nothing to complain of, dark and light, %d pixels wide", async (width) => {
    const { page } = await compared({ width });
    await page.locator("#return summary").click();
    const { violations, passes } = await foundByAxe(page, "#return");
    expect(violations).toEqual([]);
    expect(passes).toBeGreaterThan(8);
  });
});
