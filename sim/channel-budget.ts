/**
 * How many channels the feeds want of each link, each way by itself, against what it carries at its sample rate. Feeds
 * that share inputs are counted once each, since a plan does not say which channels they share; a link of a spare group
 * is counted as if it carried.
 */
import { addTo } from "../shared/lists.ts";
import type { Plan } from "../shared/plan.ts";

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
  const byWay = loadsOf(plan);
  return plan.links.flatMap((link) =>
    (["there", "back"] as const).flatMap((way) => {
      const loads = byWay.get(`${link.id} ${way}`) ?? [];
      const used = loads.reduce((sum, { channels }) => sum + channels, 0);
      return loads.length === 0 ? [] : [{ link: link.id, way, used, has: link.channels, loads }];
    }),
  );
}

/** By link and way: "main there". */
function loadsOf({ feeds }: Plan): ReadonlyMap<string, readonly ChannelLoad[]> {
  const loads = new Map<string, ChannelLoad[]>();
  for (const { id: feed, hops } of feeds) {
    for (const [hop, { over, channels }] of hops.entries()) {
      const ways = new Set(over.map(({ link, way }) => `${link} ${way}`));
      for (const way of ways) addTo(loads, way, { feed, hop, channels });
    }
  }
  return loads;
}
