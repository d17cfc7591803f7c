/**
 * How an election stands when all is quiet: who leads, who follows whom, what each port announces. Found as the devices
 * find it, without the time that it takes: all announce themselves, each decides by what it hears, and whoever says
 * something else then has those who hear it decide anew, until nobody does.
 *
 * Work: each decision looks at those who announce on the device's segments, and on a segment at rest that is one.
 */
import type { PtpPlan } from "../../shared/plan.ts";
import { CLASS_NEVER_FOLLOWS, TOO_MANY_STEPS } from "../../shared/ptp-profiles.ts";
import type { PortRole } from "../../shared/record.ts";
import type { Candidate } from "./compare.ts";
import { bestOf } from "./compare.ts";
import { decide } from "./decide.ts";
import type { Announced } from "./own-data.ts";
import { announcesItself, inNameOf, isSameAnnounced, ownCandidate, passesOn } from "./own-data.ts";

export interface RestNode {
  readonly device: string;
  readonly ptp: PtpPlan;
  /** The present one. */
  readonly clockClass: number;
  /** False: it never follows, though it may announce. */
  readonly takes: boolean;
  /** Each attachment is a port of its own in the election; else all of them are one. */
  readonly isBoundary: boolean;
  readonly attachments: readonly RestAttachment[];
}

export interface RestAttachment {
  readonly port: number;
  /** Which ports hear each other's clock frames; null: nothing arrives here. */
  readonly segment: number | null;
}

export interface RestPort {
  readonly role: PortRole;
  /** Devices: whose time it is, and from whom it comes; as in a row of the record. */
  readonly leader: string | null;
  readonly parent: string | null;
  readonly steps: number;
  /** What it announces, if it leads. */
  readonly announces: Announced | null;
}

export interface RestResult {
  /** Per port in the election: per attachment of a boundary device, else one. */
  readonly ports: readonly RestPort[];
  /** From whom its time comes: by which of its attachments, and from which port; null: it follows nobody. */
  readonly follows: { readonly attachment: number; readonly device: string; readonly port: number } | null;
}

/** Decisions per node at which it cannot end any more: far above what a ring of any length takes. */
const TOO_MANY_DECISIONS = 1000;

interface Announcer {
  readonly node: number;
  readonly announced: Announced;
}

interface Heard extends Candidate {
  readonly announced: Announced;
  readonly senderDevice: string;
  readonly attachment: number;
}

/** In the order of the nodes. `tracesPath`: announcements name the devices they came through. */
export function electAtRest(nodes: readonly RestNode[], tracesPath: boolean): RestResult[] {
  const members = new Map<number, number[]>();
  /** Per segment, who announces on it, by node and attachment. */
  const announcers = new Map<number, Map<string, Announcer>>();
  for (const [i, node] of nodes.entries()) {
    for (const { segment } of node.attachments) {
      if (segment === null) continue;
      const there = members.get(segment);
      if (there === undefined) members.set(segment, [i]);
      else if (there.at(-1) !== i) there.push(i);
      if (!announcers.has(segment)) announcers.set(segment, new Map());
    }
  }
  const results: RestResult[] = nodes.map((node, i) => {
    const ports = portsOf(node).map((attachments) => atFirst(node, attachments, tracesPath));
    put(i, NOBODY, ports);
    return { ports, follows: null };
  });

  /** Says on the segments what has changed, and on which it has. */
  function put(i: number, before: readonly RestPort[], after: readonly RestPort[]): number[] {
    const changed: number[] = [];
    const node = nodes[i] as RestNode;
    for (const [attachment, { port, segment }] of node.attachments.entries()) {
      const index = node.isBoundary ? attachment : 0;
      const announced = after[index]?.announces ?? null;
      if (segment === null || isSameAnnounced(before[index]?.announces ?? null, announced)) continue;
      const key = `${i} ${attachment}`;
      if (announced === null) announcers.get(segment)?.delete(key);
      else announcers.get(segment)?.set(key, { node: i, announced: inNameOf(announced, port) });
      changed.push(segment);
    }
    return changed;
  }

  const queue = nodes.map((_, i) => i);
  const isQueued = nodes.map(() => true);
  for (let head = 0; head < queue.length; head++) {
    if (head > nodes.length * TOO_MANY_DECISIONS) throw new Error("an election at rest does not end");
    const i = queue[head] as number;
    isQueued[i] = false;
    const before = (results[i] as RestResult).ports;
    const result = decided(nodes, i, announcers, tracesPath);
    results[i] = result;
    for (const segment of put(i, before, result.ports)) {
      for (const other of members.get(segment) as number[]) {
        if (other === i || isQueued[other] === true) continue;
        isQueued[other] = true;
        queue.push(other);
      }
    }
  }
  return results;
}

const NOBODY: readonly RestPort[] = [];

/** Attachments by port in the election. */
function portsOf({ isBoundary, attachments }: RestNode): number[][] {
  const all = attachments.map((_, attachment) => attachment);
  return isBoundary ? all.map((attachment) => [attachment]) : [all];
}

function isConnected({ attachments }: RestNode, of: readonly number[]): boolean {
  return of.some((attachment) => attachments[attachment]?.segment !== null);
}

function atFirst(node: RestNode, of: readonly number[], tracesPath: boolean): RestPort {
  if (!isConnected(node, of)) return idle("down");
  return node.ptp.followerOnly ? idle("listening") : leads(node, of, tracesPath);
}

function decided(
  nodes: readonly RestNode[],
  i: number,
  announcers: ReadonlyMap<number, ReadonlyMap<string, Announcer>>,
  tracesPath: boolean,
): RestResult {
  const node = nodes[i] as RestNode;
  const { ptp } = node;
  const ports = portsOf(node);
  const heard = ports.map((of) => bestOf(of.flatMap((attachment) => heardOn(nodes, i, attachment, of, announcers))));
  const best = bestOf(heard.filter((each) => each !== null));
  const own = ownCandidate(ptp, node.clockClass);
  const neverFollows = !node.takes || node.clockClass <= CLASS_NEVER_FOLLOWS;
  let follows: RestResult["follows"] = null;
  const parts = ports.map((of, index): RestPort => {
    const here = heard[index] ?? null;
    if (!isConnected(node, of)) return idle("down");
    if (ptp.followerOnly && (!node.takes || best === null || best !== here)) return idle("listening");
    switch (ptp.followerOnly ? "S1" : decide(own, neverFollows, best, here)) {
      case "S1": {
        const { attachment, senderDevice, data } = best as Heard;
        follows = { attachment, device: senderDevice, port: data.sender.port };
        return withTimeOf(best as Heard, "follows", senderDevice, null);
      }
      case "M3": {
        const { announced, senderDevice } = best as Heard;
        return withTimeOf(best as Heard, "leads", senderDevice, passesOn(announced, ptp.identity, numberOf(node, of)));
      }
      case "P1":
        return withTimeOf(here as Heard, "passive", null, null);
      case "P2":
        return withTimeOf(best as Heard, "passive", (best as Heard).senderDevice, null);
      default:
        return leads(node, of, tracesPath);
    }
  });
  return { ports: parts, follows };
}

function heardOn(
  nodes: readonly RestNode[],
  i: number,
  attachment: number,
  of: readonly number[],
  announcers: ReadonlyMap<number, ReadonlyMap<string, Announcer>>,
): Heard[] {
  const node = nodes[i] as RestNode;
  const { identity } = node.ptp;
  const segment = node.attachments[attachment]?.segment ?? null;
  if (segment === null) return [];
  const receiver = { clock: identity, port: numberOf(node, of) };
  const heard: Heard[] = [];
  for (const { node: sender, announced } of (announcers.get(segment) as Map<string, Announcer>).values()) {
    const { data, path } = announced;
    // Its own come back, by another of its ports or round a ring.
    if (data.sender.clock === identity || path.includes(identity) || data.stepsRemoved >= TOO_MANY_STEPS) continue;
    heard.push({ data, receiver, announced, senderDevice: (nodes[sender] as RestNode).device, attachment });
  }
  return heard;
}

function numberOf({ attachments }: RestNode, of: readonly number[]): number {
  return attachments[of[0] as number]?.port as number;
}

function idle(role: "down" | "listening"): RestPort {
  return { role, leader: null, parent: null, steps: 0, announces: null };
}

function leads(node: RestNode, of: readonly number[], tracesPath: boolean): RestPort {
  const own = ownCandidate(node.ptp, node.clockClass).data;
  const announces = announcesItself(own, node.device, numberOf(node, of), tracesPath);
  return { role: "leads", leader: node.device, parent: null, steps: 0, announces };
}

function withTimeOf(
  { announced }: Heard,
  role: PortRole,
  parent: string | null,
  announces: Announced | null,
): RestPort {
  return { role, leader: announced.leaderDevice, parent, steps: announced.data.stepsRemoved, announces };
}
