/** Cables between the bridges of a network form a loop, and the network has no recovery that would hold one back. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { loopedCables } from "../network/loops.ts";
import { sitesOf } from "../network/sites.ts";
import { cables, capital } from "../tell/words.ts";
import { byText, networkWords } from "./finding.ts";

export function networkLoop(plan: Plan): readonly Finding[] {
  const looped = loopedCables(sitesOf(plan), ({ atStart }) => atStart === "plugged");
  return (plan.networks ?? [])
    .filter(({ recovery }) => recovery === "none")
    .flatMap((network): Finding[] => {
      const here = looped.filter(({ a }) => a.network.id === network.id);
      if (here.length === 0) return [];
      const links = here.map(({ link }) => link.id).sort(byText);
      const bridges = [...new Set(here.flatMap(({ a, b }) => [a.device.id, b.device.id]))].sort(byText);
      return [
        {
          rule: "network-loop",
          severity: "error",
          devices: bridges,
          links,
          path: ["networks", network.id],
          what: `${capital(cables(links))} form a loop on ${networkWords(network)}, which has no recovery.`,
          why: "Packets to all go round a loop for ever and multiply until nothing else gets through: a storm.",
          see: "Everything on that network silent and off the clock at once, the lamps of all its ports flickering together.",
          remedy: `Set a recovery on every bridge of ${networkWords(network)} before the loop is closed, or leave one of these cables unplugged as a spare by hand.`,
        },
      ];
    });
}
