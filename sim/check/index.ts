/**
 * The plan check: reads a plan without playing it, one rule per file. What the rules find is ordered by severity, then
 * by rule, then by the devices and links it is about, so that the order in a file changes nothing.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { cableTooLong } from "./cable-too-long.ts";
import { clockDisputed } from "./clock-disputed.ts";
import { clockUnclaimed } from "./clock-unclaimed.ts";
import type { Rule } from "./finding.ts";
import { byText } from "./finding.ts";
import { leftOnInternal } from "./left-on-internal.ts";
import { noLeader } from "./no-leader.ts";
import { outOfCapture } from "./out-of-capture.ts";
import { rateMismatch } from "./rate-mismatch.ts";
import { ringOfSources } from "./ring-of-sources.ts";
import { sourceMissesLeader } from "./source-misses-leader.ts";
import { sourcesSharePath } from "./sources-share-path.ts";
import { spareSharesPath } from "./spare-shares-path.ts";
import { tooManyChannels } from "./too-many-channels.ts";
import { twoLeaders } from "./two-leaders.ts";
import { waitWithOneSource } from "./wait-with-one-source.ts";

const RULES: readonly Rule[] = [
  cableTooLong,
  clockDisputed,
  clockUnclaimed,
  leftOnInternal,
  noLeader,
  outOfCapture,
  rateMismatch,
  ringOfSources,
  sourceMissesLeader,
  sourcesSharePath,
  spareSharesPath,
  tooManyChannels,
  twoLeaders,
  waitWithOneSource,
];

const GRAVITY = { error: 0, warning: 1, advice: 2 } as const;

/** Every finding of every rule, the gravest first. An empty answer means only that no rule found anything. */
export function check(plan: Plan): readonly Finding[] {
  return RULES.flatMap((rule) => rule(plan)).sort(
    (one, two) =>
      GRAVITY[one.severity] - GRAVITY[two.severity] ||
      byText(one.rule, two.rule) ||
      byText(one.devices.join(" "), two.devices.join(" ")) ||
      byText(one.links.join(" "), two.links.join(" ")) ||
      byText(one.what, two.what),
  );
}
