/**
 * Feeds that want more channels of one cable than its type carries at this sample rate, each way by itself.
 *
 * One feed alone above the limit is an error. Several feeds that are above it only together are a warning: the same
 * inputs may be part of several feeds, and a plan does not say which channels they share.
 */
import type { Finding } from "../../shared/finding.ts";
import type { FeedPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { capital, inSentence, kilohertz, listed } from "../tell/words.ts";
import { cableHead, deviceOf } from "./finding.ts";

export function tooManyChannels(plan: Plan): readonly Finding[] {
  return plan.links.flatMap((link) => (["there", "back"] as const).flatMap((way) => findingsFor(plan, link, way)));
}

interface Load {
  readonly feed: FeedPlan;
  readonly hop: number;
  readonly channels: number;
}

function findingsFor(plan: Plan, link: LinkPlan, way: "there" | "back"): Finding[] {
  const loads = plan.feeds.flatMap((feed): Load[] =>
    feed.hops.flatMap((hop, index) =>
      hop.over.some((one) => one.link === link.id && one.way === way)
        ? [{ feed, hop: index, channels: hop.channels }]
        : [],
    ),
  );
  const above = loads.filter((load) => load.channels > link.channels);
  if (above.length > 0) return above.map((load) => finding(plan, link, [load], "error"));
  const together = loads.reduce((sum, load) => sum + load.channels, 0);
  return together > link.channels ? [finding(plan, link, loads, "warning")] : [];
}

function finding(plan: Plan, link: LinkPlan, loads: readonly Load[], severity: "error" | "warning"): Finding {
  const channels = loads.reduce((sum, load) => sum + load.channels, 0);
  const fasterHz = Math.max(...[link.a, link.b].map(({ device }) => deviceOf(plan, device).sampleRateHz));
  const hop = loads[0]!.feed.hops[loads[0]!.hop]!;
  const feeds = listed(loads.map(({ feed }) => inSentence(feed.name)));
  const sum = loads.length === 1 ? `wants ${channels} channels` : `together want ${channels} channels`;
  return {
    rule: "too-many-channels",
    severity,
    devices: [hop.from, hop.to].sort(),
    links: [link.id],
    path: ["feeds", loads[0]!.feed.id, "channels"],
    what: `${capital(feeds)} ${sum} of link ${link.id}, which carries ${link.channels} at ${kilohertz(fasterHz)}.`,
    why: "The number of channels falls as the sample rate rises, and what does not fit is not carried.",
    see:
      severity === "error"
        ? "The channels above the limit are missing at the far end."
        : "If these feeds are made of different channels, some are missing at the far end; if they share inputs, it may fit.",
    remedy: `${cableHead(link.id)}: add a link beside it, or send fewer channels.`,
  };
}
