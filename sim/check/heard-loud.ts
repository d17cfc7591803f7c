/** Feeds that come out of loudspeakers or in somebody's ears, in the moment. */
import type { FeedPlan, Plan } from "../../shared/plan.ts";

const LOUD: ReadonlySet<string> = new Set(["pa", "wedges", "in-ears", "comms", "assisted-hearing"]);

/** In the order of their ids. */
export function loudFeeds(plan: Plan): readonly FeedPlan[] {
  return plan.feeds
    .filter(({ heardBy }) => heardBy.some((ears) => LOUD.has(ears)))
    .sort((one, two) => (one.id < two.id ? -1 : 1));
}
