/**
 * Every rule of the plan check: what it finds, how grave that can be, and where the rule is from. The rules themselves
 * stand in `sim/check`, a file for each. For people who look a rule up: whatever plays or draws a plan needs names alone.
 */
import type { Finding } from "./finding.ts";
import type { RuleName } from "./rule-names.ts";

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
export const CHECK_RULES: Readonly<Record<RuleName, CheckRule>> = {
  "acceptance-unused": {
    severity: "advice", finds: "A finding is accepted in the scenario, and no rule finds it.",
    help: "What was accepted may have been mended, or may now be about other devices: take the entry out, or look again.",
    source: "a rule of this check alone",
  },
  "asymmetry-shifts-clock": {
    severity: "warning", finds: "Cables that are slower one way than back shift a follower by more than 5 % of a sample.",
    help: "Half of the difference is left over, and no packet shows it.", source: "that a follower takes the mean of both ways: IEEE 1588; 5 %: AES11",
  },
  "buffer-below-variation": {
    severity: "error", finds: "A stream's receive buffer is shorter than its packets may be late, at rest (error) or on another way (warning).",
    help: "Waits in bridges add up; what comes after its turn is lost.", source: "the sum of the waits in all bridges on the way",
  },
  "cable-overloaded": {
    severity: "error", finds: "Streams need more bits of an ethernet cable than it has, at rest (error) or when packets take another way (warning).",
    help: "Headers count: short packets are mostly headers.", source: "RFC 3550, RFC 768, RFC 791, IEEE 802.3; for AVB IEEE 1722 and 802.1Q: all from memory",
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
  "duplicate-skew": {
    severity: "warning", finds: "Duplicates of a spare arrive further apart than their receiver's window.",
    help: "Without a gap only as far as the window goes.", source: "that a receiver holds the earlier one back: plain arithmetic on the delays in the plan",
  },
  "elected-by-identity": {
    severity: "advice", finds: "A leader wins its election by its identity alone.",
    help: "Where nobody sets a priority, the maker's number of a device decides who leads.", source: "the order of comparison: IEEE 1588, as read in public code; to set priorities: common practice, no source",
  },
  "far-from-leader": {
    severity: "warning", finds: "A clock goes over more than two cables on its way from the leader (advice), or more than four (warning).",
    help: "Every device on the way can lose the clock for all behind it.", source: "fewest hops: common practice, no source; so are the two numbers",
  },
  "feed-on-one-supply": {
    severity: "advice", finds: "A feed with a spare has several devices on one supply.",
    help: "A spare cable is no help where one supply takes both of its ends.", source: PRACTICE,
  },
  "feed-through-one-switch": {
    severity: "advice", finds: "The PA hangs on a switch for which there is no other.",
    help: "A second cable into the same switch is no second way.", source: PRACTICE,
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
  "leader-not-elected": {
    severity: "error", finds: "A network elects a device that is not the one meant to lead.",
    help: "Who leads a network is what its devices say of themselves, not what a plan says.", source: "the order of comparison: IEEE 1588, as read in public code",
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
  "network-loop": {
    severity: "error", finds: "Cables between bridges form a loop on a network without recovery.",
    help: "What is sent to all goes round for ever: a storm.", source: "IEEE 802.1D is there to prevent it: from memory",
  },
  "network-ways-share-path": {
    severity: "warning", finds: "Cables that are each other's second way in a network are laid along the same thing.",
    help: "A spare belongs on another path.", source: PRACTICE,
  },
  "spare-without-clock": {
    severity: "warning", finds: "A device takes its clock from the main of a spare group alone, and does not listen to the spare.",
    help: "A spare for the audio is one for the clock only where the clock sources say so.", source: PRACTICE,
  },
  "networks-led-apart": {
    severity: "warning", finds: "A device listens to two networks, and different devices lead them.",
    help: "A second network is a second way to the clock only where it leads to the same leader.", source: PRACTICE,
  },
  "next-not-elected": {
    severity: "warning", finds: "When the leader is gone, its network elects somebody else than the next in line, or nobody.",
    help: "Who is next in an election is whoever has the next lowest numbers.", source: "the order of comparison: IEEE 1588, as read in public code",
  },
  "no-leader": {
    severity: "error", finds: "Nobody leads a part of the rig, the plan does not say who does, or whom it names listens to somebody else.",
    help: "Exactly one leader for every clock domain.", source: "several trade magazines on clocking",
  },
  "nobody-may-lead": {
    severity: "error", finds: "Devices listen to a network on which every device only follows.",
    help: "An election needs somebody who stands for it.", source: "IEEE 1588: a device that only follows never leads",
  },
  "out-of-capture": {
    severity: "error", finds: "The clock that a follower is sent lies outside the range it can pull in to.",
    help: "AES11 gives the ranges that equipment is built for.", source: "AES11",
  },
  "rate-mismatch": {
    severity: "error", finds: "The two ends of a link run at different sample rates, and no converter bridges them.",
    help: "One sample rate everywhere, or a converter at the boundary.", source: "trade magazines on sample-rate mismatch",
  },
  "recovery-slow": {
    severity: "warning", finds: "The bridges of a network find another way by spanning tree.",
    help: "Half a minute of silence is no recovery on a show.", source: "the default timers of IEEE 802.1D, as in several equipment manuals",
  },
  "returns-at-full-level": {
    severity: "advice", finds: "What feeds loudspeakers or ears comes back at full level, without a fade.",
    help: "Outputs down at the last device you control, and in-ears out of ears, before anything comes back.",
    source: "common practice; a forum of live engineers on emergency mutes",
  },
  "ring-closes-later": {
    severity: "warning", finds: "A failure or a reboot closes a ring of sources: the lists that a device has then, or what is left when one is gone.",
    help: "Read the list that a device comes back with, and every list without each device in turn.", source: PRACTICE,
  },
  "ring-misfit": {
    severity: "warning", finds: "A ring profile is set on bridges that are no single ring, or on too many of them.",
    help: "A profile's time holds for one ring and so many bridges.", source: "IEC 62439-2 as in an article on ring sizes",
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
  "spare-on-same-network": {
    severity: "warning", finds: "A stream and its spare go over the same network.",
    help: "A storm or a wrong setting takes all of a network.", source: PRACTICE,
  },
  "spare-shares-network": {
    severity: "warning", finds: "The networks of a stream and its spare share a path, a supply, a cable or a device.",
    help: "Two networks are two only as far as nothing takes both.", source: PRACTICE,
  },
  "spare-shares-path": {
    severity: "warning", finds: "The cables of a spare group are laid along the same thing.",
    help: "A spare belongs on another path.", source: PRACTICE,
  },
  "stream-clock-mismatch": {
    severity: "error", finds: "AVB streams on a network without IEEE 802.1AS (error), or other streams on one with it (warning).",
    help: "Streams and the election of their network have to be of one family.", source: "AVB plays by the time of IEEE 802.1AS: from memory",
  },
  "stream-split": {
    severity: "advice", finds: "A stream has more channels than one packet holds: it is several side by side.",
    help: "Each is set up by itself, and one is forgotten easily.", source: "AES67-2018 as summarised in public: 1 to 8 channels; 1,440 bytes: from memory",
  },
  "too-many-channels": {
    severity: "error", finds: "Feeds want more channels of a cable than its type carries at this sample rate, one way.",
    help: "At double rate a link carries half as many.", source: "table of link types",
  },
  "two-leaders": {
    severity: "error", finds: "More than one device of a connected rig runs on its own clock by first choice.",
    help: "Exactly one leader for every clock domain.", source: "several trade magazines on clocking",
  },
  "variation-above-window": {
    severity: "warning", finds: "Waits in plain bridges leave a clock swinging by more than its lock window.",
    help: "Transparent and boundary bridges take the waits out; a slow loop takes the mean.", source: "noise bandwidth of second-order loops; three deviations: common practice, no source",
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
  "word-clock-line-crowded": {
    severity: "advice", finds: "More than three devices hang on one T-ed word-clock line.",
    help: "Word clock as a star, or at most two or three devices on a line.", source: "trade magazines on word-clock distribution",
  },
  "word-clock-terminators": {
    severity: "warning", finds: "A T-ed word-clock line has no terminator, several, or one that is not at its far end.",
    help: "One terminator on a line, at its far end.",
    source: "that it is 75 ohms: an online encyclopaedia; how many and where: common practice, no source",
  },
};
