/**
 * Bridges on a table: real bridges and their bridging in the real engine, with the cables and devices of
 * `bridge-table.ts`. At each bridge sits an ear, which says "clock <bridge>.1" and keeps what it hears.
 */
import type { BridgePlan, RecoveryName } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import type { Engine, Moment } from "../../sim/engine.ts";
import { startEngine } from "../../sim/engine.ts";
import type { Machine, Network, Wire } from "../../sim/machine.ts";
import { inEngineOrder } from "../../sim/machine.ts";
import type { Frame, Mail, Order } from "../../sim/mail.ts";
import { makeBridge } from "../../sim/network/bridge.ts";
import type { BridgingSpec } from "../../sim/network/bridging.ts";
import { makeBridging, settledForwarding } from "../../sim/network/bridging.ts";
import type { EarState } from "./bridge-table.ts";
import { makeEar, makePower, makeTestCable } from "./bridge-table.ts";

export type AnyMachine = Machine<unknown, Order, Mail>;

export const NOTICE_SECONDS = 0.05;
export const RESIDENCE_SECONDS = 4e-6;

export interface CableWords {
  readonly id: string;
  /** Bridges at its ends; each takes the next port. */
  readonly a: string;
  readonly b: string;
  readonly isUnplugged?: boolean;
}

export type Happening = {
  /** Of the show. */
  readonly at: number;
  readonly do: "unplug" | "plug" | "off" | "on";
  /** A cable, or a bridge. */
  readonly what: string;
};

export interface RigWords {
  readonly recovery: RecoveryName;
  readonly bridges: readonly { readonly id: string; readonly priority?: number }[];
  readonly cables: readonly CableWords[];
  readonly happenings?: readonly Happening[];
  readonly timing?: BridgePlan["timing"];
  readonly noticeSeconds?: number;
  readonly wrap?: (machine: AnyMachine) => AnyMachine;
}

export interface BridgeRig {
  readonly spec: BridgingSpec;
  readonly engine: Engine;
  /** Plays up to and including an instant of the show. */
  playTo(seconds: number): void;
  /** Whose clock the ear at a bridge hears, sorted, its own left out. */
  heardAt(bridge: string): string[];
  frameAt(bridge: string, from: string): Frame | undefined;
  /** Rows of bridging so far. */
  decisions(): { readonly seconds: number; readonly row: Row; readonly forwards: string; readonly blocked: string }[];
  goOnFrom(moment: Moment): Engine;
}

export function bridgeRig(words: RigWords): BridgeRig {
  const { bridges, cables, happenings = [], timing = "plain" } = words;
  const noticeNs = nsFromSeconds(words.noticeSeconds ?? NOTICE_SECONDS);
  const portsOf = bridges.map((): number[] => []);
  const nextEnd = (id: string) => {
    const bridge = bridges.findIndex((each) => each.id === id);
    const ports = portsOf[bridge] as number[];
    ports.push(ports.length + 1);
    return { bridge, port: ports.length };
  };
  const ends = cables.map(({ a, b }) => [nextEnd(a), nextEnd(b)] as const);
  const upAt = (bridge: number): number[] =>
    (portsOf[bridge] as number[]).filter((port) =>
      cables.some(
        ({ isUnplugged }, c) =>
          isUnplugged !== true && ends[c]?.some((end) => end.bridge === bridge && end.port === port),
      ),
    );
  const spec: BridgingSpec = {
    id: "bridging a",
    recovery: words.recovery,
    bridges: bridges.map(({ id, priority = 32768 }) => ({ device: id, priority })),
    cables: cables.map(({ id }, c) => {
      const [a, b] = ends[c] as (typeof ends)[number];
      return { link: id, a, b };
    }),
    begin: { neighbours: bridges.map((_, i) => upAt(i)) },
  };
  const forwarding = settledForwarding(spec);
  const isPlain = timing !== "boundary";

  const machines: AnyMachine[] = [makeBridging(spec) as AnyMachine];
  const wiring = new Map<string, [to: string, port: number][][]>();
  wiring.set(
    spec.id,
    bridges.map(({ id }, i) => [[`bridge ${id}`, (portsOf[i] as number[]).length + 1]]),
  );
  for (const [i, { id }] of bridges.entries()) {
    const ports = portsOf[i] as number[];
    const inner = isPlain ? 1 : ports.length;
    machines.push(
      makeBridge({
        id: `bridge ${id}`,
        device: id,
        ports,
        timing,
        residenceSeconds: RESIDENCE_SECONDS,
        varianceSeconds2: 1e-12,
        isUplink: ports.map(() => true),
        inner,
        streamsOut: ports.map(() => null),
        begin: {
          alive: true,
          up: upAt(i),
          forwarding: forwarding[i]?.ports ?? [],
          isFlooded: forwarding[i]?.isFlooded === true,
        },
      }) as AnyMachine,
    );
    const cableAt = (port: number): [string, number] => {
      const c = ends.findIndex((pair) => pair.some((end) => end.bridge === i && end.port === port));
      const isA = ends[c]?.[0].bridge === i && ends[c]?.[0].port === port;
      return [`link ${cables[c]?.id} both`, isA ? 0 : 1];
    };
    wiring.set(`bridge ${id}`, [
      ...ports.map((port) => [cableAt(port)]),
      [[spec.id, i]],
      ...Array.from({ length: inner }, (_, j): [string, number][] => [[`node ${id} a`, j]]),
    ]);
    machines.push(makeEar(id, inner) as AnyMachine);
    wiring.set(
      `node ${id} a`,
      Array.from({ length: inner }, (_, j) => [[`bridge ${id}`, ports.length + 2 + j]]),
    );
    machines.push(makePower(id) as AnyMachine);
    const touched = ports.map((port): [string, number] => {
      const [cable, end] = cableAt(port);
      return [cable, 2 + end];
    });
    wiring.set(`device ${id}`, [[[`bridge ${id}`, ports.length], ...touched]]);
  }
  for (const [c, { id, isUnplugged }] of cables.entries()) {
    machines.push(makeTestCable(id, isUnplugged !== true, noticeNs) as AnyMachine);
    wiring.set(
      `link ${id} both`,
      (ends[c] as (typeof ends)[number]).map(({ bridge, port }) => [[`bridge ${bridges[bridge]?.id}`, port - 1]]),
    );
  }
  machines.sort(inEngineOrder);
  const slots = new Map(machines.map((machine, slot) => [machine.id, slot]));
  const slotOf = (id: string): number => {
    const slot = slots.get(id);
    if (slot === undefined) throw new Error(`no machine ${id}`);
    return slot;
  };
  const network: Network<Order, Mail> = {
    machines: words.wrap === undefined ? machines : machines.map(words.wrap),
    wires: machines.map(({ id }) =>
      (wiring.get(id) ?? []).map((port) => port.map(([to, at]): Wire => ({ to: slotOf(to), port: at }))),
    ),
    world: [...happenings]
      .sort((x, y) => x.at - y.at)
      .map((happening) => {
        const isCable = happening.do === "plug" || happening.do === "unplug";
        const order: Order =
          happening.do === "plug"
            ? { do: "plug", end: null, into: null }
            : happening.do === "unplug"
              ? { do: "unplug", end: null }
              : { do: "power", on: happening.do === "on" };
        return {
          atNs: nsFromSeconds(happening.at),
          fact: { kind: "surface", works: true } as const, // of no meaning here: a row to be blamed
          orders: [{ to: slotOf(isCable ? `link ${happening.what} both` : `device ${happening.what}`), order }],
        };
      }),
  };
  const engine = startEngine(network);
  const earAt = (bridge: string): EarState => engine.moment().states[slotOf(`node ${bridge} a`)] as EarState;
  return {
    spec,
    engine,
    playTo: (seconds) => engine.playTo(nsFromSeconds(seconds)),
    heardAt: (bridge) => {
      const own = `clock ${bridge}.`;
      const keys = earAt(bridge).heard.map(({ frame }) => frame.key);
      return [
        ...new Set(keys.filter((key) => !key.startsWith(own)).map((key) => key.slice(6, key.indexOf(".")))),
      ].sort();
    },
    frameAt: (bridge, from) => earAt(bridge).heard.find(({ frame }) => frame.key.startsWith(`clock ${from}.`))?.frame,
    decisions: () =>
      engine.moment().rows.flatMap((row) => {
        const { fact } = row;
        if (fact.kind !== "bridging") return [];
        const seconds = row.atNs / 1e9;
        return [{ seconds, row, forwards: fact.forwards.join(" "), blocked: fact.blocked.join(" ") }];
      }),
    goOnFrom: (moment) => startEngine(network, moment),
  };
}
