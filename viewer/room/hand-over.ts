/** From the page's first script to the one with the rest, which is another and runs later. */
import type { FirstSight } from "./first-sight.ts";

let handed: FirstSight | null = null;

export function handOver(sight: FirstSight): void {
  handed = sight;
}

/** Throws where the first script has not run. */
export function handedOver(): FirstSight {
  if (handed === null) throw new Error("the page has not begun");
  return handed;
}
