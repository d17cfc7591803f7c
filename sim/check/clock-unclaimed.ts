/** Both ends of a link take clock and nobody gives it. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { head, mid } from "./finding.ts";
import { endsThatBoth, endToGive } from "./port-clock.ts";

export function clockUnclaimed(plan: Plan): readonly Finding[] {
  return endsThatBoth(plan, "take").map((link): Finding => {
    const giver = link[endToGive(plan, link)];
    return {
      rule: "clock-unclaimed",
      severity: "error",
      devices: [link.a.device, link.b.device].sort(),
      links: [link.id],
      path: ["devices", giver.device, "ports", String(giver.port), "clock"],
      what: `${head(plan, link.a.device)} and ${mid(plan, link.b.device)} both take clock on link ${link.id}: it is unclaimed.`,
      why: "On this type of link one end gives the clock and the other takes it; here neither hears one.",
      see: "Each goes to its next source, or runs on its own clock; then whatever crosses this link clicks.",
      remedy: `${head(plan, giver.device)}, port ${giver.port}: give clock, and take it off its clock sources.`,
    };
  });
}
