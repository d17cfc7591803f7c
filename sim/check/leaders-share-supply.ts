/** One supply takes the leader of a part of the rig and the next in line together. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { rigParts } from "../clock-graph.ts";
import { capital } from "../tell/words.ts";
import { head, mid } from "./finding.ts";

export function leadersShareSupply(plan: Plan): readonly Finding[] {
  return rigParts(plan).flatMap((part): Finding[] => {
    const [leader, next] = plan.leaders.filter((id) => part.includes(id));
    if (leader === undefined || next === undefined) return [];
    const supplies = new Set(deviceOf(plan, leader).power);
    const [only] = supplies;
    if (supplies.size !== 1 || deviceOf(plan, next).power.some((supply) => supply !== only)) return [];
    return [
      {
        rule: "leaders-share-supply",
        severity: "warning",
        devices: [leader, next],
        links: [],
        path: ["devices", next, "power"],
        what: `${head(plan, leader)} leads, ${mid(plan, next)} is next, and both hang on supply ${only} alone.`,
        why: "The next in line is there for when the leader is gone; here one supply takes both.",
        see: `Supply ${only} fails, and nobody is left who is meant to lead: the others go on alone and click against one another.`,
        remedy: `${capital(mid(plan, next))}: a second supply, by whoever is qualified for it; or name a device on another supply as next in "leaders".`,
      },
    ];
  });
}
