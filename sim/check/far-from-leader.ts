/** A clock that passes many devices on its way from the leader, boundary devices among them. One finding for each leader, about those farthest away. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { clockGraph, meantToLead, rigParts } from "../clock-graph.ts";
import { agree, capital, counted } from "../tell/words.ts";
import { head, mid, names } from "./finding.ts";

/** Cables between leader and follower; both numbers *common practice, no source*. */
const ADVICE_ABOVE = 2;
const WARNING_ABOVE = 4;

export function farFromLeader(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  return rigParts(plan).flatMap((part): Finding[] => {
    const leader = meantToLead(plan, part);
    if (leader === null) return [];
    const hops = new Map<string, number>();
    const onNetworks = new Set<string>();
    for (const id of part) {
      const used = graph.used(id);
      if (used === null || id === leader) continue;
      const { ends, through } = graph.trace(used);
      if (ends === leader) hops.set(id, through.length);
      if (used.heard.kind === "device" && used.heard.network !== null) onNetworks.add(id);
    }
    const most = Math.max(0, ...hops.values());
    if (most <= ADVICE_ABOVE) return [];
    const far = [...hops.keys()].filter((id) => hops.get(id) === most).sort();
    const isOne = far.length === 1;
    const isByCable = part.every((id) => !onNetworks.has(id));
    const [over, near] = isByCable
      ? [
          counted(most, "cable", "cables"),
          `over a cable of ${isOne ? "its" : "their"} own or from a word-clock distributor`,
        ]
      : [counted(most, "step", "steps"), "or let bridges on the way be transparent: they are no step of their own"];
    return [
      {
        rule: "far-from-leader",
        severity: most > WARNING_ABOVE ? "warning" : "advice",
        devices: far,
        links: [],
        path: ["devices", far[0]!, "clockSources"],
        what: `The clock of ${mid(plan, leader)} reaches ${names(plan, far)} over ${over} and through ${counted(most - 1, "device", "devices")}.`,
        why: "Every device and every cable on the way can take the clock from all behind it, and each adds its own swing.",
        see: `When one on the way starts again, ${names(plan, far)} ${agree(!isOne, "goes", "go")} off the clock with it.`,
        remedy: `${isOne ? head(plan, far[0]!) : capital(names(plan, far))}: take the clock from nearer to ${mid(plan, leader)}, ${near}.`,
      },
    ];
  });
}
