import { createHash } from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { inChromium } from "./chromium.ts";

const room = inChromium();
const template = readFileSync("cli/dist/page.html", "utf8");
async function open(html: string) {
  const file = join(room.folder, "page.html");
  writeFileSync(file, html);
  return room.open(file);
}

describe("the page's template", () => {
  test("opens from a file without a run, with nothing on the console and nothing fetched", async () => {
    const { page, troubles } = await open(template);
    expect(await page.locator("body").textContent()).not.toBe("");
    expect(troubles).toEqual([]);
  });

  test("says in its head which program wrote it", async () => {
    const { page } = await open(template);
    expect(await page.locator('head > meta[name="generator"]').getAttribute("content")).toBe("Pulltest");
    expect(template.match(/<meta name="generator" content="Pulltest">/g)).toHaveLength(1);
  });

  test("has a content policy that refuses a script which is not its own, and any fetch", async () => {
    const { page, troubles } = await open(
      template.replace("<!--run-->", "<script>document.title = 'foreign'</script>"),
    );
    expect(await page.title()).not.toBe("foreign");
    expect(troubles).toHaveLength(1);
    expect(troubles[0]).toMatch(/^console: .*Content Security Policy/);
    // The watch itself must be able to see a request.
    await page.evaluate(() => {
      const image = new Image();
      image.src = "https://example.invalid/image.png";
      document.body.append(image);
    });
    await expect.poll(() => troubles.length).toBeGreaterThan(1);
  });

  test("holds its scripts and their hashes: what people wait for runs at once, the rest is text, and nothing stands twice", () => {
    const scripts = [
      ...template.matchAll(/<script( type="text\/plain")? id="([\w-]+)"( data-after="[^"]+")?>(.*?)<\/script>/gs),
    ].map(([, held, id, after = "", code = ""]) => ({ id, isHeld: held !== undefined, after, code }));
    const ids = (isHeld: boolean) => scripts.filter((one) => one.isHeld === isHeld).map(({ id }) => id);
    expect(ids(false)).toEqual(["for-first-rest-engine", "for-first-rest", "first"]);
    expect(ids(true)).toEqual(["for-rest-engine", "rest", "engine"]);
    expect(scripts.at(-1)?.after).toBe(' data-after="for-first-rest-engine for-rest-engine"');
    const hash = ({ code }: { code: string }) => `'sha256-${createHash("sha256").update(code).digest("base64")}'`;
    expect(template).toContain(`script-src ${scripts.map(hash).join(" ")};`);
    const pieces = (code: string) => code.match(/.{200}/gs) ?? [];
    for (const { id, code } of scripts) {
      const others = scripts.filter((one) => one.id !== id);
      expect(pieces(code).length).toBeGreaterThan(50);
      // As numbers: the texts are long.
      const twice = pieces(code).filter((piece) => others.some((other) => other.code.includes(piece)));
      expect(twice.length).toBe(0);
    }
    // What people wait for must not carry the rest along: a quarter of all is more than it is today.
    const size = (isHeld: boolean) =>
      scripts.reduce((sum, one) => sum + (one.isHeld === isHeld ? one.code.length : 0), 0);
    expect(size(false) / size(true)).toBeLessThan(0.33);
  });
});
