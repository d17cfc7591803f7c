/**
 * A bridge: passes frames from one of its ports to the others. It keeps what arrives, by port and key, and what leaves
 * follows from that: out of a port goes the last that came in under its key by another port. So whatever changes (a
 * frame, a cable, which ports pass on, the device), what leaves before and after is compared, and the difference said.
 *
 * Time passes through as the bridge's timing has it; packets of a stream wait in every kind.
 */
import { addTo } from "../../shared/lists.ts";
import type { BridgePlan } from "../../shared/plan.ts";
import { FROM_START } from "../../shared/record.ts";
import { NEVER } from "../../shared/time.ts";
import type { Due, Effect, Machine, MachineEvent, Step } from "../machine.ts";
import type { Carrier, Frame, Mail, Order } from "../mail.ts";
import { afterBridge, NO_PATH } from "./path.ts";

/**
 * In-ports 0 to k − 1: its cables; k: `status` of its device; k + 1: `forwarding`; from k + 2 on: its node's attachments.
 * Out-ports 0 to k − 1: its cables; k: `neighbours`; from k + 1 on: the attachments.
 */
export interface BridgeSpec {
  /** "bridge foh". */
  readonly id: string;
  readonly device: string;
  /** Ethernet ports, ascending. */
  readonly ports: readonly number[];
  readonly timing: BridgePlan["timing"];
  readonly residenceSeconds: number;
  readonly varianceSeconds2: number;
  /** By port: it leads to another bridge, so that bridging decides; any other always passes packets on. */
  readonly isUplink: readonly boolean[];
  /** Attachments of its node: one; of a boundary one a port. */
  readonly inner: number;
  /** By port: streams that may leave there, by link; null: all. */
  readonly streamsOut: readonly (ReadonlySet<string> | null)[];
  readonly begin: {
    readonly alive: boolean;
    /** Ports whose cable is up. */
    readonly up: readonly number[];
    /** Ports to other bridges that pass packets on. */
    readonly forwarding: readonly number[];
    readonly isFlooded: boolean;
  };
}

/** What came in by one port under one key. */
interface Supply {
  /** A cable's in-port, or k and more: an attachment. */
  readonly from: number;
  readonly frame: Frame;
}

interface Standing {
  readonly key: string;
  /** The last that came is the last. */
  readonly supplies: readonly Supply[];
}

export interface BridgeState {
  readonly alive: boolean;
  readonly forwarding: readonly number[];
  /** Packets go round without end: nothing else gets through. */
  readonly isFlooded: boolean;
  readonly carriers: readonly Carrier[];
  readonly standing: readonly Standing[];
  /** Ports that bridging was last told. */
  readonly neighbours: readonly number[];
  /** By attachment. */
  readonly innerCarriers: readonly Carrier[];
}

type Draft = { -readonly [K in keyof BridgeState]: BridgeState[K] };

/** Field by field: made for every frame, and a spread takes several times as long. */
function draftOf(s: BridgeState): Draft {
  return {
    alive: s.alive,
    forwarding: s.forwarding,
    isFlooded: s.isFlooded,
    carriers: s.carriers,
    standing: s.standing,
    neighbours: s.neighbours,
    innerCarriers: s.innerCarriers,
  };
}

const UP: Carrier = { up: true, carries: true };
const DOWN: Carrier = { up: false, carries: false };
const IDLE: Due = { atNs: NEVER, cause: FROM_START };
const STREAM = "stream ";

export function makeBridge(spec: BridgeSpec): Machine<BridgeState, Order, Mail> {
  const { ports, timing } = spec;
  const k = ports.length;
  const isBoundary = timing === "boundary";
  const places = Array.from({ length: k + spec.inner }, (_, place) => place);
  /** Ports at which every stream may leave, and the first attachment; the others by stream. */
  const openToAll = places.filter((place) => (place < k ? (spec.streamsOut[place] ?? null) === null : place === k));
  const streamPlaces = new Map<string, number[]>();
  for (const [place, streams] of spec.streamsOut.entries())
    for (const id of streams ?? []) addTo(streamPlaces, id, place);

  /** Inside, a place is a cable's port (below k) or k plus an attachment. */
  const outPort = (place: number): number => (place < k ? place : place + 1);
  const isOpen = (s: BridgeState, place: number): boolean =>
    s.alive &&
    !s.isFlooded &&
    (place >= k || spec.isUplink[place] !== true || s.forwarding.includes(ports[place] as number));

  function mayLeave(key: string, from: number, to: number): boolean {
    if (from === to) return false;
    if (key.startsWith(STREAM)) {
      if (to >= k) return to === k && from < k; // a node hears its streams at its first attachment
      const allowed = spec.streamsOut[to] ?? null;
      return allowed === null || allowed.has(key.slice(STREAM.length));
    }
    // Clock ends at a boundary's node: between a port and the attachment of the same number, and nowhere else.
    return !isBoundary || from + k === to || to + k === from;
  }

  function leaving(s: BridgeState, standing: Standing | undefined, to: number): Supply | null {
    if (standing === undefined || !isOpen(s, to) || (to < k && !(s.carriers[to] as Carrier).carries)) return null;
    for (let i = standing.supplies.length - 1; i >= 0; i--) {
      const supply = standing.supplies[i] as Supply;
      if (mayLeave(standing.key, supply.from, to) && isOpen(s, supply.from)) return supply;
    }
    return null;
  }

  function passed({ key, body, path }: Frame): Frame {
    const isClock = body?.kind === "clock";
    if (isClock && isBoundary) return { key, body, path }; // its node is right behind the port
    const waits = !isClock || timing === "plain";
    return {
      key,
      body,
      path: waits ? afterBridge(path, spec.residenceSeconds, spec.varianceSeconds2) : afterBridge(path, 0, 0),
    };
  }

  /** Where what stands under one key, before and after, may leave: of many ports few, most of the time. */
  function placesFor(key: string, before: Standing | undefined, after: Standing | undefined): readonly number[] {
    if (key.startsWith(STREAM)) {
      const own = streamPlaces.get(key.slice(STREAM.length)) ?? [];
      return own.length === 0 ? openToAll : [...openToAll, ...own].sort((one, other) => one - other);
    }
    if (!isBoundary) return places;
    const partners = new Set<number>();
    for (const standing of [before, after])
      for (const { from } of standing?.supplies ?? []) partners.add(from < k ? from + k : from - k);
    return partners.size < 2 ? [...partners] : [...partners].sort((one, other) => one - other);
  }

  /** What leaves under one key, before and after. */
  function compare(was: BridgeState, before: Standing | undefined, s: BridgeState, after: Standing | undefined) {
    const effects: Effect<Mail>[] = [];
    const key = (before ?? after)?.key as string;
    for (const place of placesFor(key, before, after)) {
      const old = leaving(was, before, place);
      const supply = leaving(s, after, place);
      if (supply === old) continue;
      const frame = supply === null ? { key, body: null, path: NO_PATH } : passed(supply.frame);
      effects.push({ do: "send", port: outPort(place), mail: { kind: "frame", frame } });
    }
    return effects;
  }

  function compareAll(was: BridgeState, s: BridgeState, effects: Effect<Mail>[]): void {
    const after = new Map(s.standing.map((standing) => [standing.key, standing]));
    for (const before of was.standing) effects.push(...compare(was, before, s, after.get(before.key)));
  }

  /** All but what came in by one port. */
  function without(standing: readonly Standing[], gone: number): readonly Standing[] {
    return standing
      .map((row) => {
        const supplies = row.supplies.filter(({ from }) => from !== gone);
        return supplies.length === row.supplies.length ? row : { key: row.key, supplies };
      })
      .filter(({ supplies }) => supplies.length > 0);
  }

  function innerCarrier(s: BridgeState, attachment: number): Carrier {
    if (!s.alive) return DOWN;
    return isBoundary ? (s.carriers[attachment] as Carrier) : UP;
  }
  function neighboursOf(s: BridgeState): number[] {
    return ports.filter((_, i) => s.alive && spec.isUplink[i] === true && (s.carriers[i] as Carrier).up);
  }

  /** To bridging and the attachments: what is behind them now. */
  function tellAround(s: Draft, effects: Effect<Mail>[]): void {
    const up = neighboursOf(s);
    if (up.length !== s.neighbours.length || up.some((port, i) => port !== s.neighbours[i])) {
      s.neighbours = up;
      effects.push({ do: "send", port: k, mail: { kind: "neighbours", up } });
    }
    for (let attachment = 0; attachment < spec.inner; attachment++) {
      const carrier = innerCarrier(s, attachment);
      const told = s.innerCarriers[attachment] as Carrier;
      if (carrier.up === told.up && carrier.carries === told.carries) continue;
      s.innerCarriers = s.innerCarriers.with(attachment, carrier);
      effects.push({ do: "send", port: outPort(k + attachment), mail: { kind: "carrier", carrier } });
    }
  }

  function hearFrame(s: Draft, from: number, frame: Frame): Effect<Mail>[] {
    // A frame that a dead device is sent, or that was under way when its cable broke, is lost.
    if (!s.alive || (from < k && !(s.carriers[from] as Carrier).carries)) return [];
    const was: BridgeState = s;
    const at = s.standing.findIndex(({ key }) => key === frame.key);
    const before = s.standing[at];
    const others = before === undefined ? [] : before.supplies.filter((supply) => supply.from !== from);
    const supplies = frame.body === null ? others : [...others, { from, frame }];
    const after = supplies.length === 0 ? undefined : { key: frame.key, supplies };
    if (before === undefined) {
      if (after === undefined) return [];
      s.standing = [...s.standing, after];
    } else {
      s.standing = after === undefined ? s.standing.toSpliced(at, 1) : s.standing.with(at, after);
    }
    return compare(was, before, s, after);
  }

  /** Not a frame: what is around the bridge has changed. */
  function hearAround(s: Draft, port: number, mail: Mail): void {
    if (mail.kind === "carrier" && port < k) {
      s.carriers = s.carriers.with(port, mail.carrier);
      s.standing = without(s.standing, port); // what stands on the other side is said again when the cable is back
    } else if (mail.kind === "status" && port === k) {
      s.alive = mail.status.alive;
      if (!s.alive) s.standing = [];
    } else if (mail.kind === "forwarding") {
      s.forwarding = mail.ports;
      s.isFlooded = mail.isFlooded;
    }
  }

  return {
    id: spec.id,
    rank: "carries",
    start(): Step<BridgeState, Mail> {
      const { alive, up, forwarding, isFlooded } = spec.begin;
      const s: Draft = {
        alive,
        forwarding,
        isFlooded,
        carriers: ports.map((port) => (up.includes(port) ? UP : DOWN)),
        standing: [],
        neighbours: [],
        innerCarriers: [],
      };
      s.neighbours = neighboursOf(s);
      s.innerCarriers = Array.from({ length: spec.inner }, (_, attachment) => innerCarrier(s, attachment));
      return { state: s, effects: [] };
    },
    handle(state, event: MachineEvent<Order, Mail>): Step<BridgeState, Mail> {
      if (event.kind !== "mail") return { state, effects: [] };
      const { port, mail } = event;
      const s = draftOf(state);
      if (mail.kind === "frame") {
        const said = hearFrame(s, port < k ? port : port - 2, mail.frame);
        return { state: s, effects: said };
      }
      const effects: Effect<Mail>[] = [];
      hearAround(s, port, mail);
      tellAround(s, effects);
      // To a cable that is back nothing has been said: it carried nothing until now.
      const isCable = mail.kind === "carrier" && port < k;
      const was = isCable ? { ...state, carriers: state.carriers.with(port, DOWN) } : state;
      compareAll(was, s, effects);
      return { state: s, effects };
    },
    due: () => IDLE,
  };
}
