/** How long until the first lanes are drawn. */
import type { Browser } from "playwright-core";
import { inTurnsAwaited } from "./measure.ts";

export interface Opened {
  readonly pageMs: number;
  readonly textMs: number;
}

/**
 * From the start of the navigation to the frame after the one in which a state of a lane stood in the SVG of its lane, on
 * the screen (the page is scrolled to its lanes as soon as they are in the document), or the paragraph did: by then it
 * has been laid out and painted once. A fresh browser context for each, in turn.
 */
export async function opening(browser: Browser, rounds: number, page: string, text: string): Promise<Opened> {
  const [pageMs, textMs] = (await inTurnsAwaited(rounds, [
    () => firstDrawn(browser, page),
    () => firstDrawn(browser, text),
  ])) as [number, number];
  return { pageMs, textMs };
}

async function firstDrawn(browser: Browser, url: string): Promise<number> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  await page.addInitScript(watchFirst);
  await page.goto(url);
  const drawn = await page.waitForFunction(() => (globalThis as { firstDrawnMs?: number }).firstDrawnMs);
  const took = (await drawn.jsonValue()) as number;
  await page.close();
  return took;
}

/** In the page, before anything else. Its clock begins with the navigation. */
function watchFirst(): void {
  let isThere = false;
  const look = () => {
    const show = document.querySelector("#show .board");
    if (show !== null && !isThere) {
      isThere = true;
      show.scrollIntoView();
    }
    const drawn = document.querySelector(".lane-drawing .stretch, p.text")?.getBoundingClientRect();
    if (drawn === undefined || drawn.top > innerHeight) requestAnimationFrame(look);
    else
      requestAnimationFrame(() => {
        Object.assign(globalThis, { firstDrawnMs: performance.now() });
      });
  };
  requestAnimationFrame(look);
}
