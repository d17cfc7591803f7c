/**
 * `npm run bench:page`: how fast the page is, in ratios of things measured in turn in this one run, in the machine's own
 * Chromium without a window. Needs a build (`npm run build`).
 *
 *   --json            the same as JSON
 *   --only WORDS      of size, open, pan, play, edit those that are named, with commas between
 *   --profile FILE    pans over the large run under a profiler, writes FILE (.cpuprofile) and prints where the time went
 */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { brotliCompressSync, gzipSync } from "node:zlib";
import type { Browser, Page } from "playwright-core";
import { SPEEDS } from "../../viewer/lanes/playing.ts";
import { launchChromium } from "../browser/launch.ts";
import { findChromium } from "../chromium-path.mjs";
import { editing } from "./page-edits.ts";
import { type PageFiles, TEMPLATE, writePages } from "./page-files.ts";
import { type Frames, framesWhile, panAt, zoomAt } from "./page-frames.ts";
import { opening } from "./page-open.ts";
import { profilePage } from "./profile.ts";
import { print, type Ratio } from "./ratio.ts";

const OPENS = 9;
const EDITS = 6;
const SECONDS = 4;
const VIEW = { width: 1280, height: 900 };
/** What the page may weigh, packed as servers pack it. */
const GZIP_BYTES = 350_000;

function size(): Ratio {
  const bytes = readFileSync(TEMPLATE);
  const gzip = gzipSync(bytes, { level: 9 }).length;
  return {
    what: "whole-tool page packed by gzip -9 against 350 kB",
    ratio: gzip / GZIP_BYTES,
    goal: { is: "at most", ratio: 1 },
    ours: `${gzip} bytes; ${bytes.length} unpacked, ${brotliCompressSync(bytes).length} by brotli`,
    theirs: `${GZIP_BYTES}`,
  };
}

async function firstLanes(browser: Browser, { show, text }: PageFiles): Promise<Ratio> {
  const { pageMs, textMs } = await opening(browser, OPENS, show, text);
  return {
    what: "first lanes of the show's own page (in the document and painted once) against a page of one paragraph",
    ratio: pageMs / textMs,
    goal: { is: "at most", ratio: 6 },
    ours: `${pageMs.toFixed(0)} ms`,
    theirs: `${textMs.toFixed(0)} ms`,
  };
}

async function openAt(browser: Browser, url: string, place: string): Promise<Page> {
  const page = await browser.newPage({ viewport: VIEW });
  await page.goto(url);
  await page
    .locator(place)
    .first()
    .evaluate((element) => element.scrollIntoView({ block: "start" }));
  return page;
}

/** What the hand does, in which part of the page, and where the pointer is while it does. */
type Gesture = (page: Page, place: string) => Promise<Frames>;

async function hover(page: Page, place: string): Promise<{ x: number; y: number }> {
  const box = (await page.locator(place).first().boundingBox()) ?? { x: 0, y: 0, width: VIEW.width };
  const at = { x: box.x + box.width / 2, y: Math.min(Math.max(box.y + 100, VIEW.height / 2), VIEW.height - 50) };
  await page.mouse.move(at.x, at.y);
  return at;
}

const pan: Gesture = async (page, place) => {
  const { x, y } = await hover(page, place);
  const frames = await framesWhile(page, SECONDS, panAt(page, x, y, 400));
  await page.mouse.up();
  return frames;
};

const zoom: Gesture = async (page, place) => {
  await hover(page, place);
  await page.keyboard.down("Control");
  const frames = await framesWhile(page, SECONDS, zoomAt(page));
  await page.keyboard.up("Control");
  return frames;
};

const rest: Gesture = (page) => framesWhile(page, SECONDS, () => page.waitForTimeout(100));

/** Beside the same hand on a page with nothing in it, which says how steady frames are here at best. */
async function inTime(what: string, page: Page, place: string, empty: Page, gesture: Gesture): Promise<Ratio> {
  await empty.bringToFront();
  const theirs = await gesture(empty, "html");
  await page.bringToFront();
  const ours = await gesture(page, place);
  const words = ({ count, inTimeShare, p95Ms, cpuMs }: Frames) =>
    `${(inTimeShare * 100).toFixed(1)} % of ${count}, 95 % within ${p95Ms.toFixed(1)} ms, ${cpuMs.toFixed(2)} ms of the page's thread each`;
  return {
    what: `frames within 18 ms: ${what}`,
    ratio: ours.inTimeShare,
    goal: { is: "at least", ratio: 0.95 },
    ours: words(ours),
    theirs: `an empty page's ${words(theirs)}`,
  };
}

/** A window of an eighth of the show, somewhere in it. */
async function zoomIn(page: Page): Promise<void> {
  await page.locator(".board").focus();
  for (const key of ["Escape", "+", "+", "+"]) await page.keyboard.press(key);
}

async function largeMoves(browser: Browser, empty: Page, { large, largeFacts, show }: PageFiles): Promise<Ratio[]> {
  const { transitions, slips } = largeFacts;
  const rig = `100 devices, ${transitions} changes of state, ${slips} slips`;
  const page = await openAt(browser, large, "#show");
  await zoomIn(page);
  const ratios = [
    await inTime(`pan, ${rig}`, page, ".rows", empty, pan),
    await inTime(`zoom, ${rig}`, page, ".rows", empty, zoom),
  ];
  await page.close();
  for (const [chart, url] of [
    ["Slips so far", large],
    ["Frequency", show],
  ] as const) {
    const curves = await openAt(browser, url, ".curve");
    await curves.getByRole("button", { name: chart, exact: true }).click();
    await curves.locator('.curve-box[data-state="drawn"]').waitFor();
    await zoomIn(curves);
    await curves.locator(".curve").evaluate((element) => element.scrollIntoView({ block: "start" }));
    const of = `curves in sight (${chart.toLowerCase()} of ${url === large ? "the same" : "the show"})`;
    ratios.push(await inTime(`pan, ${of}`, curves, ".curve-box", empty, pan));
    ratios.push(await inTime(`zoom, ${of}`, curves, ".curve-box", empty, zoom));
    await curves.close();
  }
  return ratios;
}

async function playing(browser: Browser, empty: Page, { large }: PageFiles): Promise<Ratio[]> {
  const page = await openAt(browser, large, "#show");
  const ratios: Ratio[] = [];
  for (const speed of SPEEDS) {
    await zoomIn(page);
    // From the beginning, so that it is not over before it is measured.
    await page.keyboard.press("Home");
    await page.getByLabel("Speed of playing").selectOption(String(speed));
    const play: Gesture = async (one) => {
      if (one !== page) return rest(one, "");
      await page.getByRole("button", { name: "Play", exact: true }).click();
      // At full speed the large run is over after five seconds, and then the button says Play again.
      const frames = await framesWhile(page, SECONDS / 2, () => page.waitForTimeout(100));
      const pause = page.getByRole("button", { name: "Pause", exact: true });
      if ((await pause.count()) > 0) await pause.click();
      return frames;
    };
    ratios.push(await inTime(`playing at ${speed}×, 100 devices`, page, "#show", empty, play));
  }
  await page.close();
  return ratios;
}

async function edits(browser: Browser, { small, show }: PageFiles): Promise<Ratio[]> {
  const ratios: Ratio[] = [];
  for (const [name, url] of [
    ["leader-reboot", small],
    ["the show", show],
  ] as const) {
    const { shownMs, engineMs } = await editing(browser, url, EDITS);
    ratios.push({
      what: `an event moved in ${name} until its outcome stands against the run in the worker`,
      ratio: shownMs / engineMs,
      goal: { is: "at most", ratio: 3 },
      ours: `${shownMs.toFixed(0)} ms`,
      theirs: `${engineMs.toFixed(0)} ms`,
    });
  }
  return ratios;
}

async function profiled(browser: Browser, { large }: PageFiles, file: string): Promise<void> {
  const page = await openAt(browser, large, "#show");
  await zoomIn(page);
  const shares = await profilePage(page, () => pan(page, ".rows"), file);
  for (const { place, percent } of shares.slice(0, 40)) console.log(`${percent.toFixed(1).padStart(5)} %  ${place}`);
}

const PARTS = ["size", "open", "pan", "play", "edit"] as const;
const { values: asked } = parseArgs({
  options: { json: { type: "boolean" }, only: { type: "string" }, profile: { type: "string" } },
});
const only = asked.only?.split(",") ?? PARTS;
const is = (part: (typeof PARTS)[number]) => only.includes(part);
process.env.CHROMIUM_PATH ??= findChromium();
const folder = mkdtempSync(join(tmpdir(), "pulltest-bench-"));
const browser = await launchChromium();
try {
  const files = writePages(folder, JSON.parse(readFileSync("package.json", "utf8")).bin.pulltest);
  if (asked.profile !== undefined) await profiled(browser, files, asked.profile);
  else {
    const ratios: Ratio[] = [];
    const take = (found: readonly Ratio[]) => {
      ratios.push(...found);
      if (asked.json !== true) print(found, false);
    };
    if (is("size")) take([size()]);
    if (is("open")) take([await firstLanes(browser, files)]);
    const empty = await openAt(browser, files.empty, "html");
    if (is("play")) take(await playing(browser, empty, files));
    if (is("pan")) take(await largeMoves(browser, empty, files));
    if (is("edit")) take(await edits(browser, files));
    if (asked.json === true) print(ratios, true);
  }
} finally {
  await browser.close();
  rmSync(folder, { recursive: true });
}
