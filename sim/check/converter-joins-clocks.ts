/**
 * A sample-rate converter between two parts of a rig that are on different clocks by their settings: a note on each, since
 * nobody will hear whether that is meant.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import type { ConvertedWay } from "../converted.ts";
import { agree, duration, isPlural } from "../tell/words.ts";
import { convertedEnds } from "./converted-ends.ts";
import { head, mid } from "./finding.ts";

export function converterJoinsClocks(plan: Plan): readonly Finding[] {
  return convertedEnds(plan)
    .filter(({ isOneDomain }) => !isOneDomain)
    .map(({ at }) => findingFor(plan, at));
}

function findingFor(plan: Plan, { from, to, link, converter }: ConvertedWay): Finding {
  const receiver = deviceOf(plan, to.device);
  return {
    rule: "converter-joins-clocks",
    severity: "advice",
    devices: [from.device, to.device].sort(),
    links: [link.id],
    path: ["devices", to.device, "ports", String(to.port), "converter"],
    what: `${head(plan, to.device)} ${agree(isPlural(receiver.name), "takes", "take")} ${mid(plan, from.device)} through a sample-rate converter at port ${to.port}: two clocks meet there without a click.`,
    why: `The converter delays the sound by ${duration(converter.delaySeconds)}, and it hides how the two clocks are set: clean audio says nothing about them.`,
    see: "Nothing, whether the two are meant to be on different clocks or not; a short dropout whenever the converter has to find the rate.",
    remedy:
      "Write on the patch sheet that the two are meant to be on different clocks. If they are not, take the converter out and let one follow the other.",
  };
}
