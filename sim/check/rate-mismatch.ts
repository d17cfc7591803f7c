/** The two ends of a link run at different sample rates, and no converter at the receiving end bridges them. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { bridges, converterAt, waysOf } from "../converted.ts";
import { agree, isPlural, kilohertz } from "../tell/words.ts";
import { head, mid } from "./finding.ts";

export function rateMismatch(plan: Plan): readonly Finding[] {
  return plan.links.flatMap((link): Finding[] => {
    // Packets are the same at any sample rate; what is in them is a stream's affair.
    if (link.ethernet !== undefined) return [];
    const [a, b] = [deviceOf(plan, link.a.device), deviceOf(plan, link.b.device)];
    if (a.sampleRateHz === b.sampleRateHz) return [];
    const unbridged = waysOf(link).filter(({ to }) => {
      const converter = converterAt(deviceOf(plan, to.device), to.port);
      return converter === null || !bridges(converter, a.sampleRateHz, b.sampleRateHz);
    });
    const [way] = unbridged;
    if (way === undefined) return [];
    const odd = a.sampleRateHz === plan.sampleRateHz ? b : a;
    const rates = `${head(plan, a.id)} is at ${kilohertz(a.sampleRateHz)}, ${mid(plan, b.id)} at ${kilohertz(b.sampleRateHz)}`;
    const isHalf = unbridged.length < waysOf(link).length;
    const receiver = deviceOf(plan, way.to.device);
    const converter = converterAt(receiver, way.to.port);
    return [
      {
        rule: "rate-mismatch",
        severity: "error",
        devices: [a.id, b.id].sort(),
        links: [link.id],
        path: ["devices", odd.id, "sampleRateHz"],
        what: `${rates}; ${link.stream === undefined ? "link" : "stream"} ${link.id} joins them${converter === null ? "" : `, and the converter at port ${way.to.port} of ${mid(plan, receiver.id)} bridges no more than ${converter.ratioMax} to 1`}.`,
        why: isHalf
          ? "A receiver takes nothing from a sender at another sample rate; a converter bridges the two the other way only."
          : `A receiver takes ${link.stream === undefined ? "neither audio nor clock" : "no audio"} from a sender at another sample rate.`,
        see: isHalf
          ? `Silence, or noise, on what ${mid(plan, receiver.id)} ${agree(isPlural(receiver.name), "takes", "take")} over this link.`
          : `Silence, or noise, on what crosses this ${link.stream === undefined ? "link; neither end can follow the other" : "stream"}.`,
        remedy: `${head(plan, odd.id)}: set its sample rate to ${kilohertz(plan.sampleRateHz)}, or put a sample-rate converter between them.`,
      },
    ];
  });
}
