/** What machines of a rig say to each other, and what the world does to them. */
import type { Flow, Signal } from "../shared/flow.ts";
import type { Ns } from "../shared/time.ts";
import { secondsBetween } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";

export type Mail =
  /** From a device, to its own receivers and to the cables it feeds; null: nothing leaves. */
  | { readonly kind: "flow"; readonly signal: Signal | null }
  /** From a device, to every cable that touches it. */
  | { readonly kind: "status"; readonly status: Status }
  /** From a cable, to the port at its end. */
  | { readonly kind: "arrival"; readonly arrival: Arrival };

export interface Status {
  /** Powered, and out of `starting` or sending in it: a link to it can come up. */
  readonly alive: boolean;
  /** Ports that take clock by their settings; every other gives. */
  readonly takes: readonly number[];
}

export interface Arrival {
  /** Which cable: a port may see another one after a re-plug. */
  readonly link: string;
  readonly way: "there" | "back";
  readonly up: boolean;
  /** Null while nothing arrives, noticed or not. */
  readonly signal: Signal | null;
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
  | { readonly do: "cut" | "mend"; readonly path: string };

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
