/**
 * Chance has an address: a draw is a function of (seed, device, purpose, block) and nothing else, so adding a device
 * or a draw anywhere changes no other device's numbers, and looking twice draws nothing twice.
 */
import seedrandom from "seedrandom";
import type { Draw } from "./uniforms.ts";

/** A stream of uniforms of 2^32 steps in [0, 1). The alea generator: four times as fast as the package's default, equally repeatable. */
export function stream(seed: string, device: string, purpose: string, block: number): Draw {
  return seedrandom.alea(JSON.stringify([seed, device, purpose, block]), { state: true });
}
