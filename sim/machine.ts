/**
 * The contract between the engine and everything that lives in a rig.
 *
 * A machine is three pure functions. It never reads a clock, sets a timer or calls anybody: it answers an event with
 * its next state and effects as data, and says when it next wants to be woken and what that is due to. The engine asks
 * again after each event, so nothing can go stale. Inputs are never changed (tests freeze them).
 */
import type { Cause, Fact } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";

export type MachineEvent<Order, Mail> =
  /** The world does something to this machine. */
  | { readonly kind: "world"; readonly order: Order; readonly cause: Cause }
  /** Something arrives on one of its ports. */
  | { readonly kind: "mail"; readonly port: number; readonly mail: Mail; readonly cause: Cause }
  /** The instant that it asked for has come; the cause is the one it gave with it. */
  | { readonly kind: "due"; readonly cause: Cause };

export type Effect<Mail> =
  | { readonly do: "send"; readonly port: number; readonly mail: Mail }
  /** The row becomes the cause of what is sent after it in this step. Its own cause is the event's, unless it says. */
  | { readonly do: "record"; readonly fact: Fact; readonly cause?: Cause };

export interface Step<State, Mail> {
  readonly state: State;
  readonly effects: readonly Effect<Mail>[];
}

export interface Due {
  /** Now or later; now is legal, earlier is a bug. */
  readonly atNs: Ns;
  readonly cause: Cause;
}

export interface Machine<State, Order, Mail> {
  /** Unique; also the subject of the rows it records. */
  readonly id: string;
  /** Of those due at one instant, what carries goes before what lives: an arrival beats a time-out. */
  readonly rank: "carries" | "lives";
  start(now: Ns): Step<State, Mail>;
  handle(state: State, event: MachineEvent<Order, Mail>, now: Ns): Step<State, Mail>;
  due(state: State): Due;
  /** What is still open at the end of the run goes into the record. */
  finish?(state: State, now: Ns): readonly Effect<Mail>[];
}

/** Machines, who hears whom, and what the world does. */
export interface Network<Order, Mail> {
  /** In the order of {@link inEngineOrder}. */
  readonly machines: readonly Machine<unknown, Order, Mail>[];
  /** wires[machine][port]: the ports that hear what is sent there. */
  readonly wires: readonly (readonly (readonly Wire[])[])[];
  /** By instant; each event is recorded once and then given to those it touches. */
  readonly world: readonly WorldEvent<Order>[];
}

export interface Wire {
  readonly to: number;
  readonly port: number;
}

export interface WorldEvent<Order> {
  readonly atNs: Ns;
  readonly fact: Fact;
  readonly orders: readonly { readonly to: number; readonly order: Order }[];
}

/** The one order of machines: what carries first, then by id. Due at one instant, they are woken in this order. */
export function inEngineOrder(a: { id: string; rank: string }, b: { id: string; rank: string }): number {
  if (a.rank !== b.rank) return a.rank === "carries" ? -1 : 1;
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}
