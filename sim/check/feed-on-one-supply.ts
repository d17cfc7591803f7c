/** A feed that has a spare, and several of whose devices hang on one supply: the spare is none against that. */
import type { Finding } from "../../shared/finding.ts";
import type { FeedPlan, Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { minimalCutsInSeries } from "../cut-sets.ts";
import { agree, capital, inSentence, isPlural } from "../tell/words.ts";
import { names } from "./finding.ts";
import { feedNets, riskOf } from "./risks.ts";

export function feedOnOneSupply(plan: Plan): readonly Finding[] {
  const told = new Set<string>();
  return [...plan.feeds]
    .sort((one, two) => (one.id < two.id ? -1 : 1))
    .filter(({ hops }) => hops.some(({ over }) => over.length > 1))
    .flatMap((feed) => suppliesThatCut(plan, feed).map((supply) => ({ feed, supply })))
    .filter(({ supply }) => !told.has(supply) && told.add(supply))
    .map(({ feed, supply }) => findingFor(plan, feed, supply));
}

/** Supplies that take more than one device of the feed, its ends among them. */
function suppliesThatCut(plan: Plan, feed: FeedPlan): readonly string[] {
  const cuts = minimalCutsInSeries(feedNets(plan, feed), 1).flat().map(riskOf);
  const between = cuts.flatMap(({ kind, name }) => (kind === "supply" ? [name] : []));
  const atEnds = [feed.through[0]!, feed.through.at(-1)!].flatMap((id) => onlySupply(plan, id));
  return [...new Set([...between, ...atEnds])].filter((supply) => takenBy(plan, feed, supply).length > 1).sort();
}

function onlySupply(plan: Plan, id: string): readonly string[] {
  const supplies = [...new Set(deviceOf(plan, id).power)];
  return supplies.length === 1 ? supplies : [];
}

function takenBy(plan: Plan, feed: FeedPlan, supply: string): readonly string[] {
  return [...new Set(feed.through)].filter((id) => onlySupply(plan, id).includes(supply)).sort();
}

function findingFor(plan: Plan, feed: FeedPlan, supply: string): Finding {
  const taken = takenBy(plan, feed, supply);
  const verb = (one: string, many: string) => agree(isPlural(feed.name), one, many);
  return {
    rule: "feed-on-one-supply",
    severity: "advice",
    devices: taken,
    links: [],
    path: ["devices", taken[0]!, "power"],
    what: `${capital(inSentence(feed.name))} ${verb("has", "have")} a spare, and supply ${supply} alone takes ${names(plan, taken)}.`,
    why: "A spare cable helps against what happens to a cable; what happens to this supply takes main and spare with it.",
    see: `${capital(inSentence(feed.name))} ${verb("goes", "go")} silent with supply ${supply}, and ${verb("stays", "stay")} so until the last of them is up again.`,
    remedy: `Have one of ${names(plan, taken)} fed from another supply as well, by whoever is qualified for it; or note who resets this one.`,
  };
}
