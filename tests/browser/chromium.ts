import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser, CDPSession, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll } from "vitest";
import { launchChromium } from "./launch.ts";

let started: Promise<Browser> | undefined;

/**
 * The machine's own Chromium, without a window: one for all files that a worker runs, with a new profile, until the
 * worker ends. Throws when `CHROMIUM_PATH` does not say where it is.
 */
export function theChromium(): Promise<Browser> {
  started ??= launch();
  return started;
}

function launch(): Promise<Browser> {
  // Vitest ends its workers with this signal; on exit playwright ends Chromium and removes its profile.
  process.once("SIGTERM", () => process.exit());
  return launchChromium({ handleSIGTERM: false });
}

export interface Look {
  readonly viewport?: { readonly width: number; readonly height: number };
  readonly colorScheme?: "dark" | "light";
  readonly reducedMotion?: "reduce";
  /** Runs before the page's own script. */
  readonly before?: () => void;
  /** Asks for a window in which no other page has been, nor will be: for those who count what is in it. */
  readonly isNew?: boolean;
  /** Of a window of its own. */
  readonly hasTouch?: boolean;
}

/** A window with a profile of its own. */
interface Window {
  readonly page: Page;
  readonly session: CDPSession;
  readonly isReusable: boolean;
}

/**
 * Windows that have been tidied. A new one costs two more processes and three times what opening a page in one that is
 * there does.
 */
const idle: Window[] = [];

async function windowFor({ before, isNew = false, hasTouch = false }: Look): Promise<Window> {
  const isReusable = before === undefined && !isNew && !hasTouch;
  const tidied = isReusable ? idle.pop() : undefined;
  if (tidied) return tidied;
  const page = await (await theChromium()).newPage({ hasTouch });
  if (before) await page.addInitScript(before);
  return { page, session: await page.context().newCDPSession(page), isReusable };
}

/** Nothing that a test did in a window is there for the next, and nothing of it goes on. */
async function tidy(window: Window): Promise<void> {
  const { page, session } = window;
  for (const event of ["console", "pageerror", "request"]) page.removeAllListeners(event);
  await page.goto("about:blank");
  await page.mouse.move(0, 0);
  await session.send("Storage.clearDataForOrigin", { origin: "file://", storageTypes: "all" });
  idle.push(window);
}

/** A page that writes down what must not happen: errors on the console or thrown, and requests for anything but itself. */
async function openWatched(page: Page, url: string, look: Look): Promise<string[]> {
  const troubles: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error" || message.type() === "warning") troubles.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => troubles.push(`thrown: ${error.message}`));
  page.on("request", (request) => {
    const asked = request.url();
    if (asked !== url && !/^(data|blob):/.test(asked)) troubles.push(`asked for: ${asked}`);
  });
  await page.setViewportSize(look.viewport ?? { width: 1280, height: 720 });
  await page.emulateMedia({
    media: null,
    colorScheme: look.colorScheme ?? "light",
    reducedMotion: look.reducedMotion ?? "no-preference",
  });
  await page.goto(url);
  await allDrawn(page);
  return troubles;
}

/** What people need not wait for is drawn after what they look at. */
export async function allDrawn(page: Page): Promise<void> {
  await page.locator("html:not([data-drawing])").waitFor({ state: "attached" });
}

export interface Room {
  /** A folder of the test file's own, there from the first hook on. */
  readonly folder: string;
  /** Opens a file, watched; the page is gone after the test. */
  open(file: string, look?: Look): Promise<{ page: Page; troubles: string[] }>;
}

/** Windows of Chromium and a folder for one test file, made before its first test and taken away after its last. */
export function inChromium(): Room {
  let folder = "";
  const open: Window[] = [];
  beforeAll(async () => {
    await theChromium();
    folder = mkdtempSync(join(tmpdir(), "pulltest-page-"));
  });
  afterEach(async ({ task }) => {
    for (const window of open.splice(0))
      if (window.isReusable && task.result?.state !== "fail") await tidy(window);
      else await window.page.close();
  });
  afterAll(() => {
    if (folder) rmSync(folder, { recursive: true });
  });
  return {
    get folder() {
      return folder;
    },
    async open(file, look = {}) {
      const window = await windowFor(look);
      open.push(window);
      return { page: window.page, troubles: await openWatched(window.page, pathToFileURL(file).href, look) };
    },
  };
}
