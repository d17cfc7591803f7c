/**
 * Word clock that is handed on: a device takes it over a word-clock lead and gives it over another. One finding for the
 * device at which each chain begins. (Several devices on one T-ed line are no chain: none hands anything on.)
 */
import type { Finding } from "../../shared/finding.ts";
import { cableOf } from "../../shared/lines.ts";
import type { Plan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import type { Choice } from "../clock-graph.ts";
import { clockGraph } from "../clock-graph.ts";
import { byText, mid, names } from "./finding.ts";

export function wordClockChain(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  const takes = (id: string) => overWordClock(plan, graph.used(id));
  const passing = new Map<string, Set<string>>();
  for (const { id } of plan.devices) {
    const last = takes(id);
    const before = last === null ? null : takes(last.from);
    if (last === null || before === null) continue;
    // Back to where the chain begins; in a ring it begins nowhere, and that is a finding of its own.
    let start = before.from;
    const met = new Set([id]);
    for (let further = takes(start); further !== null && !met.has(start); further = takes(start)) {
      met.add(start);
      start = further.from;
    }
    if (takes(start) !== null) continue;
    passing.set(start, (passing.get(start) ?? new Set()).add(last.from));
  }
  return [...passing.keys()].sort(byText).map((start): Finding => {
    const between = [...passing.get(start)!].sort(byText);
    const cables = between.flatMap((id) => takes(id)?.link ?? []).map((link) => cableOf(linkOf(plan, link)));
    const links = [...new Set(cables)].sort(byText);
    return {
      rule: "word-clock-chain",
      severity: "advice",
      devices: between,
      links,
      path: ["devices", between[0]!, "clockSources"],
      what: `The word clock of ${mid(plan, start)} is handed on by ${names(plan, between)}: a chain, not a star.`,
      why: "Whoever hands a clock on can take it from all behind, and makes it a little worse on the way.",
      see: `When ${names(plan, between)} ${between.length === 1 ? "starts" : "start"} again or ${between.length === 1 ? "loses" : "lose"} lock, whatever is behind goes too.`,
      remedy: `Give each of them a lead of its own from ${mid(plan, start)}, or from a distributor beside it.`,
    };
  });
}

function overWordClock(plan: Plan, used: Choice | null): { readonly from: string; readonly link: string } | null {
  if (used === null || used.heard.kind !== "device") return null;
  const { device, link } = used.heard;
  return linkOf(plan, link).type === "word-clock" ? { from: device, link } : null;
}
