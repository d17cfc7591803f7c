/** How far one press moves an event: a few pixels of the window, in steps that a file can write. */

const STEPS_SECONDS = [0.001, 0.01, 0.1, 1, 10, 60, 600, 3600];
/** Some three pixels of a wide window. */
const SHARE = 1 / 400;

/** @returns seconds, the largest of the steps that is no more than a four-hundredth of the window */
export function moveStep(windowSeconds: number): number {
  return STEPS_SECONDS.findLast((step) => step <= windowSeconds * SHARE) ?? STEPS_SECONDS[0]!;
}
