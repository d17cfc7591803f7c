/** A device listens to two networks as main and second source, and they are led by different devices. */
import type { Finding } from "../../shared/finding.ts";
import { addTo } from "../../shared/lists.ts";
import type { NetworkPlan, Plan } from "../../shared/plan.ts";
import { meantToLead, rigParts } from "../clock-graph.ts";
import { electionMeant, listsNetwork } from "../network/meant.ts";
import type { Site } from "../network/sites.ts";
import { agree, capital } from "../tell/words.ts";
import { misledNetworks } from "./elected.ts";
import { byText, mid, names, networkWords } from "./finding.ts";

interface Apart {
  readonly networks: readonly [NetworkPlan, NetworkPlan];
  readonly leaders: readonly [string, string];
  readonly devices: string[];
}

export function networksLedApart(plan: Plan): readonly Finding[] {
  const meant = electionMeant(plan);
  const misled = misledNetworks(plan);
  const found = new Map<string, Apart>();
  const listed = new Map<string, Site[]>();
  for (const site of meant.sites) if (listsNetwork(site)) addTo(listed, site.device.id, site);
  for (const [id, unsorted] of listed) {
    const sites = [...unsorted].sort((one, two) => placeInList(one) - placeInList(two));
    for (const [index, one] of sites.entries()) {
      for (const other of sites.slice(index + 1)) {
        const leaders = [meant.leaderOf(one), meant.leaderOf(other)] as const;
        const [first, second] = leaders;
        if (first === null || second === null || first === second || first === id || second === id) continue;
        // Whose clock is the wrong one is told there.
        if (misled.some(({ leader }) => leader === first || leader === second)) continue;
        const key = [one.network.id, other.network.id, first, second].join(" ");
        const apart = found.get(key) ?? {
          networks: [one.network, other.network],
          leaders: [first, second],
          devices: [],
        };
        apart.devices.push(id);
        found.set(key, apart);
      }
    }
  }
  return [...found.keys()].sort(byText).map((key) => findingFor(plan, found.get(key)!));
}

/** Of the first of its ports among the clock sources of its device. */
function placeInList({ device, ports }: Site): number {
  return device.clockSources.findIndex((source) => ports.includes(Number(source)));
}

function findingFor(plan: Plan, { networks: [one, other], leaders: [first, second], devices }: Apart): Finding {
  const leader = meantToLead(plan, rigParts(plan).find((part) => part.includes(first)) ?? []) ?? first;
  const who = names(plan, [...devices].sort(byText));
  return {
    rule: "networks-led-apart",
    severity: "warning",
    devices: [...devices].sort(byText),
    links: [],
    path: ["networks", other.id],
    what: `${capital(who)} ${agree(devices.length > 1, "listens", "listen")} to two networks that are led apart: ${networkWords(one)} by ${mid(plan, first)}, ${networkWords(other)} by ${mid(plan, second)}.`,
    why: "A second network is a second way to the clock only where one device leads both, or what leads one goes on following the other.",
    see: `Nothing, until one network is gone: then ${agree(devices.length > 1, "it is", "they are")} on the clock of ${mid(plan, second)}, and clicks if that has lost ${mid(plan, first)} as well.`,
    remedy: `Bring ${mid(plan, leader)} to both networks, with the lowest priority1, and the next in line as well.`,
  };
}
