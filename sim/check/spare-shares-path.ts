/** The cables of a spare group are laid along the same thing. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan, SparePlan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import { agree, capital, inSentence, isPlural, listed, path } from "../tell/words.ts";
import { cableHead, sharedPaths } from "./finding.ts";

export function spareSharesPath(plan: Plan): readonly Finding[] {
  return plan.spares.flatMap((spare) => pairs(spare).flatMap(([main, other]) => findingFor(plan, spare, main, other)));
}

function pairs(spare: SparePlan): readonly (readonly [string, string])[] {
  return spare.links.flatMap((one, index) => spare.links.slice(index + 1).map((two) => [one, two] as const));
}

function findingFor(plan: Plan, spare: SparePlan, main: string, other: string): Finding[] {
  const along = sharedPaths(linkOf(plan, main), linkOf(plan, other)).map(path);
  if (along.length === 0) return [];
  const carried = plan.feeds.filter((feed) => feed.hops.some((hop) => hop.spare === spare.id));
  const isLast = spare.links.length === 2;
  const ears = carried.length === 0 ? "what they carry" : listed(carried.map((feed) => inSentence(feed.name)));
  const isMany = carried.length > 1 || carried.some(({ name }) => isPlural(name));
  const verb = (one: string, many: string) => agree(isMany, one, many);
  return [
    {
      rule: "spare-shares-path",
      severity: "warning",
      devices: [],
      links: [main, other].sort(),
      path: ["links", other, "laidAlong"],
      what: `Not a spare${isLast ? "" : " to one another"}: ${main} and ${other} are both laid along ${listed(along)}.`,
      why: "One forklift takes both.",
      see: isLast
        ? `${capital(ears)} ${verb("goes", "go")} silent when ${along[0]} is hit, and ${verb("stays", "stay")} silent until a new cable is run.`
        : `When ${along[0]} is hit, ${ears} ${verb("hangs", "hang")} on what is left of ${spare.links.length} cables.`,
      remedy: `${cableHead(other)}: lay it along another path.`,
    },
  ];
}
