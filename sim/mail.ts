/** What machines of a rig say to each other, and what the world does to them. */
import type { Flow, Signal } from "../shared/flow.ts";
import type { Ns } from "../shared/time.ts";
import { secondsBetween } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import type { Train } from "./election/train.ts";

export type Mail =
  /** From a device, to its own receivers and to the cables it feeds; null: nothing leaves. */
  | { readonly kind: "flow"; readonly signal: Signal | null }
  /** From a device, to every cable that touches it. */
  | { readonly kind: "status"; readonly status: Status }
  /** From a cable, to the port at its end; from a node, to the clock port of its device. */
  | { readonly kind: "arrival"; readonly arrival: Arrival }
  /** From an ethernet cable, to the bridge or node at its end. */
  | { readonly kind: "carrier"; readonly carrier: Carrier }
  /** From a node or bridge into an ethernet cable, and out of it at the other end. */
  | { readonly kind: "frame"; readonly frame: Frame }
  /** From a bridge, to the bridging of its network: which of its cables to other bridges carry. */
  | { readonly kind: "neighbours"; readonly up: readonly number[] }
  /**
   * From the bridging of a network, to one of its bridges: ports to other bridges that pass packets on. Flooded: packets
   * go round it without end, and no other has room.
   */
  | { readonly kind: "forwarding"; readonly ports: readonly number[]; readonly isFlooded: boolean }
  /** From the node at the receiving end, to a stream: whether its packets arrive. */
  | { readonly kind: "reach"; readonly reached: boolean };

export interface Status {
  /** Powered, and out of `starting` or sending in it: a link to it can come up. */
  readonly alive: boolean;
  /** Ports that take clock by their settings; every other gives. */
  readonly takes: readonly number[];
  /** IEEE 1588 clockClass by its present state; null where it has no part in elections. */
  readonly clockClass: number | null;
}

/** Of an ethernet cable. `up` without `carries`: broken, and not noticed yet. */
export interface Carrier {
  readonly up: boolean;
  readonly carries: boolean;
}

/**
 * What goes over a network is told once and holds until something else is said under the same key: "from now on packets
 * of this kind come from here". A null body: they no longer do.
 */
export interface Frame {
  /** "clock foh.1": announcements and sync of one port; "stream stage-foh": the packets of one stream. */
  readonly key: string;
  readonly body: ClockFrame | StreamFrame | null;
  readonly path: NetworkPath;
}

export interface StreamFrame {
  readonly kind: "stream";
}

export interface ClockFrame {
  readonly kind: "clock";
  readonly train: Train;
  /** What its sync carries; null: it announces and sends no sync. */
  readonly signal: Signal | null;
}

/** What lies behind a frame on its way so far. */
export interface NetworkPath {
  /** Fixed delay in its direction, and the other way over the same cables and bridges. */
  readonly forthSeconds: number;
  readonly backSeconds: number;
  /** Variance of the waiting in bridges, s². */
  readonly varianceSeconds2: number;
  readonly bridges: number;
}

export interface Arrival {
  /** Which cable: a port may see another one after a re-plug. */
  readonly link: string;
  readonly way: "there" | "back";
  readonly up: boolean;
  /** Null while nothing arrives, noticed or not. */
  readonly signal: Signal | null;
  /** Why nothing arrives that could be used, where it is not the cable; left out: the cable. */
  readonly reason?: string;
}

/**
 * A port that is left by one cable hears its last word after the next one is in: of two cables in a port, only the
 * present one counts.
 */
export function isLastWord(present: Arrival | null, arrival: Arrival): boolean {
  return present !== null && present.link !== arrival.link && !arrival.up && present.up;
}

export type Order =
  | { readonly do: "power"; readonly on: boolean }
  | { readonly do: "reboot"; readonly part: "surface" | "engine" | "all" }
  | { readonly do: "hang"; readonly hung: boolean }
  /** Its oscillator bends here: known to the timebase all along, told so that what follows has its cause. */
  | { readonly do: "bend" }
  | { readonly do: "set-clock-sources"; readonly clockSources: readonly string[] }
  | { readonly do: "choose-source"; readonly source: string }
  | { readonly do: "set-port-clock"; readonly port: number; readonly clock: "give" | "take" }
  | { readonly do: "unplug"; readonly end: "a" | "b" | null }
  /** `into`: a port of the device at that end; null: where it was. */
  | { readonly do: "plug"; readonly end: "a" | "b" | null; readonly into: number | null }
  | { readonly do: "cut" | "mend"; readonly path: string }
  /** A leader that announces and sends no sync; false: sync is back. */
  | { readonly do: "sync"; readonly stopped: boolean }
  /** It no longer changes its clock source by itself. */
  | { readonly do: "stick"; readonly stuck: boolean };

/**
 * A flow as it arrives after a propagation delay: x(t − d) − d. The timebase itself is taken d ago to first order,
 * T(t) − y·d; how far y may move from what it is now, times d, goes into the bound (under 1e-5 samples on any stage).
 */
export function delayed(flow: Flow, delaySeconds: number, timebase: Timebase, at: Ns): Flow {
  const tau = secondsBetween(flow.atNs, at) - delaySeconds;
  return {
    timebase: flow.timebase,
    atNs: at,
    phaseSeconds:
      flow.phaseSeconds +
      tau * (flow.rate + 0.5 * flow.ageingPerSecond * tau) -
      delaySeconds * (1 + timebase.rateAt(at)),
    rate: flow.rate + flow.ageingPerSecond * tau,
    ageingPerSecond: flow.ageingPerSecond,
    wander: flow.wander, // its slope times the delay is some 1e-15 s
    withinSeconds: flow.withinSeconds + delaySeconds * timebase.rateSpread,
  };
}
