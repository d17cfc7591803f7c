/** Paper in a real browser: read by axe, cards that fit, and pictures of them. */
import { spawnSync } from "node:child_process";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { paperworkOf } from "../../cli/paperwork/sheets.ts";
import { ranked, tollsOf } from "../../sim/trials/rank.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { shippedPlan } from "../helpers/shipped.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";

const room = inChromium();
const RIG = "leader-reboot.json";

let folder = "";
beforeAll(() => {
  folder = join(room.folder, "sheets");
  const command = [resolve("cli/dist/pulltest.cjs"), "paperwork", `scenarios/${RIG}`, "--out", folder, "--draws", "1"];
  const { status, stderr } = spawnSync(process.execPath, [...command, "--png"], { encoding: "utf8" });
  expect(status, stderr).toBe(0);
});

test("axe has no complaint of the sheets, and none is wider than a phone", async () => {
  for (const name of ["index", "clock-plan", "cables", "pull-test", "fault-cards"]) {
    const { page, troubles } = await room.open(join(folder, `${name}.html`), { viewport: { width: 390, height: 800 } });
    const { violations, passes } = await foundByAxe(page);
    expect(violations, name).toEqual([]);
    expect(passes, name).toBeGreaterThan(10);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth), name).toBeLessThanOrEqual(0);
    expect(troubles, name).toEqual([]);
  }
});

test("there is a picture of each card, upright and twice as fine as a phone", () => {
  const cards = readFileSync(join(folder, "fault-cards.html"), "utf8").match(/<article/g)?.length;
  const pictures = readdirSync(folder).filter((name) => name.endsWith(".png"));
  expect(pictures.length).toBe(cards);
  for (const name of pictures) {
    const bytes = readFileSync(join(folder, name));
    // Signature and first chunk of a PNG file: ISO/IEC 15948, 5.2 and 11.2.2.
    expect(bytes.subarray(0, 8).toString("latin1")).toBe("\x89PNG\r\n\x1a\n");
    const [width, height] = [bytes.readUInt32BE(16), bytes.readUInt32BE(20)];
    expect(width, name).toBe(1080);
    expect(height, name).toBeGreaterThan(1080);
    expect(height, name).toBeLessThan(4320);
  }
});

/** Pixels of CSS between the margins: 190 by 277 mm of A4, 195.9 by 259.4 mm of Letter. */
const PAPERS = { a4: { width: 718, height: 1046 }, letter: { width: 740, height: 980 } } as const;

test("on both papers, one or four to a page, no card needs more room than it has, and no page is empty", async () => {
  const { sweep } = singleFaults(shippedPlan(RIG), { ...WANTED, draws: 1 });
  const tolls = ranked(sweep.plan, tollsOf(sweep, new Trier(sweep).playAll({ from: 0, to: trialCount(sweep) })));
  const words = {
    version: "1",
    title: "A rig",
    stamp: "K7-QF",
    verdict: "Every expectation met. Not tested on site.",
    repairsGiven: new Set<never>(),
  };
  let narrow = 0;
  for (const paper of ["a4", "letter"] as const) {
    for (const cardsToAPage of [1, 4] as const) {
      const { files } = paperworkOf({ sheets: new Set(["fault-cards"]), sweep, tolls, paper, cardsToAPage, ...words });
      const file = join(room.folder, `${paper}-${cardsToAPage}.html`);
      writeFileSync(file, files.find(({ name }) => name === "fault-cards.html")?.text ?? "");
      const { page } = await room.open(file, { viewport: PAPERS[paper] });
      await page.emulateMedia({ media: "print" });
      const cards = await page.evaluate(() =>
        [...document.querySelectorAll<HTMLElement>(".card")].map((card) => {
          const { minHeight, fontSize } = getComputedStyle(card);
          const beyond = card.offsetHeight - Number.parseFloat(minHeight);
          const [aside, width] = [card.scrollWidth - card.clientWidth, card.offsetWidth];
          return { id: card.id, beyond, aside, width, size: Number.parseFloat(fontSize) };
        }),
      );
      const about = `${paper}, ${cardsToAPage}`;
      expect(cards.length, about).toBeGreaterThan(15);
      expect(
        cards.filter(({ beyond, aside }) => beyond > 1 || aside > 0),
        about,
      ).toEqual([]);
      // Points at 96 pixels an inch: at arm's length, and from a card in the hand.
      const least = (cardsToAPage === 1 ? 9 : 6.5) * (96 / 72);
      expect(Math.min(...cards.map(({ size }) => size)), about).toBeGreaterThanOrEqual(least - 0.01);
      // Of a wide card nobody is beside; four narrow ones fill a page.
      const pdf = (await page.pdf({ preferCSSPageSize: true })).toString("latin1");
      const pages = pdf.match(/\/Type \/Page\b/g)?.length ?? 0;
      const isNarrow = ({ width }: { readonly width: number }) => width < PAPERS[paper].width / 2;
      const rows = cards.filter((card) => !isNarrow(card)).length + Math.ceil(cards.filter(isNarrow).length / 2);
      expect(pages, about).toBe(cardsToAPage === 1 ? cards.length : Math.ceil(rows / 2));
      narrow += cards.filter(isNarrow).length;
    }
  }
  expect(narrow).toBeGreaterThan(15);
});
