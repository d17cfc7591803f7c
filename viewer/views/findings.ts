/**
 * What the plan and the run have to say about the rig, each with why, what would be seen, and what to do, and with the way
 * to what it is about. What somebody has accepted stands apart, folded, with the reason.
 */
import type { AcceptedFinding, Finding } from "../../shared/finding.ts";
import { nameOf } from "../../sim/lanes/lane.ts";
import { cableIn, listed } from "../../sim/tell/words.ts";
import { h, name, part } from "../dom.ts";
import { reveal, revealOnMap } from "../map/reveal.ts";
import type { PageContext } from "../page.ts";

const WEIGHTS = ["error", "warning", "advice"] as const;
export const WEIGHT_WORDS: Readonly<Record<Finding["severity"], string>> = {
  error: "Error",
  warning: "Warning",
  advice: "Advice",
};

export function findingsPart(context: PageContext): HTMLElement {
  const { findings, accepted } = context.run.summary;
  const nothing = `The checks found nothing ${accepted.length === 0 ? "" : "else "}to say about this plan.`;
  return part(
    "findings",
    "Findings",
    findings.length === 0
      ? h("p", { class: "none" }, nothing)
      : h("ol", { class: "findings" }, ...gravestFirst(findings).map((finding) => item(context, finding))),
    accepted.length === 0
      ? null
      : h(
          "details",
          {},
          h("summary", {}, `Accepted: ${accepted.length}, counted nowhere`),
          h("ol", { class: "findings" }, ...gravestFirst(accepted).map((finding) => acceptedItem(context, finding))),
        ),
  );
}

interface Subject {
  readonly name: string;
  /** Key of its lane, the first where it has two. */
  readonly lane: string;
  /** "device foh", "link main". */
  readonly onMap: string;
}

/** What of that which a finding is about can be chosen. */
function subjectsOf({ run: { plan }, lanes }: PageContext, { devices, links }: Finding): readonly Subject[] {
  const laneOf = (id: string, ...kinds: readonly string[]) =>
    lanes.all.find((lane) => kinds.includes(lane.kind) && lane.id === id)?.key;
  const subject = (name: string, lane: string | undefined, onMap: string) =>
    lane === undefined ? [] : [{ name, lane, onMap }];
  return [
    ...devices.flatMap((id) => subject(nameOf(plan, id), laneOf(id, "device"), `device ${id}`)),
    ...links.flatMap((id) => subject(cableIn(plan, id), laneOf(id, "link", "stream"), `link ${id}`)),
  ];
}

/** Brings the finding into view and puts the focus on it. */
export function revealFinding(index: number): void {
  const found = document.querySelector<HTMLElement>(`#${idOf(index)}`);
  if (found !== null) reveal(found);
}

function idOf(index: number): string {
  return `finding-${index}`;
}

export function gravestFirst<One extends Finding>(findings: readonly One[]): readonly One[] {
  return [...findings].sort((one, other) => WEIGHTS.indexOf(one.severity) - WEIGHTS.indexOf(other.severity));
}

function item(context: PageContext, finding: Finding): HTMLElement {
  const index = context.run.summary.findings.indexOf(finding);
  return h(
    "li",
    { class: `finding finding-${finding.severity}`, id: idOf(index), tabindex: -1 },
    heading(finding, WEIGHT_WORDS[finding.severity]),
    h("p", {}, finding.why),
    h("dl", {}, line("You would see", finding.see), line("What to do", finding.remedy), about(context, finding, index)),
    h("p", { class: "meta" }, finding.rule),
  );
}

/** Its weight in words, without the ground that calls for the eye. */
function acceptedItem(context: PageContext, finding: AcceptedFinding): HTMLElement {
  return h(
    "li",
    { class: "finding" },
    heading(finding, `Accepted ${WEIGHT_WORDS[finding.severity].toLowerCase()}`),
    h("dl", {}, line("Reason", finding.reason), line("You would see", finding.see), about(context, finding, null)),
    h("p", { class: "meta" }, finding.rule),
  );
}

function heading({ what }: Finding, weight: string): HTMLElement {
  return h("h3", {}, h("span", { class: "weight" }, weight), " ", what);
}

function line(term: string, text: string | Node): HTMLElement {
  return h("div", {}, h("dt", {}, term), h("dd", { dir: "auto" }, text));
}

/** Each a button that chooses it, on the map and among the lanes. @param index null: an accepted one, which marks nothing else */
function about(context: PageContext, finding: Finding, index: number | null): HTMLElement | null {
  const { store, announce } = context;
  const subjects = subjectsOf(context, finding);
  if (subjects.length === 0) return null;
  const buttons = subjects.map(({ name: named, lane, onMap }) => {
    const button = h("button", { type: "button" }, h("span", { class: "unseen" }, "Show on the map: "), name(named));
    button.addEventListener("click", () => {
      store.set({ lane, finding: index });
      revealOnMap(onMap);
      announce(`${named} is chosen on the map. ${finding.what}`);
    });
    return button;
  });
  const names = listed(subjects.map((subject) => subject.name));
  return line("About", h("div", { class: "about" }, ...buttons, h("span", { class: "on-paper" }, names)));
}
