/**
 * Patterns as lines that end at the edge of their own box. Nothing is clipped and nothing is a `<pattern>`: browsers
 * turn pattern fills into pictures when they print, and these stay sharp.
 */
import type { Pattern } from "../shared/states.ts";

const HATCH_STEP = 7;
const UPRIGHT_STEP = 6;
const CROSS_STEP = 34;
const DASH = 6;
const GAP = 4;

/** SVG path data inside (0, 0) to (width, height). */
export function patternPath(pattern: Pattern, width: number, height: number): string {
  const middle = height / 2;
  switch (pattern) {
    case "plain":
      return "";
    case "double-edge":
      return width < 8 ? "" : `M3 3H${short(width - 3)}V${short(height - 3)}H3Z`;
    case "top-line":
      return line(0, 3.5, width, 3.5);
    case "zigzag":
      return zigzag(width, height - 5);
    case "dashed-edge":
      return dashes(width, 2.5) + dashes(width, height - 2.5);
    case "diagonal":
      return diagonals(width, height, false);
    case "back-diagonal":
      return diagonals(width, height, true);
    case "cross-hatch":
      return diagonals(width, height, false) + diagonals(width, height, true);
    case "uprights":
      return uprights(width, height);
    case "rules":
      return [1, 2, 3].map((row) => line(0, (height * row) / 4, width, (height * row) / 4)).join("");
    case "baseline":
      return line(0, height - 1, width, height - 1);
    case "one-line":
      return line(0, middle, width, middle);
    case "two-lines":
      return line(0, middle - 2.5, width, middle - 2.5) + line(0, middle + 2.5, width, middle + 2.5);
    case "crosses":
      return crosses(width, middle, Math.min(middle - 1, 5));
    case "comb":
      return line(0, height - 2, width, height - 2) + uprights(width, height - 2);
  }
}

/** Whether a hollow state has an edge all round; the others are lines in an empty lane. */
export function isFramed(pattern: Pattern, isHollow: boolean): boolean {
  return !isHollow || !["one-line", "two-lines", "baseline", "crosses"].includes(pattern);
}

function diagonals(width: number, height: number, falling: boolean): string {
  let path = "";
  for (let foot = HATCH_STEP / 2 - height; foot < width; foot += HATCH_STEP) {
    // Rising from (foot, height) to (foot + height, 0), cut at both sides.
    const left = Math.max(foot, 0);
    const right = Math.min(foot + height, width);
    if (right <= left) continue;
    const yAt = (x: number) => (falling ? x - foot : height - (x - foot));
    path += line(left, yAt(left), right, yAt(right));
  }
  return path;
}

function uprights(width: number, height: number): string {
  let path = "";
  for (let x = UPRIGHT_STEP / 2; x < width; x += UPRIGHT_STEP) path += line(x, 0, x, height);
  return path;
}

function crosses(width: number, middle: number, arm: number): string {
  const count = Math.max(1, Math.floor(width / CROSS_STEP));
  let path = "";
  for (let index = 0; index < count; index += 1) {
    const x = (width * (index + 0.5)) / count;
    path += line(x - arm, middle - arm, x + arm, middle + arm) + line(x - arm, middle + arm, x + arm, middle - arm);
  }
  return path;
}

function dashes(width: number, y: number): string {
  let path = "";
  for (let x = 0; x < width; x += DASH + GAP) path += line(x, y, Math.min(x + DASH, width), y);
  return path;
}

function zigzag(width: number, foot: number): string {
  const top = foot - 4;
  let path = `M0 ${short(foot)}`;
  for (let x = 4, up = true; x <= width; x += 4, up = !up) path += `L${short(x)} ${short(up ? top : foot)}`;
  return path;
}

function line(x1: number, y1: number, x2: number, y2: number): string {
  return `M${short(x1)} ${short(y1)}L${short(x2)} ${short(y2)}`;
}

function short(value: number): string {
  return String(Math.round(value * 100) / 100);
}
