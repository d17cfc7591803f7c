/** A stream whose spare goes over the same network. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { listed } from "../tell/words.ts";
import { byText, networkOf, networkWords } from "./finding.ts";
import { riskWords } from "./risks.ts";
import { streamSpares } from "./spare-networks.ts";

/** More than these at once nobody reads. */
const THINGS_MAX = 3;

export function spareOnSameNetwork(plan: Plan): readonly Finding[] {
  return streamSpares(plan).flatMap(({ spare, links, networks, things }): Finding[] => {
    const [network] = networks;
    if (network === undefined || networks.length > 1 || links.some(({ stream }) => stream === undefined)) return [];
    const where = networkWords(networkOf(plan, network));
    const said = things.slice(0, THINGS_MAX).map((risk) => riskWords(plan, risk));
    const isOne = things.length === 1;
    const all = spare.links.length === 2 ? "both" : "all";
    const more = things.length > THINGS_MAX ? `, and ${things.length - THINGS_MAX} more` : "";
    const one = isOne ? said[0] : `each of these alone, ${listed(said)}${more},`;
    const takes = things.length === 0 ? "" : `; ${one} takes ${all}`;
    return [
      {
        rule: "spare-on-same-network",
        severity: "warning",
        devices: [],
        links: links.map(({ id }) => id).sort(byText),
        path: ["spares", spare.id, "links"],
        what: `Not a spare against the network: ${listed(spare.links)} ${all} go over ${where}${takes}.`,
        why: "Packets of main and spare take the same way there, and a storm or a wrong setting on it takes all of them.",
        see: `Nothing, until ${said[0] ?? where} goes; then main and spare are silent together.`,
        remedy:
          "Send the spare over a second network that shares no switch, no cable path and no supply with the first.",
      },
    ];
  });
}
