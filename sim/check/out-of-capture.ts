/**
 * The clock that a follower is sent lies outside the range it can pull in to. Entered offsets only, warm and at 25 °C.
 * One that would hear that clock through a device that does not take it either is not named: it hears somebody else.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { clockGraph } from "../clock-graph.ts";
import { ppm } from "../tell/words.ts";
import { head, mid } from "./finding.ts";

export function outOfCapture(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  return plan.devices.flatMap((device): Finding[] => {
    const used = graph.used(device.id);
    if (used === null || used.heard.kind !== "device") return [];
    const { ends: leader, through } = graph.trace(used);
    const offset = leader === null ? null : deviceOf(plan, leader).oscillator.offsetPpm;
    if (leader === null || offset === null) return [];
    const takes = (id: string) => Math.abs(offset) <= deviceOf(plan, id).capturePpm;
    if (takes(device.id) || !through.slice(0, -1).every(takes)) return [];
    return [
      {
        rule: "out-of-capture",
        severity: "error",
        devices: [device.id, leader],
        links: [used.heard.link],
        path: ["devices", leader, "oscillator", "offsetPpm"],
        what: `${head(plan, leader)} is ${ppm(offset)} off nominal; ${mid(plan, device.id)} takes no clock more than ${ppm(device.capturePpm)} away.`,
        why: "A clock outside the capture range is not taken, whatever the link.",
        see: `${head(plan, device.id)} goes to its next source, or runs on its own clock; the link itself looks right.`,
        remedy: `Have ${mid(plan, leader)} measured and serviced, or let a device nearer to nominal lead.`,
      },
    ];
  });
}
