/** Devices that are, when all is well, on the time of a network, and the way by which it comes. */
import type { Plan } from "../../shared/plan.ts";
import { clockGraph } from "../clock-graph.ts";
import type { NetworkPath } from "../mail.ts";
import { electionMeant } from "../network/meant.ts";
import type { Site } from "../network/sites.ts";

export interface NetworkFollower {
  readonly site: Site;
  /** From whom its time comes. */
  readonly parent: string;
  readonly path: NetworkPath;
}

export function networkFollowers(plan: Plan): readonly NetworkFollower[] {
  const meant = electionMeant(plan);
  const graph = clockGraph(plan);
  return meant.sites.flatMap((site): NetworkFollower[] => {
    const heard = graph.used(site.device.id)?.heard;
    const path = meant.pathTo(site);
    if (heard?.kind !== "device" || heard.network !== site.network.id || path === null) return [];
    return [{ site, parent: heard.device, path }];
  });
}
