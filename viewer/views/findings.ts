/** What the plan and the run have to say about the rig, each with why, what would be seen, and what to do. */
import type { Finding } from "../../shared/finding.ts";
import { listed } from "../../sim/tell/words.ts";
import { h, part } from "../dom.ts";
import { nameOf } from "../lane.ts";
import type { Run } from "../run.ts";

const WEIGHTS = ["error", "warning", "advice"] as const;
const WORDS: Readonly<Record<Finding["severity"], string>> = { error: "Error", warning: "Warning", advice: "Advice" };

export function findingsPart({ plan, summary }: Run): HTMLElement {
  const sorted = [...summary.findings].sort(
    (one, other) => WEIGHTS.indexOf(one.severity) - WEIGHTS.indexOf(other.severity),
  );
  if (sorted.length === 0)
    return part("findings", "Findings", h("p", { class: "none" }, "The checks found nothing to say about this plan."));
  return part(
    "findings",
    "Findings",
    h(
      "ol",
      { class: "findings" },
      ...sorted.map((finding) => {
        const about = [...finding.devices.map((id) => nameOf(plan, id)), ...finding.links];
        return h(
          "li",
          { class: `finding finding-${finding.severity}` },
          h("h3", {}, h("span", { class: "weight" }, WORDS[finding.severity]), " ", finding.what),
          h("p", {}, finding.why),
          h(
            "dl",
            {},
            h("div", {}, h("dt", {}, "You would see"), h("dd", {}, finding.see)),
            h("div", {}, h("dt", {}, "What to do"), h("dd", {}, finding.remedy)),
            about.length === 0 ? null : h("div", {}, h("dt", {}, "About"), h("dd", { dir: "auto" }, listed(about))),
          ),
          h("p", { class: "meta" }, finding.rule),
        );
      }),
    ),
  );
}
