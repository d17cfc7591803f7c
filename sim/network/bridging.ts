/**
 * Which ports between bridges pass packets on, as the bridges of a network agree it among themselves. Not message by
 * message: `bridging-protocol.ts` has what each protocol comes to; here is who has said what, who waits, and until when.
 */
import type { RecoveryName } from "../../shared/plan.ts";
import type { Cause, Fact } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { Due, Effect, Machine, MachineEvent, Step } from "../machine.ts";
import type { Mail, Order } from "../mail.ts";
import type { Protocol } from "./bridging-protocol.ts";
import { protocolOf } from "./bridging-protocol.ts";
import type { CableEnd, TreeCable } from "./tree.ts";
import { componentsOf, loopsOf } from "./tree.ts";

/** In-port and out-port i: the i-th bridge. */
export interface BridgingSpec {
  /** "bridging a": all bridges of a network, connected or not. */
  readonly id: string;
  readonly recovery: RecoveryName;
  readonly bridges: readonly { readonly device: string; readonly priority: number }[];
  /** Between bridges. A cable with several places to be plugged in: one row for each two of them. */
  readonly cables: readonly {
    readonly link: string;
    readonly a: CableEnd;
    readonly b: CableEnd;
    /** From a break until its ends know of it; left out: at once. */
    readonly noticeNs?: Ns;
  }[];
  /** By bridge: what it would say before the first instant. */
  readonly begin: { readonly neighbours: readonly (readonly number[])[] };
}

interface Wait {
  readonly atNs: Ns;
  readonly cause: Cause;
}
const NO_WAIT: Wait = { atNs: NEVER, cause: FROM_START };
const waits = ({ atNs }: Wait): boolean => atNs !== NEVER;

type BridgingFact = Extract<Fact, { kind: "bridging" }>;

export interface BridgingState {
  /** By bridge: ports whose cable to another bridge is up. */
  readonly neighbours: readonly (readonly number[])[];
  /** By cable: both ends say so. */
  readonly isUp: readonly boolean[];
  /** By cable, only in a ring: when one that is back may pass packets again. */
  readonly joins: readonly Wait[];
  /** By end, two a cable, a first: passes packets on; or will, when. */
  readonly isOpen: readonly boolean[];
  readonly opens: readonly Wait[];
  /** By bridge: ports that it was last told. */
  readonly told: readonly (readonly number[])[];
  /** By bridge: packets go round it without end, so that it has no room for others; as it was last told. */
  readonly flooded: readonly boolean[];
  readonly fact: BridgingFact;
  readonly due: Due;
}

type Draft = { -readonly [K in keyof BridgingState]: BridgingState[K] };

const treeCables = (spec: BridgingSpec): TreeCable[] => spec.cables.map(({ link, a, b }) => ({ id: link, a, b }));

function protocolFor(spec: BridgingSpec): Protocol {
  const bridges = spec.bridges.map(({ device, priority }) => ({ id: device, priority }));
  return protocolOf(spec.recovery, bridges, treeCables(spec));
}

function isUpBy(spec: BridgingSpec, neighbours: readonly (readonly number[])[]): boolean[] {
  const says = ({ bridge, port }: CableEnd): boolean => neighbours[bridge]?.includes(port) === true;
  return spec.cables.map(({ a, b }) => says(a) && says(b));
}

/** By bridge, ascending: its ports among the open ends. */
function portsOf(spec: BridgingSpec, isOpen: readonly boolean[]): number[][] {
  const ports: number[][] = spec.bridges.map(() => []);
  for (const [c, { a, b }] of spec.cables.entries()) {
    if (isOpen[2 * c] === true) ports[a.bridge]?.push(a.port);
    if (isOpen[2 * c + 1] === true) ports[b.bridge]?.push(b.port);
  }
  return ports.map((list) => list.sort((p, q) => p - q));
}

/** By bridge, when nothing has happened for long: its ports, ascending, that pass packets on; whether it is flooded. */
export function settledForwarding(spec: BridgingSpec): { ports: number[]; isFlooded: boolean }[] {
  const isUp = isUpBy(spec, spec.begin.neighbours);
  const flooded = floodedBy(spec, treeCables(spec), isUp);
  return portsOf(spec, protocolFor(spec).wanted(isUp)).map((ports, i) => ({ ports, isFlooded: flooded[i] === true }));
}

/** By bridge: a loop that nothing has an eye on takes all bridges along that are connected to it. */
function floodedBy(spec: BridgingSpec, cables: readonly TreeCable[], isUp: readonly boolean[]): boolean[] {
  return spec.recovery === "none" ? loopsOf(spec.bridges.length, cables, isUp) : spec.bridges.map(() => false);
}

const alike = (a: readonly unknown[], b: readonly unknown[]): boolean =>
  a.length === b.length && a.every((item, i) => item === b[i]);

export function makeBridging(spec: BridgingSpec): Machine<BridgingState, Order, Mail> {
  const { bridges } = spec;
  const cables = treeCables(spec);
  const protocol = protocolFor(spec);
  const bridgeOf = (end: number): number => {
    const cable = cables[end >> 1] as TreeCable;
    return (end % 2 === 0 ? cable.a : cable.b).bridge;
  };

  function factOf(isUp: readonly boolean[], isOpen: readonly boolean[]): BridgingFact {
    const forwards: string[] = [];
    const blocked: string[] = [];
    for (const [c, { id }] of cables.entries()) {
      if (isOpen[2 * c] === true && isOpen[2 * c + 1] === true) forwards.push(id);
      else if (isUp[c] === true) blocked.push(id);
    }
    return { kind: "bridging", forwards, blocked, storm: floodedBy(spec, cables, isUp).includes(true) };
  }

  /** Brings the ends to what is wanted now, or has them wait for it. */
  function decide(s: Draft, now: Ns, cause: Cause, waitNs: (end: number) => Ns): void {
    const wanted = protocol.wanted(s.isUp.map((up, c) => up && !waits(s.joins[c] as Wait)));
    const isOpen = [...s.isOpen];
    const opens = [...s.opens];
    for (const [end, wants] of wanted.entries()) {
      if (!wants) {
        isOpen[end] = false;
        opens[end] = NO_WAIT;
      } else if (isOpen[end] !== true && !waits(opens[end] as Wait)) {
        const ns = waitNs(end);
        if (ns === 0) isOpen[end] = true;
        else opens[end] = { atNs: later(now, ns), cause };
      }
    }
    s.isOpen = isOpen;
    s.opens = opens;
  }

  function hear(s: Draft, bridge: number, up: readonly number[], now: Ns, cause: Cause): void {
    const before = s.neighbours[bridge] as readonly number[];
    const wasUp = s.isUp;
    s.neighbours = s.neighbours.with(bridge, up);
    s.isUp = isUpBy(spec, s.neighbours);
    s.joins = s.joins.map((wait, c) => {
      if (s.isUp[c] !== true) return NO_WAIT;
      const ns = protocol.joinNs[c] as Ns;
      return wasUp[c] === true || ns === 0 ? wait : { atNs: later(now, ns), cause };
    });

    const hasNoticed = before.some((port) => !up.includes(port));
    const component = componentsOf(bridges.length, cables, s.isUp);
    const knows = (end: number): boolean => {
      const at = bridgeOf(end);
      return hasNoticed && (at === bridge || (protocol.heardBy === "connected" && component[at] === component[bridge]));
    };
    const lost = wasUp.flatMap((was, c) => (was && s.isUp[c] !== true ? [spec.cables[c]?.noticeNs ?? 0] : []));
    const gone = protocol.countsFromBreak && hasNoticed ? Math.max(0, ...lost) : 0;
    decide(s, now, cause, (end) => {
      const ns = lost.length > 0 && !knows(end) ? protocol.unnoticedNs : protocol.waitNs;
      return Math.max(0, ns - gone) as Ns;
    });
    // Who has waited for what it had heard to age need not any more.
    const soonestNs = later(now, protocol.waitNs);
    s.opens = s.opens.map((wait, end) =>
      waits(wait) && wait.atNs > soonestNs && knows(end) ? { atNs: soonestNs, cause } : wait,
    );
  }

  /** What is due and has this cause: the rest is due now as well, with its own. */
  function expire(s: Draft, now: Ns, cause: Cause): void {
    const isDue = (wait: Wait): boolean => wait.atNs <= now && wait.cause === cause;
    const joined = s.joins.map(isDue);
    s.joins = s.joins.map((wait) => (isDue(wait) ? NO_WAIT : wait));
    const opened = s.opens.map(isDue);
    s.isOpen = s.isOpen.map((is, end) => is || opened[end] === true);
    s.opens = s.opens.map((wait) => (isDue(wait) ? NO_WAIT : wait));
    decide(s, now, cause, (end) => (joined[end >> 1] === true ? (0 as Ns) : protocol.waitNs));
  }

  function settleDue(s: Draft): void {
    let first = NO_WAIT;
    for (const wait of s.joins) if (wait.atNs < first.atNs) first = wait;
    for (const wait of s.opens) if (wait.atNs < first.atNs) first = wait;
    s.due = first;
  }

  /** Those that stop are told before those that begin, so that no loop is closed on the way. */
  function tell(s: Draft, effects: Effect<Mail>[]): void {
    const fact = factOf(s.isUp, s.isOpen);
    const isNew =
      fact.storm !== s.fact.storm || !alike(fact.forwards, s.fact.forwards) || !alike(fact.blocked, s.fact.blocked);
    if (isNew) {
      s.fact = fact;
      effects.push({ do: "record", fact });
    }
    const told = s.told;
    const ports = portsOf(spec, s.isOpen);
    s.told = ports.map((list, i) =>
      alike(list, told[i] as readonly number[]) ? (told[i] as readonly number[]) : list,
    );
    const stops = (i: number): boolean => (told[i] as readonly number[]).some((port) => !s.told[i]?.includes(port));
    const { flooded } = s;
    s.flooded = floodedBy(spec, cables, s.isUp);
    const changed = bridges.map((_, i) => i).filter((i) => s.told[i] !== told[i] || s.flooded[i] !== flooded[i]);
    for (const i of [...changed.filter(stops), ...changed.filter((i) => !stops(i))])
      effects.push({ do: "send", port: i, mail: forwarding(s, i) });
  }

  function forwarding({ told, flooded }: Pick<BridgingState, "told" | "flooded">, i: number): Mail {
    return { kind: "forwarding", ports: told[i] as readonly number[], isFlooded: flooded[i] === true };
  }

  return {
    id: spec.id,
    rank: "carries",
    start(): Step<BridgingState, Mail> {
      const { neighbours } = spec.begin;
      const isUp = isUpBy(spec, neighbours);
      const isOpen = protocol.wanted(isUp);
      const fact = factOf(isUp, isOpen);
      const told = portsOf(spec, isOpen);
      const state: BridgingState = {
        neighbours,
        isUp,
        joins: cables.map(() => NO_WAIT),
        isOpen,
        opens: isOpen.map(() => NO_WAIT),
        told,
        flooded: floodedBy(spec, cables, isUp),
        fact,
        due: NO_WAIT,
      };
      const sends = told.map((_, port) => ({ do: "send", port, mail: forwarding(state, port) }) as const);
      return { state, effects: [{ do: "record", fact }, ...sends] };
    },
    handle(state, event: MachineEvent<Order, Mail>, now): Step<BridgingState, Mail> {
      const s: Draft = { ...state };
      const effects: Effect<Mail>[] = [];
      if (event.kind === "mail" && event.mail.kind === "neighbours")
        hear(s, event.port, event.mail.up, now, event.cause);
      else if (event.kind === "due") expire(s, now, event.cause);
      else return { state, effects };
      settleDue(s);
      tell(s, effects);
      return { state: s, effects };
    },
    due: (state) => state.due,
  };
}
