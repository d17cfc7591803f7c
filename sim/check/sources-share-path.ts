/** The first two sources of a device come over cables laid along the same thing. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import { clockGraph, runsOnOwnClock, sourcesHeard } from "../clock-graph.ts";
import { cable, listed, path } from "../tell/words.ts";
import { cableHead, head, mid, sharedPaths } from "./finding.ts";

export function sourcesSharePath(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  return plan.devices
    .filter((device) => !runsOnOwnClock(device))
    .flatMap((device): Finding[] => {
      const links = sourcesHeard(graph, device.id).map(({ link }) => link);
      const [first, second] = [...new Set(links)];
      if (first === undefined || second === undefined) return [];
      const along = sharedPaths(linkOf(plan, first), linkOf(plan, second)).map(path);
      if (along.length === 0) return [];
      return [
        {
          rule: "sources-share-path",
          severity: "warning",
          devices: [device.id],
          links: [first, second].sort(),
          path: ["links", second, "laidAlong"],
          what: `${head(plan, device.id)} has two clock sources, and both come along ${listed(along)}: ${cable(first)} and ${cable(second)}.`,
          why: "What takes one cable there takes the other: the second source is gone when it is needed.",
          see: `Nothing, until ${along[0]} is hit; then ${mid(plan, device.id)} loses both sources at once.`,
          remedy: `${cableHead(second)}: lay it along another path.`,
        },
      ];
    });
}
