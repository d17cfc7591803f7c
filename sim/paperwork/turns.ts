/** How one speaks of what is pulled: while it is away, and when it is back. */

export type PulledKind = "cable" | "reboot" | "supply";

interface TurnWords {
  readonly out: string;
  readonly back: string;
  /** Before the time until all has settled after that. */
  readonly settled: string;
  /** What somebody has just done. */
  readonly done: string;
  readonly undone: string;
}

export const TURNS: Readonly<Record<PulledKind, TurnWords>> = {
  cable: {
    out: "While it is out",
    back: "When it is in again",
    settled: "In again, settled",
    done: "Pulled",
    undone: "In again",
  },
  reboot: {
    out: "Without it",
    back: "When it is back",
    settled: "Settled again",
    done: "Rebooted",
    undone: "Rebooted",
  },
  supply: {
    out: "While it is off",
    back: "When it is on again",
    settled: "On again, settled",
    done: "Off",
    undone: "On again",
  },
};
