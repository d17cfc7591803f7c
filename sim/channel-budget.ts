/**
 * How many channels the feeds want of each link, each way by itself, against what it carries at its sample rate. Feeds
 * that share inputs are counted once each, since a plan does not say which channels they share; a link of a spare group
 * is counted as if it carried.
 */
import type { LinkPlan, Plan } from "../shared/plan.ts";

/** One feed that goes over one way of a link. */
export interface ChannelLoad {
  readonly feed: string;
  /** Place in the feed's hops. */
  readonly hop: number;
  readonly channels: number;
}

export interface ChannelRow {
  readonly link: string;
  readonly way: "there" | "back";
  readonly used: number;
  readonly has: number;
  readonly loads: readonly ChannelLoad[];
}

/** In the order of the links; only ways that a feed goes over. */
export function channelBudget(plan: Plan): readonly ChannelRow[] {
  return plan.links.flatMap((link) =>
    (["there", "back"] as const).flatMap((way) => {
      const loads = loadsOf(plan, link, way);
      const used = loads.reduce((sum, { channels }) => sum + channels, 0);
      return loads.length === 0 ? [] : [{ link: link.id, way, used, has: link.channels, loads }];
    }),
  );
}

function loadsOf({ feeds }: Plan, link: LinkPlan, way: "there" | "back"): ChannelLoad[] {
  return feeds.flatMap((feed) =>
    feed.hops.flatMap(({ over, channels }, hop) =>
      over.some((one) => one.link === link.id && one.way === way) ? [{ feed: feed.id, hop, channels }] : [],
    ),
  );
}
