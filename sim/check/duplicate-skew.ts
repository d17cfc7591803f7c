/** Duplicates that arrive further apart than their receiver can put together without a gap. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import { arrivalSeconds } from "../latency.ts";
import { byText } from "./finding.ts";
import { micros } from "./micros.ts";

export function duplicateSkew(plan: Plan): readonly Finding[] {
  return plan.spares.flatMap((spare): Finding[] => {
    if (spare.mode !== "duplicate") return [];
    const links = spare.links.map((id) => linkOf(plan, id));
    const seconds = links.map((link) => arrivalSeconds(plan, link));
    const skewSeconds = Math.max(...seconds) - Math.min(...seconds);
    const windowSeconds = spare.windowSeconds ?? 0;
    // As near as a nanosecond is the same to a receiver.
    if (skewSeconds <= windowSeconds + 1e-9) return [];
    const slowest = links[seconds.indexOf(Math.max(...seconds))]!;
    return [
      {
        rule: "duplicate-skew",
        severity: "warning",
        devices: [],
        links: links.map(({ id }) => id).sort(byText),
        path: ["spares", spare.id],
        what: `The duplicates ${spare.links.join(" and ")} arrive ${micros(skewSeconds)} apart, and their receiver bridges ${micros(windowSeconds)}.`,
        why: "To go over from one to the other without a gap, a receiver holds the earlier one back until the later one is there, as far as its window goes.",
        see: `A gap of ${micros(skewSeconds)} when one of them goes, and another when it comes back.`,
        remedy: `Give ${slowest.id} a shorter way or shorter packets, or the receiver a wider window, which costs delay.`,
      },
    ];
  });
}
