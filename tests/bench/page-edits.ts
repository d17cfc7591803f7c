/** How long an edit takes to show its result, beside what the engine takes for the run. */
import type { Browser } from "playwright-core";
import { median } from "./measure.ts";

export interface Edits {
  /** From the change of the field to the new outcome in the document. */
  readonly shownMs: number;
  /** In the worker, from the request to its answer: reading, playing, hearing, judging and telling, first fix included. */
  readonly engineMs: number;
}

interface Times {
  changed: number;
  posted: number;
  done: number;
  returned: number;
  stands: number;
}

/** Moves the first event to and fro in the list of events, so often after once to warm up. */
export async function editing(browser: Browser, url: string, rounds: number): Promise<Edits> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  await page.addInitScript(watchEdits);
  await page.goto(url);
  const field = page.locator("#events .events input.time-field").first();
  const [first, other] = [await field.inputValue(), later(await field.inputValue())];
  const shown: number[] = [];
  const engine: number[] = [];
  for (let round = 0; round <= rounds; round++) {
    await field.fill(round % 2 === 0 ? other : first);
    await field.press("Enter");
    // Comparing policies goes on after the answer, where it is not too much; the next edit waits for it.
    await page.waitForFunction(() => {
      const { changed, stands, returned } = (globalThis as unknown as { edits: Times }).edits;
      return changed > 0 && stands > changed && returned > changed;
    });
    const { changed, posted, done, stands } = await page.evaluate(
      () => (globalThis as unknown as { edits: Times }).edits,
    );
    if (round === 0) continue;
    shown.push(stands - changed);
    engine.push(done - posted);
  }
  await page.close();
  return { shownMs: median(shown), engineMs: median(engine) };
}

/** A second later, which is as good a run. */
function later(time: string): string {
  const whole = time.slice(0, 8);
  const seconds = Number(whole.slice(6));
  return `${whole.slice(0, 6)}${String(seconds < 59 ? seconds + 1 : seconds - 1).padStart(2, "0")}${time.slice(8)}`;
}

/** In the page, before anything else: writes down when requests go and answers come, and when the run stands. */
function watchEdits(): void {
  const edits: Times = { changed: 0, posted: 0, done: 0, returned: 0, stands: 0 };
  Object.assign(globalThis, { edits });
  class Watched extends Worker {
    constructor(address: string | URL) {
      super(address);
      this.addEventListener("message", ({ data }) => {
        if (data.is === "done") edits.done = performance.now();
        if (data.is === "returns") edits.returned = performance.now();
      });
    }
    override postMessage(message: unknown): void {
      edits.posted = performance.now();
      super.postMessage(message);
    }
  }
  Object.assign(globalThis, { Worker: Watched });
  document.addEventListener("change", () => (edits.changed = performance.now()), { capture: true });
  // The page marks what it shows as old from the edit until the new outcome stands in its place.
  new MutationObserver(() => {
    const place = document.querySelector("#page");
    if (
      place !== null &&
      !place.classList.contains("is-old") &&
      edits.stands < edits.changed &&
      edits.done > edits.changed
    )
      edits.stands = performance.now();
  }).observe(document, { subtree: true, attributes: true, attributeFilter: ["class"] });
}
