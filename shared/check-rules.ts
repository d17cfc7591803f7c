/**
 * Every rule of the plan check: what it finds, how grave that can be, and where the rule is from. The rules themselves
 * stand in `sim/check`, a file for each; a scenario names one here to accept what it finds.
 */
import type { Finding } from "./finding.ts";

export interface CheckRule {
  /** The gravest that its findings can be. */
  readonly severity: Finding["severity"];
  /** What it finds, as one sentence. */
  readonly finds: string;
  /** What the finding is good for, whatever the rig. */
  readonly help: string;
  readonly source: string;
}

const PRACTICE = "common practice, no source";

// biome-ignore format: a table, a row in a few lines
const TABLE = {
  "acceptance-unused": {
    severity: "advice", finds: "A finding is accepted in the scenario, and no rule finds it.",
    help: "What was accepted may have been mended, or may now be about other devices: take the entry out, or look again.",
    source: "a rule of this check alone",
  },
  "cable-too-long": {
    severity: "error", finds: "A cable is longer than its type allows on its medium, or category cable has no margin left.",
    help: "Links near their length work on the bench and fail when the reel is unrolled, moved or wet.",
    source: "the lengths: table of link types; 85 % of them on stranded cable: common practice, no source",
  },
  "clock-disputed": {
    severity: "error", finds: "Both ends of a link give clock where one has to take.",
    help: "Which end gives is set at the ports; the one nearer to the leader gives.", source: PRACTICE,
  },
  "clock-unclaimed": {
    severity: "error", finds: "Both ends of a link take clock and nobody gives it.",
    help: "Which end gives is set at the ports; the one nearer to the leader gives.", source: PRACTICE,
  },
  "converter-hides-clock": {
    severity: "warning", finds: "A sample-rate converter stands between devices that are meant to be on one clock.",
    help: "Behind a converter a wrong clock source is not heard.", source: PRACTICE,
  },
  "converter-joins-clocks": {
    severity: "advice", finds: "A sample-rate converter joins two parts of the rig that are on different clocks.",
    help: "A note on each: it costs delay, and clean audio says nothing about the clocks.", source: PRACTICE,
  },
  "deep-chain": {
    severity: "advice", finds: "Loops one behind another hand on a swing of the clock much larger than they got it.",
    help: "Every loop has a peak, and in a chain the peaks multiply.", source: "the response of second-order loops",
  },
  "far-from-leader": {
    severity: "warning", finds: "A clock goes over more than two cables on its way from the leader (advice), or more than four (warning).",
    help: "Every device on the way can lose the clock for all behind it.", source: "fewest hops: common practice, no source; so are the two numbers",
  },
  "feed-on-one-supply": {
    severity: "advice", finds: "A feed with a spare has several devices on one supply.",
    help: "A spare cable is no help where one supply takes both of its ends.", source: PRACTICE,
  },
  "feed-without-spare": {
    severity: "advice", finds: "A feed that the PA hears goes over a cable that has no spare.",
    help: "A spare that lies there is plugged in a minute; one that has to be laid takes the rest of the set.",
    source: "a hire company's page on redundancy: lay it even if only for a manual swap",
  },
  "leader-may-leave": {
    severity: "warning", finds: "The leader is a recorder, or comes or is plugged in later than the rest: a guest.",
    help: "What leads has to be there from load-in to the end, and nobody should restart it or change its rate.", source: PRACTICE,
  },
  "leader-retakes": {
    severity: "advice", finds: "The old leader retakes by itself when it is back: followers go back to it without being told.",
    help: "The return is a second fault: it belongs in a break, with ears out and outputs down.",
    source: "common practice; the idea is non-revertive switching in ITU-T G.808.1",
  },
  "leaders-share-supply": {
    severity: "warning", finds: "One supply takes the leader and the next in line together.",
    help: "The next in line is there for when the leader is gone.", source: PRACTICE,
  },
  "left-on-internal": {
    severity: "error", finds: "A device that is not meant to lead runs on its own clock although somebody's clock arrives at it.",
    help: "A lock lamp says that a link can be read, not that both ends run at one speed.",
    source: "several trade magazines on clicks in digital audio",
  },
  "loop-near-grid": {
    severity: "advice", finds: "Wander is drawn on a grid that is coarse for a follower's loop.",
    help: "It is about the rehearsal, not about the rig: a finer grid shows what the loop does.", source: "a rule of this check alone",
  },
  "mute-only-at-mix": {
    severity: "advice", finds: "A feed to loudspeakers or ears ends at the desk that mixes it: nothing behind it can mute.",
    help: "The mute for an emergency must not depend on what failed; a desk whose surface hangs or starts cannot mute itself.",
    source: "a forum of live engineers on emergency mutes; common practice",
  },
  "no-leader": {
    severity: "error", finds: "Nobody leads a part of the rig, the plan does not say who does, or whom it names listens to somebody else.",
    help: "Exactly one leader for every clock domain.", source: "several trade magazines on clocking",
  },
  "out-of-capture": {
    severity: "error", finds: "The clock that a follower is sent lies outside the range it can pull in to.",
    help: "AES11 gives the ranges that equipment is built for.", source: "AES11",
  },
  "rate-mismatch": {
    severity: "error", finds: "The two ends of a link run at different sample rates, and no converter bridges them.",
    help: "One sample rate everywhere, or a converter at the boundary.", source: "trade magazines on sample-rate mismatch",
  },
  "returns-at-full-level": {
    severity: "advice", finds: "What feeds loudspeakers or ears comes back at full level, without a fade.",
    help: "Outputs down at the last device you control, and in-ears out of ears, before anything comes back.",
    source: "common practice; a forum of live engineers on emergency mutes",
  },
  "ring-of-sources": {
    severity: "error", finds: "Devices listen to one another in a circle: at once, or as soon as the leader is gone.",
    help: "Every source has to lead back to the leader, with no loop.", source: PRACTICE,
  },
  "source-misses-leader": {
    severity: "error", finds: "A follower's source, first or later, does not lead back to the leader.",
    help: "Every source has to lead back to the leader, with no loop.", source: PRACTICE,
  },
  "sources-cut-by-one": {
    severity: "warning", finds: "A device has several clock sources, and one thing further up takes all of them.",
    help: "Two ways are two only as far as nothing takes both.", source: PRACTICE,
  },
  "sources-share-path": {
    severity: "warning", finds: "The first two clock sources of a device come over cables laid along the same thing.",
    help: "First and second choice of source along different paths.", source: PRACTICE,
  },
  "spare-shares-path": {
    severity: "warning", finds: "The cables of a spare group are laid along the same thing.",
    help: "A spare belongs on another path.", source: PRACTICE,
  },
  "too-many-channels": {
    severity: "error", finds: "Feeds want more channels of a cable than its type carries at this sample rate, one way.",
    help: "At double rate a link carries half as many.", source: "table of link types",
  },
  "two-leaders": {
    severity: "error", finds: "More than one device of a connected rig runs on its own clock by first choice.",
    help: "Exactly one leader for every clock domain.", source: "several trade magazines on clocking",
  },
  "wait-with-one-source": {
    severity: "warning", finds: "A device waits before it trusts a returned source, and has no other to stay on meanwhile.",
    help: "Wait-to-restore is for a second source that holds.", source: "the idea of wait-to-restore: ITU-T G.808.1",
  },
  "word-clock-chain": {
    severity: "advice", finds: "Word clock is handed from device to device instead of going out from one as a star.",
    help: "In a chain every device on the way can take the clock from all behind it.",
    source: "trade magazines on word-clock distribution",
  },
  "word-clock-lead-long": {
    severity: "advice", finds: "A word-clock lead is longer than 30 m.",
    help: "Keep clock leads short, or take the clock out of the audio link.",
    source: "an online encyclopaedia says under about 15 ft; that terminated 75-ohm leads go some tens of metres: common practice, no source",
  },
} as const satisfies Readonly<Record<string, CheckRule>>;

export type RuleName = keyof typeof TABLE;

/** By name. */
export const CHECK_RULES: Readonly<Record<RuleName, CheckRule>> = TABLE;

export const RULE_NAMES = Object.keys(TABLE) as readonly RuleName[];
