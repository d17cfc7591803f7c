/** The machines of a plan's networks: bridges, what decides between them, and the nodes that elect a leader. */
import type { Signal } from "../../shared/flow.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { FLOW_PORT, STATUS_PORT } from "../device/tell.ts";
import type { Machine } from "../machine.ts";
import type { Mail, Order, Status } from "../mail.ts";
import type { NetworksAtStart } from "./at-start.ts";
import { makeBridge } from "./bridge.ts";
import { siteId } from "./bridges.ts";
import { makeBridging } from "./bridging.ts";
import type { NodeSpec } from "./node.ts";
import { makeNode } from "./node.ts";
import type { Site } from "./sites.ts";

type AnyMachine = Machine<unknown, Order, Mail>;

/** A wire between two machines, by their ids. */
export interface WireDraft {
  readonly from: string;
  readonly out: number;
  readonly to: string;
  readonly port: number;
}

export interface NetworkMachines {
  readonly machines: readonly AnyMachine[];
  readonly wires: readonly WireDraft[];
  /** Out-ports of each machine, by its id: some may lead nowhere. */
  readonly outs: ReadonlyMap<string, number>;
}

export interface Surroundings {
  readonly timebases: readonly Timebase[];
  readonly said: ReadonlyMap<string, Signal | null>;
  statusOf(device: string): Status;
  /** In-ports of a device's machine at which these ports are listened to. */
  inPortsOf(device: string, ports: readonly number[]): readonly number[];
}

export function networkMachines(networks: NetworksAtStart, around: Surroundings): NetworkMachines {
  const { bridges, sites } = networks;
  const machines: AnyMachine[] = [];
  const wires: WireDraft[] = [];
  const outs = new Map<string, number>();
  for (const { site, spec } of bridges.bridges) {
    machines.push(makeBridge(spec) as AnyMachine);
    const k = site.ports.length;
    outs.set(spec.id, k + 1 + spec.inner);
    wires.push({ from: `device ${site.device.id}`, out: STATUS_PORT, to: spec.id, port: k });
  }
  for (const { spec, members } of bridges.bridging) {
    machines.push(makeBridging(spec) as AnyMachine);
    outs.set(spec.id, members.length);
    for (const [index, site] of members.entries()) {
      const k = site.ports.length;
      wires.push({ from: spec.id, out: index, to: bridgeId(site), port: k + 1 });
      wires.push({ from: bridgeId(site), out: k, to: spec.id, port: index });
    }
  }
  for (const site of sites.sites) {
    if (!site.isInElection) continue;
    const spec = networks.nodeSpec(site, around.timebases, around.said, around.statusOf(site.device.id));
    machines.push(makeNode(spec) as AnyMachine);
    outs.set(spec.id, 1 + spec.ports.length + spec.streamsIn.length);
    wires.push(...nodeWires(site, spec, around.inPortsOf(site.device.id, site.ports)));
  }
  for (const { link, a, b } of sites.cables) {
    const sockets = [...a, ...b];
    for (const [index, { device, port }] of sockets.entries()) {
      const site = sites.siteOf(device, port);
      if (site === undefined) continue;
      const place = placeOf(site, port);
      if (place === null) continue;
      const cable = `link ${link.id} both`;
      wires.push({ from: cable, out: index, to: place.id, port: place.inPort });
      wires.push({ from: place.id, out: place.outPort, to: cable, port: index });
    }
  }
  return { machines, wires, outs };
}

function bridgeId(site: Site): string {
  return `bridge ${siteId(site)}`;
}

/** What an ethernet cable ends in: a bridge, or a node; null where nothing listens. */
function placeOf(site: Site, port: number): { id: string; inPort: number; outPort: number } | null {
  if (site.isBridge) {
    const index = site.ports.indexOf(port);
    return { id: bridgeId(site), inPort: index, outPort: index };
  }
  if (!site.isInElection) return null;
  const attachment = site.attachments.indexOf(port) + 1;
  return { id: `node ${siteId(site)}`, inPort: attachment, outPort: attachment };
}

function nodeWires(site: Site, spec: NodeSpec, inPorts: readonly number[]): WireDraft[] {
  const { id } = spec;
  const device = `device ${site.device.id}`;
  const attachments = spec.ports.length;
  const wires: WireDraft[] = [
    // Who never leads says nobody what its own clock does.
    ...(spec.ptp.followerOnly && !site.isBoundary ? [] : [{ from: device, out: FLOW_PORT, to: id, port: 0 }]),
    { from: device, out: STATUS_PORT, to: id, port: 0 },
    ...inPorts.map((port) => ({ from: id, out: 0, to: device, port })),
    // The port number at the stream's end says nothing: there is one thing to be said.
    ...spec.streamsIn.map((link, index) => ({
      from: id,
      out: attachments + 1 + index,
      to: `link ${link} there`,
      port: 1,
    })),
  ];
  if (!site.isBridge) return wires;
  const k = site.ports.length;
  for (let attachment = 0; attachment < attachments; attachment++) {
    wires.push({ from: bridgeId(site), out: k + 1 + attachment, to: id, port: attachment + 1 });
    wires.push({ from: id, out: attachment + 1, to: bridgeId(site), port: k + 2 + attachment });
  }
  return wires;
}
