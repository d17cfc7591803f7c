/** A network elects a device on its own clock that is not the one meant to lead. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { electionMeant } from "../network/meant.ts";
import { capital } from "../tell/words.ts";
import type { Misled } from "./elected.ts";
import { decidedBy, misledNetworks, standsOn } from "./elected.ts";
import { head, mid, names, networkWords } from "./finding.ts";

export function leaderNotElected(plan: Plan): readonly Finding[] {
  return misledNetworks(plan).map((misled): Finding => {
    const { network, leader, followers, meant } = misled;
    return {
      rule: "leader-not-elected",
      severity: "error",
      devices: [leader, meant],
      links: [],
      path: ["devices", isOn(plan, network.id, meant) ? meant : leader, "ptp"],
      what: `${head(plan, leader)} wins the election on ${networkWords(network)}, and ${mid(plan, meant)} is meant to lead.`,
      why: why(plan, misled),
      see: `${capital(names(plan, followers))} on a clock that nobody chose: clicks towards what follows ${mid(plan, meant)}, and no clock when ${mid(plan, leader)} goes.`,
      remedy: remedy(plan, misled),
    };
  });
}

function isOn(plan: Plan, network: string, id: string): boolean {
  return electionMeant(plan).sites.some((site) => site.device.id === id && site.network.id === network);
}

function why(plan: Plan, { network, leader, meant }: Misled): string {
  if (!isOn(plan, network.id, meant))
    return `A network elects among its own devices, and no cable of it ends at ${mid(plan, meant)}.`;
  if (!standsOn(plan, network.id, meant)) return `${head(plan, meant)} only follows: it does not stand for election.`;
  const field = decidedBy(plan, leader, meant);
  if (field === "leader")
    return "Nobody has set a priority, so the lower identity decides, the maker's number of a device.";
  if (field !== null && field !== "priority1")
    return "With the same priority1 what decides is what the devices say of their clocks, and then their numbers.";
  return "In an election the lowest priority1 wins, whatever else is written in a plan.";
}

function remedy(plan: Plan, { network, leader, meant }: Misled): string {
  if (!isOn(plan, network.id, meant))
    return `Lay a cable from ${mid(plan, meant)} to ${networkWords(network)}, or let ${mid(plan, leader)} take its clock from ${mid(plan, meant)} over another link, as its first source.`;
  if (!standsOn(plan, network.id, meant))
    return `${head(plan, meant)}: let it stand for election (followerOnly false), with the lowest priority1 there.`;
  const lowest = deviceOf(plan, leader).ptp?.priority1 ?? 0;
  return lowest > 0
    ? `${head(plan, meant)}: set a priority1 below ${lowest}.`
    : `${head(plan, leader)}: set a higher priority1 than ${mid(plan, meant)} has.`;
}
