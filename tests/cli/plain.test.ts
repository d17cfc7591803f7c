import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { quoted } from "../../cli/print/fault.ts";
import { filledIn } from "../../cli/print/page.ts";
import { jsonText, oneLine, plain, wrapped } from "../../cli/print/plain.ts";
import type { PageRun } from "../../sim/run-data.ts";

const hostile = fc.string({ unit: "binary", maxLength: 200 });

describe("text from a file on its way out", () => {
  test("has nothing left that a terminal would obey", () => {
    expect(plain("\u001b[2J\u009b31m\u0007\u202eab\tc")).toBe("\u{fffd}[2J\u{fffd}31m\u{fffd}\u{fffd}ab\u{fffd}c");
    expect(oneLine("a\r\nb\nc")).toBe("a b c");
    fc.assert(fc.property(hostile, (text) => void expect(oneLine(text)).not.toMatch(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/u)));
  });

  test("as JSON stays the same value, without control characters", () => {
    fc.assert(
      fc.property(fc.dictionary(hostile, hostile), (value) => {
        const text = jsonText(value, 0);
        expect(JSON.parse(text)).toEqual(JSON.parse(JSON.stringify(value)));
        expect(text).not.toMatch(/[\p{Cc}\p{Zl}\p{Zp}\u202a-\u202e]/u);
      }),
    );
  });

  test("is wrapped at spaces, and wrapping changes no word", () => {
    const text = "00:20:00  FOH desk reboots. The PA goes silent: its mix is made in this desk.";
    expect(wrapped(text, null, 10)).toBe(text);
    expect(wrapped(text, 40, 10)).toBe(
      "00:20:00  FOH desk reboots. The PA goes\n          silent: its mix is made in\n          this desk.",
    );
    fc.assert(
      fc.property(
        fc.array(fc.stringMatching(/^\w{1,12}$/), { minLength: 1, maxLength: 40 }),
        fc.integer({ min: 40, max: 120 }),
        (words, columns) => {
          const lines = wrapped(words.join(" "), columns, 10).split("\n");
          expect(lines.map((line) => line.trim()).join(" ")).toBe(words.join(" "));
          for (const line of lines) expect(line.length).toBeLessThanOrEqual(columns);
        },
      ),
    );
  });

  test("an argument is quoted so that a shell reads it back", () => {
    expect(["quay.json", "foh@00:20:00/surface", "a b", "it's"].map(quoted)).toEqual([
      "quay.json",
      "foh@00:20:00/surface",
      "'a b'",
      "'it'\\''s'",
    ]);
  });
});

describe("a run in the page", () => {
  const template = "<html><head><title>Pulltest</title></head><body><!--run--></body></html>";
  const plan = { devices: [], links: [], spares: [], feeds: [], events: [], leaders: [] };
  const run = (title: string) =>
    ({ plan: { ...plan, title }, record: { rows: [] }, summary: {}, telling: {} }) as unknown as PageRun;

  test("cannot end its own script, whatever is in a name", () => {
    const html = filledIn(template, run("</script><script>alert(1)</script><!--$&$1"));
    expect(html.match(/<script/g)).toHaveLength(1);
    expect(html.match(/<\/script>/g)).toHaveLength(1);
    expect(html).toContain(
      "<title>&lt;/script&gt;&lt;script&gt;alert(1)&lt;/script&gt;&lt;!--$&amp;$1 · Pulltest</title>",
    );
    const data = /<script type="application\/json" id="run">(.*)<\/script>/s.exec(html)?.[1] ?? "";
    expect(JSON.parse(data)).toMatchObject({
      format: 1,
      plan: { title: "</script><script>alert(1)</script><!--$&$1" },
    });
  });

  test("needs its place in the template", () => {
    expect(() => filledIn("<html></html>", run("x"))).toThrow("<!--run-->");
  });
});
