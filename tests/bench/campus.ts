/**
 * A campus: desks and boxes on switches that are boundary devices, all switches on one core. The leader goes after two
 * minutes of ten. The same depth for any number of devices, so that work should grow in step with it.
 */
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";

/** End devices on one switch. */
const PER_SWITCH = 24;

export function campus(count: number): Plan {
  const switches = Math.ceil(count / PER_SWITCH);
  const devices: unknown[] = [bridge("core", 4096)];
  const links: unknown[] = [];
  const feeds: unknown[] = [];
  for (let s = 0; s < switches; s++) {
    devices.push(bridge(`sw-${s}`, 32768));
    links.push(cable(`up-${s}`, `core.${s + 1}`, `sw-${s}.${PER_SWITCH + 1}`));
    for (let i = 0; i < PER_SWITCH && s * PER_SWITCH + i < count; i++) {
      const index = s * PER_SWITCH + i;
      const id = `d-${index}`;
      devices.push({
        id,
        clockSources: ["1", "internal"],
        oscillator: { offsetPpm: ((index * 7) % 19) - 9 },
        ptp: index < 2 ? { priority1: 100 + index } : { followerOnly: true },
      });
      links.push(cable(`c-${index}`, `sw-${s}.${i + 1}`, `${id}.1`));
      if (i !== 1) continue;
      links.push({ id: `s-${s}`, type: "aes67", from: `d-${index - 1}.1`, to: `d-${index}.1` });
      feeds.push({ id: `f-${s}`, through: [`d-${index - 1}`, id], channels: 8, heardBy: ["pa"] });
    }
  }
  const file = {
    format: 1,
    title: `A campus of ${count}`,
    run: { length: "00:10:00", seed: "quay-1" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["d-0", "d-1"],
      networks: [{ id: "campus", profile: "aes67", recovery: "rapid-spanning-tree" }],
      devices,
      links,
      feeds,
    },
    events: [{ at: "00:02:00", do: "power-cut", device: "d-0" }],
  };
  const bytes = new TextEncoder().encode(JSON.stringify(file));
  const { plan, issues } = readScenario({ file: "campus.json", bytes }, () => ({ problem: "none" }));
  if (plan === null) throw new Error(JSON.stringify(issues[0]));
  return plan;
}

function bridge(id: string, priority: number): unknown {
  return {
    id,
    kind: "switch",
    clockSources: ["1", "internal"],
    bridge: { timing: "boundary", priority },
    ptp: { priority1: 200 },
    oscillator: { offsetPpm: 1 },
  };
}

function cable(id: string, a: string, b: string): unknown {
  return { id, type: "ethernet", ends: [a, b], lengthMetres: 50 };
}
