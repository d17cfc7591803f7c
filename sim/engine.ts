/**
 * Plays a network of machines. It knows three things that can come next: what the world does (a list in order), the
 * mail of the present instant (first in, first out), and one due instant per machine (the queue).
 *
 * Order: instant; then the world; then mail until there is none; then the machines due, one at a time, what carries
 * first, then by id, with the mail each sends delivered before the next. So a wake that is due when the cable is pulled
 * finds it pulled, and what arrives exactly at a time-out is in time.
 *
 * A run can be cut between any two instants: a {@link Moment} is plain data, and going on from a copy of it is the same
 * run. Runs that cannot end are impossible: each instant, each second and the whole run have a budget of events.
 */
import type { Cause, Fact, Row } from "../shared/record.ts";
import { FROM_START } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { NEVER, secondsFromNs, ZERO } from "../shared/time.ts";
import type { Effect, Machine, Network, Wire, WorldEvent } from "./machine.ts";
import { makeQueue } from "./queue.ts";

/** Everything between two instants. The queue is not in it: it is `due` of every state. */
export interface Moment {
  readonly atNs: Ns;
  readonly states: readonly unknown[];
  /** Index of the next world event. */
  readonly nextWorld: number;
  readonly rows: readonly Row[];
  /** Sent at the start and not yet delivered; empty once the first instant has been played. */
  readonly mail: readonly Letter[];
}

interface Letter {
  readonly to: number;
  readonly port: number;
  readonly what: unknown;
  readonly cause: Cause;
}

export interface Budget {
  readonly perInstant: number;
  readonly perSecond: number;
  readonly perRun: number;
}

/**
 * Far above what any honest rig needs: a campus of 2,000 devices that all start at one instant stays below 200 events
 * a machine; a chain that re-locks announces some 30 times a second and hop.
 */
export function defaultBudget(machines: number): Budget {
  return { perInstant: 10_000 + 500 * machines, perSecond: 100_000 + 5_000 * machines, perRun: 2_000_000_000 };
}

/** A run that spent its budget: a circle that takes no time, or a storm. */
export class BudgetError extends Error {
  constructor(atNs: Ns, budget: string, events: number, cycle: readonly string[]) {
    super(
      `at ${secondsFromNs(atNs).toFixed(9)} s: more than ${events} events ${budget} (${cycle.join(" → ")}). ` +
        "These machines wake each other without end.",
    );
    this.name = "BudgetError";
  }
}

export interface Engine {
  /** Plays every instant up to and including `untilNs`. */
  playTo(untilNs: Ns): void;
  /** Plays to `untilNs` and closes what is open; the engine is done then. */
  finish(untilNs: Ns): readonly Row[];
  moment(): Moment;
  readonly eventCount: number;
}

export function startEngine<Order, Mail>(network: Network<Order, Mail>, from?: Moment, budget?: Budget): Engine {
  const { machines, wires, world } = network;
  const limits = budget ?? defaultBudget(machines.length);
  const queue = makeQueue(machines.length);
  const states: unknown[] = from === undefined ? new Array(machines.length) : [...from.states];
  const rows: Row[] = from === undefined ? [] : [...from.rows];
  let nextWorld = from?.nextWorld ?? 0;
  let now: Ns = from?.atNs ?? ZERO;

  // The mail of the present instant: delivered from the head on, and emptied before time moves.
  const mail: Letter[] = from === undefined ? [] : [...from.mail];
  let mailHead = 0;

  // Why each machine wants to be woken, beside the queue's when.
  const dueCauses = new Int32Array(machines.length);

  let eventCount = 0;
  let eventsBeforeInstant = 0;
  let eventsBeforeSecond = 0;
  let secondEndsNs = 0;
  /** One comparison an event: the count at which the first of the budgets is spent. */
  let eventLimit = 0;
  let trail: string[] | null = null;

  function record(subject: string, cause: Cause, fact: Fact): Cause {
    rows.push({ atNs: now, subject, cause, fact });
    return rows.length - 1;
  }

  function carryOut(slot: number, effects: readonly Effect<Mail>[], eventCause: Cause): void {
    let cause = eventCause;
    for (const effect of effects) {
      if (effect.do === "record") {
        cause = record((machines[slot] as Machine<unknown, Order, Mail>).id, effect.cause ?? cause, effect.fact);
      } else {
        const wire = wires[slot]?.[effect.port] as readonly Wire[];
        for (const { to, port } of wire) mail.push({ to, port, what: effect.mail, cause });
      }
    }
  }

  function reschedule(slot: number, machine: Machine<unknown, Order, Mail>): void {
    const { atNs, cause } = machine.due(states[slot]);
    if (atNs < now) throw new Error(`${machine.id} asks to be woken at ${atNs} ns, before now (${now} ns)`);
    dueCauses[slot] = cause;
    queue.set(slot, atNs);
  }

  /** To be called before each event, with the machine that it is for. */
  function count(slot: number): void {
    eventCount += 1;
    if (eventCount > eventLimit) overspend(slot);
  }

  /** A budget is spent: the next two hundred events name the machines of the cycle, then the run ends. */
  function overspend(slot: number): void {
    if (trail === null) {
      trail = [];
      return;
    }
    const { id } = machines[slot] as Machine<unknown, Order, Mail>;
    if (!trail.includes(id)) trail.push(id);
    const over = (spent: number, budget: number): boolean => spent > budget + 200;
    if (over(eventCount - eventsBeforeInstant, limits.perInstant))
      throw new BudgetError(now, "in one instant", limits.perInstant, trail);
    if (over(eventCount - eventsBeforeSecond, limits.perSecond))
      throw new BudgetError(now, "in one second", limits.perSecond, trail);
    if (over(eventCount, limits.perRun)) throw new BudgetError(now, "in one run", limits.perRun, trail);
  }

  function deliverMail(): void {
    while (mailHead < mail.length) {
      const { to: slot, port, what, cause } = mail[mailHead] as Letter;
      const machine = machines[slot] as Machine<unknown, Order, Mail>;
      const event = { kind: "mail", port, mail: what as Mail, cause } as const;
      mailHead += 1;
      count(slot);
      const step = machine.handle(states[slot], event, now);
      states[slot] = step.state;
      if (step.effects.length > 0) carryOut(slot, step.effects, cause);
      reschedule(slot, machine);
    }
    if (mailHead > 0) {
      mail.length = 0;
      mailHead = 0;
    }
  }

  function enter(instant: Ns): void {
    now = instant;
    eventsBeforeInstant = eventCount;
    if (instant >= secondEndsNs) {
      secondEndsNs = (Math.floor(instant / 1e9) + 1) * 1e9;
      eventsBeforeSecond = eventCount;
      trail = null;
    }
    eventLimit = Math.min(
      eventsBeforeInstant + limits.perInstant,
      eventsBeforeSecond + limits.perSecond,
      limits.perRun,
    );
  }

  function worldAtNs(): Ns {
    return nextWorld < world.length ? (world[nextWorld] as WorldEvent<Order>).atNs : NEVER;
  }

  function playTo(untilNs: Ns): void {
    let worldAt = worldAtNs();
    for (;;) {
      const dueAt = queue.firstAtNs();
      const instant = worldAt <= dueAt ? worldAt : dueAt;
      if (instant > untilNs || instant === NEVER) break;
      if (instant !== now) enter(instant);
      if (worldAt === instant) {
        while (worldAtNs() === instant) {
          const happening = world[nextWorld] as WorldEvent<Order>;
          nextWorld += 1;
          const cause = record("world", FROM_START, happening.fact);
          for (const { to, order } of happening.orders) {
            const machine = machines[to] as Machine<unknown, Order, Mail>;
            count(to);
            const step = machine.handle(states[to], { kind: "world", order, cause }, now);
            states[to] = step.state;
            carryOut(to, step.effects, cause);
            reschedule(to, machine);
          }
        }
        worldAt = worldAtNs();
      } else {
        const slot = queue.first();
        const machine = machines[slot] as Machine<unknown, Order, Mail>;
        const cause = dueCauses[slot] as Cause;
        count(slot);
        const step = machine.handle(states[slot], { kind: "due", cause }, now);
        states[slot] = step.state;
        if (step.effects.length > 0) carryOut(slot, step.effects, cause);
        reschedule(slot, machine);
      }
      deliverMail();
    }
    if (untilNs > now) enter(untilNs);
  }

  enter(now);
  if (from === undefined) {
    for (const [slot, machine] of machines.entries()) {
      const step = machine.start(now);
      states[slot] = step.state;
      carryOut(slot, step.effects, FROM_START);
    }
    for (const [slot, machine] of machines.entries()) reschedule(slot, machine);
    // World events at the first instant come before the first mail, as at every other.
    if (worldAtNs() !== now) deliverMail();
  } else {
    for (const [slot, machine] of machines.entries()) reschedule(slot, machine);
  }

  return {
    playTo,
    finish(untilNs) {
      playTo(untilNs);
      for (const [slot, machine] of machines.entries()) {
        const effects = machine.finish?.(states[slot], now);
        if (effects !== undefined) carryOut(slot, effects, FROM_START);
      }
      return rows;
    },
    moment: () => ({ atNs: now, states: [...states], nextWorld, rows: [...rows], mail: [...mail] }),
    get eventCount() {
      return eventCount;
    },
  };
}
