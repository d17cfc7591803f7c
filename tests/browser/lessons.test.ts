/** Lessons in a browser: by keyboard alone, the run hidden until somebody has predicted, sound only when asked for. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Page } from "playwright-core";
import { build, type Rolldown } from "vite";
import { beforeAll, describe, expect, test } from "vitest";
import { HEADER_BYTES } from "../../viewer/lessons/wav.ts";
import { foundByAxe } from "./axe.ts";
import { inChromium, type Look } from "./chromium.ts";

const room = inChromium();
let html = "";

beforeAll(async () => {
  const built = (await build({
    configFile: false,
    logLevel: "error",
    build: {
      write: false,
      cssCodeSplit: false,
      rolldownOptions: {
        input: fileURLToPath(new URL("./lessons-harness.ts", import.meta.url)),
        output: { format: "iife", codeSplitting: false },
      },
    },
  })) as Rolldown.RolldownOutput;
  const script = built.output.find((part) => part.type === "chunk")!.code.replaceAll("</script", "<\\/script");
  const styles = built.output.filter((part) => part.type === "asset" && part.fileName.endsWith(".css"));
  const style = styles.map((part) => (part.type === "asset" ? String(part.source) : "")).join("");
  html = `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>Lessons</title><link rel="icon" href="data:,"><style>${style}</style><main id="page"></main><script>${script}</script></html>`;
});

async function open(look?: Look, isInRoom = false) {
  const file = join(room.folder, isInRoom ? "room.html" : "lessons.html");
  writeFileSync(file, isInRoom ? html.replace("<main", () => "<script>window.isInRoom = true</script><main") : html);
  return room.open(file, look);
}

const text = (page: Page) => page.locator("#lessons").textContent();
const button = (page: Page, name: string | RegExp) =>
  page.locator("#lessons").getByRole("button", { name, exact: true });
const opened = (page: Page) => page.evaluate("harness.opened");

/** To the question of a lesson, by its buttons. */
async function toQuestion(page: Page, title: string): Promise<void> {
  await page.locator("#lessons summary").first().click();
  await page.locator(".lesson-list").getByRole("button", { name: title }).click();
  await button(page, "Next").click();
  await button(page, "Next").click();
  await page.locator(".lesson-form").waitFor();
}

test("a lesson by keyboard alone: read, predict, see, and go on", async () => {
  const { page, troubles } = await open();
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await expect.poll(() => text(page)).toContain("Step 1 of 7");
  const focused = () => page.evaluate("document.activeElement.textContent");
  expect(await focused()).toBe("Two clocks");
  const press = async (name: string | RegExp) => {
    for (let steps = 0; steps < 12; steps += 1) {
      await page.keyboard.press("Tab");
      if (String(await focused()).match(name)) break;
    }
    expect(await focused()).toMatch(name);
    await page.keyboard.press("Enter");
  };
  await press("Next");
  expect(await text(page)).toContain("The two clocks are 10.5 ppm (parts per million) apart.");
  await press("Next");
  expect(await text(page)).toContain("How many seconds lie between one click");
  // Nothing of the run so far.
  expect(await opened(page)).toEqual([]);
  expect(await text(page)).not.toContain("907");
  await page.keyboard.press("Tab");
  await page.keyboard.type("2,1");
  await page.keyboard.press("Enter");
  await expect.poll(() => text(page)).toContain("The PA clicks every 2 s, 907 times in this half hour.");
  expect(await text(page)).toContain("You said: 2.1 s. The run is near that.");
  expect(await opened(page)).toEqual(["two-clocks.json"]);
  await press("Next");
  expect(await page.evaluate("harness.look()")).toMatchObject({
    fromSeconds: 0,
    toSeconds: 20,
    cursorSeconds: 10,
    lane: "feed guest-mix",
  });
  await press("Next");
  await press("Next");
  expect(await text(page)).toMatch(/A rehearsal with \d+ assumed numbers, not a test/);
  await press("All lessons");
  expect(await page.locator(".lesson-list li").first().textContent()).toMatch(/DoneTwo clocks are never quite equal/);
  expect(troubles).toEqual([]);
});

test("what the page has of runs is hidden until the prediction is made, and one that is wrong is told so without blame", async () => {
  const { page } = await open();
  await toQuestion(page, "Two clocks");
  expect(await page.locator("#lanes").isVisible()).toBe(false);
  await button(page, "Play the run").click();
  expect(await page.getByRole("alert").textContent()).toBe("Write a number such as 2.5, then play.");
  expect(await opened(page)).toEqual([]);
  await page.locator(".lesson-form input").fill("600");
  await button(page, "Play the run").click();
  await page.locator("#lanes .board").waitFor();
  expect(await text(page)).toContain("You said: 10 min. The run says otherwise.");
  // Back at the question, what was said stands and can no longer be changed.
  await button(page, "Back").click();
  expect(await page.locator(".lesson-form input").inputValue()).toBe("600");
  expect(await page.locator(".lesson-form input").isDisabled()).toBe(true);
});

test("choices are chosen, and the answer is the run's", async () => {
  const { page, troubles } = await open();
  await toQuestion(page, "The leader returns");
  await page.getByLabel("When the FOH desk is back").check();
  await button(page, "Play the run").click();
  await expect.poll(() => text(page)).toContain("The in-ears drop out on the return, at 00:21:15.");
  expect(await text(page)).toContain("You said: When the FOH desk is back. So says the run.");
  expect(await page.locator("#said").textContent()).toContain("So says the run.");
  expect(troubles).toEqual([]);
});

test("how far one has come is there after the page is opened anew, and a store that refuses ends nothing", async () => {
  const { page } = await open();
  await toQuestion(page, "The ring");
  await page.reload();
  await page.locator("#lessons summary").first().click();
  expect(await page.locator(".lesson-list li", { hasText: "The ring" }).textContent()).toContain("Begun");
  await page.locator(".lesson-list").getByRole("button", { name: "The ring" }).click();
  await expect.poll(() => text(page)).toContain("Who hears clicks?");

  await page.evaluate(() => {
    Object.defineProperty(window, "localStorage", {
      get: () => {
        throw new Error("refused");
      },
    });
  });
  await page.getByLabel("Both", { exact: true }).check();
  await button(page, "Play the run").click();
  await expect.poll(() => text(page)).toContain("It is the broadcast that clicks");
});

test("a scenario that cannot be played is told so, and can be tried again", async () => {
  const { page } = await open();
  await page.evaluate("harness.isFailing = true");
  await page.locator("#lessons summary").first().click();
  await page.locator(".lesson-list").getByRole("button", { name: "The ring" }).click();
  await expect.poll(() => text(page)).toContain("ring-of-sources.json could not be played: there is no engine");
  await page.evaluate("harness.isFailing = false");
  await button(page, "Try again").click();
  await expect.poll(() => text(page)).toContain("So nobody leads.");
  const isHidden = () => page.evaluate("document.documentElement.classList.contains('lesson-asks')");
  expect(await isHidden()).toBe(true);
  await button(page, "All lessons").click();
  expect(await isHidden()).toBe(false);
});

test("in the room a lesson opens its scenario only once the prediction is made, and all else is hidden till then", async () => {
  const { page, troubles } = await open({}, true);
  await page.locator("#show").waitFor();
  const shown = () => page.evaluate("document.querySelector('h1').textContent");
  const before = await shown();
  await toQuestion(page, "The spare that was none");
  for (const part of ["#show", "h1", ".room-bar"])
    expect(await page.locator(part).first().isVisible(), part).toBe(false);
  expect(await shown()).toBe(before);
  await page.getByLabel("To the end of the show").check();
  await button(page, "Play the run").click();
  await expect.poll(() => text(page)).toContain("The PA is silent for 10 min, from 00:40:00 on.");
  expect(await shown()).toContain("The spare that was none");
  expect(await page.locator("#show").isVisible()).toBe(true);
  await expect.poll(() => page.locator("#show .readout").textContent()).toContain("00:40:00");
  await button(page, "Next").click();
  await button(page, "Next").click();
  await expect.poll(() => page.locator("#show .readout").textContent()).toContain("00:45:00");
  expect(troubles).toEqual([]);
});

test("in the room a run that fails is told, can be tried again, and the learner can go on all the same", async () => {
  const { page, troubles } = await open({}, true);
  await page.locator("#show").waitFor();
  await toQuestion(page, "The spare that was none");
  await page.getByLabel("To the end of the show").check();
  await page.evaluate("harness.isFailing = true");
  await button(page, "Play the run").click();
  await expect.poll(() => text(page)).toContain("could not be played: the engine broke down.");
  await button(page, "Try again").click();
  await button(page, "Go on without the lanes").click();
  await expect.poll(() => text(page)).toContain("The PA is silent for 10 min, from 00:40:00 on.");
  expect(await text(page)).toContain("What stands on the page is another run");
  expect(await page.locator(".lesson-sound").count()).toBe(0);
  expect(await page.locator("#show").isVisible()).toBe(true);
  await button(page, "Next").click();
  await expect.poll(() => text(page)).toContain("One forklift took both cables.");
  await page.evaluate("harness.isFailing = false");
  await button(page, "All lessons").click();
  await page.locator(".lesson-list").getByRole("button", { name: "The spare that was none" }).click();
  await expect.poll(() => text(page)).toContain("Step 3 of 7");
  expect(troubles).toEqual([]);
});

describe("sound", () => {
  /** Writes down what a page does with Web Audio. */
  const watched = `
    window.audio = { contexts: 0, started: 0, stopped: 0, gains: [] };
    const Real = window.AudioContext;
    window.AudioContext = class extends Real {
      constructor(...given) { super(...given); window.audio.contexts += 1; window.audio.rate = this.sampleRate; }
      createBufferSource() {
        const made = super.createBufferSource();
        const { start, stop } = made;
        made.start = (...given) => { window.audio.started += 1; window.audio.buffer = made.buffer; start.apply(made, given); };
        made.stop = (...given) => { window.audio.stopped += 1; stop.apply(made, given); };
        return made;
      }
      createGain() { const made = super.createGain(); window.audio.gain = made; return made; }
    };`;

  async function toSound(page: Page): Promise<void> {
    await page.evaluate(watched);
    await toQuestion(page, "Two clocks");
    await page.locator(".lesson-form input").fill("2");
    await button(page, "Play the run").click();
    await page.locator(".lesson-sound > summary").click();
  }

  test("is never begun by the page, warns first, begins low, and stops by button, by Escape and out of sight", async () => {
    const { page, troubles } = await open();
    await toSound(page);
    const audio = (what: string) => page.evaluate(`window.audio.${what}`);
    expect(await audio("contexts")).toBe(0);
    const panel = page.locator(".sound");
    expect(await panel.textContent()).toMatch(/^Speakers down, headphones off ears\./);
    expect(await panel.textContent()).toContain("From 00:00:06 to 00:00:14: four clicks.");
    await button(page, "Play").click();
    await expect.poll(() => audio("started")).toBe(1);
    expect(await audio("rate")).toBe(48_000);
    expect(await audio("gain.gain.value")).toBeLessThanOrEqual(0.07);
    const peak = await page.evaluate(
      "window.audio.buffer.getChannelData(0).reduce((m, s) => Math.max(m, Math.abs(s)), 0)",
    );
    expect(peak).toBeGreaterThan(0.1);
    expect(peak).toBeLessThan(0.501);
    await page.keyboard.press("Escape");
    expect(await audio("stopped")).toBe(1);
    expect(await button(page, /^Stop/).getAttribute("aria-disabled")).toBe("true");

    await button(page, "Play").click();
    await expect.poll(() => audio("started")).toBe(2);
    await button(page, /^Stop/).click();
    expect(await audio("stopped")).toBe(2);

    await button(page, "Play").click();
    await expect.poll(() => audio("started")).toBe(3);
    await page.evaluate(() => {
      Object.defineProperty(document, "visibilityState", { value: "hidden", configurable: true });
      document.dispatchEvent(new Event("visibilitychange"));
    });
    expect(await audio("stopped")).toBe(3);

    // Going on in the lesson ends it as well.
    await button(page, "Play").click();
    await expect.poll(() => audio("started")).toBe(4);
    await button(page, "Next").click();
    expect(await audio("stopped")).toBe(4);
    expect(troubles).toEqual([]);
  });

  test("is saved as a WAV file of eight seconds, named by feed and instant", async () => {
    const { page } = await open();
    await toSound(page);
    const coming = page.waitForEvent("download");
    await button(page, "Save as WAV").click();
    const download = await coming;
    expect(download.suggestedFilename()).toBe("guest-mix-00-00-06-tone.wav");
    const bytes = readFileSync(await download.path());
    expect(bytes.length).toBe(HEADER_BYTES + 2 * 8 * 48_000);
    expect(bytes.subarray(0, 4).toString()).toBe("RIFF");
  });

  test("where a browser has no sound the page says so", async () => {
    const { page } = await open();
    await toSound(page);
    await page.evaluate("window.AudioContext = undefined");
    await button(page, "Play").click();
    await expect.poll(() => page.locator(".sound-problem").textContent()).toContain("plays no sound here");
  });
});

describe("at every width and on both grounds", () => {
  test.each([1280, 390, 320])("%i pixels: nothing sticks out, and an automatic check finds nothing", async (width) => {
    const { page } = await open({ viewport: { width, height: 800 }, colorScheme: "dark" });
    const look = async (name: string) => {
      const wide = await page.evaluate("document.documentElement.scrollWidth");
      expect(wide, name).toBeLessThanOrEqual(width);
      const shots = process.env.LESSON_SHOTS;
      if (shots) await page.screenshot({ path: `${shots}/${name}-${width}.png`, fullPage: name === "sound" });
      expect((await foundByAxe(page, "#lessons")).violations, name).toEqual([]);
    };
    await page.locator("#lessons summary").first().click();
    await look("list");
    await page.locator(".lesson-list").getByRole("button", { name: "The leader returns" }).click();
    await button(page, "Next").click();
    await look("step");
    await button(page, "Next").click();
    await look("question");
    await page.getByLabel("Both times").check();
    await button(page, "Play the run").click();
    await expect.poll(() => text(page)).toContain("on the return");
    await look("answer");
    await page.locator(".lesson-sound > summary").click();
    await look("sound");
  });
});
