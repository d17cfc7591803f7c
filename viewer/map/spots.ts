/** Where on a line its cross and its word go: clear of the devices and of other words, as far as there is room. */
import type { Place } from "../../sim/map/layout.ts";
import { overlap } from "../../sim/map/moved.ts";
import type { Spot, Word } from "./wires.ts";

/** Shares of the line, the best first. */
const SHARES = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];
/** Parallel lines begin to look at different places. */
const STAGGER = 0.09;
/** Of letters 11 pixels high. */
const WORD_HEIGHT = 13;
const CROSS = 14;

export interface LineInRoom {
  /** Which of several parallel lines, from −1 to 1; 0: it is alone. */
  readonly side: number;
  readonly isStream: boolean;
  readonly wordWidth: number;
}

/**
 * @param taken what a word must not cover @param crossed what it had better not: other lines
 */
export function roomiest(
  spotAt: (share: number) => Spot,
  line: LineInRoom,
  taken: readonly Place[],
  crossed: readonly Place[],
): { readonly share: number; readonly word: Word } {
  const { side, wordWidth: width } = line;
  const shares = SHARES.map((share) => share + STAGGER * side);
  for (const others of [crossed, []]) {
    for (const share of shares) {
      const spot = spotAt(share);
      const word = wordBeside(spot, line);
      const box = boxOf(word);
      const boxes = [box, { x: spot.x, y: spot.y, width: CROSS, height: CROSS }];
      const isInside = boxes.every(({ x, width }) => x >= width / 2);
      const isFree = !taken.some((other) => boxes.some((each) => overlap(each, other)));
      if (isInside && isFree && !others.some((other) => overlap(box, other))) return { share, word };
    }
  }
  // Between two that stand close: above both of them.
  const { x, y } = spotAt(0.5);
  const around = taken.filter((place) => place.height > WORD_HEIGHT && Math.abs(place.y - y) < place.height / 2);
  const near = around.filter((place) => Math.abs(place.x - x) < (place.width + width) / 2);
  const top = Math.min(y, ...near.map((place) => place.y - place.height / 2));
  return { share: 0.5 + STAGGER * side, word: { x, y: top - 6, anchor: "middle", width, isFree: false } };
}

/** Of parallel lines on the outside: above or below a line, left or right of a steep one. */
function wordBeside({ x, y, angle }: Spot, { side, isStream, wordWidth: width }: LineInRoom): Word {
  const isSteep = Math.abs(Math.sin((angle * Math.PI) / 180)) > 0.45;
  // Steep streams bend to the right, around the devices that they pass.
  const out = side > 0 || (isStream && isSteep) ? 1 : -1;
  if (isSteep) return { x: x + out * 9, y: y + 4, anchor: out > 0 ? "start" : "end", width, isFree: true };
  return { x, y: y + (out > 0 ? 18 : -9), anchor: "middle", width, isFree: true };
}

/** What a word covers; its y is that of its foot. */
export function boxOf({ x, y, anchor, width }: Word): Place {
  const shift = anchor === "middle" ? 0 : anchor === "start" ? width / 2 : -width / 2;
  return { x: x + shift, y: y - 4, width, height: WORD_HEIGHT };
}
