/**
 * How the bridges of a network find another way when one is lost, and how long that takes. The bodies of IEEE 802.1D,
 * 802.1Q and IEC 62439-2 are sold and could not be read, so nothing here is cited from them directly.
 */
import type { Sourced } from "./link-types.ts";
import type { RecoveryName } from "./plan.ts";

interface Words {
  readonly name: RecoveryName;
  /** As a person calls it. */
  readonly words: string;
  /** What it does, one sentence without a full stop. */
  readonly what: string;
}

/** Everything passes on everywhere: two ways between two bridges are a loop. */
interface NoRecovery extends Words {
  readonly protocol: "none";
}

/** The timers hold 2·(forward delay − 1 s) ≥ max age ≥ 2·(hello + 1 s). */
interface SpanningTree extends Words {
  readonly protocol: "spanning-tree";
  /** A port that may pass packets on waits twice this long: listening, then learning. */
  readonly forwardDelaySeconds: Sourced;
  /** What a bridge has heard of the root holds this long after the last word; where it sees the break itself, not at all. */
  readonly maxAgeSeconds: Sourced;
  readonly helloSeconds: Sourced;
}

interface RapidSpanningTree extends Words {
  readonly protocol: "rapid-spanning-tree";
  /** From a break that somebody has noticed, or from a cable that is back, until another port passes packets on. */
  readonly handshakeSeconds: Sourced;
  /** After this long without a word a neighbour counts as lost, where its cable does not say so sooner. */
  readonly silentSeconds: Sourced;
}

/** One ring: a manager among the bridges holds one of its own two ports back while the ring is whole. */
export interface RingRecovery extends Words {
  readonly protocol: "ring";
  /** The profile's worst case: from the break until the port that was held back passes packets on. */
  readonly recoverySeconds: Sourced;
  /** Bridges in one ring with which the profile still holds; null: not read. */
  readonly bridgesMax: Sourced | null;
}

export type Recovery = NoRecovery | SpanningTree | RapidSpanningTree | RingRecovery;

const MANUALS = "several equipment manuals on IEEE 802.1D spanning tree: the default";
const RING_SOURCE = "IEC 62439-2 as in an open-source state machine of the protocol and two articles";
const RING_SIZE = "an article of a conference on protection and control, 2016, on IEC 62439-2 ring sizes";

function ring(name: RecoveryName, milliseconds: number, bridgesMax: number | null): RingRecovery {
  return {
    name,
    protocol: "ring",
    words: `ring, ${milliseconds} ms`,
    what: "A manager in the ring holds one of its ports back and opens it when its test packets no longer come round",
    recoverySeconds: { value: milliseconds / 1000, origin: "standard", source: RING_SOURCE },
    bridgesMax: bridgesMax === null ? null : { value: bridgesMax, origin: "handbook", source: RING_SIZE },
  };
}

const TABLE: Readonly<Record<RecoveryName, Recovery>> = {
  none: {
    name: "none",
    protocol: "none",
    words: "no recovery",
    what: "Every port passes packets on, so a second way makes a loop, and nothing gets through while it is closed",
  },
  "spanning-tree": {
    name: "spanning-tree",
    protocol: "spanning-tree",
    words: "spanning tree",
    what: "Bridges agree on one way to each other and hold the rest back; a port that opens waits to be sure of no loop",
    forwardDelaySeconds: { value: 15, origin: "handbook", source: `${MANUALS} (4 to 30 s)` },
    maxAgeSeconds: { value: 20, origin: "handbook", source: `${MANUALS} (6 to 40 s)` },
    helloSeconds: { value: 2, origin: "handbook", source: `${MANUALS} (1 to 10 s)` },
  },
  "rapid-spanning-tree": {
    name: "rapid-spanning-tree",
    protocol: "rapid-spanning-tree",
    words: "rapid spanning tree",
    what: "Bridges agree on one way to each other by asking and answering, and need no timers on cables with two ends",
    handshakeSeconds: {
      value: 0.1,
      origin: "assumed",
      source: "the handshake relies on no timers; a few packets, each looked at by a processor that has other work",
    },
    silentSeconds: { value: 6, origin: "from memory", source: "three hellos of 2 s" },
  },
  "ring-500ms": ring("ring-500ms", 500, null),
  "ring-200ms": ring("ring-200ms", 200, null),
  "ring-30ms": ring("ring-30ms", 30, 50),
  "ring-10ms": ring("ring-10ms", 10, 14),
};

export function recovery(name: RecoveryName): Recovery {
  return TABLE[name];
}
