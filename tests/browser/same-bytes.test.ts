/** Every shipped scenario, wander on everywhere: the browser's engine says the same as Node's, byte for byte. */
import type { Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { bytesOfRun as BytesOfRun } from "../helpers/bytes-of-run.ts";
import { bytesOfRun } from "../helpers/bytes-of-run.ts";
import { bundleEngine, shippedTexts } from "../helpers/engine-bundle.ts";
import { theChromium } from "./chromium.ts";

declare const pulltest: { readonly bytesOfRun: typeof BytesOfRun };

const { texts, scenarios } = shippedTexts();
let page: Page;
beforeAll(async () => {
  page = await (await theChromium()).newPage();
  await page.addScriptTag({ content: await bundleEngine() });
});
afterAll(async () => {
  await page?.close();
});

describe("one scenario and one seed give one run, in Node and in Chromium", () => {
  test.each(scenarios)("%s", async (name) => {
    const here = bytesOfRun(name, texts);
    const there = await page.evaluate(([of, files]) => pulltest.bytesOfRun(of, files).text, [name, texts] as const);
    expect(there.length).toBe(here.text.length);
    expect(there === here.text).toBe(true);
    expect(here.wandering).toBeGreaterThan(0);
  });

  test("with another seed it is another run, so that the comparison sees what is drawn", async () => {
    const name = "leader-reboot.json";
    const scenario = JSON.parse(texts[name] as string) as { run: object };
    const other = { ...texts, [name]: JSON.stringify({ ...scenario, run: { ...scenario.run, seed: "quay-2" } }) };
    const there = await page.evaluate(([of, files]) => pulltest.bytesOfRun(of, files).text, [name, other] as const);
    expect(there === bytesOfRun(name, other).text).toBe(true);
    expect(there === bytesOfRun(name, texts).text).toBe(false);
  });
});
