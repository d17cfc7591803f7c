/** The two ends of a link run at different sample rates. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf, head, mid } from "./finding.ts";

export function rateMismatch(plan: Plan): readonly Finding[] {
  return plan.links.flatMap((link): Finding[] => {
    const [a, b] = [deviceOf(plan, link.a.device), deviceOf(plan, link.b.device)];
    if (a.sampleRateHz === b.sampleRateHz) return [];
    const odd = a.sampleRateHz === plan.sampleRateHz ? b : a;
    return [
      {
        rule: "rate-mismatch",
        severity: "error",
        devices: [a.id, b.id].sort(),
        links: [link.id],
        path: ["devices", odd.id, "sampleRateHz"],
        what: `${head(plan, a.id)} is at ${kilohertz(a.sampleRateHz)}, ${mid(plan, b.id)} at ${kilohertz(b.sampleRateHz)}; link ${link.id} joins them.`,
        why: "A receiver takes neither audio nor clock from a sender at another sample rate.",
        see: "Silence, or noise, on what crosses this link; neither end can follow the other.",
        remedy: `${head(plan, odd.id)}: set its sample rate to ${kilohertz(plan.sampleRateHz)}, or put a sample-rate converter between them.`,
      },
    ];
  });
}

/** 44100 → "44.1 kHz". */
export function kilohertz(rateHz: number): string {
  return `${rateHz / 1000} kHz`;
}
