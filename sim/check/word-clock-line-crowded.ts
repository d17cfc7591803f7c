/** Many devices on one T-ed word-clock line. */
import type { Finding } from "../../shared/finding.ts";
import { cableOf, isWholeCable } from "../../shared/lines.ts";
import type { Plan } from "../../shared/plan.ts";
import { capital, theCableIn } from "../tell/words.ts";
import { mid, names } from "./finding.ts";

/** "Two or three on a line at most": trade magazines on word-clock distribution. The sender does not count. */
const TAPS_MOST = 3;

export function wordClockLineCrowded(plan: Plan): readonly Finding[] {
  return plan.links.filter(isWholeCable).flatMap((link): Finding[] => {
    const taps = link.line?.taps ?? [];
    if (taps.length <= TAPS_MOST) return [];
    const id = cableOf(link);
    return [
      {
        rule: "word-clock-line-crowded",
        severity: "advice",
        devices: [...taps].sort(),
        links: [id],
        path: ["links", id, "to"],
        what: `${capital(theCableIn(plan, id))} of ${mid(plan, link.a.device)} feeds ${taps.length} devices: ${names(plan, taps)}.`,
        why: "Every T-piece and every input takes a little of the edge, and the last ones get what is left.",
        see: `The lock of ${mid(plan, taps.at(-1) as string)} may come and go, and that of others near the end of the line.`,
        remedy: `Leave three of them on the line at most; the others get leads of their own from ${mid(plan, link.a.device)} or from a distributor.`,
      },
    ];
  });
}
