/** The machines of a network by hand, besides its nodes: segments, devices, streams. */
import type { Signal } from "../../shared/flow.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { Effect, Machine, Step } from "../../sim/machine.ts";
import type { Arrival, Frame, Mail, NetworkPath, Order } from "../../sim/mail.ts";

export type AnyMachine = Machine<unknown, Order, Mail>;

/** From a node to its segment's other ends. */
const HOP_NS = 1000 as Ns;

export interface Heard {
  readonly atNs: Ns;
  readonly arrival: Arrival;
}

/** A segment's end: "foh.1". */
export interface End {
  readonly node: string;
  readonly attachment: number;
  readonly name: string;
}

interface SegmentState {
  readonly cut: readonly number[];
  readonly flights: readonly {
    readonly atNs: Ns;
    readonly from: number;
    readonly frame: Frame;
    readonly cause: number;
  }[];
  readonly standing: readonly { readonly from: number; readonly frame: Frame }[];
  readonly notices: readonly { readonly atNs: Ns; readonly end: number; readonly cause: number }[];
}

/** Floods frames to every other end that is not cut; an end that is cut notices after a while. Orders: by index. */
export function segmentMachine(id: string, ends: readonly End[], path: NetworkPath, noticeNs: Ns): AnyMachine {
  const carrier = (end: number, up: boolean, carries: boolean): Effect<Mail> => ({
    do: "send",
    port: end,
    mail: { kind: "carrier", carrier: { up, carries } },
  });
  const frameTo = (end: number, frame: Frame): Effect<Mail> => ({
    do: "send",
    port: end,
    mail: { kind: "frame", frame: { ...frame, path } },
  });
  const machine: Machine<SegmentState, Order, Mail> = {
    id,
    rank: "carries",
    start: () => ({ state: { cut: [], flights: [], standing: [], notices: [] }, effects: [] }),
    handle(s, event, now): Step<SegmentState, Mail> {
      const others = (end: number): number[] => ends.map((_, i) => i).filter((i) => i !== end && !s.cut.includes(i));
      if (event.kind === "mail") {
        const { port: from, mail } = event;
        if (mail.kind !== "frame" || s.cut.includes(from)) return { state: s, effects: [] };
        const flight = { atNs: later(now, HOP_NS), from, frame: mail.frame, cause: event.cause };
        return { state: { ...s, flights: [...s.flights, flight] }, effects: [] };
      }
      if (event.kind === "world") {
        const { order } = event;
        if (order.do !== "cut" && order.do !== "mend") throw new Error(order.do);
        const end = Number(order.path);
        const theirs = s.standing.filter(({ from }) => from === end);
        const rest = s.standing.filter(({ from }) => from !== end);
        const flights = s.flights.filter(({ from }) => from !== end);
        if (order.do === "cut") {
          const gone = theirs.flatMap(({ frame }) => others(end).map((to) => frameTo(to, { ...frame, body: null })));
          const notices = [...s.notices, { atNs: later(now, noticeNs), end, cause: event.cause }];
          const state = { cut: [...s.cut, end], flights, standing: rest, notices };
          return { state, effects: [carrier(end, true, false), ...gone] };
        }
        const notices = s.notices.filter((notice) => notice.end !== end);
        const state = { ...s, cut: s.cut.filter((each) => each !== end), notices };
        return { state, effects: [carrier(end, true, true), ...rest.map(({ frame }) => frameTo(end, frame))] };
      }
      const notice = s.notices[0];
      if (notice !== undefined && notice.atNs <= now)
        return { state: { ...s, notices: s.notices.slice(1) }, effects: [carrier(notice.end, false, false)] };
      const [flight, ...flights] = s.flights;
      if (flight === undefined) return { state: s, effects: [] };
      const { from, frame } = flight;
      const kept = s.standing.filter((each) => each.from !== from || each.frame.key !== frame.key);
      const standing = frame.body === null ? kept : [...kept, { from, frame }];
      return { state: { ...s, flights, standing }, effects: others(from).map((to) => frameTo(to, frame)) };
    },
    due({ flights, notices }) {
      const first = flights[0] ?? { atNs: NEVER, cause: FROM_START };
      const notice = notices[0] ?? { atNs: NEVER, cause: FROM_START };
      return first.atNs <= notice.atNs ? { atNs: first.atNs, cause: first.cause } : notice;
    },
  };
  return machine as AnyMachine;
}

/** Says what it is told to say, and notes what it hears. */
export function deviceMachine(id: string, first: Signal, heard: Heard[]): AnyMachine {
  const machine: Machine<Signal, Order, Mail> = {
    id: `device ${id}`,
    rank: "lives",
    start: () => ({ state: first, effects: [] }),
    handle(signal, event, now): Step<Signal, Mail> {
      if (event.kind === "mail" && event.mail.kind === "arrival")
        heard.push({ atNs: now, arrival: event.mail.arrival });
      if (event.kind !== "world") return { state: signal, effects: [] };
      const { order } = event;
      const status = (alive: boolean, clockClass: number | null): Step<Signal, Mail> => ({
        state: signal,
        effects: [{ do: "send", port: 0, mail: { kind: "status", status: { alive, takes: [], clockClass } } }],
      });
      if (order.do === "power") return status(order.on, null);
      if (order.do === "choose-source") return status(true, Number(order.source));
      const bent: Signal = { ...signal, flow: { ...signal.flow, atNs: now, rate: signal.flow.rate + 1e-6 } };
      return { state: bent, effects: [{ do: "send", port: 0, mail: { kind: "flow", signal: bent } }] };
    },
    due: () => ({ atNs: NEVER, cause: FROM_START }),
  };
  return machine as AnyMachine;
}

export function streamMachine(link: string, reached: { atNs: Ns; link: string; reached: boolean }[]): AnyMachine {
  const machine: Machine<null, Order, Mail> = {
    id: `stream ${link}`,
    rank: "carries",
    start: () => ({ state: null, effects: [] }),
    handle(_state, event, now): Step<null, Mail> {
      if (event.kind === "mail" && event.mail.kind === "reach")
        reached.push({ atNs: now, link, reached: event.mail.reached });
      return { state: null, effects: [] };
    },
    due: () => ({ atNs: NEVER, cause: FROM_START }),
  };
  return machine as AnyMachine;
}

/** The same machine; whoever writes on a state that is not his throws. */
export function frozen(machine: AnyMachine): AnyMachine {
  const kept = (step: Step<unknown, Mail>): Step<unknown, Mail> => {
    freeze(step.state);
    return step;
  };
  return {
    ...machine,
    start: (now) => kept(machine.start(now)),
    handle: (state, event, now) => kept(machine.handle(state, event, now)),
  };
}

function freeze(value: unknown): void {
  if (typeof value !== "object" || value === null || Object.isFrozen(value)) return;
  Object.freeze(value);
  for (const each of Object.values(value)) freeze(each);
}
