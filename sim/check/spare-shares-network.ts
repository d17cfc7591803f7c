/** A spare over a second network that shares something with the first: a path, a supply, a device, a cable. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { listed } from "../tell/words.ts";
import { byText } from "./finding.ts";
import { riskWords } from "./risks.ts";
import { streamSpares } from "./spare-networks.ts";

/** More than these at once nobody reads. */
const THINGS_MAX = 3;

export function spareSharesNetwork(plan: Plan): readonly Finding[] {
  return streamSpares(plan).flatMap(({ spare, links, networks, things }): Finding[] => {
    const isMixed = networks.length > 1 || links.some(({ stream }) => stream === undefined);
    if (!isMixed || things.length === 0) return [];
    const said = things.slice(0, THINGS_MAX).map((risk) => riskWords(plan, risk));
    const more = things.length > THINGS_MAX ? `, and ${things.length - THINGS_MAX} more` : "";
    return [
      {
        rule: "spare-shares-network",
        severity: "warning",
        devices: [],
        links: links.map(({ id }) => id).sort(byText),
        path: ["spares", spare.id, "links"],
        what: `Not a spare: ${things.length === 1 ? `${said[0]} alone takes` : `each of these alone takes ${listed(said)}${more}, and with it`} ${listed(spare.links)} together.`,
        why: "Two networks are two only as far as nothing takes both.",
        see: `Nothing, until ${said[0]} goes; then main and spare are silent together.`,
        remedy: `Lay the second network, its cables and its supplies, without ${said[0]}.`,
      },
    ];
  });
}
