/** The one documented shape of `pulltest rehearse --json`, and what the page's tables show. Instants: seconds of show time. */
import type { AcceptedFinding, Finding } from "./finding.ts";
import type { PtpProfileName, Way } from "./plan.ts";
import type { DeviceState, LinkClock, LinkState, PortRole } from "./record.ts";

export interface Summary {
  readonly schemaVersion: 1;
  readonly scenario: { readonly title: string; readonly sha256: string };
  readonly seed: string;
  readonly runSeconds: number;
  readonly verdict: "met" | "failed" | "none";
  readonly devices: readonly DeviceSummary[];
  readonly links: readonly LinkSummary[];
  readonly feeds: readonly FeedSummary[];
  readonly chains: ChainsSummary;
  readonly events: readonly EventSummary[];
  readonly expect: readonly ExpectSummary[];
  /** By device, then by port, then by link: one for each cable that a converter heard. */
  readonly converters: readonly ConverterSummary[];
  /** By instant, then by device. */
  readonly holdovers: readonly HoldoverSummary[];
  /** Spare groups by id, then followers by id. */
  readonly ridesOut: readonly RidesOutSummary[];
  /** By id. */
  readonly networks: readonly NetworkSummary[];
  readonly findings: readonly Finding[];
  /** What the plan check finds and somebody has accepted; not among the findings. */
  readonly accepted: readonly AcceptedFinding[];
  readonly assumed: readonly string[];
  /** Measured numbers in use, one line each; left out where there are none. */
  readonly measured?: readonly string[];
  /** Null where no bound exists: a ring. */
  readonly worstErrorSamples: number | null;
}

export interface DeviceStretch {
  readonly state: DeviceState;
  readonly source: string | null;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface DeviceSummary {
  readonly id: string;
  readonly name: string;
  readonly states: readonly DeviceStretch[];
  /** Against nominal, at the end; null when off. */
  readonly offsetPpm: number | null;
}

export interface LinkStretch {
  readonly state: LinkState;
  readonly clock: LinkClock;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface LinkSummary {
  readonly id: string;
  readonly way: Way;
  readonly states: readonly LinkStretch[];
}

/** One follower behind another, each with its loop. */
export interface ChainsSummary {
  /** As the show begins; null where nobody follows anybody, as in a cold start. */
  readonly atStart: ChainExtremes | null;
  /** At any instant of the run, from when on. */
  readonly worst: ChainExtremes | null;
}

/** Two chains that may be one and the same. */
export interface ChainExtremes {
  /** The most loops. */
  readonly deepest: ChainSummary;
  /** The highest peak of what the loops together make of a swing. */
  readonly highest: ChainSummary;
}

export interface ChainSummary {
  /** Ids, from the device on whose clock it hangs to the last that follows. */
  readonly devices: readonly string[];
  /** Loops: one less than devices. */
  readonly depth: number;
  /** Greatest product of the loops' |H| over frequency, and where. */
  readonly peakDecibels: number;
  readonly peakHz: number;
  /** First instant at which it stood so. */
  readonly fromSeconds: number;
  /**
   * Of the last device, when the first one's frequency steps by 1 ppm, as long as no control comes to its stop: the
   * greatest phase error against the device before it, when, and how far its frequency goes beyond the new one.
   */
  readonly afterOnePpm: {
    readonly errorMicroseconds: number;
    readonly atSeconds: number;
    readonly overshootPercent: number;
  };
  /**
   * How many times as large the first device's wander is at the last one, as an Allan deviation, at a time near the peak.
   * Null where the first is steady or has drift noise, or where the loops are too slow for the grid to be summed over.
   */
  readonly wander: { readonly tauSeconds: number; readonly ratio: number } | null;
}

export const SILENCES = ["device-down", "link-down", "muted", "finding-rate", "out-of-step"] as const;
export type Silence = (typeof SILENCES)[number];

/** What a feed is over one stretch. `because`: the device or link, in the first hop that holds. */
export interface FeedStretch {
  readonly state: "clean" | "slipping" | "silent" | "not-carried";
  readonly silence: Silence | null;
  readonly because: string | null;
  /** Slips inside a slipping stretch. */
  readonly slips: number;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

/** What is heard of a feed over time. */
export interface FeedCourse {
  readonly id: string;
  readonly name: string;
  readonly heardBy: readonly string[];
  readonly slips: number;
  readonly drops: number;
  readonly repeats: number;
  readonly silentSeconds: number;
  readonly silentForDeviceDownSeconds: number;
  readonly silentForClockSeconds: number;
  readonly longestSilenceSeconds: number;
  readonly dropouts: { readonly whileFaulty: number; readonly onReturn: number };
  readonly firstAudibleAtSeconds: number | null;
  readonly cleanAgainAtSeconds: number | null;
  readonly returnsAtFullLevel: boolean;
  readonly mayBeSilent: boolean;
  readonly states: readonly FeedStretch[];
  /** Instants at which a device on the way re-aligned: a dropout each. */
  readonly realignedAtSeconds: readonly number[];
}

export interface FeedSummary extends FeedCourse {
  /** What sample-rate converters on the way add to its delay, by the main cable of each hop. */
  readonly converterDelaySeconds: number;
  readonly latency: LatencySummary;
}

/**
 * What all links, buffers and converters on a feed's way delay it by, by the plan; samples of the rig's rate. Devices add
 * what their mixing takes, which no plan says.
 */
export interface LatencySummary {
  /** Over the main of each hop. */
  readonly mainSeconds: number;
  readonly mainSamples: number;
  /** Over the first spare of each hop that has one; null: no hop has. */
  readonly spareSeconds: number | null;
  readonly spareSamples: number | null;
}

/**
 * How short a break must be: at first nobody notices, then nobody changes to something else. By the plan, with all at rest
 * before, and no drift worth a word meanwhile.
 */
export interface RidesOutSummary {
  /** A spare group, or a device that follows. */
  readonly kind: "spare" | "clock";
  /** Id of the group or of the device. */
  readonly id: string;
  /** The link that breaks: the main of the group, or the one that brings the clock. */
  readonly link: string;
  /** Shorter breaks no end notices. */
  readonly unnoticedSeconds: number;
  /** In shorter breaks nothing takes over; null: a break of any length changes nothing. */
  readonly seconds: number | null;
  /** What a longer break brings about; null: nothing that is heard. */
  readonly beyond: RidesOutBeyond | null;
  /** From the break until that has happened. */
  readonly beyondAfterSeconds: number | null;
}

/**
 * Of a spare group: another link carries, by itself, by hand, or after the gap that a merging receiver cannot bridge; or
 * none is plugged in to do so. Of a clock: another source is taken, or the device is on its own oscillator, at its kept
 * frequency or not.
 */
export type RidesOutBeyond = "spare" | "by-hand" | "gap" | "none" | "next-source" | "holdover" | "own-clock";

/** What a sample-rate converter did to what came over one cable, and what it kept from being heard. */
export interface ConverterSummary {
  readonly device: string;
  readonly port: number;
  readonly link: string;
  readonly way: "there" | "back";
  /** The device at the other end. */
  readonly from: string;
  /** What the two devices are set to. */
  readonly fromRateHz: number;
  readonly rateHz: number;
  readonly delaySeconds: number;
  /** How long it converted, and how often it had to find the rate first. */
  readonly convertsSeconds: number;
  readonly searches: number;
  /** How long, of that, the two ends were not on one clock: what would have clicked without it. */
  readonly apartSeconds: number;
  /** How far what arrived ran ahead of the device's own clock meanwhile, on average; null where they never were apart. */
  readonly aheadPpm: number | null;
}

export interface EventSummary {
  readonly atSeconds: number;
  readonly do: string;
  /** What it happens to, in words of the file: "foh", "main", "stage-left wall". */
  readonly on: string;
  /** True for the second half of a `forSeconds`. */
  readonly undoes: boolean;
}

export interface ExpectSummary {
  /** The expectation in words. */
  readonly expected: string;
  readonly met: boolean;
  /** What the run found, in words. */
  readonly found: string;
}

/** What could be said in advance when the loop of a locked device opened, and beside it what the run did. */
export interface HoldoverSummary {
  readonly device: string;
  /** The loss itself, before anybody noticed it. All times below count from here. */
  readonly atSeconds: number;
  /** What it goes on in, once it has noticed. */
  readonly state: "holdover" | "free-run";
  /** The device that it listened to. */
  readonly followed: string;
  /** How long it keeps its frequency: until it notices the loss, and for its holdover. */
  readonly keptSeconds: number;
  /** Its frequency against the clock it was on, while it is kept; beginning there, and drifting so. */
  readonly keptErrorPpb: number;
  readonly driftPpbPerHour: number;
  /** Its own oscillator against that clock, without anything kept, as the loop opens. */
  readonly ownOffsetPpm: number;
  /** Phase against that clock: 5 and 25 % of a sample period, the allowances of AES11 for an output and an input. */
  readonly allowances: readonly ({ readonly percent: number } & ForetoldSummary)[];
  /** First slip on each way of a link between those who are on its clock and those who are not; `against`: whose that is. */
  readonly links: readonly ({
    readonly link: string;
    readonly way: "there" | "back";
    readonly against: string;
  } & ForetoldSummary)[];
  /** When it took a source again or went down, and what it was then; null: not before the end. */
  readonly ended: { readonly afterSeconds: number; readonly state: DeviceState } | null;
}

export interface ForetoldSummary {
  /** Null: never, by its numbers. */
  readonly predictedSeconds: number | null;
  /** Expected (rms) shift of that by wander; 0 with steady oscillators, null where nothing is predicted. */
  readonly giveOrTakeSeconds: number | null;
  /** In the run; null: not while it could be seen. */
  readonly ranSeconds: number | null;
  /** How long the run could show it. */
  readonly watchedSeconds: number;
}

/** What became of one network: who led it, what its bridges did, what each device was on it. */
export interface NetworkSummary {
  readonly id: string;
  readonly name: string;
  readonly profile: PtpProfileName;
  /** By instant. Two at a time: parts of it do not hear each other, or have not agreed yet. */
  readonly leaders: readonly LeaderStretch[];
  /** How often somebody began to lead after the start. */
  readonly changes: number;
  /** By part, then by instant; empty where no two bridges are on it. */
  readonly bridging: readonly BridgingStretch[];
  /** Those with a clock of their own, by id. */
  readonly devices: readonly NodeSummary[];
}

export interface LeaderStretch {
  readonly leader: string;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface BridgingStretch {
  /** From 1; another part shares no cable with it. */
  readonly part: number;
  /** Cables between bridges: those that pass packets on, and those that are held back as another way. */
  readonly forwards: readonly string[];
  readonly blocked: readonly string[];
  /** Packets go round without end. */
  readonly storm: boolean;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface NodeSummary {
  readonly device: string;
  /** From beginning to end. */
  readonly roles: readonly RoleStretch[];
  /** Null unless it follows at the end. */
  readonly follows: FollowSummary | null;
}

export interface RoleStretch {
  readonly role: PortRole;
  readonly leader: string | null;
  readonly parent: string | null;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

/** How a follower stands at the end, against the leader unless said otherwise. */
export interface FollowSummary {
  readonly leader: string;
  /** From whom its packets come. */
  readonly parent: string;
  /** Whether this is the clock source in use. */
  readonly inUse: boolean;
  /** Devices on the way that follow and lead on. */
  readonly steps: number;
  /** All others that packets pass. */
  readonly bridges: number;
  readonly pathMicroseconds: number;
  /**
   * How far its clock stands off because packets take longer one way than the other: −(forth − back)/2, summed over the
   * steps (IEEE 1588 takes both ways as equal); below 0: late.
   */
  readonly shiftNanoseconds: number;
  /** Packet-delay variation, rms: what arrives, and what its loop lets through of that at most. */
  readonly jitterNanoseconds: { readonly arrives: number; readonly kept: number };
}
