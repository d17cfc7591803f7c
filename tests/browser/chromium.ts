import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { type Browser, type BrowserContextOptions, chromium, type Page } from "playwright-core";
import { afterAll, afterEach, beforeAll } from "vitest";

/** The machine's own Chromium, without a window. Throws when `CHROMIUM_PATH` does not say where it is. */
export function launchChromium(): Promise<Browser> {
  const executablePath = process.env.CHROMIUM_PATH;
  if (!executablePath)
    throw new Error("No Chromium: `npm test` looks for one; for vitest alone set CHROMIUM_PATH to the program.");
  // Chromium refuses its sandbox to root, which is what a container's only user is.
  const args = ["--disable-gpu", "--disable-quic"];
  return chromium.launch({ executablePath, args: process.getuid?.() === 0 ? [...args, "--no-sandbox"] : args });
}

/** A page that writes down what must not happen: errors on the console or thrown, and requests for anything but itself. */
async function openWatched(
  browser: Browser,
  url: string,
  options: BrowserContextOptions = {},
): Promise<{ page: Page; troubles: string[] }> {
  const page = await browser.newPage(options);
  const troubles: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error" || message.type() === "warning") troubles.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => troubles.push(`thrown: ${error.message}`));
  page.on("request", (request) => {
    const asked = request.url();
    if (asked !== url && !/^(data|blob):/.test(asked)) troubles.push(`asked for: ${asked}`);
  });
  await page.goto(url);
  return { page, troubles };
}

export interface Room {
  /** A folder of the test file's own, there from the first hook on. */
  readonly folder: string;
  /** Opens a file, watched; the page is closed after the test. */
  open(file: string, options?: BrowserContextOptions): ReturnType<typeof openWatched>;
}

/** Chromium and a folder for one test file, made before its first test and taken away after its last. */
export function inChromium(): Room {
  let browser: Browser;
  let folder = "";
  const pages: Page[] = [];
  beforeAll(async () => {
    browser = await launchChromium();
    folder = mkdtempSync(join(tmpdir(), "pulltest-page-"));
  });
  afterEach(async () => {
    for (const page of pages.splice(0)) await page.close();
  });
  afterAll(async () => {
    await browser?.close();
    if (folder) rmSync(folder, { recursive: true });
  });
  return {
    get folder() {
      return folder;
    },
    async open(file, options) {
      const opened = await openWatched(browser, pathToFileURL(file).href, options);
      pages.push(opened.page);
      return opened;
    },
  };
}
