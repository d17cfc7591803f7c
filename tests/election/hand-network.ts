/**
 * A little network by hand, for nodes alone: each attachment is on a segment, which floods what it is given after a
 * microsecond; a device is as much as a node needs of one. Played by the real engine.
 */
import type { Signal } from "../../shared/flow.ts";
import type { NetworkPlan, PtpPlan, PtpProfileName } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import type { Fact, Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { nsFromSeconds, ZERO } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { makeTimebase } from "../../shared/timebase.ts";
import type { RestResult } from "../../sim/election/at-rest.ts";
import { electAtRest } from "../../sim/election/at-rest.ts";
import { inNameOf } from "../../sim/election/own-data.ts";
import { startEngine } from "../../sim/engine.ts";
import type { Wire, WorldEvent } from "../../sim/machine.ts";
import { inEngineOrder } from "../../sim/machine.ts";
import type { Arrival, Frame, NetworkPath, Order } from "../../sim/mail.ts";
import { makeNode } from "../../sim/network/node.ts";
import { firstArrival, firstTrain } from "../../sim/network/node-begin.ts";
import type { NodeBegin, NodeSpec } from "../../sim/network/node-state.ts";
import type { AnyMachine, End, Heard } from "./hand-machines.ts";
import { deviceMachine, frozen, segmentMachine, streamMachine } from "./hand-machines.ts";

export interface HandNode {
  readonly id: string;
  /** Segment of each attachment; more than one is a boundary device's unless it says otherwise. */
  readonly on: readonly string[];
  readonly ptp?: Partial<PtpPlan>;
  readonly takes?: boolean;
  readonly isBoundary?: boolean;
  readonly streamsOut?: readonly string[];
  readonly streamsIn?: readonly string[];
}

export type HandEvent = { readonly at: number } & (
  | { readonly cut: string; readonly mend?: never }
  | { readonly mend: string }
  | { readonly off: string }
  | { readonly on: string }
  | { readonly syncOff: string }
  | { readonly syncOn: string }
  | { readonly clockClass: number; readonly of: string }
  | { readonly bend: string }
);

export interface HandNetwork {
  readonly profile?: PtpProfileName;
  readonly nodes: readonly HandNode[];
  readonly events?: readonly HandEvent[];
  readonly seconds: number;
  readonly begin?: "settled" | "cold";
  /** The run goes on from a copy of this instant. */
  readonly cutAt?: number;
  readonly seed?: string;
  /** From the break until a port notices; by default half a second. */
  readonly noticeSeconds?: number;
  /** Delay from a node to its segment, and back to it. */
  readonly forthSeconds?: number;
  readonly backSeconds?: number;
}

export interface HandRun {
  readonly rows: readonly Row[];
  /** What each device was told by its node. */
  readonly heard: ReadonlyMap<string, readonly Heard[]>;
  /** What each device would have heard before the first instant. */
  readonly first: ReadonlyMap<string, Arrival>;
  readonly reached: readonly { readonly atNs: Ns; readonly link: string; readonly reached: boolean }[];
  readonly atRest: readonly RestResult[];
  readonly eventCount: number;
}

/** Identities in the order in which the devices are written. */
export function identityOf(index: number): string {
  return (index + 1).toString(16).padStart(16, "0");
}

export function ptpOf(profile: PtpProfileName, index: number, words: Partial<PtpPlan> = {}): PtpPlan {
  const { priority1, priority2, clockClass, clockAccuracy, offsetScaledLogVariance } = ptpProfile(profile);
  return {
    priority1: priority1.value,
    priority2: priority2.value,
    clockClass: clockClass.value,
    clockAccuracy: clockAccuracy.value,
    offsetScaledLogVariance: offsetScaledLogVariance.value,
    identity: identityOf(index),
    followerOnly: false,
    ...words,
  };
}

export function playByHand(words: HandNetwork): HandRun {
  const { nodes, profile = "default", seed = "1", seconds, events = [] } = words;
  const endNs = nsFromSeconds(seconds);
  const network: NetworkPlan = { id: "a", name: "a", profile, domain: 0, recovery: "none" };
  const timebases: Timebase[] = nodes.map(({ id }, i) =>
    makeTimebase({
      id: i,
      device: id,
      bornNs: ZERO,
      bends: [{ atNs: ZERO, rate: i * 1e-6, ageingPerSecond: 0 }],
      warmUp: 0,
      warmUpSeconds: 0,
      wander: null,
      endNs,
    }),
  );
  const signals: Signal[] = nodes.map(({ id }, timebase) => ({
    flow: { timebase, atNs: ZERO, phaseSeconds: 0, rate: 0, ageingPerSecond: 0, wander: null, withinSeconds: 0 },
    gives: true,
    rateHz: 48_000,
    epoch: 0,
    seen: { through: [id], traced: true },
  }));
  const segments = [...new Set(nodes.flatMap(({ on }) => on))];
  const endsOf = (segment: string): End[] =>
    nodes.flatMap(({ id, on }) =>
      on.flatMap((each, attachment) =>
        each === segment ? [{ node: id, attachment, name: `${id}.${attachment + 1}` }] : [],
      ),
    );
  const isBoundary = (node: HandNode): boolean => node.isBoundary ?? node.on.length > 1;
  const path: NetworkPath = {
    forthSeconds: words.forthSeconds ?? 1e-6,
    backSeconds: words.backSeconds ?? 1e-6,
    varianceSeconds2: 0,
    bridges: 0,
  };
  const plans = nodes.map((node, i) => ptpOf(profile, i, node.ptp));
  const atRest = electAtRest(
    nodes.map((node, i) => ({
      device: node.id,
      ptp: plans[i] as PtpPlan,
      clockClass: plans[i]?.followerOnly === true ? 255 : (plans[i]?.clockClass as number),
      takes: node.takes ?? true,
      isBoundary: isBoundary(node),
      attachments: node.on.map((segment, attachment) => ({ port: attachment + 1, segment: segments.indexOf(segment) })),
    })),
    ptpProfile(profile).tracesPath,
  );

  const frameOf = (i: number, attachment: number): Frame | null => {
    const node = nodes[i] as HandNode;
    const announced = atRest[i]?.ports[isBoundary(node) ? attachment : 0]?.announces ?? null;
    if (announced === null) return null;
    const train = firstTrain({ seed, device: node.id, network }, inNameOf(announced, attachment + 1));
    const body = { kind: "clock", train, signal: signals[i] as Signal } as const;
    return { key: `clock ${node.id}.${attachment + 1}`, body, path };
  };
  const beginOf = (node: HandNode, i: number): NodeBegin => ({
    ports: (atRest[i] as RestResult).ports.map(({ role, leader, parent, steps, announces }) => ({
      role,
      leader,
      parent,
      steps,
      train: announces === null ? null : firstTrain({ seed, device: node.id, network }, announces),
    })),
    heard: node.on.flatMap((segment, attachment) =>
      endsOf(segment).flatMap((end) => {
        if (end.node === node.id && end.attachment === attachment) return [];
        const frame = frameOf(
          nodes.findIndex(({ id }) => id === end.node),
          end.attachment,
        );
        return frame === null || end.node === node.id ? [] : [{ attachment, frame }];
      }),
    ),
    reachedOn: (node.streamsIn ?? []).map((link) =>
      nodes.some(({ streamsOut }) => streamsOut?.includes(link) === true) ? 0 : null,
    ),
  });
  const specs = nodes.map(
    (node, i): NodeSpec => ({
      id: `node ${node.id} a`,
      device: node.id,
      network,
      ptp: plans[i] as PtpPlan,
      ports: node.on.map((_, attachment) => attachment + 1),
      isBoundary: isBoundary(node),
      takes: node.takes ?? true,
      sampleRateHz: 48_000,
      streamsOut: node.streamsOut ?? [],
      streamsIn: node.streamsIn ?? [],
      timebases,
      seed,
      status: { alive: true, takes: [], clockClass: null },
      signal: signals[i] as Signal,
      carries: node.on.map(() => true),
      begin: words.begin === "cold" ? null : beginOf(node, i),
    }),
  );

  const heard = new Map(nodes.map(({ id }) => [id, [] as Heard[]]));
  const reached: { atNs: Ns; link: string; reached: boolean }[] = [];
  const noticeNs = nsFromSeconds(words.noticeSeconds ?? 0.5);
  const streamIds = nodes.flatMap(({ streamsIn }) => streamsIn ?? []);
  const machines: AnyMachine[] = [
    ...segments.map((segment) => segmentMachine(`segment ${segment}`, endsOf(segment), path, noticeNs)),
    ...streamIds.map((link): AnyMachine => streamMachine(link, reached)),
    ...specs.map((spec) => makeNode(spec) as AnyMachine),
    ...nodes.map(({ id }, i) => deviceMachine(id, signals[i] as Signal, heard.get(id) as Heard[])),
  ].sort(inEngineOrder);
  const slotOf = (id: string): number => machines.findIndex((machine) => machine.id === id);
  const wires = machines.map(({ id }): Wire[][] => {
    const [kind, name] = id.split(" ") as [string, string];
    const node = nodes.find((each) => each.id === name);
    if (kind === "segment")
      return endsOf(name).map((end) => [{ to: slotOf(`node ${end.node} a`), port: end.attachment + 1 }]);
    if (kind === "stream" || node === undefined) return [];
    if (kind === "device") return [[{ to: slotOf(`node ${name} a`), port: 0 }]];
    const toSegments = node.on.map((segment, attachment) => {
      const port = endsOf(segment).findIndex((end) => end.node === name && end.attachment === attachment);
      return [{ to: slotOf(`segment ${segment}`), port }];
    });
    const toStreams = (node.streamsIn ?? []).map((link) => [{ to: slotOf(`stream ${link}`), port: 0 }]);
    return [[{ to: slotOf(`device ${name}`), port: 0 }], ...toSegments, ...toStreams];
  });
  const world = events
    .map((event, index): WorldEvent<Order> => {
      const note: Fact = { kind: "hung", hung: index < 0 };
      return { atNs: nsFromSeconds(event.at), fact: note, orders: ordersOf(event) };
    })
    .sort((a, b) => a.atNs - b.atNs);

  function ordersOf(event: HandEvent): { to: number; order: Order }[] {
    const toEnd = (name: string, what: "cut" | "mend"): { to: number; order: Order }[] =>
      segments.flatMap((segment) => {
        const end = endsOf(segment).findIndex((each) => each.name === name);
        return end < 0 ? [] : [{ to: slotOf(`segment ${segment}`), order: { do: what, path: String(end) } }];
      });
    if ("cut" in event && event.cut !== undefined) return toEnd(event.cut, "cut");
    if ("mend" in event && event.mend !== undefined) return toEnd(event.mend, "mend");
    if ("off" in event) return [{ to: slotOf(`device ${event.off}`), order: { do: "power", on: false } }];
    if ("on" in event) return [{ to: slotOf(`device ${event.on}`), order: { do: "power", on: true } }];
    if ("syncOff" in event) return [{ to: slotOf(`node ${event.syncOff} a`), order: { do: "sync", stopped: true } }];
    if ("syncOn" in event) return [{ to: slotOf(`node ${event.syncOn} a`), order: { do: "sync", stopped: false } }];
    if ("bend" in event) return [{ to: slotOf(`device ${event.bend}`), order: { do: "bend" } }];
    const { of, clockClass } = event as { of: string; clockClass: number };
    return [{ to: slotOf(`device ${of}`), order: { do: "choose-source", source: String(clockClass) } }];
  }

  const played = { machines: machines.map(frozen), wires, world };
  let engine = startEngine(played);
  if (words.cutAt !== undefined) {
    engine.playTo(nsFromSeconds(words.cutAt));
    engine = startEngine(played, structuredClone(engine.moment()));
  }
  const rows = engine.finish(endNs);
  const first = new Map(specs.map((spec) => [spec.device, firstArrival(spec)]));
  return { rows, heard, first, reached, atRest, eventCount: engine.eventCount };
}

/** "12.500 leads mon", one line for each row of one node; with its port where it has several. */
export function electionLines({ rows }: HandRun, device: string, withReason = false): string[] {
  return rows.flatMap(({ atNs, subject, fact }) => {
    if (fact.kind !== "election" || subject !== `node ${device} a`) return [];
    const port = fact.port === null ? "" : ` ${fact.port}`;
    const whose = fact.leader === null ? "" : ` ${fact.leader}`;
    const via = fact.parent === null || fact.parent === fact.leader ? "" : ` via ${fact.parent}`;
    const why = withReason ? `: ${fact.reason}` : "";
    return [`${(atNs / 1e9).toFixed(3)}${port} ${fact.role}${whose}${via}${why}`];
  });
}

/** How each port of each node stands at the end, as a row says it. */
export function standingAtEnd({ rows }: HandRun): Map<string, Extract<Fact, { kind: "election" }>> {
  const standing = new Map<string, Extract<Fact, { kind: "election" }>>();
  for (const { subject, fact } of rows)
    if (fact.kind === "election") standing.set(`${subject.split(" ")[1]}.${fact.port ?? ""}`, fact);
  return standing;
}
