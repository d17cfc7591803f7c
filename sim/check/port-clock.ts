/** Links where one end gives and the other takes (AES50): what both ends are set to. */
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { clockGraph, meantToLead, portClock, rigParts } from "../clock-graph.ts";

export function endsThatBoth(plan: Plan, set: "give" | "take"): readonly LinkPlan[] {
  return plan.links.filter(
    (link) =>
      link.clockIsAgreed &&
      portClock(deviceOf(plan, link.a.device), link.a.port) === set &&
      portClock(deviceOf(plan, link.b.device), link.b.port) === set,
  );
}

/**
 * Which end ought to give: the one that listens to nobody over this link and stands nearer to the leader, its end `a`
 * where neither tells.
 */
export function endToGive(plan: Plan, link: LinkPlan): "a" | "b" {
  const part = rigParts(plan).find((ids) => ids.includes(link.a.device)) ?? [];
  const leader = meantToLead(plan, part);
  if (link.a.device === leader) return "a";
  if (link.b.device === leader) return "b";
  const lists = (end: "a" | "b") => deviceOf(plan, link[end].device).clockSources.includes(String(link[end].port));
  if (lists("a") !== lists("b")) return lists("a") ? "b" : "a";
  const graph = clockGraph(plan);
  const steps = (end: "a" | "b") => {
    const used = graph.used(link[end].device);
    const trace = used === null ? null : graph.trace(used);
    return trace !== null && trace.ends === leader ? trace.through.length : Number.MAX_SAFE_INTEGER;
  };
  return steps("b") < steps("a") ? "b" : "a";
}
