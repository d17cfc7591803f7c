/**
 * A leader that is not made for it: a recorder, or a guest, which is to say a device that is off when the show begins or
 * whose cables are all plugged later. What a plan does not say (that a device is a computer) is not guessed from names.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { meantToLead, rigParts } from "../clock-graph.ts";
import { agree, isPlural } from "../tell/words.ts";
import { head, mid } from "./finding.ts";

export function leaderMayLeave(plan: Plan): readonly Finding[] {
  return rigParts(plan)
    .filter((part) => part.length > 1)
    .flatMap((part): Finding[] => {
      const leader = meantToLead(plan, part);
      const because = leader === null ? null : reason(plan, leader);
      if (leader === null || because === null) return [];
      return [
        {
          rule: "leader-may-leave",
          severity: "warning",
          devices: [leader],
          links: [],
          path: plan.leaders.includes(leader) ? ["leaders"] : ["devices", leader, "clockSources"],
          what: `${head(plan, leader)} ${agree(isPlural(deviceOf(plan, leader).name), "leads", "lead")}, and ${because}.`,
          why: "Whoever leads has to be there from load-in to the end; what is restarted, set to another rate or taken away takes the clock of the whole rig along.",
          see: `Everybody loses the clock when ${mid(plan, leader)} comes, goes or changes rate.`,
          remedy: `Let a device lead that stays and that nobody restarts; let ${mid(plan, leader)} follow it.`,
        },
      ];
    });
}

function reason(plan: Plan, id: string): string | null {
  const device = deviceOf(plan, id);
  if (device.kind === "recorder") return "it is a recorder";
  if (device.atStart === "off") return "it is off when the show begins";
  const cables = plan.links.filter(({ a, b, stream }) => stream === undefined && (a.device === id || b.device === id));
  const isPluggedLater = cables.length > 0 && cables.every(({ atStart }) => atStart === "unplugged");
  return isPluggedLater ? "it is plugged in after the show has begun" : null;
}
