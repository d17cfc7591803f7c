/** The small parts of reading: digests, show times, nearest words, what an issue prints. */
import { createHash } from "node:crypto";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { formatIssue, formatPath, quote } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import { sha256 } from "../../shared/sha256.ts";
import type { Ns } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";

const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text);

describe("sha256", () => {
  // The examples that NIST publishes with FIPS 180-4, from memory; the digest of Node agrees (below).
  it.each([
    ["", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"],
    ["abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"],
    [
      "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
      "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ],
  ])("of %j is the published one", (text, digest) => {
    expect(sha256(utf8(text))).toBe(digest);
  });

  it("is the host's for any bytes, and for every length around a block", () => {
    const same = (bytes: Uint8Array): void => {
      expect(sha256(bytes)).toBe(createHash("sha256").update(bytes).digest("hex"));
    };
    for (let length = 0; length <= 130; length++) same(new Uint8Array(length).fill(length));
    fc.assert(fc.property(fc.uint8Array({ maxLength: 500 }), same));
  });
});

describe("show time", () => {
  it.each([
    ["00:00:00", 0],
    ["00:20:00.500", 1200.5],
    ["99:59:59.999", 359_999.999],
    ["1736:06:40", 6_250_000],
    ["2495:59:59.999", 8_985_599.999],
  ])("%s is %d s", (text, seconds) => {
    expect(parseShowTime(text)).toBe(Math.round(seconds * 1000) * 1e6);
    expect(formatShowTime(parseShowTime(text) as Ns)).toBe(text);
  });

  it.each([
    "",
    "0:20:00",
    "20:00",
    "00:60:00",
    "00:00:60",
    "00:20:00.5",
    "00:20:00.5000",
    "2496:00:00",
    "099:00:00",
    "-1:00:00",
    "00:20:00 ",
    "٠٠:٢٠:٠٠",
  ])("%j is none", (text) => {
    expect(parseShowTime(text)).toBeNull();
  });

  it("comes back from what it is printed as", () => {
    fc.assert(
      fc.property(fc.nat(8_985_599_999), (milliseconds) => {
        const at = (milliseconds * 1e6) as Ns;
        expect(parseShowTime(formatShowTime(at))).toBe(at);
      }),
    );
  });
});

describe("the nearest word", () => {
  const keys = ["holdOffSeconds", "holdoverSeconds", "dwellSeconds", "id"];
  it.each([
    ["holdofSeconds", "holdOffSeconds"],
    ["holdoffseconds", "holdOffSeconds"],
    ["holdoverSecond", "holdoverSeconds"],
    ["dewllSeconds", "dwellSeconds"],
    ["di", "id"],
    ["colour", null],
    ["", null],
  ])("to %j is %j", (word, found) => {
    expect(nearest(word, keys)).toBe(found);
  });
});

describe("an issue in print", () => {
  it("has place, path, expectation, value and remedy", () => {
    expect(
      formatIssue({
        file: "scenarios/x.json",
        line: 12,
        column: 7,
        path: ["rig", "devices", 2, "oscillator", "offsetPpm"],
        expected: "a number from -1000 to 1000 ppm",
        received: "4500",
        remedy: "did you mean 4.5 (4500 ppb)?",
      }),
    ).toBe(
      "scenarios/x.json:12:7 › rig.devices[2].oscillator.offsetPpm: expected a number from -1000 to 1000 ppm, received 4500; did you mean 4.5 (4500 ppb)?",
    );
  });

  it("puts keys that are no plain words in quotes, and cuts long values", () => {
    expect(formatPath(["a b", "c", 0])).toBe('["a b"].c[0]');
    expect(quote("x".repeat(500))).toHaveLength(63);
    expect(quote(["1", 2])).toBe('["1", 2]');
    expect(quote({ a: 1 })).toBe("an object");
    expect(quote("a\u009bb\u2028c\ud800")).toBe('"a\\u009bb\\u2028c\\ud800"');
  });
});
