/**
 * What travels in a rig: not samples but *flows*. "From this instant on, I am timebase T plus this phase, this
 * frequency, this ageing." Two flows of one timebase differ by a plain quadratic, whatever the oscillator does.
 */
import type { Ns } from "./time.ts";
import { secondsBetween } from "./time.ts";
import type { Wander } from "./wander.ts";

/** x(t) = timebase(t) + phase + rate·τ + ½·ageing·τ² + wander(t), τ = t − at, x in seconds ahead of true time. */
export interface Flow {
  /** Number of a {@link "./timebase.ts".Timebase}: one life of one oscillator. */
  readonly timebase: number;
  readonly atNs: Ns;
  readonly phaseSeconds: number;
  /** Fractional frequency against the timebase, dimensionless. */
  readonly rate: number;
  readonly ageingPerSecond: number;
  /** The noise that came through, all of it since the start of the show; null: steady. */
  readonly wander: Wander | null;
  /** Bound of what this flow left out of the truth, grown hop by hop; Infinity in a ring. */
  readonly withinSeconds: number;
}

/** Phase of a flow against its timebase, in seconds, wander left out. */
export function phaseAgainstTimebase(flow: Flow, at: Ns): number {
  const tau = secondsBetween(flow.atNs, at);
  return flow.phaseSeconds + tau * (flow.rate + 0.5 * flow.ageingPerSecond * tau);
}

/** Fractional frequency of a flow against its timebase, wander left out. */
export function rateAgainstTimebase(flow: Flow, at: Ns): number {
  return flow.rate + flow.ageingPerSecond * secondsBetween(flow.atNs, at);
}

/** What is on the wire from one port. The observer's part is `seen`: no machine decides by it. */
export interface Signal {
  readonly flow: Flow;
  /** False where this end offers no clock to the other. */
  readonly gives: boolean;
  readonly rateHz: number;
  /** Counts what makes buffers start anew: leaving `starting`, power, re-alignment. */
  readonly epoch: number;
  readonly seen: Seen;
}

/** What only an observer of the whole rig knows. */
export interface Seen {
  /** Devices the clock has come through, sorted; a device that finds itself here is in a ring. */
  readonly through: readonly string[];
  /** Traces to one oscillator through locked devices only. */
  readonly traced: boolean;
}
