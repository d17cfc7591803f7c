/** Every fault of the plan that is open: tried when asked, listed, rehearsed one by one; two plans under all of them. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { foundByAxe } from "./axe.ts";
import { inChromium } from "./chromium.ts";

const template = readFileSync("viewer/dist/page.html", "utf8");
const room = inChromium();

async function opened() {
  const path = join(room.folder, "hurt.html");
  writeFileSync(path, template);
  const { page, troubles } = await room.open(path, { viewport: { width: 1280, height: 900 }, colorScheme: "dark" });
  await page.locator(".sentences").waitFor();
  await settled(page);
  return { page, troubles };
}
const settled = (page: Page) =>
  page.waitForFunction(
    () =>
      !document.querySelector("#page")!.classList.contains("is-old") &&
      !document.documentElement.hasAttribute("data-drawing"),
  );
const focused = (page: Page) => page.evaluate(() => document.activeElement?.textContent);
const events = (page: Page) => page.locator("#events .event-words").allTextContents();
const rows = (page: Page) => page.locator("#hurt .hurt-class tbody tr").count();

test("by keyboard alone: asked, listed, one rehearsed and taken back; cancelled, what is done stays", async () => {
  const { page, troubles } = await opened();
  expect(await rows(page)).toBe(0);
  const before = await events(page);
  await page.locator("#hurt button", { hasText: "Try every fault" }).focus();
  await page.keyboard.press("Enter");
  await page.locator(".hurt-worst").waitFor();
  await expect.poll(() => focused(page)).toBe("Try every fault");
  expect(await page.locator(".hurt-partial").count()).toBe(0);
  expect(await page.locator("#hurt .meta").first().textContent()).toMatch(/^52 faults, each alone .* in three draws/);
  const listed = await rows(page);
  expect(listed).toBeGreaterThan(20);
  // A bar for each listener, and in words what it shows.
  const first = page.locator("#hurt .hurt-class tbody tr").first();
  expect(await first.locator(".hurt-bar").count()).toBe(4);
  expect(await first.locator("td .unseen").first().textContent()).toMatch(/^silent for/);

  const rehearse = page.locator("#hurt [data-do=rehearse]").nth(2);
  const words = (await rehearse.getAttribute("aria-label"))!.replace("Rehearse this one: ", "").split(":")[0]!;
  await rehearse.focus();
  await page.keyboard.press("Enter");
  await page.locator(".hurt-said", { hasText: words }).waitFor();
  await expect.poll(() => events(page)).toEqual([`${words}.`]);
  await settled(page);
  expect(await page.locator(".hurt-partial").count()).toBe(0);
  expect((await foundByAxe(page, "#hurt")).violations).toEqual([]);
  // One takes the place of another, also where what it does might be of the plan.
  await page.locator("#hurt tr", { hasText: "comes back on its own clock" }).first().locator("button").click();
  await expect.poll(() => events(page)).toHaveLength(2);
  await settled(page);
  expect(await page.locator(".hurt-partial").count()).toBe(0);
  await rehearse.press("Enter");
  await expect.poll(() => events(page)).toEqual([`${words}.`]);
  await rehearse.blur();
  for (let step = 0; step < 3; step += 1) await page.keyboard.press("Control+z");
  await expect.poll(() => events(page)).toEqual(before);

  await page.locator(".hurt-concerns summary").click();
  const down = page.locator(".hurt-concerns [data-do=down]").first();
  const moved = (await down.getAttribute("aria-label"))!.replace("Behind the next: ", "");
  await down.focus();
  await page.keyboard.press("Enter");
  await expect.poll(() => page.locator(".hurt-concerns li span").nth(1).textContent()).toBe(moved);
  await expect.poll(() => focused(page)).toBe("↓");

  await page.locator("#hurt select").nth(1).selectOption("10");
  await page.locator("#hurt select").first().selectOption("every");
  await page.locator("#hurt button", { hasText: "Try every fault" }).focus();
  await page.keyboard.press("Enter");
  await page.locator("#hurt .asking .time", { hasText: " left" }).waitFor();
  await page.keyboard.press("Enter");
  await page.locator(".hurt-partial", { hasText: /^PARTIAL: .* What is missing may be worse\.$/ }).waitFor();
  await expect.poll(() => focused(page)).toBe("Try every fault");
  expect(await rows(page)).toBeGreaterThan(0);
  expect(troubles).toEqual([]);
});

test("a file of somebody's beside the plan that is open: both under every fault, what each needs and what differs", async () => {
  const { page, troubles } = await opened();
  const theirs = await page.evaluateHandle(
    (text) => {
      const transfer = new DataTransfer();
      transfer.items.add(new File([text], "theirs.json"));
      return transfer;
    },
    readFileSync("scenarios/own-clock.json", "utf8"),
  );
  await page.dispatchEvent("#compare h2", "drop", { dataTransfer: theirs });
  await page.locator(".compared").waitFor();
  await page.locator("#compare button", { hasText: "Try every fault in both plans" }).click();
  await page.locator(".layouts-tried").waitFor();
  const cells = (name: string) =>
    page
      .locator(".layouts-tried tr", { hasText: name })
      .first()
      .locator("td")
      .evaluateAll((all) => all.map((cell) => cell.lastChild!.textContent));
  expect(await cells("faults tried")).toEqual(["52", "35"]);
  expect(await cells("metres")).toEqual(["620", "435"]);
  expect(await page.locator(".layouts-tried h3").textContent()).toMatch(/^B against A: \d+ faults that both have/);
  expect(await page.locator(".layouts-tried li", { hasText: "All faults, PA" }).textContent()).toMatch(/A silent for/);
  expect(await page.locator(".layouts-tried details tbody tr").count()).toBeGreaterThan(20);
  expect((await foundByAxe(page, ".layouts")).violations).toEqual([]);
  expect(await page.locator(".compare-what").textContent()).toBe("This run against “theirs.json”.");
  expect(await page.locator(".room-name strong").textContent()).toBe("leader-reboot.json");

  // Another, picked: what was tried is of the plan before. Its rig is taken from those that come with the page, which is said.
  await page.locator("#compare select").first().selectOption({ label: "A file of yours …" });
  const chooser = page.waitForEvent("filechooser");
  await page.locator("#compare button", { hasText: /^Compare$/ }).click();
  await (await chooser).setFiles("scenarios/leader-reboot-stay.json");
  await page.locator(".compare-what", { hasText: "This run against “leader-reboot-stay.json”." }).waitFor();
  expect(await page.locator(".layouts-tried").count()).toBe(0);
  expect(await page.locator(".compare-place > .compare-problem").textContent()).toBe(
    "leader-reboot-stay.json names quay.rig.json, which was not given: the shipped one is used.",
  );
  expect(troubles).toEqual([]);
});
