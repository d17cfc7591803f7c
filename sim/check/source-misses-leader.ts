/**
 * A follower's source, first or later, that does not lead back to the device that is meant to lead. Followers that only
 * inherit somebody else's wrong turn, and could not do otherwise, are named together.
 */
import type { Finding } from "../../shared/finding.ts";
import { addTo } from "../../shared/lists.ts";
import type { Plan } from "../../shared/plan.ts";
import type { Choice, ClockGraph } from "../clock-graph.ts";
import { clockGraph, leadsOnOwnClock, meantToLead, portTowards, rigParts } from "../clock-graph.ts";
import { capital } from "../tell/words.ts";
import { misledNetworks } from "./elected.ts";
import { byText, head, mid, names } from "./finding.ts";
import { isWhereNobodyMayLead } from "./nobody-may-lead.ts";

export function sourceMissesLeader(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  return rigParts(plan).flatMap((part) => {
    const leader = meantToLead(plan, part);
    if (leader === null) return [];
    const followers = part.filter((id) => id !== leader && !leadsOnOwnClock(plan, id));
    return [
      ...inUse(plan, graph, followers, leader),
      ...followers.flatMap((id) => laterSources(plan, graph, id, leader)),
    ];
  });
}

/** The sources in use. */
function inUse(plan: Plan, graph: ClockGraph, followers: readonly string[], leader: string): Finding[] {
  const found: Finding[] = [];
  const heirs = new Map<string, string[]>();
  // That a network elects the wrong one is a finding of its own, not one of each that follows it.
  const misled: ReadonlySet<string | null> = new Set(misledNetworks(plan).map((one) => one.leader));
  for (const id of followers) {
    const used = graph.used(id);
    const trace = used === null ? null : graph.trace(used);
    if (trace?.ends === leader || trace?.ring.includes(id)) continue;
    if (trace !== null && misled.has(trace.ends)) continue;
    if (used === null && graph.choices(id).some((choice) => isFoundElsewhere(plan, id, choice))) continue;
    const whose = trace === null || used?.heard.kind !== "device" ? null : (trace.ends ?? trace.ring.join(" "));
    if (whose !== null && portTowards(plan, id, leader) === null) {
      addTo(heirs, whose, id);
      continue;
    }
    const says =
      used === null ? graph.choices(id).map((choice) => told(plan, graph, choice)) : [told(plan, graph, used)];
    const what = `${head(plan, id)} ${says.length === 0 ? "has no clock source" : says.join("; ")}.`;
    found.push(finding(plan, [id], leader, "error", what));
  }
  for (const whose of [...heirs.keys()].sort(byText)) {
    const ids = heirs.get(whose)!;
    const root = whose.split(" ");
    const heads = capital(names(plan, ids));
    const from = root.length === 1 ? `from ${mid(plan, whose)}` : `out of a ring (${names(plan, root)})`;
    const what = `${heads} ${ids.length === 1 ? "takes its" : "take their"} clock ${from}, not from ${mid(plan, leader)}.`;
    const first = root.length === 1 ? `Mend ${mid(plan, whose)} first` : "Open the ring first";
    found.push({
      ...finding(plan, ids, leader, "error", what),
      remedy: `${first}; ${ids.length === 1 ? "it follows" : "they follow"} from there.`,
    });
  }
  return found;
}

/** What is listed besides the source in use, up to "internal": what stands after that is never come to. */
function laterSources(plan: Plan, graph: ClockGraph, id: string, leader: string): Finding[] {
  const choices = graph.choices(id);
  const used = graph.used(id);
  if (used === null) return [];
  const misled: ReadonlySet<string | null> = new Set(misledNetworks(plan).map((one) => one.leader));
  const end = choices.findIndex(({ source }) => source === "internal");
  return choices.slice(0, end < 0 ? choices.length : end).flatMap((choice): Finding[] => {
    if (choice === used || isFoundElsewhere(plan, id, choice)) return [];
    const trace = graph.trace(choice);
    const turn = trace.through.indexOf(id);
    if (turn < 0 && (trace.ends === leader || misled.has(trace.ends))) return [];
    const what =
      turn < 0
        ? `${head(plan, id)} ${told(plan, graph, choice)}.`
        : `${head(plan, id)} would listen to port ${choice.source} (${names(plan, trace.through.slice(0, turn))}) if its first source went, and that clock comes from ${mid(plan, id)} itself.`;
    return [finding(plan, [id], leader, "warning", what)];
  });
}

/** Both ends that take, rates that differ and networks on which nobody may lead are findings of their own. */
function isFoundElsewhere(plan: Plan, id: string, { heard, source }: Choice): boolean {
  if (heard.kind !== "nothing") return false;
  if (heard.because === "nobody-leads") return isWhereNobodyMayLead(plan, id, Number(source));
  return heard.because === "both-take" || heard.because === "rate";
}

function told(plan: Plan, graph: ClockGraph, choice: Choice): string {
  const { heard, source } = choice;
  if (heard.kind === "own") return "finds no clock at the ports it lists and runs on its own";
  if (heard.kind === "nothing") {
    if (heard.because === "no-cable") return `lists port ${source}, where no cable ends`;
    if (heard.because === "one-way") return `lists port ${source}, where the cable only leads away`;
    if (heard.because === "leads-itself") return `lists port ${source}, on a network that it leads itself`;
    if (heard.because === "nobody-leads") return `lists port ${source}, on a network where it finds nobody to follow`;
    return `lists port ${source}, where no clock it can use arrives`;
  }
  const { ends, ring } = graph.trace(choice);
  if (ring.length > 0) return `lists port ${source} (${mid(plan, heard.device)}), whose clock comes out of a ring`;
  return ends === null
    ? `lists port ${source} (${mid(plan, heard.device)})`
    : `lists port ${source}, and that clock comes from ${mid(plan, ends)}`;
}

function finding(
  plan: Plan,
  ids: readonly string[],
  leader: string,
  severity: "error" | "warning",
  what: string,
): Finding {
  const isError = severity === "error";
  return {
    rule: "source-misses-leader",
    severity,
    devices: ids,
    links: [],
    path: ["devices", ids[0]!, "clockSources"],
    what,
    why: `Every source of a follower, the first and the next, has to lead back to ${mid(plan, leader)}.`,
    see: isError
      ? "Clicks at regular intervals on what crosses into the rest of the rig; lock lamps may be lit."
      : "Nothing, until the first source goes; then it is on another clock and clicks, or has none.",
    remedy: `${head(plan, ids[0]!)}: list ports through which ${mid(plan, leader)} is heard.`,
  };
}
