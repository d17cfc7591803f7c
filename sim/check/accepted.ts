/**
 * Findings that the scenario or its rig accepts, with the reason that somebody wrote; and entries that nothing answers
 * to. Both may be about one finding: the scenario's comes first in the plan, so its reason is told.
 */
import type { AcceptedFinding, Finding } from "../../shared/finding.ts";
import type { AcceptedPlan, Plan } from "../../shared/plan.ts";
import { listed } from "../tell/words.ts";

export interface Checked {
  /** What stands. */
  readonly findings: readonly Finding[];
  readonly accepted: readonly AcceptedFinding[];
}

/** The first entry that fits decides. */
export function withAcceptance(plan: Plan, all: readonly Finding[]): Checked {
  const entries = plan.accepted ?? [];
  const findings: Finding[] = [];
  const accepted: AcceptedFinding[] = [];
  const fits = entries.map(() => false);
  for (const finding of all) {
    let by = -1;
    entries.forEach((entry, index) => {
      if (!accepts(entry, finding)) return;
      fits[index] = true;
      if (by < 0) by = index;
    });
    if (by < 0) findings.push(finding);
    else accepted.push({ ...finding, reason: entries[by]!.reason });
  }
  const unused = entries.flatMap((entry, index) => (fits[index] ? [] : [unusedEntry(entry, index, all)]));
  return { findings: [...findings, ...unused], accepted };
}

/**
 * Of the same rule, and about nothing besides what the entry names: where another device or cable joins in, somebody has
 * to look again.
 */
function accepts(entry: AcceptedPlan, finding: Finding): boolean {
  return entry.rule === finding.rule && covers(entry.devices, finding.devices) && covers(entry.links, finding.links);
}

function covers(named: readonly string[] | null, about: readonly string[]): boolean {
  return named === null || (about.length > 0 && about.every((id) => named.includes(id)));
}

function unusedEntry({ rule, reason }: AcceptedPlan, index: number, all: readonly Finding[]): Finding {
  const same = all.filter((finding) => finding.rule === rule);
  return {
    rule: "acceptance-unused",
    severity: "advice",
    devices: [],
    links: [],
    path: ["accepted", index],
    what: `Accepted is ${rule} ("${reason}"), and ${same.length === 0 ? "that rule finds nothing" : "what that rule finds is about something else, or about more than the entry names"}.`,
    why: "What is accepted once and stays in the file hides the next finding of its kind.",
    see: "Nothing: this is about the file.",
    remedy:
      same.length === 0
        ? 'Take the entry out of "accepted".'
        : `Take the entry out; or look again at what is found, and name all of it: ${same.map(aboutWords).join("; ")}.`,
  };
}

/** "devices foh and mon, links split" */
export function aboutWords({ devices, links }: Finding): string {
  const parts = [
    ...(devices.length === 0 ? [] : [`devices ${listed(devices)}`]),
    ...(links.length === 0 ? [] : [`links ${listed(links)}`]),
  ];
  return parts.length === 0 ? "the rig as a whole" : parts.join(", ");
}
