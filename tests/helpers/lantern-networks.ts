/** Two desks and a stage box on two networks at Lantern Quay, as a file in which a test may change anything. */
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";

export function lanternNetworks() {
  return {
    format: 1,
    title: "Two networks at Lantern Quay",
    run: { length: "00:20:00", seed: "quay-1" },
    rig: {
      sampleRateHz: 48_000,
      leaders: ["foh"],
      networks: [
        { id: "red", name: "Red network", profile: "aes67", recovery: "rapid-spanning-tree" },
        { id: "blue", name: "Blue network", profile: "aes67" },
      ],
      devices: [
        {
          id: "foh",
          name: "FOH desk",
          kind: "desk",
          clockSources: ["internal"],
          oscillator: { offsetPpm: 4.2 },
          ptp: { priority1: 100 },
        },
        {
          id: "mon",
          name: "Monitor desk",
          kind: "desk",
          clockSources: ["1", "internal"],
          oscillator: { offsetPpm: -2.1 },
          ptp: { priority1: 110 },
        },
        {
          id: "stage",
          name: "Stage box",
          kind: "stage-box",
          clockSources: ["1", "2"],
          oscillator: { offsetPpm: -6.3 },
          ptp: { followerOnly: true },
        },
        { id: "sw-foh", name: "Switch at FOH", kind: "switch" },
        { id: "sw-stage", name: "Switch on stage", kind: "switch", bridge: { timing: "boundary", priority: 4096 } },
        { id: "sw-blue", name: "Blue switch", kind: "switch", bridge: { timing: "transparent" } },
      ] as Record<string, unknown>[],
      links: [
        { id: "foh-red", type: "ethernet", network: "red", ends: ["foh.1", "sw-foh.1"] },
        { id: "mon-red", type: "ethernet", network: "red", ends: ["mon.1", "sw-stage.2"] },
        { id: "stage-red", type: "ethernet", network: "red", ends: ["stage.1", "sw-stage.1"] },
        trunk("trunk", 24, "stage-left wall"),
        trunk("trunk-2", 23, "stage-right wall"),
        { id: "foh-blue", type: "ethernet", network: "blue", ends: ["foh.2", "sw-blue.1"] },
        { id: "stage-blue", type: "ethernet", network: "blue", ends: ["stage.2", "sw-blue.2"] },
        { id: "up", type: "aes67", from: "stage.1", to: "foh.1", channels: 32 },
        { id: "up-blue", type: "aes67", from: "stage.2", to: "foh.2", channels: 32 },
        { id: "ears", type: "st2110-30", from: "stage.1", to: "mon.1", channels: 16, packetMicroseconds: 125 },
      ] as Record<string, unknown>[],
      feeds: [
        { id: "pa-mix", through: ["stage", "foh"], channels: 16, over: ["up"], heardBy: ["pa"] },
        { id: "ears-mix", through: ["stage", "mon"], channels: 16, heardBy: ["in-ears"] },
      ],
    },
    events: [] as object[],
  };
}

function trunk(id: string, port: number, path: string) {
  return { id, type: "ethernet", network: "red", ends: [`sw-foh.${port}`, `sw-stage.${port}`], laidAlong: [path] };
}

export type LanternFile = ReturnType<typeof lanternNetworks>;

/** With what happens, and with changes to the file. */
export function lanternPlan(events: readonly object[], change: (file: LanternFile) => void = () => {}): Plan {
  const file = lanternNetworks();
  file.events.push(...events);
  change(file);
  const bytes = new TextEncoder().encode(JSON.stringify(file));
  const { plan, issues } = readScenario({ file: "lantern.json", bytes }, () => ({ problem: "there is none" }));
  if (plan === null) throw new Error(JSON.stringify(issues));
  return plan;
}
