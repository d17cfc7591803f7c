/** A look as a link, and back. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { formatLook, parseLook } from "../../viewer/takeaway/link.ts";

describe("a link to a view", () => {
  test("gives back what it was made of, to the nanosecond, whatever the lane is called", () => {
    const whole = fc.integer({ min: 0, max: 6_048_000 * 1e6 }).map((micros) => micros / 1e6);
    let lanes = 0;
    fc.assert(
      fc.property(
        whole,
        fc.integer({ min: 1_000, max: 1e9 }),
        whole,
        fc.option(whole),
        fc.option(fc.string({ minLength: 1, unit: "grapheme" })),
        (fromSeconds, micros, cursorSeconds, cursorBSeconds, lane) => {
          if (lane !== null) lanes += 1;
          const look = { fromSeconds, toSeconds: fromSeconds + micros / 1e6, cursorSeconds, cursorBSeconds, lane };
          const hash = formatLook(look);
          // Nothing in it that an address would have to hide.
          expect(hash).toMatch(/^#v1;from=[\d.]+;to=[\d.]+;cursor=[\d.]+(;b=[\d.]+)?(;lane=[\w%.~!*'()-]+)?$/);
          const read = parseLook(hash);
          expect(read?.lane ?? null).toBe(lane);
          expect(read?.cursorBSeconds === undefined).toBe(cursorBSeconds === null);
          for (const key of ["fromSeconds", "toSeconds", "cursorSeconds", "cursorBSeconds"] as const)
            if (look[key] !== null) expect(Math.abs((read?.[key] ?? Number.NaN) - look[key])).toBeLessThan(1e-9);
        },
      ),
    );
    expect(lanes).toBeGreaterThan(20);
  });

  test("is written as it always was: links that are out there go on working", () => {
    const look = { fromSeconds: 0, toSeconds: 5400, cursorSeconds: 1200.0005, lane: "device foh" };
    expect(formatLook({ ...look, cursorBSeconds: null })).toBe("#v1;from=0;to=5400;cursor=1200.0005;lane=device%20foh");
    expect(formatLook({ ...look, cursorBSeconds: 7 })).toBe(
      "#v1;from=0;to=5400;cursor=1200.0005;b=7;lane=device%20foh",
    );
    expect(parseLook("#v1;from=0;to=5400;cursor=1200.0005;lane=device%20foh")).toEqual(look);
  });

  test.each([
    [
      "another order, and fields of later",
      "#v1;lane=feed%20pa;later=7;to=20;from=10",
      { fromSeconds: 10, toSeconds: 20, lane: "feed pa" },
    ],
    ["half a window", "#v1;from=10;cursor=3", { cursorSeconds: 3 }],
    ["a window that ends before it begins", "#v1;from=20;to=10;cursor=3", { cursorSeconds: 3 }],
    ["no numbers", "#v1;from=a;to=;cursor=1e3;lane=", {}],
    ["numbers that run is no place for", "#v1;from=-1;to=Infinity;cursor=9999999999999;lane=x", { lane: "x" }],
    ["a lane that nobody can decode", "#v1;cursor=5;lane=%E0%A4%A", { cursorSeconds: 5 }],
    ["nothing but the version", "#v1", {}],
  ])("leaves out what cannot be read: %s", (_what, hash, expected) => {
    expect(parseLook(hash)).toEqual(expected);
  });

  test.each(["", "#", "#show", "#v2;from=1;to=2", "#v1from=1", "#V1;from=1;to=2", "#v10;from=1;to=2"])(
    "%j is no such link",
    (hash) => {
      expect(parseLook(hash)).toBeNull();
    },
  );

  test("no text makes it throw, or gives a number that is none", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), (text) => {
        for (const hash of [text, `#v1;${text}`, `#v1;from=${text};to=${text};b=${text};lane=${text}`]) {
          const read = parseLook(hash);
          for (const value of [read?.fromSeconds, read?.toSeconds, read?.cursorSeconds, read?.cursorBSeconds])
            if (value !== undefined) expect(value).toBeGreaterThanOrEqual(0);
        }
      }),
    );
  });
});
