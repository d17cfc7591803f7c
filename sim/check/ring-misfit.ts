/** A ring profile on bridges that are no single ring, or on more of them than the profile is good for. */
import type { Finding } from "../../shared/finding.ts";
import type { NetworkPlan, Plan } from "../../shared/plan.ts";
import type { RingRecovery } from "../../shared/recoveries.ts";
import { recovery } from "../../shared/recoveries.ts";
import { bridgeCables } from "../network/loops.ts";
import type { Site } from "../network/sites.ts";
import { sitesOf } from "../network/sites.ts";
import { ringsOf } from "../network/tree.ts";
import { capital, counted } from "../tell/words.ts";
import { byText, networkWords } from "./finding.ts";

export function ringMisfit(plan: Plan): readonly Finding[] {
  const sites = sitesOf(plan);
  return (plan.networks ?? []).flatMap((network): Finding[] => {
    const row = recovery(network.recovery);
    if (row.protocol !== "ring") return [];
    const bridges = sites.sites.filter((site) => site.isBridge && site.network.id === network.id);
    if (bridges.length < 2) return [];
    const cables = bridgeCables(sites).filter(({ a }) => a.network.id === network.id);
    const end = (bridge: Site, port: number) => ({ bridge: bridges.indexOf(bridge), port });
    const rings = ringsOf(
      bridges.length,
      cables.map(({ link, a, b }) => ({ id: link.id, a: end(a, link.a.port), b: end(b, link.b.port) })),
    );
    const ids = bridges.map(({ device }) => device.id).sort(byText);
    if (rings.length !== 1 || rings[0]!.length !== bridges.length) return [noRing(network, row, ids)];
    const most = row.bridgesMax?.value ?? null;
    return most === null || bridges.length <= most ? [] : [tooMany(network, row, ids, most)];
  });
}

function noRing(network: NetworkPlan, row: RingRecovery, devices: readonly string[]): Finding {
  return {
    ...shared(network, devices),
    what: `${capital(networkWords(network))} is set to "${row.words}", and its ${counted(devices.length, "bridge", "bridges")} are not one ring.`,
    why: "In a ring every bridge has two neighbours and all are in it; the profile's time is for nothing else.",
    see: "When a cable goes, what hangs on it is cut off, or comes back after a time that nobody knows.",
    remedy: "Close the ring through every bridge, in and out once each, or set rapid spanning tree.",
  };
}

function tooMany(network: NetworkPlan, row: RingRecovery, devices: readonly string[], most: number): Finding {
  return {
    ...shared(network, devices),
    what: `The ring of ${networkWords(network)} has ${counted(devices.length, "bridge", "bridges")}; its profile (${row.words}) is for ${most} at most.`,
    why: "The test packets of a ring pass every bridge in it, and with more of them they come round too late.",
    see: "After a break the ring takes longer than its profile says; or it opens and closes without one.",
    remedy: "Use a slower profile, or make two rings of it.",
  };
}

function shared({ id }: NetworkPlan, devices: readonly string[]) {
  return {
    rule: "ring-misfit",
    severity: "warning",
    devices,
    links: [],
    path: ["networks", id, "recovery"],
  } as const;
}
