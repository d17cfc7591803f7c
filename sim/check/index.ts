/**
 * The plan check: reads a plan without playing it, one rule per file. What the rules find is ordered by severity, then
 * by rule, then by the devices and links it is about, so that the order in a file changes nothing.
 */
import type { Finding } from "../../shared/finding.ts";
import { cableOf } from "../../shared/lines.ts";
import type { Plan } from "../../shared/plan.ts";
import type { RuleName } from "../../shared/rule-names.ts";
import type { Checked } from "./accepted.ts";
import { withAcceptance } from "./accepted.ts";
import { asymmetryShiftsClock } from "./asymmetry-shifts-clock.ts";
import { bufferBelowVariation } from "./buffer-below-variation.ts";
import { cableOverloaded } from "./cable-overloaded.ts";
import { cableTooLong } from "./cable-too-long.ts";
import { clockDisputed } from "./clock-disputed.ts";
import { clockUnclaimed } from "./clock-unclaimed.ts";
import { converterHidesClock } from "./converter-hides-clock.ts";
import { converterJoinsClocks } from "./converter-joins-clocks.ts";
import { deepChain } from "./deep-chain.ts";
import { duplicateSkew } from "./duplicate-skew.ts";
import { electedByIdentity } from "./elected-by-identity.ts";
import { farFromLeader } from "./far-from-leader.ts";
import { feedOnOneSupply } from "./feed-on-one-supply.ts";
import { feedThroughOneSwitch } from "./feed-through-one-switch.ts";
import { feedWithoutSpare } from "./feed-without-spare.ts";
import type { Rule } from "./finding.ts";
import { byText } from "./finding.ts";
import { leaderMayLeave } from "./leader-may-leave.ts";
import { leaderNotElected } from "./leader-not-elected.ts";
import { leaderRetakes } from "./leader-retakes.ts";
import { leadersShareSupply } from "./leaders-share-supply.ts";
import { leftOnInternal } from "./left-on-internal.ts";
import { loopNearGrid } from "./loop-near-grid.ts";
import { muteOnlyAtMix } from "./mute-only-at-mix.ts";
import { networkLoop } from "./network-loop.ts";
import { networkWaysSharePath } from "./network-ways-share-path.ts";
import { networksLedApart } from "./networks-led-apart.ts";
import { nextNotElected } from "./next-not-elected.ts";
import { noLeader } from "./no-leader.ts";
import { nobodyMayLead } from "./nobody-may-lead.ts";
import { outOfCapture } from "./out-of-capture.ts";
import { rateMismatch } from "./rate-mismatch.ts";
import { recoverySlow } from "./recovery-slow.ts";
import { returnsAtFullLevel } from "./returns-at-full-level.ts";
import { ringClosesLater } from "./ring-closes-later.ts";
import { ringMisfit } from "./ring-misfit.ts";
import { ringOfSources } from "./ring-of-sources.ts";
import { sourceMissesLeader } from "./source-misses-leader.ts";
import { sourcesCutByOne } from "./sources-cut-by-one.ts";
import { sourcesSharePath } from "./sources-share-path.ts";
import { spareOnSameNetwork } from "./spare-on-same-network.ts";
import { spareSharesNetwork } from "./spare-shares-network.ts";
import { spareSharesPath } from "./spare-shares-path.ts";
import { spareWithoutClock } from "./spare-without-clock.ts";
import { streamClockMismatch } from "./stream-clock-mismatch.ts";
import { streamSplit } from "./stream-split.ts";
import { tooManyChannels } from "./too-many-channels.ts";
import { twoLeaders } from "./two-leaders.ts";
import { variationAboveWindow } from "./variation-above-window.ts";
import { waitWithOneSource } from "./wait-with-one-source.ts";
import { wordClockChain } from "./word-clock-chain.ts";
import { wordClockLeadLong } from "./word-clock-lead-long.ts";
import { wordClockLineCrowded } from "./word-clock-line-crowded.ts";
import { wordClockTerminators } from "./word-clock-terminators.ts";

/** "acceptance-unused" is found last, among what the others leave. */
const RULES: Readonly<Record<Exclude<RuleName, "acceptance-unused">, Rule>> = {
  "asymmetry-shifts-clock": asymmetryShiftsClock,
  "buffer-below-variation": bufferBelowVariation,
  "cable-overloaded": cableOverloaded,
  "cable-too-long": cableTooLong,
  "clock-disputed": clockDisputed,
  "clock-unclaimed": clockUnclaimed,
  "converter-hides-clock": converterHidesClock,
  "converter-joins-clocks": converterJoinsClocks,
  "deep-chain": deepChain,
  "duplicate-skew": duplicateSkew,
  "elected-by-identity": electedByIdentity,
  "far-from-leader": farFromLeader,
  "feed-on-one-supply": feedOnOneSupply,
  "feed-through-one-switch": feedThroughOneSwitch,
  "feed-without-spare": feedWithoutSpare,
  "leader-may-leave": leaderMayLeave,
  "leader-not-elected": leaderNotElected,
  "leader-retakes": leaderRetakes,
  "leaders-share-supply": leadersShareSupply,
  "left-on-internal": leftOnInternal,
  "loop-near-grid": loopNearGrid,
  "mute-only-at-mix": muteOnlyAtMix,
  "network-loop": networkLoop,
  "network-ways-share-path": networkWaysSharePath,
  "networks-led-apart": networksLedApart,
  "next-not-elected": nextNotElected,
  "no-leader": noLeader,
  "nobody-may-lead": nobodyMayLead,
  "out-of-capture": outOfCapture,
  "rate-mismatch": rateMismatch,
  "recovery-slow": recoverySlow,
  "returns-at-full-level": returnsAtFullLevel,
  "ring-closes-later": ringClosesLater,
  "ring-misfit": ringMisfit,
  "ring-of-sources": ringOfSources,
  "source-misses-leader": sourceMissesLeader,
  "sources-cut-by-one": sourcesCutByOne,
  "sources-share-path": sourcesSharePath,
  "spare-on-same-network": spareOnSameNetwork,
  "spare-shares-network": spareSharesNetwork,
  "spare-shares-path": spareSharesPath,
  "spare-without-clock": spareWithoutClock,
  "stream-clock-mismatch": streamClockMismatch,
  "stream-split": streamSplit,
  "too-many-channels": tooManyChannels,
  "two-leaders": twoLeaders,
  "variation-above-window": variationAboveWindow,
  "wait-with-one-source": waitWithOneSource,
  "word-clock-chain": wordClockChain,
  "word-clock-lead-long": wordClockLeadLong,
  "word-clock-line-crowded": wordClockLineCrowded,
  "word-clock-terminators": wordClockTerminators,
};

const GRAVITY = { error: 0, warning: 1, advice: 2 } as const;

/** What stands, the gravest first. An empty answer means only that no rule found anything that is not accepted. */
export function check(plan: Plan): readonly Finding[] {
  return checkAll(plan).findings;
}

/** The same, with what the scenario accepts beside it. */
export function checkAll(plan: Plan): Checked {
  const all = Object.values(RULES)
    .flatMap((rule) => rule(plan))
    .map((finding) => aboutCables(plan, finding))
    .sort(gravestFirst);
  const { findings, accepted } = withAcceptance(plan, all);
  return { findings: [...findings].sort(gravestFirst), accepted };
}

/** Whoever reads or accepts a finding knows cables by the ids of the file; taps of a line have none there. */
function aboutCables(plan: Plan, finding: Finding): Finding {
  const cables = new Map(plan.links.flatMap((link) => (link.line === undefined ? [] : [[link.id, cableOf(link)]])));
  if (!finding.links.some((id) => cables.has(id))) return finding;
  const links = [...new Set(finding.links.map((id) => cables.get(id) ?? id))].sort(byText);
  return { ...finding, links, path: finding.path.map((step) => cables.get(String(step)) ?? step) };
}

function gravestFirst(one: Finding, two: Finding): number {
  return (
    GRAVITY[one.severity] - GRAVITY[two.severity] ||
    byText(one.rule, two.rule) ||
    byText(one.devices.join(" "), two.devices.join(" ")) ||
    byText(one.links.join(" "), two.links.join(" ")) ||
    byText(one.what, two.what)
  );
}
