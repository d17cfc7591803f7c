/** Devices that listen to one another in a circle: at once, or as soon as the leader is gone. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import type { ClockGraph } from "../clock-graph.ts";
import { clockGraph, meantToLead, rigParts } from "../clock-graph.ts";
import { capital } from "../tell/words.ts";
import { circleWords, head, linksOfRing, mid, names } from "./finding.ts";

export function ringOfSources(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  const now = new Set(graph.rings.map((ring) => ring.join(" ")));
  const found = graph.rings.map((ring) => findingFor(plan, graph, ring, null));
  for (const part of rigParts(plan)) {
    const leader = meantToLead(plan, part);
    if (leader === null || part.length < 3) continue;
    const later = clockGraph(plan, leader);
    for (const ring of later.rings) {
      if (now.has(ring.join(" ")) || !part.includes(ring[0]!)) continue;
      found.push(findingFor(plan, later, ring, leader));
    }
  }
  return found;
}

function findingFor(plan: Plan, graph: ClockGraph, ring: readonly string[], gone: string | null): Finding {
  const circle = circleWords(plan, ring);
  const shared = {
    rule: "ring-of-sources",
    devices: ring,
    links: linksOfRing(graph, ring),
    path: ["devices", ring[0]!, "clockSources"],
    see: "Lock lamps may be lit all round and nothing clicks inside the ring; whatever is outside it clicks, more and more often.",
  };
  if (gone !== null) {
    return {
      ...shared,
      severity: "warning",
      what: `When ${mid(plan, gone)} is gone, sources form a ring: ${circle}.`,
      why: "Each waits for the other's clock; with nobody on its own clock, the delay of the cables pulls all of them away from nominal.",
      remedy: `Let one of ${names(plan, ring)} be next to lead: "internal" as its second source instead of that port.`,
    };
  }
  return {
    ...shared,
    severity: "error",
    what: `Sources form a ring: ${circle}.`,
    why: "Nobody in the ring runs on its own clock; the delay of the cables pulls all of them away from nominal until they cannot go further.",
    remedy: plan.leaders.some((id) => ring.includes(id))
      ? `${capital(head(plan, plan.leaders.find((id) => ring.includes(id))!))} is meant to lead: put "internal" first in its clock sources.`
      : `Let one of them listen to a port that leads back to the leader by another way.`,
  };
}
