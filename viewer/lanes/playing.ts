/** How the window and the cursor go on while the show is played. No clock here: somebody says how far. */
import type { Look } from "../store.ts";

/** Seconds of show in a second. */
export const SPEEDS = [1, 10, 100, 1000] as const;

/** A window that passes in about this time can be followed by eye and is over before one tires of it. */
const PASS_SECONDS = 20;
/** Where the cursor stays while the window slides along. */
const SLIDING_SHARE = 0.8;
/** Where the cursor stands in a window that was turned to like a page. */
const PAGE_SHARE = 0.1;

/** The speed at which the window passes in nearest to 20 s, by ratio. */
export function speedFor(windowSeconds: number): number {
  const distance = (speed: number) => Math.abs(Math.log(windowSeconds / speed / PASS_SECONDS));
  return SPEEDS.reduce((best, speed) => (distance(speed) < distance(best) ? speed : best));
}

type Played = Pick<Look, "fromSeconds" | "toSeconds" | "cursorSeconds">;

/**
 * The look `bySeconds` of show later. The window slides once the cursor is well to its right, or, for those who want no
 * motion, stands until the cursor leaves it and is then turned to the next.
 */
export function played(look: Played, bySeconds: number, lengthSeconds: number, slides: boolean): Played {
  const { fromSeconds, toSeconds } = look;
  const width = toSeconds - fromSeconds;
  const cursorSeconds = Math.min(look.cursorSeconds + bySeconds, lengthSeconds);
  const share = (cursorSeconds - fromSeconds) / width;
  const isInside = share >= 0 && share <= (slides ? SLIDING_SHARE : 1);
  if (isInside) return { fromSeconds, toSeconds, cursorSeconds };
  const at = slides && share > 0 ? SLIDING_SHARE : PAGE_SHARE;
  const from = Math.min(Math.max(cursorSeconds - width * at, 0), lengthSeconds - width);
  return { fromSeconds: from, toSeconds: from + width, cursorSeconds };
}
