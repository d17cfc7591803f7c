/** Both ends of a link give clock where one has to take. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { head, mid } from "./finding.ts";
import { endsThatBoth, endToGive } from "./port-clock.ts";

export function clockDisputed(plan: Plan): readonly Finding[] {
  return endsThatBoth(plan, "give").map((link): Finding => {
    const give = endToGive(plan, link);
    const taker = give === "a" ? link.b : link.a;
    const lists = deviceOf(plan, taker.device).clockSources.includes(String(taker.port));
    return {
      rule: "clock-disputed",
      severity: "error",
      devices: [link.a.device, link.b.device].sort(),
      links: [link.id],
      path: ["devices", taker.device, "ports", String(taker.port), "clock"],
      what: `${head(plan, link.a.device)} and ${mid(plan, link.b.device)} both give clock on link ${link.id}: it is disputed.`,
      why: "On this type of link one end gives the clock and the other takes it; which is which is set at the ports.",
      see: lists
        ? `${head(plan, taker.device)} may run at the right speed and nothing clicks: it listens to this port. The devices may show a clash, and what they make of it is theirs to decide.`
        : "The devices may show a clash; what comes from a device on another clock clicks.",
      remedy: `${head(plan, taker.device)}, port ${taker.port}: take clock, not give.`,
    };
  });
}
