/** A leader that wins its election by its identity alone: nobody has set a priority. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { electionMeant } from "../network/meant.ts";
import { decidedBy, electedIn, misledNetworks } from "./elected.ts";
import { byText, head, mid, names, networkWords } from "./finding.ts";

export function electedByIdentity(plan: Plan): readonly Finding[] {
  const misled = misledNetworks(plan);
  return electedIn(plan).flatMap(({ network, leader, followers }): Finding[] => {
    // There the identity is told as the reason.
    if (misled.some((one) => one.network.id === network.id && one.leader === leader)) return [];
    const without = electionMeant(plan, leader);
    const next = without.sites
      .filter((site) => site.network.id === network.id && followers.includes(site.device.id))
      .flatMap((site) => without.leaderOf(site) ?? []);
    const rivals = [...new Set(next)].filter((id) => decidedBy(plan, leader, id) === "leader").sort(byText);
    if (rivals.length === 0) return [];
    return [
      {
        rule: "elected-by-identity",
        severity: "advice",
        devices: [leader, ...rivals],
        links: [],
        path: ["devices", leader, "ptp"],
        what: `${head(plan, leader)} leads ${networkWords(network)} by its identity alone; in all else ${names(plan, rivals)} ${rivals.length === 1 ? "is" : "are"} its equal.`,
        why: "An identity is the maker's number of a device. Where nobody sets a priority, a device that is exchanged changes who leads.",
        see: `Nothing, until ${mid(plan, leader)} is exchanged, or a device with a lower number is plugged in: then that leads.`,
        remedy: `${head(plan, leader)}: set the lowest priority1 on ${networkWords(network)}; the next in line gets the one after it.`,
      },
    ];
  });
}
