/**
 * What the plan and the run have to say about the rig, each with why, what would be seen, and what to do. What somebody
 * has accepted stands apart, folded, with the reason.
 */
import type { AcceptedFinding, Finding } from "../../shared/finding.ts";
import { listed } from "../../sim/tell/words.ts";
import { h, part } from "../dom.ts";
import { nameOf } from "../lane.ts";
import type { Run } from "../run.ts";

const WEIGHTS = ["error", "warning", "advice"] as const;
const WORDS: Readonly<Record<Finding["severity"], string>> = { error: "Error", warning: "Warning", advice: "Advice" };

export function findingsPart(run: Run): HTMLElement {
  const { findings, accepted } = run.summary;
  const nothing = `The checks found nothing ${accepted.length === 0 ? "" : "else "}to say about this plan.`;
  return part(
    "findings",
    "Findings",
    findings.length === 0
      ? h("p", { class: "none" }, nothing)
      : h("ol", { class: "findings" }, ...gravestFirst(findings).map((finding) => item(run, finding))),
    accepted.length === 0
      ? null
      : h(
          "details",
          {},
          h("summary", {}, `Accepted: ${accepted.length}, counted nowhere`),
          h("ol", { class: "findings" }, ...gravestFirst(accepted).map((finding) => acceptedItem(run, finding))),
        ),
  );
}

function gravestFirst<One extends Finding>(findings: readonly One[]): readonly One[] {
  return [...findings].sort((one, other) => WEIGHTS.indexOf(one.severity) - WEIGHTS.indexOf(other.severity));
}

function item(run: Run, finding: Finding): HTMLElement {
  return h(
    "li",
    { class: `finding finding-${finding.severity}` },
    heading(finding, WORDS[finding.severity]),
    h("p", {}, finding.why),
    h("dl", {}, line("You would see", finding.see), line("What to do", finding.remedy), about(run, finding)),
    h("p", { class: "meta" }, finding.rule),
  );
}

/** Its weight in words, without the ground that calls for the eye. */
function acceptedItem(run: Run, finding: AcceptedFinding): HTMLElement {
  return h(
    "li",
    { class: "finding" },
    heading(finding, `Accepted ${WORDS[finding.severity].toLowerCase()}`),
    h("dl", {}, line("Reason", finding.reason), line("You would see", finding.see), about(run, finding)),
    h("p", { class: "meta" }, finding.rule),
  );
}

function heading({ what }: Finding, weight: string): HTMLElement {
  return h("h3", {}, h("span", { class: "weight" }, weight), " ", what);
}

function line(term: string, text: string): HTMLElement {
  return h("div", {}, h("dt", {}, term), h("dd", { dir: "auto" }, text));
}

function about({ plan }: Run, { devices, links }: Finding): HTMLElement | null {
  const names = [...devices.map((id) => nameOf(plan, id)), ...links];
  return names.length === 0 ? null : line("About", listed(names));
}
