/**
 * A scenario after reading: files joined, `like` resolved, every default filled in, instants in whole nanoseconds.
 * Nothing here is optional, so `sim` never asks what a missing number means. `scenario.ts` makes it.
 */
import type { DeviceState, LinkClock } from "./record.ts";
import type { Ns } from "./time.ts";

export interface Plan {
  readonly title: string;
  readonly story: string;
  readonly lengthNs: Ns;
  readonly seed: string;
  readonly begin: "settled" | "cold";
  readonly wanderGridSeconds: number;
  readonly sampleRateHz: number;
  /** Who leads, then who is next: the plan, not a switch on a device. */
  readonly leaders: readonly string[];
  /** Sorted by id, as are links, spares and feeds. */
  readonly devices: readonly DevicePlan[];
  readonly links: readonly LinkPlan[];
  readonly spares: readonly SparePlan[];
  readonly feeds: readonly FeedPlan[];
  /** Sorted by instant, then as written; `forSeconds` is already a second event with `undoes`. */
  readonly events: readonly EventPlan[];
  readonly expect: readonly ExpectPlan[];
  /** What the plan check finds and somebody has accepted; left out: nothing. */
  readonly accepted?: readonly AcceptedPlan[];
  /** Assumed numbers in use, one line each: "holdoverSeconds 0: stage, pa". */
  readonly assumed: readonly string[];
}

export interface AcceptedPlan {
  /** Of `check-rules.ts`. */
  readonly rule: string;
  /** Nothing besides these may be what a finding is about; null: whatever it is about. */
  readonly devices: readonly string[] | null;
  readonly links: readonly string[] | null;
  readonly reason: string;
}

export interface OscillatorPlan {
  readonly type: string;
  /** Null: drawn evenly within the tolerance from the seed. */
  readonly offsetPpm: number | null;
  readonly tolerancePpm: number;
  readonly ageingPpbPerDay: number;
  readonly tempcoPpmPerCelsius: number;
  /**
   * In place of the coefficient, which is then 0: offsets against 25 °C at rising temperatures, straight lines between,
   * level beyond. Null: linear.
   */
  readonly tempcoTable: readonly { readonly celsius: number; readonly ppm: number }[] | null;
  /** Temperature around it as the show begins; 25 °C is where `offsetPpm` holds. */
  readonly startCelsius: number;
  /** Offset when stone cold, on top of everything else; decays to 0 while powered. */
  readonly warmUpPpm: number;
  /** Time constant of warming; cooling has its own. */
  readonly warmUpSeconds: number;
  readonly coolDownSeconds: number;
  /** Null: steady. */
  readonly wander: WanderPlan | null;
}

/**
 * Noise of an oscillator at the knots of the common grid: the deviations of C. Zucca and P. Tavella, "The clock model
 * and its relationship with the Allan and related variances", IEEE Trans. UFFC 52(2), 2005, and flicker FM.
 */
export interface WanderPlan {
  /** White FM, s^½: its Allan deviation at 1 s. */
  readonly sigma1: number;
  /** Random-walk FM, s^−½. */
  readonly sigma2: number;
  /** Random-walk drift, s^−3/2; 0 for the two-state model. */
  readonly sigma3: number;
  /** Flicker FM as the power-law coefficient h−1, dimensionless: an Allan deviation of √(2·ln 2·h−1) at all τ. */
  readonly hMinus1: number;
}

export type DeviceKind =
  | "desk"
  | "stage-box"
  | "processor"
  | "recorder"
  | "transmitter"
  | "truck"
  | "house-clock"
  | "converter"
  | "switch"
  | "other";

export interface DevicePlan {
  readonly id: string;
  readonly name: string;
  readonly kind: DeviceKind;
  readonly sampleRateHz: number;
  /** Port numbers as written, and "internal". */
  readonly clockSources: readonly string[];
  /** Only what the file says; a port in `clockSources` takes, any other gives. */
  readonly ports: Readonly<Record<string, "give" | "take">>;
  /** Sample-rate converters, by the port at whose input they are; left out: none. */
  readonly converters?: Readonly<Record<string, ConverterPlan>>;
  readonly oscillator: OscillatorPlan;
  readonly loop: { readonly naturalFrequencyHz: number; readonly damping: number };
  readonly capturePpm: number;
  readonly steeringPpm: number;
  readonly lockWindowPercent: number;
  readonly unlockWindowPercent: number;
  readonly dwellSeconds: number;
  readonly reactionSeconds: number;
  readonly holdOffSeconds: number;
  readonly holdoverSeconds: number;
  /** Holdover goes on with the control averaged over this time before the loss; 0: the integrator as it stands. */
  readonly holdoverAverageSeconds: number;
  /** What the kept frequency is off by on top, by the device's own measuring; adds to its clock's frequency. */
  readonly holdoverErrorPpb: number;
  readonly waitToRestoreSeconds: number;
  readonly revertive: boolean;
  readonly givesWhenUnlocked: boolean;
  readonly whileBooting: "nothing" | "own-clock" | "wrong-rate";
  readonly bootSeconds: number;
  readonly muteWhile: readonly DeviceState[];
  readonly muteOutOfStep: boolean | "unknown";
  readonly unmuteSeconds: number;
  readonly unmuteRampSeconds: number;
  /** Supplies; any one suffices. */
  readonly power: readonly string[];
  readonly atStart: "on" | "off";
}

/** A sample-rate converter at the input of a port: what arrives there is put on the device's own clock. */
export interface ConverterPlan {
  /** What it delays the sound by. */
  readonly delaySeconds: number;
  /** From something arriving until its rate is known; nothing is heard meanwhile. */
  readonly lockSeconds: number;
  /** The larger sample rate over the smaller one, at most; whichever of them arrives. */
  readonly ratioMax: number;
}

export interface PortRef {
  readonly device: string;
  readonly port: number;
}

export type Way = "there" | "back" | "both";

export interface LinkPlan {
  readonly id: string;
  readonly type: string;
  /** Two-way types have ends, and one cable for both; one-way types from → to, and a second cable with `return`. */
  readonly twoWay: boolean;
  readonly hasReturn: boolean;
  /** `from`, or the first of `ends`. */
  readonly a: PortRef;
  /** `to`, or the second of `ends`. */
  readonly b: PortRef;
  readonly medium: string;
  readonly lengthMetres: number;
  /** Exact propagation, before rounding. */
  readonly delaySeconds: number;
  readonly laidAlong: readonly string[];
  readonly noticeSeconds: number;
  readonly comingUpSeconds: number;
  /** One end must take: `disputed` and `unclaimed` are possible. */
  readonly clockIsAgreed: boolean;
  /** Channels at the sample rate of its faster end; 0 for word clock. */
  readonly channels: number;
  /** Audio latency of the type; delays sound only, never clock. */
  readonly latencySeconds: number;
  readonly buffer: { readonly slipSamples: number; readonly depthSamples: number; readonly startSamples: number };
  readonly atStart: "plugged" | "unplugged";
}

export interface SparePlan {
  readonly id: string;
  /** Main first. */
  readonly links: readonly string[];
  readonly mode: "standby";
  readonly switchSeconds: number;
  readonly revertive: boolean;
  readonly waitToRestoreSeconds: number;
}

/** One hop of a feed: the links that may carry it, main first (more than one only within a spare group). */
export interface HopPlan {
  readonly from: string;
  readonly to: string;
  readonly channels: number;
  readonly over: readonly { readonly link: string; readonly way: "there" | "back" }[];
  readonly spare: string | null;
}

export interface FeedPlan {
  readonly id: string;
  readonly name: string;
  readonly through: readonly string[];
  readonly hops: readonly HopPlan[];
  /** pa, wedges, in-ears, comms, record, broadcast, stream, assisted-hearing. */
  readonly heardBy: readonly string[];
}

/** What happens in the world. `undoes` is the index (in `Plan.events`) of the event that a `forSeconds` ends. */
export type EventPlan = { readonly atNs: Ns; readonly undoes: number | null } & EventDeed;

export type EventDeed =
  | {
      readonly do: "unplug" | "plug";
      readonly link: string;
      readonly end: "a" | "b" | null;
      readonly way: "there" | "back" | null;
      readonly into: number | null;
    }
  | { readonly do: "cut" | "mend"; readonly path: string }
  | { readonly do: "reboot"; readonly device: string; readonly part: "surface" | "engine" | "all" }
  | { readonly do: "power-cut" | "power-back"; readonly device: string | null; readonly supply: string | null }
  | { readonly do: "hang" | "unhang"; readonly device: string }
  | { readonly do: "set-clock-sources"; readonly device: string; readonly clockSources: readonly string[] }
  | { readonly do: "choose-source"; readonly device: string; readonly source: string }
  | { readonly do: "set-port-clock"; readonly device: string; readonly port: number; readonly clock: "give" | "take" }
  | { readonly do: "step-frequency"; readonly device: string; readonly offsetPpm: number | null } // null: back to before
  | {
      readonly do: "temperature";
      readonly device: string | null;
      readonly toCelsius: number;
      readonly overSeconds: number;
    };

export interface Bounds {
  readonly min: number | null;
  readonly max: number | null;
}

export type ExpectPlan =
  | {
      readonly kind: "feed";
      readonly feed: string;
      readonly slips: Bounds;
      readonly silentSeconds: Bounds;
      readonly dropouts: Bounds;
    }
  | {
      readonly kind: "device";
      readonly device: string;
      readonly is: DeviceState;
      readonly fromNs: Ns;
      readonly toNs: Ns;
    }
  | { readonly kind: "link"; readonly link: string; readonly clock: LinkClock; readonly fromNs: Ns; readonly toNs: Ns };
