/** Links on which the feeds leave no channel free. */
import type { Plan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import { channelBudget } from "../channel-budget.ts";
import { listed } from "./words.ts";

/** A pair of channels is made to be full. */
const PAIR = 2;

/** "No channel is left on main there (64 of 64)."; null where every link has room, or is one of a rule's findings. */
export function fullLinksSentence(plan: Plan): string | null {
  const full = channelBudget(plan).filter(({ used, has }) => used === has && has > PAIR);
  if (full.length === 0) return null;
  const names = full.map(({ link, way, used, has }) => {
    const { a, b } = linkOf(plan, link);
    const [from, to] = way === "there" ? [a, b] : [b, a];
    return `${link} from ${from.device} to ${to.device} (${used} of ${has})`;
  });
  return `No channel is left on ${listed(names)}; what several feeds share is counted for each.`;
}
