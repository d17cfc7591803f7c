/**
 * The profiles of IEEE 1588 that a show meets, and IEEE 802.1AS: how often is announced, when a leader counts as lost,
 * what a device says of itself where nobody has set it. The standards themselves are sold and could not be read; what
 * is cited are a public 1588 daemon's settings and code, and network manuals.
 *
 * Common to all (IEEE 1588 9.3.2.4.4, as read in public code): an announcement that has come over 255 boundary devices
 * or more does not count.
 */
import type { Sourced } from "./link-types.ts";
import type { PtpProfileName } from "./plan.ts";

export interface PtpProfile {
  /** In words. */
  readonly name: string;
  /** From one announcement of a leader to the next. */
  readonly announceSeconds: Sourced;
  /** Announce intervals after the last announcement until its leader counts as lost. */
  readonly receiptTimeoutCount: Sourced;
  /** Announce intervals, at most, that each device adds by chance, so that not all wake at once. */
  readonly receiptSpreadCount: Sourced;
  readonly syncSeconds: Sourced;
  /** Sync intervals without sync after which a follower knows that it gets none. */
  readonly syncTimeoutCount: Sourced;
  /** Whether that ends the leader's announcements as well: a new election, by the next of which it is back. */
  readonly electsWithoutSync: boolean;
  /** Announcements that a device must hear before it counts somebody; and within how many announce intervals. */
  readonly qualifyCount: Sourced;
  readonly qualifyWithinCount: Sourced;
  /** Whether a port remembers others besides the best it has heard; else, when that is lost, it knows nobody. */
  readonly keepsOthers: boolean;
  /** Whether a port that is to pass on a leader's time waits first: one announce interval for each step, and one. */
  readonly waitsToPassOn: boolean;
  /** Whether announcements name the devices they came through, so that none goes round in a ring. */
  readonly tracesPath: boolean;
  readonly priority1: Sourced;
  readonly clockClass: Sourced;
  readonly clockAccuracy: Sourced;
  readonly offsetScaledLogVariance: Sourced;
  readonly priority2: Sourced;
  readonly domain: Sourced;
}

/** Boundary devices over which an announcement no longer counts: IEEE 1588 9.3.2.4.4. */
export const TOO_MANY_STEPS = 255;
/** The largest clockClass that never follows: IEEE 1588 figure 33 (26 in the edition of 2008). */
export const CLASS_NEVER_FOLLOWS = 127;
/** The clockClass of a device that never leads: IEEE 1588 table 5. */
export const CLASS_FOLLOWER_ONLY = 255;

const DAEMON = "github.com/richardcochran/linuxptp";
const SETTINGS = `${DAEMON} configs/default.cfg`;
const SETTINGS_AS = `${DAEMON} configs/gPTP.cfg`;
const MANUAL = "a network-equipment manual's table of PTP media profiles";
const CLAUSE_QUALIFY = "IEEE 1588 9.3.2.4.4 as read in github.com/pendulum-project/statime bmc/foreign_master.rs";

function standard(value: number, source: string): Sourced {
  return { value, origin: "standard", source };
}
function fromMemory(value: number, source: string): Sourced {
  return { value, origin: "from memory", source };
}
function assumed(value: number, source: string): Sourced {
  return { value, origin: "assumed", source };
}

/** What all profiles of IEEE 1588 itself have in common. */
const OF_1588 = {
  receiptTimeoutCount: standard(3, `${SETTINGS}: announceReceiptTimeout 3`),
  receiptSpreadCount: standard(1, `${DAEMON} port.c: ANNOUNCE_SPAN 1, drawn evenly and added to the timeout`),
  syncTimeoutCount: assumed(3, "IEEE 1588 has no such timeout: a loop that misses three in a row, as 802.1AS has it"),
  electsWithoutSync: false,
  qualifyCount: standard(2, CLAUSE_QUALIFY),
  qualifyWithinCount: standard(4, CLAUSE_QUALIFY),
  keepsOthers: true,
  waitsToPassOn: true,
  tracesPath: false,
  priority1: standard(128, SETTINGS),
  clockClass: standard(248, SETTINGS),
  clockAccuracy: standard(0xfe, SETTINGS),
  offsetScaledLogVariance: standard(0xffff, SETTINGS),
  priority2: standard(128, SETTINGS),
} as const;

const TABLE: Readonly<Record<PtpProfileName, PtpProfile>> = {
  default: {
    ...OF_1588,
    name: "IEEE 1588 default profile",
    announceSeconds: standard(2, `${SETTINGS}: logAnnounceInterval 1`),
    syncSeconds: standard(1, `${SETTINGS}: logSyncInterval 0`),
    domain: standard(0, SETTINGS),
  },
  aes67: {
    ...OF_1588,
    name: "AES67 media profile",
    announceSeconds: standard(2, `${MANUAL}: log2 1 (0 to 4)`),
    syncSeconds: standard(0.125, `${MANUAL}: log2 -3 (-4 to 1)`),
    domain: fromMemory(0, "AES67 annex A"),
  },
  "st2059-2": {
    ...OF_1588,
    name: "SMPTE ST 2059-2",
    announceSeconds: standard(0.25, `${MANUAL}: log2 -2`),
    syncSeconds: standard(0.125, `${MANUAL}: log2 -3`),
    domain: fromMemory(127, "ST 2059-2"),
  },
  "802.1as": {
    name: "IEEE 802.1AS",
    announceSeconds: standard(1, `${SETTINGS_AS}: logAnnounceInterval 0`),
    receiptTimeoutCount: standard(3, `${SETTINGS}: announceReceiptTimeout 3`),
    receiptSpreadCount: fromMemory(0, "802.1AS adds nothing by chance to its timeouts"),
    syncSeconds: standard(0.125, `${SETTINGS_AS}: logSyncInterval -3`),
    syncTimeoutCount: standard(3, `${SETTINGS_AS}: syncReceiptTimeout 3`),
    electsWithoutSync: true,
    qualifyCount: fromMemory(1, "802.1AS takes an announcement at once"),
    qualifyWithinCount: fromMemory(1, "802.1AS takes an announcement at once"),
    keepsOthers: false,
    waitsToPassOn: false,
    tracesPath: true,
    priority1: standard(248, SETTINGS_AS),
    clockClass: standard(248, SETTINGS),
    clockAccuracy: standard(0xfe, SETTINGS),
    offsetScaledLogVariance: standard(0xffff, `${SETTINGS}, which ${SETTINGS_AS} does not change`),
    priority2: standard(248, SETTINGS_AS),
    domain: fromMemory(0, "802.1AS: domain 0"),
  },
};

export function ptpProfile(name: PtpProfileName): PtpProfile {
  return TABLE[name];
}
