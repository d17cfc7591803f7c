/**
 * Cables without a spare on feeds that the PA hears: each alone silences it. Of a network those count for which its
 * bridges find no other. One finding for all of them.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { cables } from "../tell/words.ts";
import { byText } from "./finding.ts";
import { risksWithoutSpare } from "./risks.ts";

export function feedWithoutSpare(plan: Plan): readonly Finding[] {
  const alone = plan.feeds
    .filter(({ heardBy }) => heardBy.includes("pa"))
    .flatMap((feed) => risksWithoutSpare(plan, feed))
    .flatMap(({ kind, name }) => (kind === "cable" ? [name] : []));
  const links = [...new Set(alone)].sort(byText);
  if (links.length === 0) return [];
  const isOne = links.length === 1;
  return [
    {
      rule: "feed-without-spare",
      severity: "advice",
      devices: [],
      links,
      path: ["links", links[0]!, "laidAlong"],
      what: `The PA hangs on ${cables(links)}, which ${isOne ? "has" : "have"} no spare.`,
      why: "A spare that lies there is plugged in a minute, even if only by hand; one that has to be laid takes the rest of the set.",
      see: `The PA is silent from the moment ${isOne ? "it" : "one of them"} goes until a new cable is run.`,
      remedy: `Lay a spare along another path${isOne ? "" : " for each"}, label it at both ends, and pull the main once before doors.`,
    },
  ];
}
