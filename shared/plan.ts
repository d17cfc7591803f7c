/**
 * A scenario after reading: files joined, `like` resolved, every default filled in, instants in whole nanoseconds.
 * Nothing here is optional, so `sim` never asks what a missing number means. `scenario.ts` makes it.
 */
import type { Origin } from "./defaults.ts";
import type { DeviceState, LinkClock } from "./record.ts";
import type { Ns } from "./time.ts";

export interface Plan {
  readonly title: string;
  readonly story: string;
  readonly lengthNs: Ns;
  /** The time of day at show time 0, "17:30"; left out: nobody says. No run asks for it. */
  readonly startsAt?: string;
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
  /** Sorted by id; left out: no network. */
  readonly networks?: readonly NetworkPlan[];
  /** Supplies that go on for a while without mains, and how long, s; left out: none. */
  readonly batteries?: Readonly<Record<string, number>>;
  /** Assumed numbers in use, one line each: "holdoverSeconds 0: stage, pa". */
  readonly assumed: readonly string[];
  /** Measured numbers in use, one line each: "bootSeconds 74 s, measured 2026-05-02: foh"; left out: none. */
  readonly measured?: readonly string[];
  /** All of them, in use or not; left out: of a plan that no file was read for. */
  readonly assumptions?: readonly AssumptionPlan[];
  /** Of the numbers that no entry of a device gives itself, or says the origin of; left out: of a plan that no file was read for. */
  readonly origins?: readonly OriginPlan[];
}

/** What somebody said of a number: the data of a file's `origins`. */
export interface OriginSaid {
  readonly value: unknown;
  /** Who or what says so. */
  readonly from: string;
  /** "2026-05-02"; left out: nobody measured it. */
  readonly measured?: string | undefined;
  readonly times?: number | undefined;
}

/** One number that was filled in without a source, and for whom. */
export interface AssumptionPlan {
  readonly on: "device" | "link" | "spare";
  /** As a file writes it: "holdoverSeconds", "loop.damping". */
  readonly name: string;
  /** Sorted. */
  readonly ids: readonly string[];
}

/** Where one number of some devices comes from. */
export interface OriginPlan {
  /** As a file writes it: "holdoverSeconds", "loop.damping". */
  readonly name: string;
  /** The device's own entry, the type that `like` names, or what `defaults.ts` and the table of oscillators say of it. */
  readonly origin: Origin | "own entry" | "device type";
  /** "measured 2026-05-02 (load-in, stopwatch)": what the file says of where it is from; left out: nothing. */
  readonly said?: string;
  /** The last day on which what is played was measured; left out: it was not. */
  readonly measured?: string;
  /** Something in this run hangs on it. */
  readonly isAsked: boolean;
  /** Devices, sorted. */
  readonly ids: readonly string[];
}

export const PTP_PROFILES = ["default", "aes67", "st2059-2", "802.1as"] as const;
/** Which numbers and rules the election of a network has: the rows of `ptp-profiles.ts`. */
export type PtpProfileName = (typeof PTP_PROFILES)[number];

export const RECOVERIES = [
  "none",
  "spanning-tree",
  "rapid-spanning-tree",
  "ring-500ms",
  "ring-200ms",
  "ring-30ms",
  "ring-10ms",
] as const;
/** How bridges find another way when one is lost: the rows of `recoveries.ts`. */
export type RecoveryName = (typeof RECOVERIES)[number];

/** Ethernet cables that belong together: how their devices elect a leader, how their bridges recover. */
export interface NetworkPlan {
  readonly id: string;
  readonly name: string;
  readonly profile: PtpProfileName;
  /** IEEE 1588 domain number: only devices of one domain hear each other's announcements. */
  readonly domain: number;
  readonly recovery: RecoveryName;
}

/** What a device says of itself in an IEEE 1588 election; null leaves nothing to chance but what the profile says. */
export interface PtpPlan {
  readonly priority1: number;
  readonly priority2: number;
  /** 6 or 13 only while it is locked or on its own clock by choice: see `clockClassOf` in `sim/election`. */
  readonly clockClass: number;
  readonly clockAccuracy: number;
  readonly offsetScaledLogVariance: number;
  /** Sixteen hexadecimal digits, lower case: the last tie-break. */
  readonly identity: string;
  /** Never leads, whatever it hears (class 255). */
  readonly followerOnly: boolean;
}

/** A device that passes packets from one of its ethernet ports to the others: a switch, or one built into a box. */
export interface BridgePlan {
  /**
   * What it does to packets that carry time: "plain" lets them wait like all others, "transparent" tells how long they
   * waited, "boundary" follows on one port and leads on the others (IEEE 1588's words).
   */
  readonly timing: "plain" | "transparent" | "boundary";
  /** Shortest time from one port to another. */
  readonly residenceSeconds: number;
  /** How much longer a packet may wait behind others; evenly spread from 0. */
  readonly delayVariationSeconds: number;
  /** Lowest is the root of a spanning tree, then the lowest id. */
  readonly priority: number;
}

export interface AcceptedPlan {
  /** Of `rule-names.ts`. */
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
  /** Its part in elections; left out: it has no ethernet port. */
  readonly ptp?: PtpPlan;
  /** Left out: packets end here. */
  readonly bridge?: BridgePlan;
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
  /** After a reboot of all of it, and after power: until audio and clock run. */
  readonly bootSeconds: number;
  /** After a reboot of the surface alone, which sound and clock do not notice. */
  readonly surfaceBootSeconds: number;
  /** After a reboot of the engine alone. */
  readonly engineBootSeconds: number;
  readonly muteWhile: readonly DeviceState[];
  readonly muteOutOfStep: boolean | "unknown";
  readonly unmuteSeconds: number;
  readonly unmuteRampSeconds: number;
  /** Supplies; any one suffices. */
  readonly power: readonly string[];
  /** What it comes back with where a reboot does not keep its settings; left out: it keeps them. */
  readonly afterReboot?: { readonly clockSources: readonly string[] };
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
  /**
   * "2026-11-20": the day on which it was last pulled on site and what was expected came about; left out: untested, and a
   * stream always. For people only; a run does not ask. A spare is tested when every cable of its group is.
   */
  readonly tested?: string;
  /** Stamp of what that pull was about, as it was then; left out: nobody knows. */
  readonly testedAs?: string;
  /** An ethernet cable: carries packets, and by them the time of an election and the streams; else left out. */
  readonly ethernet?: EthernetPlan;
  /** A stream of packets from `a` to `b`, over whatever ethernet cables lead there; else left out. */
  readonly stream?: StreamPlan;
  /**
   * One tap of a T-ed line: one sender, several receivers on one cable. Each tap is a link of its own, `id` the line's
   * for the first and "line:device" for the others; left out: a cable with two ends.
   */
  readonly line?: LinePlan;
}

export interface EthernetPlan {
  /** Of `Plan.networks`. */
  readonly network: string;
  /** How much longer packets take from a to b than back; the two together take twice `delaySeconds`. */
  readonly asymmetrySeconds: number;
  readonly bitsPerSecond: number;
}

export interface StreamPlan {
  /** Of `Plan.networks`: the one that both ends are on. */
  readonly network: string;
  /** From the first sample in a packet to the last. */
  readonly packetSeconds: number;
  readonly samplesPerPacket: number;
  /** Channels that one packet holds; more of them are several streams side by side. */
  readonly channelsPerPacket: number;
}

export interface LinePlan {
  readonly id: string;
  /** Devices on the line, the sender left out, in the order of the cable. */
  readonly taps: readonly string[];
  /** Devices at which the line is terminated. */
  readonly terminatedAt: readonly string[];
}

export const SPARE_MODES = ["standby", "duplicate", "manual"] as const;

export interface SparePlan {
  readonly id: string;
  /** Main first. */
  readonly links: readonly string[];
  /**
   * "standby": one carries, the next takes over by itself; "duplicate": all carry, the receiver puts them together;
   * "manual": a person moves the plug.
   */
  readonly mode: (typeof SPARE_MODES)[number];
  /** Standby: from noticing until the other carries. Manual: until somebody has done it, the walk included. */
  readonly switchSeconds: number;
  readonly revertive: boolean;
  readonly waitToRestoreSeconds: number;
  /** Duplicate: the largest difference in delay that the receiver bridges without a gap; left out: another mode. */
  readonly windowSeconds?: number;
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

/** A cable that comes and goes: which turn this is, from 1, of how many in the run. */
export interface IntermittentPlan {
  readonly turn: number;
  readonly turns: number;
  readonly everySeconds: number;
  readonly outSeconds: number;
}

/** What happens in the world. `undoes` is the index (in `Plan.events`) of the event that a `forSeconds` ends. */
export type EventPlan = {
  readonly atNs: Ns;
  readonly undoes: number | null;
  /** Place in the file's `events`; null: from the command line; left out: of a plan that no file was read for. */
  readonly written?: number | null;
} & EventDeed;

export type EventDeed =
  | {
      readonly do: "unplug" | "plug";
      readonly link: string;
      readonly end: "a" | "b" | null;
      readonly way: "there" | "back" | null;
      readonly into: number | null;
    }
  /** A bad contact at an end, or anywhere in the cable: one turn of several. */
  | {
      readonly do: "lose-contact" | "make-contact";
      readonly link: string;
      readonly end: "a" | "b" | null;
      readonly way: "there" | "back" | null;
      readonly intermittent: IntermittentPlan;
    }
  | { readonly do: "cut" | "mend"; readonly path: string }
  | { readonly do: "reboot"; readonly device: string; readonly part: "surface" | "engine" | "all" }
  | {
      readonly do: "power-cut";
      readonly device: string | null;
      readonly supply: string | null;
      /** Of a supply with a battery: nobody is without power until it is empty. Left out: no battery. */
      readonly batterySeconds?: number;
    }
  /** Only where the supply has not come back before. */
  | { readonly do: "battery-empty"; readonly supply: string }
  | { readonly do: "power-back"; readonly device: string | null; readonly supply: string | null }
  | { readonly do: "hang" | "unhang"; readonly device: string }
  /** It goes on announcing itself to its network, and sends no sync. */
  | { readonly do: "stop-sync" | "start-sync"; readonly device: string }
  /** It no longer changes its clock source by itself. */
  | { readonly do: "stick" | "unstick"; readonly device: string }
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
