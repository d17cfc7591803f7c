/**
 * A cable: one way of a one-way link, or a two-way link. It holds what is in flight, knows what both ends give and
 * take, and records the link's state.
 *
 * | from        | when                                        | to                                                    |
 * | up          | broken, or an end goes dead                 | down, not noticed: nothing arrives from this instant  |
 * | down        | whole again before `notice` has run         | up: samples are lost, nothing else                    |
 * | down        | `notice` has run                            | down, noticed: the ends are told                      |
 * | down        | whole, both ends alive                      | coming-up                                             |
 * | coming-up   | `comingUp` has run                          | up                                                    |
 * | coming-up   | broken, or an end goes dead                 | down, noticed                                         |
 *
 * Whole: both ends plugged, no path it is laid along cut, and for a stream some way over its network. Alive: powered,
 * and out of `starting` or sending in it. An ethernet cable carries frames and tells its ends of every change; what they
 * have to say is for them to say again.
 */
import type { Signal } from "../shared/flow.ts";
import type { Cause, Fact, LinkClock, LinkState } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { later, NEVER } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import type { Due, Effect, Machine, MachineEvent, Step } from "./machine.ts";
import type { Arrival, Frame, Mail, Order, Status } from "./mail.ts";
import { delayed } from "./mail.ts";
import { afterCable } from "./network/path.ts";

/** A place where one end can be plugged in: its index is the machine's port of that number. */
export interface Socket {
  readonly end: "a" | "b";
  readonly device: string;
  readonly port: number;
}

/** A stream needs a way over a network as well as two live ends. */
export interface StreamWay {
  readonly isReachedAtStart: boolean;
  /** A way that is lost for less than one packet's time need cost none. */
  readonly packetNs: Ns;
  /** From the first packet that arrives again until the receive buffer is as full as it was. */
  readonly refillNs: Ns;
}

export interface CableSpec {
  readonly id: string;
  readonly link: string;
  /** Which ways it carries: one of them, or both. Audio and clock go a → b "there", b → a "back". */
  readonly ways: readonly ("there" | "back")[];
  readonly sockets: readonly Socket[];
  readonly delaySeconds: number;
  readonly delayNs: Ns;
  readonly noticeNs: Ns;
  readonly comingUpNs: Ns;
  readonly clockIsAgreed: boolean;
  readonly hasReturn: boolean;
  /** Null: no ethernet cable. */
  readonly packets: PacketWays | null;
  /** Null: a cable, which is its own way. */
  readonly stream: StreamWay | null;
  readonly timebases: readonly Timebase[];
  readonly begin: {
    readonly isPlugged: boolean;
    readonly isUp: boolean;
    readonly plugA: number;
    readonly plugB: number;
  };
  /** What each socket's device said before the first instant. */
  readonly offers: readonly { readonly signal: Signal | null; readonly status: Status }[];
}

interface InFlight {
  readonly atNs: Ns;
  readonly socket: number;
  readonly what: Signal | Frame;
  readonly cause: Cause;
}

/** An ethernet cable carries frames, one another way than the other perhaps; all others carry what a device puts out. */
export interface PacketWays {
  /** From a to b, and from b to a. */
  readonly thereSeconds: number;
  readonly backSeconds: number;
}

export interface CableState {
  readonly link: LinkState;
  readonly isNoticed: boolean;
  readonly clock: LinkClock;
  readonly isPluggedA: boolean;
  readonly isPluggedB: boolean;
  /** Socket in use at each end. */
  readonly atA: number;
  readonly atB: number;
  readonly cuts: readonly string[];
  /** Packets of a stream arrive; true for what is no stream. */
  readonly isReached: boolean;
  /** Nothing else is or was in the way since it went down: nobody has to subscribe anew. */
  readonly isOnlyUnreached: boolean;
  /** A way has just been lost: from here on packets are missing. */
  readonly unreachedNs: Ns;
  readonly unreachedCause: Cause;
  readonly signals: readonly (Signal | null)[];
  readonly statuses: readonly Status[];
  /** In order of arrival. */
  readonly inFlight: readonly InFlight[];
  /** Noticing, or coming up. */
  readonly timerNs: Ns;
  readonly timerCause: Cause;
  readonly due: Due;
}

type Draft = { -readonly [K in keyof CableState]: CableState[K] };

/** Field by field: made for every event, and a spread of so many fields takes several times as long. */
function draftOf(s: CableState): Draft {
  return {
    link: s.link,
    isNoticed: s.isNoticed,
    clock: s.clock,
    isPluggedA: s.isPluggedA,
    isPluggedB: s.isPluggedB,
    atA: s.atA,
    atB: s.atB,
    cuts: s.cuts,
    isReached: s.isReached,
    isOnlyUnreached: s.isOnlyUnreached,
    unreachedNs: s.unreachedNs,
    unreachedCause: s.unreachedCause,
    signals: s.signals,
    statuses: s.statuses,
    inFlight: s.inFlight,
    timerNs: s.timerNs,
    timerCause: s.timerCause,
    due: s.due,
  };
}

export function makeCable(spec: CableSpec): Machine<CableState, Order, Mail> {
  const { sockets, ways } = spec;

  function linkFact(s: CableState): Fact {
    return { kind: "link", state: s.link, noticed: s.isNoticed, clock: s.clock };
  }
  function isReady(s: CableState): boolean {
    return s.isReached && isWhole(s);
  }
  function isWhole(s: CableState): boolean {
    return (
      s.isPluggedA &&
      s.isPluggedB &&
      s.cuts.length === 0 &&
      (s.statuses[s.atA] as Status).alive &&
      (s.statuses[s.atB] as Status).alive
    );
  }
  /** A port gives unless its settings say that it takes. */
  function givesAt(s: CableState, socket: number): boolean {
    return !(s.statuses[socket] as Status).takes.includes((sockets[socket] as Socket).port);
  }
  function clockOf(s: CableState): LinkClock {
    if (!spec.clockIsAgreed) return spec.hasReturn ? "each-way" : "given";
    const a = givesAt(s, s.atA);
    const b = givesAt(s, s.atB);
    return a && b ? "disputed" : a || b ? "given" : "unclaimed";
  }
  function sender(s: CableState, way: "there" | "back"): number {
    return way === "there" ? s.atA : s.atB;
  }
  function hearer(s: CableState, way: "there" | "back"): number {
    return way === "there" ? s.atB : s.atA;
  }
  function arrives(way: "there" | "back", up: boolean, signal: Signal | null): Mail {
    return { kind: "arrival", arrival: { link: spec.link, way, up, signal } satisfies Arrival };
  }
  function carrier(up: boolean, carries: boolean): Mail {
    return { kind: "carrier", carrier: { up, carries } };
  }
  /** A frame with this cable behind it. */
  function passed(frame: Frame, way: "there" | "back", { thereSeconds, backSeconds }: PacketWays): Frame {
    const [forth, back] = way === "there" ? [thereSeconds, backSeconds] : [backSeconds, thereSeconds];
    return { key: frame.key, body: frame.body, path: afterCable(frame.path, forth, back) };
  }
  function asArrived(s: CableState, socket: number, signal: Signal, now: Ns): Signal {
    const timebase = spec.timebases[signal.flow.timebase] as Timebase;
    return {
      flow: delayed(signal.flow, spec.delaySeconds, timebase, now),
      gives: signal.gives && (!spec.clockIsAgreed || givesAt(s, socket)),
      rateHz: signal.rateHz,
      epoch: signal.epoch,
      seen: signal.seen,
    };
  }
  /** Tells both ends what arrives now. */
  function tellEnds(s: CableState, up: boolean, carries: boolean, now: Ns, effects: Effect<Mail>[]): void {
    if (spec.packets !== null) {
      for (const port of [s.atA, s.atB]) effects.push({ do: "send", port, mail: carrier(up, carries) });
      return;
    }
    for (const way of ways) {
      const from = sender(s, way);
      const signal = s.signals[from] ?? null;
      const arriving = carries && signal !== null ? asArrived(s, from, signal, now) : null;
      effects.push({ do: "send", port: hearer(s, way), mail: arrives(way, up, arriving) });
    }
  }

  /** Brings the state up to date with plugs, cuts and ends. */
  function settle(s: Draft, now: Ns, cause: Cause, effects: Effect<Mail>[]): void {
    const clock = clockOf(s);
    const hasNewClock = clock !== s.clock;
    s.clock = clock;
    const ready = isReady(s);
    if (!isWhole(s)) s.isOnlyUnreached = false;
    else if (s.link === "up") s.isOnlyUnreached = true;
    if (s.link === "up" && !ready) {
      s.link = "down";
      s.isNoticed = spec.noticeNs === 0;
      s.inFlight = [];
      s.timerNs = s.isNoticed ? NEVER : later(now, spec.noticeNs);
      s.timerCause = cause;
      effects.push({ do: "record", fact: linkFact(s) });
      tellEnds(s, !s.isNoticed, false, now, effects);
    } else if (s.link === "down" && !s.isNoticed && ready) {
      s.link = "up";
      s.timerNs = NEVER;
      effects.push({ do: "record", fact: linkFact(s) });
      tellEnds(s, true, true, now, effects);
    } else if (s.link === "down" && s.isNoticed && ready) {
      s.link = "coming-up";
      s.timerNs = later(now, comingUpNs(s));
      s.timerCause = cause;
      effects.push({ do: "record", fact: linkFact(s) });
    } else if (s.link === "coming-up" && !ready) {
      s.link = "down";
      s.timerNs = NEVER;
      effects.push({ do: "record", fact: linkFact(s) });
    } else if (hasNewClock) {
      effects.push({ do: "record", fact: linkFact(s) });
    }
  }

  function comingUpNs(s: CableState): Ns {
    return spec.stream !== null && s.isOnlyUnreached ? spec.stream.refillNs : spec.comingUpNs;
  }

  /** A timer that has run. */
  function expire(s: Draft, now: Ns, cause: Cause, effects: Effect<Mail>[]): void {
    const isUp = s.link !== "down";
    s.link = isUp ? "up" : "down";
    s.isNoticed = !isUp;
    s.timerNs = NEVER;
    effects.push({ do: "record", fact: linkFact(s) });
    tellEnds(s, isUp, isUp, now, effects);
    if (!isUp) settle(s, now, cause, effects); // whole again at this very instant: starts to come up
  }

  function settleDue(s: Draft): void {
    const first = s.inFlight[0];
    let [atNs, cause] = [s.timerNs, s.timerCause];
    if (s.unreachedNs <= atNs) [atNs, cause] = [s.unreachedNs, s.unreachedCause];
    if (first !== undefined && first.atNs <= atNs) [atNs, cause] = [first.atNs, first.cause];
    if (s.due.atNs !== atNs || s.due.cause !== cause) s.due = { atNs, cause };
  }

  function obey(s: Draft, order: Order, now: Ns, effects: Effect<Mail>[]): void {
    switch (order.do) {
      case "unplug":
        if (order.end !== "b") s.isPluggedA = false;
        if (order.end !== "a") s.isPluggedB = false;
        return;
      case "plug":
        s.cuts = []; // plugged in again, with a new cable if the old one was cut
        if (order.end !== "b") plugIn(s, "a", order.into, now, effects);
        if (order.end !== "a") plugIn(s, "b", order.into, now, effects);
        return;
      case "cut":
        if (!s.cuts.includes(order.path)) s.cuts = [...s.cuts, order.path];
        return;
      case "mend":
        s.cuts = s.cuts.filter((path) => path !== order.path);
        return;
    }
  }

  function plugIn(s: Draft, end: "a" | "b", port: number | null, now: Ns, effects: Effect<Mail>[]): void {
    const at = end === "a" ? s.atA : s.atB;
    const into = port === null ? at : sockets.findIndex((k) => k.end === end && k.port === port);
    if (into !== at) {
      if (s.link === "up") {
        // There is no cable any more where it was: both ends know at once.
        tellEnds(s, false, false, now, effects);
        s.link = "down";
        s.isNoticed = true;
        s.inFlight = [];
        s.timerNs = NEVER;
      } else if (spec.packets !== null) effects.push({ do: "send", port: at, mail: carrier(false, false) });
      else {
        for (const way of ways)
          if (hearer(s, way) === at) effects.push({ do: "send", port: at, mail: arrives(way, false, null) });
      }
    }
    if (end === "a") {
      s.atA = into;
      s.isPluggedA = true;
    } else {
      s.atB = into;
      s.isPluggedB = true;
    }
  }

  function hear(s: Draft, port: number, mail: Mail, now: Ns, cause: Cause, effects: Effect<Mail>[]): void {
    if (mail.kind === "status") {
      const wasUp = s.link === "up";
      const gave = givesAt(s, port);
      s.statuses = s.statuses.with(port, mail.status);
      settle(s, now, cause, effects);
      // A port that begins or ceases to give is heard at once, like everything that is not a break.
      const hasNewGiving = spec.clockIsAgreed && gave !== givesAt(s, port);
      if (hasNewGiving && wasUp && s.link === "up") tellEnds(s, true, true, now, effects);
      return;
    }
    if (mail.kind === "reach") {
      if (mail.reached) s.isReached = true;
      s.unreachedNs = mail.reached || spec.stream === null ? NEVER : later(now, spec.stream.packetNs);
      s.unreachedCause = cause;
      settle(s, now, cause, effects);
      return;
    }
    if (mail.kind === "frame") {
      if (s.link === "up" && (port === s.atA || port === s.atB)) send(s, port, mail.frame, now, cause);
      return;
    }
    if (mail.kind !== "flow") return;
    const { signal } = mail;
    s.signals = s.signals.with(port, signal);
    if (signal === null || s.link !== "up" || !ways.some((way) => sender(s, way) === port)) return;
    send(s, port, signal, now, cause);
  }

  function send(s: Draft, socket: number, what: Signal | Frame, now: Ns, cause: Cause): void {
    const flight: InFlight = { atNs: later(now, delayNs(s, socket)), socket, what, cause };
    const last = s.inFlight.at(-1);
    if (last === undefined || last.atNs <= flight.atNs) s.inFlight = [...s.inFlight, flight];
    else {
      // What is sent the shorter way overtakes.
      const place = s.inFlight.findIndex(({ atNs }) => atNs > flight.atNs);
      s.inFlight = [...s.inFlight.slice(0, place), flight, ...s.inFlight.slice(place)];
    }
  }

  /** Only the message waits for a whole nanosecond, and at least for one. */
  function delayNs(s: CableState, socket: number): Ns {
    if (spec.packets === null) return spec.delayNs;
    const seconds = socket === s.atA ? spec.packets.thereSeconds : spec.packets.backSeconds;
    return Math.max(1, Math.ceil(seconds * 1e9)) as Ns;
  }

  /** What is due and has one cause: the rest is due now as well, with its own. */
  function land(s: Draft, now: Ns, effects: Effect<Mail>[]): void {
    let landed = 0;
    for (const flight of s.inFlight) {
      if (flight.atNs > now || flight.cause !== s.inFlight[0]?.cause) break;
      landed += 1;
      for (const way of ways) {
        if (sender(s, way) !== flight.socket) continue;
        const { what } = flight;
        const mail: Mail =
          "key" in what
            ? { kind: "frame", frame: passed(what, way, spec.packets as PacketWays) }
            : arrives(way, true, asArrived(s, flight.socket, what, now));
        effects.push({ do: "send", port: hearer(s, way), mail });
      }
    }
    s.inFlight = s.inFlight.slice(landed);
  }

  return {
    id: spec.id,
    rank: "carries",
    start(now): Step<CableState, Mail> {
      const { begin, offers } = spec;
      const s: Draft = {
        link: begin.isUp ? "up" : "down",
        isNoticed: !begin.isUp,
        clock: "given",
        isPluggedA: begin.isPlugged,
        isPluggedB: begin.isPlugged,
        atA: begin.plugA,
        atB: begin.plugB,
        cuts: [],
        isReached: spec.stream?.isReachedAtStart ?? true,
        isOnlyUnreached: false,
        unreachedNs: NEVER,
        unreachedCause: -1,
        signals: offers.map((offer) => offer.signal),
        statuses: offers.map((offer) => offer.status),
        inFlight: [],
        timerNs: NEVER,
        timerCause: -1,
        due: { atNs: NEVER, cause: -1 },
      };
      s.clock = clockOf(s);
      if (s.link === "down" && isReady(s)) {
        s.link = "coming-up";
        s.timerNs = later(now, spec.comingUpNs);
      }
      settleDue(s);
      return { state: s, effects: [{ do: "record", fact: linkFact(s) }] };
    },
    handle(state, event: MachineEvent<Order, Mail>, now): Step<CableState, Mail> {
      const effects: Effect<Mail>[] = [];
      const s = draftOf(state);
      if (event.kind === "mail") hear(s, event.port, event.mail, now, event.cause, effects);
      else if (event.kind === "world") {
        const wasUp = s.link === "up";
        obey(s, event.order, now, effects);
        // A re-plug into another port is a break even if both ends are whole a moment later.
        if (wasUp && s.link === "down") effects.push({ do: "record", fact: linkFact(s) });
        settle(s, now, event.cause, effects);
      } else {
        if (s.inFlight.length > 0) land(s, now, effects);
        if (s.unreachedNs <= now && s.unreachedCause === event.cause) {
          s.isReached = false;
          s.unreachedNs = NEVER;
          settle(s, now, event.cause, effects);
        }
        if (s.timerNs <= now) expire(s, now, event.cause, effects);
      }
      settleDue(s);
      return { state: s, effects };
    },
    due: (state) => state.due,
  };
}
