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

  test("holds three scripts and their hashes; what page and engine share stands in it once", () => {
    const scripts = [
      ...template.matchAll(/<script (id="common"|type="module"|type="text\/plain" id="engine")>(.*?)<\/script>/gs),
    ];
    const [common = "", own = "", engine = ""] = scripts.map(([, , code]) => code ?? "");
    const hash = (code: string) => `'sha256-${createHash("sha256").update(code).digest("base64")}'`;
    expect(template).toContain(`script-src ${[common, own, engine].map(hash).join(" ")};`);
    const pieces = (code: string) => code.match(/.{200}/gs) ?? [];
    for (const [code, ...others] of [
      [common, own, engine],
      [own, common, engine],
      [engine, common, own],
    ] as const) {
      // Most of the engine is needed by the page as well.
      expect(pieces(code).length).toBeGreaterThan(50);
      expect(pieces(code).filter((piece) => others.some((other) => other.includes(piece)))).toEqual([]);
    }
  });
});
