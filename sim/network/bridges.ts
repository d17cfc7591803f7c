/** The bridges of a plan and what decides between them: what their machines are made from, and how all stands at rest. */
import { addTo } from "../../shared/lists.ts";
import type { LinkPlan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import type { BridgeSpec } from "./bridge.ts";
import type { BridgingSpec } from "./bridging.ts";
import { settledForwarding } from "./bridging.ts";
import { waitingVariance } from "./flood.ts";
import type { EthernetCable, Site, Sites } from "./sites.ts";

export interface Bridges {
  readonly bridges: readonly { readonly site: Site; readonly spec: BridgeSpec }[];
  /** One a network with bridges; `members` in the order of its spec. */
  readonly bridging: readonly {
    readonly network: string;
    readonly spec: BridgingSpec;
    readonly members: readonly Site[];
  }[];
  forwards(site: Site, port: number): boolean;
}

export function siteId(site: Site): string {
  return `${site.device.id} ${site.network.id}`;
}

/**
 * @param isAlive devices that work at the moment in question
 * @param carries ethernet cables that are whole and plugged in where they are as the show begins
 */
export function bridgesOf(
  { sites, cables, siteOf }: Sites,
  streams: readonly LinkPlan[],
  isAlive: (device: string) => boolean,
  carries: (link: LinkPlan) => boolean,
): Bridges {
  const uplinks = new Set<string>();
  const up = new Set<string>();
  const edges = new Map<string, Set<string>>();
  for (const cable of cables) {
    const { a, b } = cable.link;
    const isUp = carries(cable.link) && isAlive(a.device) && isAlive(b.device);
    if (isUp) for (const { device, port } of [a, b]) up.add(`${device}.${port}`);
    for (const [ends, others] of [
      [cable.a, cable.b],
      [cable.b, cable.a],
    ] as const) {
      for (const { device, port } of ends) {
        const beyond = others.map((other) => siteOf(other.device, other.port));
        if (beyond.some((site) => site?.isBridge === true)) uplinks.add(`${device}.${port}`);
        const devices = edges.get(`${device}.${port}`) ?? new Set<string>();
        for (const site of beyond) if (site !== undefined) devices.add(site.device.id);
        edges.set(`${device}.${port}`, devices);
      }
    }
  }
  const streamsTo = new Map<string, string[]>();
  for (const { id, b } of streams) addTo(streamsTo, b.device, id);

  const bridging = bridgingOf(sites, cables, siteOf, uplinks, up);
  const open = new Set<string>();
  const flooded = new Set<Site>();
  for (const { spec, members } of bridging) {
    for (const [index, { ports, isFlooded }] of settledForwarding(spec).entries()) {
      const site = members[index] as Site;
      if (isFlooded) flooded.add(site);
      for (const port of ports) open.add(`${site.device.id}.${port}`);
    }
  }

  const isEdge = (device: string, port: number): boolean => !uplinks.has(`${device}.${port}`);
  const bridges = sites
    .filter((site) => site.isBridge)
    .map((site) => {
      const { id, bridge } = site.device;
      const spec: BridgeSpec = {
        id: `bridge ${siteId(site)}`,
        device: id,
        ports: site.ports,
        timing: bridge?.timing ?? "plain",
        residenceSeconds: bridge?.residenceSeconds ?? 0,
        varianceSeconds2: waitingVariance(site),
        isUplink: site.ports.map((port) => !isEdge(id, port)),
        inner: site.attachments.length,
        // Behind an edge is one device, which gets what is meant for it; between bridges all may pass.
        streamsOut: site.ports.map((port) =>
          isEdge(id, port)
            ? new Set([...(edges.get(`${id}.${port}`) ?? [])].flatMap((device) => streamsTo.get(device) ?? []))
            : null,
        ),
        begin: {
          alive: isAlive(id),
          up: site.ports.filter((port) => up.has(`${id}.${port}`)),
          forwarding: site.ports.filter((port) => open.has(`${id}.${port}`)),
          isFlooded: flooded.has(site),
        },
      };
      return { site, spec };
    });
  return {
    bridges,
    bridging,
    forwards: (site, port) =>
      !flooded.has(site) && (isEdge(site.device.id, port) || open.has(`${site.device.id}.${port}`)),
  };
}

function bridgingOf(
  sites: readonly Site[],
  cables: readonly EthernetCable[],
  siteOf: Sites["siteOf"],
  uplinks: ReadonlySet<string>,
  up: ReadonlySet<string>,
): Bridges["bridging"] {
  const byNetwork = new Map<string, Site[]>();
  for (const site of sites) if (site.isBridge) addTo(byNetwork, site.network.id, site);
  return [...byNetwork.keys()].sort().map((network) => {
    const members = byNetwork.get(network) as Site[];
    const indexOf = new Map(members.map((site, index) => [site, index]));
    const between: BridgingSpec["cables"][number][] = [];
    for (const { link, a, b } of cables) {
      for (const from of a) {
        for (const to of b) {
          const one = siteOf(from.device, from.port);
          const other = siteOf(to.device, to.port);
          const first = one === undefined ? undefined : indexOf.get(one);
          const second = other === undefined ? undefined : indexOf.get(other);
          if (first === undefined || second === undefined) continue;
          between.push({
            link: link.id,
            a: { bridge: first, port: from.port },
            b: { bridge: second, port: to.port },
            noticeNs: nsFromSeconds(link.noticeSeconds),
          });
        }
      }
    }
    const spec: BridgingSpec = {
      id: `bridging ${network}`,
      recovery: (members[0] as Site).network.recovery,
      bridges: members.map(({ device }) => ({ device: device.id, priority: device.bridge?.priority ?? 0 })),
      cables: between,
      begin: {
        neighbours: members.map(({ device, ports }) =>
          ports.filter((port) => uplinks.has(`${device.id}.${port}`) && up.has(`${device.id}.${port}`)),
        ),
      },
    };
    return { network, spec, members };
  });
}
