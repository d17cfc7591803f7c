/** Switches without which the PA is silent, and for which there is no other. One finding for all of them. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { byText, names } from "./finding.ts";
import { risksWithoutSpare } from "./risks.ts";

export function feedThroughOneSwitch(plan: Plan): readonly Finding[] {
  const alone = plan.feeds
    .filter(({ heardBy }) => heardBy.includes("pa"))
    .flatMap((feed) =>
      risksWithoutSpare(plan, feed).flatMap(({ kind, name }) =>
        kind === "device" && !feed.through.includes(name) ? [name] : [],
      ),
    );
  const ids = [...new Set(alone)].filter((id) => deviceOf(plan, id).bridge !== undefined).sort(byText);
  if (ids.length === 0) return [];
  const isOne = ids.length === 1;
  return [
    {
      rule: "feed-through-one-switch",
      severity: "advice",
      devices: ids,
      links: [],
      path: ["devices", ids[0]!, "bridge"],
      what: `The PA hangs on ${names(plan, ids)}: ${isOne ? "it passes" : "each of them passes"} its packets on, and nothing else does.`,
      why: "A second cable into the same switch is no second way; when the switch starts again, both are gone.",
      see: `The PA is silent from the moment ${isOne ? "it" : "one of them"} goes until it has started again and streams are back.`,
      remedy:
        "A second network over switches of its own, and a spare of the stream on it; at the least a configured switch in the case.",
    },
  ];
}
