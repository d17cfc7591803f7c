/** A device takes its clock from the main of a spare group, and not from the spare. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { leftBySpares } from "../spare-clocks.ts";
import { theCableIn } from "../tell/words.ts";
import { head, mid } from "./finding.ts";

export function spareWithoutClock(plan: Plan): readonly Finding[] {
  return leftBySpares(plan).map(({ device, main, other, port }): Finding => {
    const { clockSources } = deviceOf(plan, device);
    const [mainCable, spareCable] = [theCableIn(plan, main), theCableIn(plan, other)];
    return {
      rule: "spare-without-clock",
      severity: "warning",
      devices: [device],
      links: [main, other].sort(),
      path: ["devices", device, "clockSources"],
      what: `${head(plan, device)} takes its clock from ${mainCable} alone: ${spareCable} carries the audio when that goes, and ${mid(plan, device)} does not listen to it.`,
      why: "Audio goes over to a spare by itself; a clock source is a setting of its own.",
      see: `Nothing, until ${mainCable} is out; then audio is back over the spare and clicks, or is muted.`,
      remedy: `${head(plan, device)}: add port ${port} to its clock sources, behind ${clockSources.includes("internal") ? `port ${clockSources[0]} and before internal` : `port ${clockSources.at(-1)}`}.`,
    };
  });
}
