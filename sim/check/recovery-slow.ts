/** Bridges that find another way by spanning tree, which takes longer than any show can be silent. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { recovery } from "../../shared/recoveries.ts";
import { bridgeCables } from "../network/loops.ts";
import { sitesOf } from "../network/sites.ts";
import { capital, duration } from "../tell/words.ts";
import { byText, networkWords } from "./finding.ts";

export function recoverySlow(plan: Plan): readonly Finding[] {
  const between = bridgeCables(sitesOf(plan));
  return (plan.networks ?? []).flatMap((network): Finding[] => {
    const row = recovery(network.recovery);
    const here = between.filter(({ a }) => a.network.id === network.id);
    if (row.protocol !== "spanning-tree" || here.length === 0) return [];
    const seen = 2 * row.forwardDelaySeconds.value;
    const unseen = seen + row.maxAgeSeconds.value;
    const bridges = [...new Set(here.flatMap(({ a, b }) => [a.device.id, b.device.id]))].sort(byText);
    return [
      {
        rule: "recovery-slow",
        severity: "warning",
        devices: bridges,
        links: [],
        path: ["networks", network.id, "recovery"],
        what: `${capital(networkWords(network))} finds another way by spanning tree, which takes ${duration(seen)} where a bridge sees the break itself and ${duration(unseen)} where it does not.`,
        why: "A port that opens listens and learns first, so that no loop is closed; a cable that comes back costs as much as one that goes.",
        see: `Silence for ${duration(seen)} to ${duration(unseen)} on whatever went that way, and no clock.`,
        remedy:
          "Set rapid spanning tree or a ring profile on every bridge, if all of them have it; or two networks that share nothing, and a spare of every stream on the second.",
      },
    ];
  });
}
