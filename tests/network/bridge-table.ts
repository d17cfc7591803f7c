/** Cables, devices and ears for bridges on a table: they know no more than a test needs. */
import type { Cause } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER, nsFromSeconds } from "../../shared/time.ts";
import type { Train } from "../../sim/election/train.ts";
import type { Effect, Machine, Step } from "../../sim/machine.ts";
import type { ClockFrame, Frame, Mail, Order } from "../../sim/mail.ts";

export const COMING_UP_SECONDS = 2.5;
/** Under some microseconds on the longest way in these tests. */
export const CABLE_NS = 500 as Ns;

export interface EarState {
  readonly heard: readonly { readonly port: number; readonly frame: Frame }[];
}

/** No bridge looks into a train. */
const BODY: ClockFrame = { kind: "clock", train: {} as Train, signal: null };

/** Speaks behind each attachment when it begins, and again when what is before it carries again. */
export function makeEar(bridge: string, attachments: number): Machine<EarState, Order, Mail> {
  const say = (port: number): Effect<Mail> => ({
    do: "send",
    port,
    mail: {
      kind: "frame",
      frame: {
        key: `clock ${bridge}.${port + 1}`,
        body: BODY,
        path: { forthSeconds: 0, backSeconds: 0, varianceSeconds2: 0, bridges: 0 },
      },
    },
  });
  return {
    id: `node ${bridge} a`,
    rank: "lives",
    start: () => ({ state: { heard: [] }, effects: Array.from({ length: attachments }, (_, port) => say(port)) }),
    handle(state, event): Step<EarState, Mail> {
      if (event.kind !== "mail") return { state, effects: [] };
      const { port, mail } = event;
      if (mail.kind === "carrier") {
        if (mail.carrier.carries) return { state, effects: [say(port)] };
        return { state: { heard: state.heard.filter((each) => each.port !== port) }, effects: [] };
      }
      if (mail.kind !== "frame") return { state, effects: [] };
      const { frame } = mail;
      const others = state.heard.filter((each) => each.port !== port || each.frame.key !== frame.key);
      return { state: { heard: frame.body === null ? others : [...others, { port, frame }] }, effects: [] };
    },
    due: () => ({ atNs: NEVER, cause: FROM_START }),
  };
}

/** A device of which nothing counts but whether it has power. */
export function makePower(bridge: string): Machine<null, Order, Mail> {
  return {
    id: `device ${bridge}`,
    rank: "lives",
    start: () => ({ state: null, effects: [] }),
    handle(state, event): Step<null, Mail> {
      if (event.kind !== "world" || event.order.do !== "power") return { state, effects: [] };
      const status = { alive: event.order.on, takes: [], clockClass: null };
      return { state, effects: [{ do: "send", port: 0, mail: { kind: "status", status } }] };
    },
    due: () => ({ atNs: NEVER, cause: FROM_START }),
  };
}

interface TestCableState {
  readonly isPlugged: boolean;
  readonly alive: readonly boolean[];
  readonly link: "up" | "broken" | "down" | "coming-up";
  readonly timerNs: Ns;
  readonly timerCause: Cause;
  readonly inFlight: readonly {
    readonly atNs: Ns;
    readonly to: number;
    readonly frame: Frame;
    readonly cause: Cause;
  }[];
}

/** In-ports 0 and 1: frames from its ends; 2 and 3: status of the devices there. */
export function makeTestCable(id: string, isPlugged: boolean, noticeNs: Ns): Machine<TestCableState, Order, Mail> {
  const comingUpNs = nsFromSeconds(COMING_UP_SECONDS);
  const tell = (up: boolean, carries: boolean): Effect<Mail>[] =>
    [0, 1].map((port) => ({ do: "send", port, mail: { kind: "carrier", carrier: { up, carries } } }));
  function settle(s: TestCableState, now: Ns, cause: Cause): Step<TestCableState, Mail> {
    const isWhole = s.isPlugged && s.alive.every((is) => is);
    if (s.link === "up" && !isWhole)
      return {
        state: { ...s, link: "broken", timerNs: later(now, noticeNs), timerCause: cause, inFlight: [] },
        effects: tell(true, false),
      };
    if (s.link === "broken" && isWhole)
      return { state: { ...s, link: "up", timerNs: NEVER }, effects: tell(true, true) };
    if (s.link === "down" && isWhole)
      return {
        state: { ...s, link: "coming-up", timerNs: later(now, comingUpNs), timerCause: cause },
        effects: [],
      };
    if (s.link === "coming-up" && !isWhole) return { state: { ...s, link: "down", timerNs: NEVER }, effects: [] };
    return { state: s, effects: [] };
  }
  return {
    id: `link ${id} both`,
    rank: "carries",
    start: () => ({
      state: {
        isPlugged,
        alive: [true, true],
        link: isPlugged ? "up" : "down",
        timerNs: NEVER,
        timerCause: FROM_START,
        inFlight: [],
      },
      effects: [],
    }),
    handle(s, event, now): Step<TestCableState, Mail> {
      const { cause } = event;
      if (event.kind === "world") return settle({ ...s, isPlugged: event.order.do === "plug" }, now, cause);
      if (event.kind === "mail") {
        const { port, mail } = event;
        if (mail.kind === "status")
          return settle({ ...s, alive: s.alive.with(port - 2, mail.status.alive) }, now, cause);
        if (mail.kind !== "frame" || s.link !== "up") return { state: s, effects: [] };
        const flight = { atNs: later(now, CABLE_NS), to: 1 - port, frame: mail.frame, cause };
        return { state: { ...s, inFlight: [...s.inFlight, flight] }, effects: [] };
      }
      const first = s.inFlight[0];
      if (first !== undefined && first.atNs <= now)
        return {
          state: { ...s, inFlight: s.inFlight.slice(1) },
          effects: [{ do: "send", port: first.to, mail: { kind: "frame", frame: first.frame } }],
        };
      if (s.link === "broken") return settleDown(s, now, cause);
      return { state: { ...s, link: "up", timerNs: NEVER }, effects: tell(true, true) };
    },
    due(s) {
      const first = s.inFlight[0];
      return first !== undefined && first.atNs <= s.timerNs
        ? { atNs: first.atNs, cause: first.cause }
        : { atNs: s.timerNs, cause: s.timerCause };
    },
  };
  function settleDown(s: TestCableState, now: Ns, cause: Cause): Step<TestCableState, Mail> {
    const { state, effects } = settle({ ...s, link: "down", timerNs: NEVER }, now, cause);
    return { state, effects: [...tell(false, false), ...effects] };
  }
}
