/**
 * Where a plan's networks are: which device is on which network by which ports, and what is plugged in there at some
 * time. Read from the plan alone, before anything is played.
 */
import type { DevicePlan, EthernetPlan, LinkPlan, NetworkPlan, Plan } from "../../shared/plan.ts";

/** A device on a network. */
export interface Site {
  readonly device: DevicePlan;
  readonly network: NetworkPlan;
  /** Ethernet ports on this network, ascending. */
  readonly ports: readonly number[];
  /**
   * Where packets end in it: the port of each attachment. A bridge that is no boundary has one, by its lowest port;
   * every other device has one for each port.
   */
  readonly attachments: readonly number[];
  /** It passes packets on. */
  readonly isBridge: boolean;
  /** It follows on one port and leads on others. */
  readonly isBoundary: boolean;
  /** It has a clock that announces itself or follows; a switch that only passes packets on has none. */
  readonly isInElection: boolean;
}

/** Where one end of an ethernet cable is, or will be plugged in. */
export interface EthernetSocket {
  readonly device: string;
  readonly port: number;
}

export interface EthernetCable {
  readonly link: LinkPlan;
  readonly ethernet: EthernetPlan;
  /** Places of each end: where it is as the show begins, then where events plug it in. */
  readonly a: readonly EthernetSocket[];
  readonly b: readonly EthernetSocket[];
}

export interface Sites {
  /** By device id, then network id. */
  readonly sites: readonly Site[];
  readonly cables: readonly EthernetCable[];
  /** The site that an ethernet port belongs to. */
  siteOf(device: string, port: number): Site | undefined;
}

/** A plan never changes, and many ask: made once for each. */
const known = new WeakMap<Plan, Sites>();

export function sitesOf(plan: Plan): Sites {
  const there = known.get(plan);
  if (there !== undefined) return there;
  const made = makeSites(plan);
  known.set(plan, made);
  return made;
}

function makeSites(plan: Plan): Sites {
  const networks = new Map((plan.networks ?? []).map((network) => [network.id, network]));
  const cables = plan.links.flatMap((link): EthernetCable[] =>
    link.ethernet === undefined
      ? []
      : [{ link, ethernet: link.ethernet, a: socketsOf(plan, link, "a"), b: socketsOf(plan, link, "b") }],
  );
  const portsOf = new Map<string, Map<string, Set<number>>>();
  for (const { ethernet, a, b } of cables) {
    for (const { device, port } of [...a, ...b]) {
      const byNetwork = portsOf.get(device) ?? new Map<string, Set<number>>();
      portsOf.set(device, byNetwork);
      byNetwork.set(ethernet.network, (byNetwork.get(ethernet.network) ?? new Set()).add(port));
    }
  }
  const sites: Site[] = [];
  const byPort = new Map<string, Site>();
  for (const device of plan.devices) {
    for (const [id, numbers] of [...(portsOf.get(device.id) ?? [])].sort(([one], [two]) => (one < two ? -1 : 1))) {
      const network = networks.get(id);
      if (network === undefined) continue;
      const ports = [...numbers].sort((one, two) => one - two);
      const isBridge = device.bridge !== undefined && ports.length > 1;
      const isBoundary = isBridge && device.bridge?.timing === "boundary";
      const attachments = isBridge && !isBoundary ? ports.slice(0, 1) : ports;
      const isInElection = device.ptp !== undefined && (device.kind !== "switch" || isBoundary);
      const site: Site = { device, network, ports, attachments, isBridge, isBoundary, isInElection };
      sites.push(site);
      for (const port of ports) byPort.set(`${device.id}.${port}`, site);
    }
  }
  return { sites, cables, siteOf: (device, port) => byPort.get(`${device}.${port}`) };
}

function socketsOf(plan: Plan, link: LinkPlan, end: "a" | "b"): EthernetSocket[] {
  const { device, port } = link[end];
  const ports = [port];
  for (const event of plan.events) {
    if (event.do !== "plug" || event.link !== link.id || event.end !== end || event.into === null) continue;
    if (!ports.includes(event.into)) ports.push(event.into);
  }
  return ports.map((each) => ({ device, port: each }));
}
