/**
 * The run record: what a run found, row by row, each with the row that caused it. It is the product: the command
 * prints it, the page draws it, tests compare it. It grows with what happens, not with time: slips are kept as trains.
 */
import type { Flow } from "./flow.ts";
import type { EventPlan } from "./plan.ts";
import type { Ns } from "./time.ts";
import type { Wander } from "./wander.ts";

/** Index of a row in the record; -1: the start. */
export type Cause = number;
export const FROM_START: Cause = -1;

export const DEVICE_STATES = ["off", "starting", "free-run", "acquiring", "locked", "holdover"] as const;
export type DeviceState = (typeof DEVICE_STATES)[number];

export const LINK_STATES = ["up", "down", "coming-up"] as const;
export type LinkState = (typeof LINK_STATES)[number];

export const LINK_CLOCKS = ["given", "each-way", "disputed", "unclaimed"] as const;
export type LinkClock = (typeof LINK_CLOCKS)[number];

/** Idle: nothing arrives that it can convert; finding: it is measuring the rate of what arrives, and puts nothing out. */
export const CONVERTER_STATES = ["idle", "finding", "converting"] as const;
export type ConverterState = (typeof CONVERTER_STATES)[number];

/**
 * Fill of one buffer over one stretch, in samples, slips left out:
 * F(t) = samples + perSecond·τ + ½·perSecond2·τ² + wander, τ = t − at. A drop falls when F − slip·n reaches the depth,
 * a repeat when it reaches 0, n = drops − repeats before it.
 */
export interface FillCurve {
  readonly atNs: Ns;
  readonly samples: number;
  readonly perSecond: number;
  readonly perSecond2: number;
  readonly wander: FillWander | null;
}

/** What chance adds to a fill: samplesPerSecond·[(theirs − own)(t) − startSeconds]. */
export interface FillWander {
  readonly samplesPerSecond: number;
  /** Of what arrives. */
  readonly theirs: Wander | null;
  readonly own: Wander | null;
  /** What stood between the two when the buffer started. */
  readonly startSeconds: number;
}

/** IEEE 1588's port states in plain words; "down": its cable or its device is. */
export const PORT_ROLES = ["down", "listening", "about-to-lead", "leads", "passive", "follows"] as const;
export type PortRole = (typeof PORT_ROLES)[number];

/** What lies between a follower and the device that it takes its time from: cables and bridges, the follower's last. */
export interface FollowedPath {
  /** Fixed delay of packets from there, and of packets to there. */
  readonly forthSeconds: number;
  readonly backSeconds: number;
  /** Variance of what they wait in bridges on top, s². */
  readonly varianceSeconds2: number;
  readonly bridges: number;
}

export type Fact =
  /** An event of the scenario, by its index in `Plan.events`. */
  | { readonly kind: "event"; readonly index: number; readonly event: EventPlan }
  /** `source`: the entry of clockSources in use or being pulled to; "internal" by choice; else null. */
  | { readonly kind: "clock"; readonly state: DeviceState; readonly source: string | null; readonly reason: string }
  /** The clock this device puts out, from this instant on. */
  | { readonly kind: "flow"; readonly flow: Flow | null }
  /** A source was chosen and the device jumped to it: one dropout on every feed through it. */
  | { readonly kind: "re-aligned"; readonly bySeconds: number }
  /** Whole sample periods the phase detector took off. */
  | { readonly kind: "wrapped"; readonly samples: number }
  | { readonly kind: "surface"; readonly works: boolean }
  | { readonly kind: "hung"; readonly hung: boolean }
  /** State of one cable (or of a two-way link). `down` from the instant of the break; `noticed` once it is. */
  | { readonly kind: "link"; readonly state: LinkState; readonly noticed: boolean; readonly clock: LinkClock }
  /** Two of the three facts per port end; the third is the link's clock. `link` and `way`: the cable at the port, if any. */
  | {
      readonly kind: "input";
      readonly link: string | null;
      readonly way: "there" | "back" | null;
      readonly decodes: boolean;
      readonly inStep: boolean;
    }
  /** At a port with a sample-rate converter, beside its `input`: nothing slips there, and step is not lost. */
  | {
      readonly kind: "converter";
      readonly link: string | null;
      readonly way: "there" | "back" | null;
      readonly state: ConverterState;
    }
  /**
   * What the election has made of one port of a device. `port`: null where all its ethernet ports are one (an ordinary
   * device, a bridge that is no boundary). `leader`, `parent`: device ids of whose time it is and from whom it comes.
   */
  | {
      readonly kind: "election";
      readonly port: number | null;
      readonly role: PortRole;
      readonly leader: string | null;
      readonly parent: string | null;
      /** Boundary devices on the way, the follower itself left out. */
      readonly steps: number;
      /** Null unless it follows. */
      readonly path: FollowedPath | null;
      readonly reason: string;
    }
  /** Of a network's bridges: which cables between them pass packets on ("blocked" holds one back as a spare). */
  | {
      readonly kind: "bridging";
      readonly forwards: readonly string[];
      readonly blocked: readonly string[];
      readonly storm: boolean;
    }
  /** A train of slips on one curve, `fromNs` the first; instants on demand (`sim/slips.ts`). sign 1: drops. */
  | {
      readonly kind: "slips";
      readonly link: string;
      readonly way: "there" | "back";
      readonly fromNs: Ns;
      readonly toNs: Ns;
      readonly sign: 1 | -1;
      readonly count: number;
      readonly slipSamples: number;
      readonly depthSamples: number;
      readonly curve: FillCurve;
      readonly netBefore: number;
    };

/** `subject`: "device foh", "link main there", "link main both", "port foh.1", "node foh a" (a device on a network), "bridge foh",
 * "bridging a", "world". Sorted by instant. */
export interface Row {
  readonly atNs: Ns;
  readonly subject: string;
  readonly cause: Cause;
  readonly fact: Fact;
}

/** A timebase by what makes it, not by its values: see `timebase.ts`. */
export interface RunRecord {
  readonly format: 1;
  readonly scenarioSha256: string;
  readonly seed: string;
  readonly endNs: Ns;
  readonly rows: readonly Row[];
  /** Largest bound of any flow in samples of the rig's rate; null where none exists (a ring). */
  readonly worstErrorSamples: number | null;
  readonly assumed: readonly string[];
}
