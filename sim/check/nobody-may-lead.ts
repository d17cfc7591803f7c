/** Devices that listen to a network on which nobody may lead: all of them only follow. */
import type { Finding } from "../../shared/finding.ts";
import { addTo } from "../../shared/lists.ts";
import type { Plan } from "../../shared/plan.ts";
import { electionMeant, listsNetwork } from "../network/meant.ts";
import type { Site } from "../network/sites.ts";
import { agree, capital } from "../tell/words.ts";
import { byText, names, networkWords } from "./finding.ts";

export function nobodyMayLead(plan: Plan): readonly Finding[] {
  return networksNobodyMayLead(plan).map((sites): Finding => {
    const ids = sites.filter(listsNetwork).map(({ device }) => device.id);
    const network = sites[0]!.network;
    return {
      rule: "nobody-may-lead",
      severity: "error",
      devices: ids,
      links: [],
      path: ["networks", network.id],
      what: `${capital(names(plan, ids))} ${agree(ids.length > 1, "listens", "listen")} to ${networkWords(network)}, and nobody on it may lead: every device there only follows.`,
      why: "An election needs somebody who stands for it; a device that only follows never does.",
      see: "Nobody finds a leader; each runs on its own clock, or goes to its next source, and what they send one another clicks.",
      remedy:
        "Let the device that is meant to lead take part in the election (followerOnly false), and its next in line as well.",
    };
  });
}

/** By network: its devices in the election. */
function networksNobodyMayLead(plan: Plan): readonly (readonly Site[])[] {
  const byNetwork = new Map<string, Site[]>();
  for (const site of electionMeant(plan).sites) addTo(byNetwork, site.network.id, site);
  return [...byNetwork.keys()]
    .sort(byText)
    .map((id) => byNetwork.get(id)!.toSorted((one, two) => byText(one.device.id, two.device.id)))
    .filter((sites) => sites.some(listsNetwork) && sites.every(({ device }) => device.ptp?.followerOnly === true));
}

export function isWhereNobodyMayLead(plan: Plan, device: string, port: number): boolean {
  return networksNobodyMayLead(plan).some((sites) =>
    sites.some((site) => site.device.id === device && site.ports.includes(port)),
  );
}
