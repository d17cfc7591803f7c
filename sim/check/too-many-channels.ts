/**
 * Feeds that want more channels of one cable than its type carries at this sample rate, each way by itself.
 *
 * One feed alone above the limit is an error. Several feeds that are above it only together are a warning: the same
 * inputs may be part of several feeds, and a plan does not say which channels they share.
 */
import type { Finding } from "../../shared/finding.ts";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { deviceOf, feedOf, linkOf } from "../by-id.ts";
import { type ChannelLoad, channelBudget } from "../channel-budget.ts";
import { capital, inSentence, kilohertz, listed } from "../tell/words.ts";
import { cableHead } from "./finding.ts";

export function tooManyChannels(plan: Plan): readonly Finding[] {
  return channelBudget(plan).flatMap(({ link: id, used, has, loads }) => {
    const link = linkOf(plan, id);
    const above = loads.filter(({ channels }) => channels > has);
    if (above.length > 0) return above.map((load) => finding(plan, link, [load], "error"));
    return used > has ? [finding(plan, link, loads, "warning")] : [];
  });
}

function finding(plan: Plan, link: LinkPlan, loads: readonly ChannelLoad[], severity: "error" | "warning"): Finding {
  const channels = loads.reduce((sum, load) => sum + load.channels, 0);
  const fasterHz = Math.max(...[link.a, link.b].map(({ device }) => deviceOf(plan, device).sampleRateHz));
  const hop = feedOf(plan, loads[0]!.feed).hops[loads[0]!.hop]!;
  const feeds = listed(loads.map(({ feed }) => inSentence(feedOf(plan, feed).name)));
  const isStream = link.stream !== undefined;
  const sum = loads.length === 1 ? `wants ${channels} channels` : `together want ${channels} channels`;
  return {
    rule: "too-many-channels",
    severity,
    devices: [hop.from, hop.to].sort(),
    links: [link.id],
    path: ["feeds", loads[0]!.feed, "channels"],
    what: `${capital(feeds)} ${sum} of ${isStream ? `stream ${link.id}, which carries ${link.channels}` : `link ${link.id}, which carries ${link.channels} at ${kilohertz(fasterHz)}`}.`,
    why: isStream
      ? "A stream carries the channels that it was set up with."
      : "The number of channels falls as the sample rate rises, and what does not fit is not carried.",
    see:
      severity === "error"
        ? "The channels above the limit are missing at the far end."
        : "If these feeds are made of different channels, some are missing at the far end; if they share inputs, it may fit.",
    remedy: isStream
      ? `Stream ${link.id}: give it more channels, set up another beside it, or send fewer.`
      : `${cableHead(link.id)}: add a link beside it, or send fewer channels.`,
  };
}
