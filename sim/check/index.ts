/**
 * The plan check: reads a plan without playing it, one rule per file. What the rules find is ordered by severity, then
 * by rule, then by the devices and links it is about, so that the order in a file changes nothing.
 */
import type { RuleName } from "../../shared/check-rules.ts";
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import type { Checked } from "./accepted.ts";
import { withAcceptance } from "./accepted.ts";
import { cableTooLong } from "./cable-too-long.ts";
import { clockDisputed } from "./clock-disputed.ts";
import { clockUnclaimed } from "./clock-unclaimed.ts";
import { converterHidesClock } from "./converter-hides-clock.ts";
import { converterJoinsClocks } from "./converter-joins-clocks.ts";
import { deepChain } from "./deep-chain.ts";
import { farFromLeader } from "./far-from-leader.ts";
import { feedOnOneSupply } from "./feed-on-one-supply.ts";
import { feedWithoutSpare } from "./feed-without-spare.ts";
import type { Rule } from "./finding.ts";
import { byText } from "./finding.ts";
import { leaderMayLeave } from "./leader-may-leave.ts";
import { leaderRetakes } from "./leader-retakes.ts";
import { leadersShareSupply } from "./leaders-share-supply.ts";
import { leftOnInternal } from "./left-on-internal.ts";
import { loopNearGrid } from "./loop-near-grid.ts";
import { muteOnlyAtMix } from "./mute-only-at-mix.ts";
import { noLeader } from "./no-leader.ts";
import { outOfCapture } from "./out-of-capture.ts";
import { rateMismatch } from "./rate-mismatch.ts";
import { returnsAtFullLevel } from "./returns-at-full-level.ts";
import { ringOfSources } from "./ring-of-sources.ts";
import { sourceMissesLeader } from "./source-misses-leader.ts";
import { sourcesCutByOne } from "./sources-cut-by-one.ts";
import { sourcesSharePath } from "./sources-share-path.ts";
import { spareSharesPath } from "./spare-shares-path.ts";
import { tooManyChannels } from "./too-many-channels.ts";
import { twoLeaders } from "./two-leaders.ts";
import { waitWithOneSource } from "./wait-with-one-source.ts";
import { wordClockChain } from "./word-clock-chain.ts";
import { wordClockLeadLong } from "./word-clock-lead-long.ts";

/** "acceptance-unused" is found last, among what the others leave. */
const RULES: Readonly<Record<Exclude<RuleName, "acceptance-unused">, Rule>> = {
  "cable-too-long": cableTooLong,
  "clock-disputed": clockDisputed,
  "clock-unclaimed": clockUnclaimed,
  "converter-hides-clock": converterHidesClock,
  "converter-joins-clocks": converterJoinsClocks,
  "deep-chain": deepChain,
  "far-from-leader": farFromLeader,
  "feed-on-one-supply": feedOnOneSupply,
  "feed-without-spare": feedWithoutSpare,
  "leader-may-leave": leaderMayLeave,
  "leader-retakes": leaderRetakes,
  "leaders-share-supply": leadersShareSupply,
  "left-on-internal": leftOnInternal,
  "loop-near-grid": loopNearGrid,
  "mute-only-at-mix": muteOnlyAtMix,
  "no-leader": noLeader,
  "out-of-capture": outOfCapture,
  "rate-mismatch": rateMismatch,
  "returns-at-full-level": returnsAtFullLevel,
  "ring-of-sources": ringOfSources,
  "source-misses-leader": sourceMissesLeader,
  "sources-cut-by-one": sourcesCutByOne,
  "sources-share-path": sourcesSharePath,
  "spare-shares-path": spareSharesPath,
  "too-many-channels": tooManyChannels,
  "two-leaders": twoLeaders,
  "wait-with-one-source": waitWithOneSource,
  "word-clock-chain": wordClockChain,
  "word-clock-lead-long": wordClockLeadLong,
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
    .sort(gravestFirst);
  const { findings, accepted } = withAcceptance(plan, all);
  return { findings: [...findings].sort(gravestFirst), accepted };
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
