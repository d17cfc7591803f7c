/** Rigs to begin with: each plays at once, and the check finds no error in it. */
import { broadcastSplit } from "./broadcast-split.ts";
import { festivalGuest } from "./festival-guest.ts";
import { houseClock } from "./house-clock.ts";
import { networkPair } from "./network-pair.ts";
import { spares } from "./spares.ts";
import { twoDesks } from "./two-desks.ts";

export interface Template {
  readonly name: string;
  readonly what: string;
  /** A scenario file, with comments. */
  readonly text: string;
}

export const TEMPLATES: readonly Template[] = [
  { name: "two-desks", what: "two desks and a stage box", text: twoDesks },
  { name: "spares", what: "FOH, monitors and two boxes, each with a spare", text: spares },
  { name: "festival-guest", what: "a guest desk that joins for one act", text: festivalGuest },
  { name: "broadcast-split", what: "a truck that takes a split of the stage, on its own clock", text: broadcastSplit },
  { name: "house-clock", what: "a house clock that everyone follows", text: houseClock },
  { name: "network-pair", what: "two networks side by side, and every stream on both", text: networkPair },
];
