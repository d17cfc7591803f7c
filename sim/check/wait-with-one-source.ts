/** A wait before a returned source is trusted, on a device that has no other source to stay on meanwhile. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { duration } from "../tell/words.ts";
import { head } from "./finding.ts";

export function waitWithOneSource(plan: Plan): readonly Finding[] {
  return plan.devices.flatMap((device): Finding[] => {
    const ports = device.clockSources.filter((source) => source !== "internal");
    // One that leads while its source is away has something to stay on: itself.
    const leadsMeanwhile = plan.leaders.includes(device.id) && device.clockSources.includes("internal");
    if (device.waitToRestoreSeconds === 0 || ports.length !== 1 || leadsMeanwhile) return [];
    const wait = duration(device.waitToRestoreSeconds);
    return [
      {
        rule: "wait-with-one-source",
        severity: "warning",
        devices: [device.id],
        links: [],
        path: ["devices", device.id, "waitToRestoreSeconds"],
        what: `${head(plan, device.id)} waits ${wait} before it trusts a returned source (wait-to-restore), and port ${ports[0]} is the only one it has.`,
        why: "The wait is there to stay on a second source that holds; with a single source it only prolongs the loss.",
        see: `After every loss it stays off the clock for ${wait} more than the cable was out, and clicks if it drifts.`,
        remedy: `${head(plan, device.id)}: give it a second source, or set waitToRestoreSeconds to 0.`,
      },
    ];
  });
}
