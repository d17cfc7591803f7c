import fc from "fast-check";
import { expect, test } from "vitest";
import { PATTERNS } from "../../shared/states.ts";
import { patternPath } from "../../viewer/pattern.ts";

/** Every end point of a path made of M, L, H, V and Z with absolute coordinates. */
function points(path: string): { x: number; y: number }[] {
  const found: { x: number; y: number }[] = [];
  let at = { x: 0, y: 0 };
  for (const [, letter, numbers = ""] of path.matchAll(/([MLHVZ])([^MLHVZ]*)/g)) {
    const values = numbers.split(/[ ,]+/).filter(Boolean).map(Number);
    if (letter === "H") at = { x: values[0]!, y: at.y };
    else if (letter === "V") at = { x: at.x, y: values[0]! };
    else if (letter !== "Z") at = { x: values[0]!, y: values[1]! };
    found.push(at);
  }
  return found;
}

test("patterns are lines that end inside their own box, at any size", () => {
  const drawn = new Set<string>();
  fc.assert(
    fc.property(
      fc.constantFrom(...PATTERNS),
      fc.double({ min: 1, max: 2000, noNaN: true }),
      fc.integer({ min: 12, max: 40 }),
      (pattern, width, height) => {
        const ends = points(patternPath(pattern, width, height));
        if (ends.length > 0) drawn.add(pattern);
        expect(ends.every(({ x, y }) => Number.isFinite(x) && Number.isFinite(y))).toBe(true);
        // A cross keeps its size in the narrowest of boxes, where the lane's own edge cuts it.
        const slack = pattern === "crosses" && width < 12 ? 6 : 0.01;
        expect(ends.filter(({ x }) => x < -slack || x > width + slack)).toEqual([]);
        expect(ends.filter(({ y }) => y < -0.01 || y > height + 0.01)).toEqual([]);
      },
    ),
    { seed: 11, numRuns: 600 },
  );
  expect([...drawn].sort()).toEqual(PATTERNS.filter((pattern) => pattern !== "plain").sort());
});

test("every pattern but the plain one differs from every other in the same box", () => {
  const paths = PATTERNS.map((pattern) => patternPath(pattern, 200, 28));
  expect(new Set(paths).size).toBe(PATTERNS.length);
});
