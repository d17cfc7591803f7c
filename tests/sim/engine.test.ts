/**
 * The engine with toy machines: each says in the record what it was woken by, so that the total order can be read off
 * as a list of lines. A small rig of real machines shows that they keep the engine's rules as well.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Fact, Row } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, ZERO } from "../../shared/time.ts";
import type { Engine } from "../../sim/engine.ts";
import { BudgetError, defaultBudget, startEngine } from "../../sim/engine.ts";
import type { Effect, Machine, MachineEvent, Network, Wire } from "../../sim/machine.ts";
import { inEngineOrder } from "../../sim/machine.ts";
import { buildRig } from "../../sim/rig.ts";
import { tries } from "../helpers/laws.ts";
import { at, device, feed, link, planOf, plug, unplug } from "../helpers/plan.ts";

const ns = (instant: number) => instant as Ns;

// ------------------------------------------------------------------------------------------------------ toy machines

interface ToyState {
  readonly wakes: readonly Ns[];
  readonly due: { readonly atNs: Ns; readonly cause: number };
}
type ToyEvent = MachineEvent<string, string>;
type Toy = Machine<unknown, string, string>;

interface Answer {
  readonly send?: readonly (readonly [number, string])[];
  readonly wakeAt?: number;
  readonly forgetWakes?: boolean;
}

interface ToyWords {
  readonly rank?: "carries" | "lives";
  readonly wakes?: readonly number[];
  readonly begins?: readonly string[];
  /** What it does besides noting the event: mail to send on ports, a wake to add, words to note. */
  readonly answers?: (event: ToyEvent, now: Ns) => Answer;
  readonly ends?: string;
}

const note = (reason: string): Fact => ({ kind: "clock", state: "free-run", source: null, reason });
const wordsOf = ({ fact }: Row): string => (fact.kind === "clock" ? fact.reason : fact.kind);

/** A machine that notes every event and does what its words say. */
function toy(id: string, words: ToyWords = {}): Toy {
  const { rank = "lives", wakes = [], begins = [], answers = (): Answer => ({}), ends } = words;
  const stateOf = (all: readonly Ns[], cause: number): ToyState => ({
    wakes: all,
    due: { atNs: all[0] ?? NEVER, cause },
  });
  const send = (port: number, mail: string): Effect<string> => ({ do: "send", port, mail });
  const machine: Machine<ToyState, string, string> = {
    id,
    rank,
    start: () => ({ state: stateOf(wakes as Ns[], FROM_START), effects: begins.map((mail) => send(0, mail)) }),
    handle(state, event, now) {
      const what =
        event.kind === "mail" ? `mail ${event.mail}` : event.kind === "world" ? `world ${event.order}` : "due";
      const { send: sends = [], wakeAt, forgetWakes = false } = answers(event, now);
      const left = forgetWakes ? [] : event.kind === "due" ? state.wakes.slice(1) : state.wakes;
      const all = wakeAt === undefined ? left : [...left, wakeAt as Ns].sort((a, b) => a - b);
      const effects: Effect<string>[] = [
        { do: "record", fact: note(what) },
        ...sends.map(([port, mail]) => send(port, mail)),
      ];
      return { state: stateOf(all, event.cause), effects };
    },
    due: (state) => state.due,
  };
  if (ends !== undefined) machine.finish = () => [{ do: "record", fact: note(ends) }];
  return machine as Toy;
}

interface World {
  readonly atNs: number;
  readonly orders: Readonly<Record<string, string>>;
}

/** Toys in the engine's order, wired by id: `wires: { a: [["b", "c"]] }` connects port 0 of a to b and to c. */
function network(
  toys: readonly Toy[],
  wires: Readonly<Record<string, readonly (readonly string[])[]>> = {},
  world: readonly World[] = [],
): Network<string, string> {
  const machines = [...toys].sort(inEngineOrder);
  const slot = (id: string) => machines.findIndex((machine) => machine.id === id);
  return {
    machines,
    wires: machines.map(({ id }): Wire[][] =>
      (wires[id] ?? []).map((ends) => ends.map((to) => ({ to: slot(to), port: 0 }))),
    ),
    world: world.map(({ atNs, orders }) => ({
      atNs: ns(atNs),
      fact: note("the world"),
      orders: Object.entries(orders).map(([id, order]) => ({ to: slot(id), order })),
    })),
  };
}

/** One line a row: "5 b mail x". */
const lines = (rows: readonly Row[]) => rows.map((row) => `${row.atNs} ${row.subject} ${wordsOf(row)}`);

/** Everything that a machine is given is frozen; in modules a write to it throws. */
function frozen<State, Order, Mail>(machine: Machine<State, Order, Mail>): Machine<State, Order, Mail> {
  return {
    ...machine,
    handle: (state, event, now) => machine.handle(freeze(state), freeze(event), now),
    due: (state) => machine.due(freeze(state)),
    ...(machine.finish === undefined
      ? {}
      : { finish: (state: State, now: Ns) => machine.finish?.(freeze(state), now) ?? [] }),
  };
}

function freeze<T>(value: T): T {
  if (typeof value !== "object" || value === null || Object.isFrozen(value)) return value;
  Object.freeze(value);
  for (const part of Object.values(value)) freeze(part);
  return value;
}

// ------------------------------------------------------------------------------------------------------------- order

describe("the total order", () => {
  test("instant, then the world, then mail first in first out, then the machines due: what carries, then by id", () => {
    const shout = (event: ToyEvent) => (event.kind === "due" ? { send: [[0, "x"]] as const } : {});
    const rig = network(
      [
        toy("z cable", { rank: "carries", wakes: [5], answers: shout }),
        toy("y cable", { rank: "carries", wakes: [5], answers: shout }),
        toy("b", { wakes: [5, 7] }),
        toy("a", { wakes: [5], answers: shout }),
      ],
      { "z cable": [["b"]], "y cable": [["a", "b"]], a: [["b"]] },
      [
        { atNs: 5, orders: { b: "first" } },
        { atNs: 5, orders: { a: "second", b: "second" } },
        { atNs: 6, orders: { a: "third" } },
      ],
    );
    expect(lines(startEngine(rig).finish(ns(10)))).toEqual([
      "5 world the world",
      "5 b world first",
      "5 world the world",
      "5 a world second",
      "5 b world second",
      "5 y cable due",
      "5 a mail x",
      "5 b mail x",
      "5 z cable due",
      "5 b mail x",
      "5 a due",
      "5 b mail x",
      "5 b due",
      "6 world the world",
      "6 a world third",
      "7 b due",
    ]);
  });

  test("mail is delivered in the order in which it was sent, an answer after what was already under way", () => {
    const rig = network(
      [
        toy("a", {
          wakes: [1],
          answers: (event) =>
            event.kind === "due"
              ? {
                  send: [
                    [0, "1"],
                    [1, "2"],
                    [0, "3"],
                  ],
                }
              : {},
        }),
        toy("b", { answers: (event) => (event.kind === "mail" ? { send: [[0, `${event.mail}!`]] } : {}) }),
        toy("c"),
      ],
      { a: [["b"], ["c"]], b: [["c"]] },
    );
    expect(lines(startEngine(rig).finish(ns(1)))).toEqual([
      "1 a due",
      "1 b mail 1",
      "1 c mail 2",
      "1 b mail 3",
      "1 c mail 1!",
      "1 c mail 3!",
    ]);
  });

  test("what is sent at the start arrives before anything is due, and after the world of that instant", () => {
    const toys = () => [toy("a", { begins: ["hello"] }), toy("b", { wakes: [0] })];
    expect(lines(startEngine(network(toys(), { a: [["b"]] })).finish(ns(0)))).toEqual(["0 b mail hello", "0 b due"]);
    const withWorld = network(toys(), { a: [["b"]] }, [{ atNs: 0, orders: { b: "pull" } }]);
    expect(lines(startEngine(withWorld).finish(ns(0)))).toEqual([
      "0 world the world",
      "0 b world pull",
      "0 b mail hello",
      "0 b due",
    ]);
  });

  test("a machine that is due now again and again is served again and again, at the same instant", () => {
    expect(lines(startEngine(network([toy("a", { wakes: [3, 3, 3, 3] })])).finish(ns(9)))).toEqual([
      "3 a due",
      "3 a due",
      "3 a due",
      "3 a due",
    ]);
  });

  test("the order of the list that the rig was made from does not matter", () => {
    const toys = () =>
      ["d", "b", "e", "a", "c"].map((id) => toy(id, { rank: id < "c" ? "lives" : "carries", wakes: [2, 4] }));
    const expected = lines(startEngine(network(toys())).finish(ns(4)));
    expect(expected.slice(0, 5)).toEqual(["2 c due", "2 d due", "2 e due", "2 a due", "2 b due"]);
    fc.assert(
      fc.property(fc.shuffledSubarray([0, 1, 2, 3, 4], { minLength: 5 }), (order) => {
        const all = toys();
        expect(lines(startEngine(network(order.map((index) => all[index] as Toy))).finish(ns(4)))).toEqual(expected);
      }),
      tries(100),
    );
  });
});

describe("ties", () => {
  // Under both orders of ids: what is due to the rank may not hang on a name.
  test.each([
    ["a", "z"],
    ["z", "a"],
  ])("an arrival exactly at the time-out is in time (cable %s, listener %s)", (cable, listener) => {
    const hears = (arrivesAt: number) => {
      const rig = network(
        [
          toy(cable, {
            rank: "carries",
            wakes: [arrivesAt],
            answers: (event) => (event.kind === "due" ? { send: [[0, "here"]] } : {}),
          }),
          toy(listener, { wakes: [100], answers: (event) => (event.kind === "mail" ? { forgetWakes: true } : {}) }),
        ],
        { [cable]: [[listener]] },
      );
      return lines(startEngine(rig).finish(ns(200))).filter((line) => line.includes(`${listener} `));
    };
    expect(hears(99)).toEqual([`99 ${listener} mail here`]);
    expect(hears(100)).toEqual([`100 ${listener} mail here`]);
    expect(hears(101)).toEqual([`100 ${listener} due`, `101 ${listener} mail here`]);
  });

  test.each([
    ["a", "z"],
    ["z", "a"],
  ])("a wake at the instant of the pull finds the cable pulled (cable %s, device %s)", (cable, waker) => {
    let isPulled = false;
    const found: boolean[] = [];
    const rig = network(
      [
        toy(cable, {
          rank: "carries",
          answers: (event) => {
            if (event.kind === "world") isPulled = true;
            return {};
          },
        }),
        toy(waker, {
          wakes: [49, 50, 51],
          answers: () => {
            found.push(isPulled);
            return {};
          },
        }),
      ],
      {},
      [{ atNs: 50, orders: { [cable]: "pull" } }],
    );
    startEngine(rig).finish(ns(60));
    expect(found).toEqual([false, true, true]);
  });

  test("in a rig of real machines: a cable that is whole again at the very end of noticing starts anew, one nanosecond sooner it does not", () => {
    const play = (secondsOut: number) => {
      const plan = planOf({
        seconds: 20,
        devices: [device("foh", ["internal"], { offsetPpm: 5 }), device("stage", ["1"])],
        links: [link("foh.1", "stage.1", { id: "main", noticeSeconds: 0.5, comingUpSeconds: 1 })],
        events: [unplug(10, "main"), plug(10 + secondsOut, "main")],
      });
      const rows = startEngine(buildRig(plan)).finish(plan.lengthNs);
      return rows.flatMap(({ atNs, fact }) =>
        fact.kind === "link" && atNs > 0 ? [`${atNs / 1e9} ${fact.state}`] : [],
      );
    };
    expect(play(0.499999999)).toEqual(["10 down", "10.499999999 up"]);
    // At the same instant the world comes first: the plug is in before noticing runs out, so it is never noticed.
    expect(play(0.5)).toEqual(["10 down", "10.5 up"]);
    expect(play(0.500000001)).toEqual(["10 down", "10.5 down", "10.500000001 coming-up", "11.500000001 up"]);
  });
});

// ------------------------------------------------------------------------------------------------------------ causes

describe("causes", () => {
  test("a row is the cause of what is sent after it; a wake has the cause that was given with it", () => {
    const rig = network(
      [
        toy("a", { answers: (event) => (event.kind === "world" ? { send: [[0, "x"]] } : {}) }),
        toy("b", {
          answers: (event, now) =>
            event.kind === "mail"
              ? { send: [[0, "y"]], wakeAt: now + 40 }
              : event.kind === "due"
                ? { send: [[0, "late"]] }
                : {},
        }),
        toy("c"),
      ],
      { a: [["b"]], b: [["c"]] },
      [{ atNs: 10, orders: { a: "go" } }],
    );
    const rows = startEngine(rig).finish(ns(100));
    expect(rows.map((row) => [`${row.subject} ${wordsOf(row)}`, row.cause])).toEqual([
      ["world the world", FROM_START],
      ["a world go", 0],
      ["b mail x", 1],
      ["c mail y", 2],
      ["b due", 1], // the cause of the mail that set the deadline
      ["c mail late", 4],
    ]);
  });

  test("an effect may name another cause than its event's", () => {
    const named: Toy = {
      ...toy("a", { wakes: [5] }),
      handle: () => ({
        state: { wakes: [], due: { atNs: NEVER, cause: -1 } },
        effects: [
          { do: "record", fact: note("first") },
          { do: "record", fact: note("second") },
          { do: "record", fact: note("third"), cause: 0 },
        ],
      }),
    };
    const rows = startEngine(network([named], {}, [{ atNs: 1, orders: {} }])).finish(ns(9));
    // Each row in one step follows from the row before it, unless it says otherwise.
    expect(rows.map((row) => [wordsOf(row), row.cause])).toEqual([
      ["the world", FROM_START],
      ["first", FROM_START],
      ["second", 1],
      ["third", 0],
    ]);
  });

  test("every cause is an earlier row, and every chain ends at the world or at the start, in a rig with faults", () => {
    const { rows } = play(eventfulPlan);
    let longest = 0;
    for (const [index, row] of rows.entries()) {
      expect(row.cause).toBeGreaterThanOrEqual(FROM_START);
      expect(row.cause).toBeLessThan(index);
      if (row.cause >= 0) expect((rows[row.cause] as Row).atNs).toBeLessThanOrEqual(row.atNs);
      let length = 0;
      for (let cause = row.cause; cause >= 0; cause = (rows[cause] as Row).cause) length += 1;
      longest = Math.max(longest, length);
    }
    expect(longest).toBeGreaterThan(3);
  });
});

// ----------------------------------------------------------------------------------------------------------- moments

const eventfulLinks = [
  link("foh.1", "stage.1", { id: "main", hasReturn: true, lengthMetres: 80 }),
  link("mon.1", "stage.2", { id: "spare", lengthMetres: 95 }),
  link("stage.3", "pa.1", { id: "to-pa", type: "aes50", lengthMetres: 30 }),
];
/** Failover, return, slips both ways, a reboot, a re-alignment: the states of all machines are in use. */
const eventfulPlan = planOf({
  seconds: 60,
  devices: [
    device("foh", ["internal"], {
      offsetPpm: 18,
      bootSeconds: 8,
      oscillator: { warmUpPpm: 2, warmUpSeconds: 5, coolDownSeconds: 9 },
    }),
    device("mon", ["internal"], { offsetPpm: -17 }),
    device("stage", ["1", "2"], { offsetPpm: 3, holdoverSeconds: 1, waitToRestoreSeconds: 2 }),
    device("pa", ["1"], { offsetPpm: -4 }),
  ],
  links: eventfulLinks,
  feeds: [feed("mix", ["foh", "stage", "pa"], eventfulLinks)],
  events: [
    unplug(7.7, "main"),
    plug(19.1, "main"),
    at(28, { do: "power-cut", device: "foh", supply: null }),
    at(33, { do: "power-back", device: "foh", supply: null }),
    at(45, { do: "reboot", device: "pa", part: "engine" }),
  ],
});

function play(plan: typeof eventfulPlan) {
  const engine = startEngine(buildRig(plan));
  const rows = engine.finish(plan.lengthNs);
  return { rows, eventCount: engine.eventCount };
}

describe("a moment", () => {
  /** Plays to a cut, copies the moment as plain data, and goes on from the copy. */
  function cutAt<Order, Mail>(rig: () => Network<Order, Mail>, cut: Ns, end: Ns): readonly Row[] {
    const first = startEngine(rig());
    first.playTo(cut);
    return startEngine(rig(), structuredClone(first.moment())).finish(end);
  }

  test("cut anywhere, copied, continued, it is the same run: toys that wake, answer and are told", () => {
    const rig = () =>
      network(
        [
          toy("a", {
            wakes: [0, 3, 9],
            begins: ["hello"],
            answers: (event, now) => (event.kind === "mail" ? { wakeAt: now + 2 } : { send: [[0, "x"]] }),
          }),
          toy("b", {
            wakes: [3],
            ends: "over",
            answers: (event) => (event.kind === "due" ? { send: [[0, "y"]] } : {}),
          }),
          toy("c cable", { rank: "carries", wakes: [3, 6] }),
        ],
        { a: [["b"]], b: [["a", "c cable"]] },
        [
          { atNs: 0, orders: { a: "early" } },
          { atNs: 6, orders: { b: "late" } },
        ],
      );
    const whole = startEngine(rig()).finish(ns(20));
    expect(whole.length).toBeGreaterThan(15);
    for (let cut = 0; cut <= 20; cut++) expect(cutAt(rig, ns(cut), ns(20))).toEqual(whole);
  });

  test("taken before the first instant has been played, it still has all that was sent at the start", () => {
    const rig = () =>
      network([toy("a", { begins: ["hello"] }), toy("b")], { a: [["b"]] }, [{ atNs: 0, orders: { b: "pull" } }]);
    const whole = startEngine(rig()).finish(ns(5));
    expect(lines(whole)).toEqual(["0 world the world", "0 b world pull", "0 b mail hello"]);
    const untouched = startEngine(rig());
    expect(startEngine(rig(), structuredClone(untouched.moment())).finish(ns(5))).toEqual(whole);
  });

  test("cut anywhere, it is the same run: a rig with faults, at its own instants and between them", () => {
    const { rows: whole } = play(eventfulPlan);
    const rig = () => buildRig(eventfulPlan);
    const instants = whole.map(({ atNs }) => atNs as number);
    const somewhere = fc.oneof(
      fc.integer({ min: 0, max: eventfulPlan.lengthNs }),
      fc.constantFrom(...instants),
      fc.constantFrom(...instants).map((instant) => Math.max(0, instant - 1)),
    );
    fc.assert(
      fc.property(somewhere, (cut) => {
        expect(cutAt(rig, ns(cut), eventfulPlan.lengthNs)).toEqual(whole);
      }),
      tries(40),
    );
  });

  test("looking changes nothing: stops along the way, and moments taken there, leave the rows as they are", () => {
    const { rows: whole } = play(eventfulPlan);
    const engine = startEngine(buildRig(eventfulPlan));
    for (let stop = 0; stop < eventfulPlan.lengthNs; stop += 0.37e9) {
      engine.playTo(ns(Math.round(stop)));
      engine.moment();
    }
    expect(engine.finish(eventfulPlan.lengthNs)).toEqual(whole);
  });

  test("is not moved by what its engine does afterwards", () => {
    const engine = startEngine(buildRig(eventfulPlan));
    engine.playTo(ns(20e9));
    const moment = engine.moment();
    const before = structuredClone(moment);
    engine.finish(eventfulPlan.lengthNs);
    expect(moment).toEqual(before);
  });

  test("a copy that has lost a wake is not the same run", () => {
    const { rows: whole } = play(eventfulPlan);
    const first = startEngine(buildRig(eventfulPlan));
    first.playTo(ns(20e9));
    const moment = first.moment();
    const states = moment.states.map((state) => ({ ...(state as object), due: { atNs: NEVER, cause: -1 } }));
    expect(startEngine(buildRig(eventfulPlan), { ...moment, states }).finish(eventfulPlan.lengthNs)).not.toEqual(whole);
  });
});

// --------------------------------------------------------------------------------------------- what machines may not

describe("machines", () => {
  test("never write on what they are given, and never ask to be woken in the past: the rig of all faults, frozen", () => {
    const rig = buildRig(eventfulPlan);
    let asked = 0;
    const guarded = rig.machines.map((machine) => {
      const held = frozen(machine);
      return {
        ...held,
        handle: (state: unknown, event: Parameters<typeof held.handle>[1], now: Ns) => {
          const step = held.handle(state, event, now);
          expect(held.due(step.state).atNs).toBeGreaterThanOrEqual(now);
          asked += 1;
          return step;
        },
      };
    });
    const rows = startEngine({ ...rig, machines: guarded }).finish(eventfulPlan.lengthNs);
    expect(rows).toEqual(play(eventfulPlan).rows);
    expect(asked).toBeGreaterThan(200);
    const kinds = new Set(rows.map(({ fact }) => fact.kind));
    for (const kind of ["event", "clock", "flow", "re-aligned", "link", "input", "slips"])
      expect(kinds, kind).toContain(kind);
  });

  test("one that writes on its state is caught by the frozen rig", () => {
    const scribbler: Toy = {
      ...toy("a", { wakes: [1] }),
      handle(state) {
        (state as { wakes: Ns[] }).wakes = [];
        return { state, effects: [] };
      },
    };
    expect(() => startEngine(network([frozen(scribbler)])).finish(ns(2))).toThrow(TypeError);
  });

  test("one that asks for the past is named", () => {
    const late = toy("stage box", { wakes: [10], answers: (event) => (event.kind === "due" ? { wakeAt: 9 } : {}) });
    expect(() => startEngine(network([late])).finish(ns(20))).toThrow(
      "stage box asks to be woken at 9 ns, before now (10 ns)",
    );
  });

  test("have the last word: what is still open is recorded at the end", () => {
    const rows = startEngine(network([toy("b", { ends: "b over" }), toy("a", { ends: "a over" }), toy("c")])).finish(
      ns(77),
    );
    expect(lines(rows)).toEqual(["77 a a over", "77 b b over"]);
  });

  test("an end in the middle of nowhere is an instant like any other: what is due there is played", () => {
    const rig = () => network([toy("a", { wakes: [5, 6] })]);
    expect(lines(startEngine(rig()).finish(ns(5)))).toEqual(["5 a due"]);
    expect(lines(startEngine(rig()).finish(ns(4)))).toEqual([]);
    const stopped = startEngine(rig());
    stopped.playTo(ns(5));
    expect(stopped.moment().atNs).toBe(5);
    expect(stopped.eventCount).toBe(1);
  });
});

// ------------------------------------------------------------------------------------------------------------ budget

describe("a budget", () => {
  const small = { perInstant: 1000, perSecond: 5000, perRun: 20_000 };
  const spend = (engine: Engine, until: number): BudgetError => {
    try {
      engine.finish(ns(until));
    } catch (error) {
      if (error instanceof BudgetError) return error;
      throw error;
    }
    throw new Error("no budget was spent");
  };

  test("a circle that takes no time ends in an error that names its machines and no others", () => {
    const passOn = (event: ToyEvent) =>
      event.kind === "mail" || event.kind === "due" ? { send: [[0, "ball"]] as const } : {};
    const rig = network(
      [
        toy("stage-left", { wakes: [12.5e9], answers: passOn }),
        toy("cable-4", { rank: "carries", answers: passOn }),
        toy("bystander", { wakes: [12.5e9] }),
      ],
      { "stage-left": [["cable-4"]], "cable-4": [["stage-left"]] },
    );
    const error = spend(startEngine(rig, undefined, small), 60e9);
    expect(error.message).toContain("at 12.500000000 s: more than 1000 events in one instant");
    expect(error.message).toMatch(/\((cable-4 → stage-left|stage-left → cable-4)\)/);
    expect(error.message).not.toContain("bystander");
  });

  test("a machine that is due now for ever is such a circle too", () => {
    const spinner = toy("spinner", { wakes: [3], answers: (_, now) => ({ wakeAt: now }) });
    const error = spend(startEngine(network([spinner]), undefined, small), 60e9);
    expect(error.message).toContain("at 0.000000003 s: more than 1000 events in one instant (spinner)");
  });

  test("a storm ends in an error: many instants, each small, in one second", () => {
    const stormy = toy("storm", { wakes: [2e9], answers: (_, now) => ({ wakeAt: now + 1000 }) });
    const error = spend(startEngine(network([stormy, toy("calm", { wakes: [1, 2e9] })]), undefined, small), 60e9);
    expect(error.message).toContain("more than 5000 events in one second (storm)");
  });

  test("so does a run that never comes to an end at a quiet pace", () => {
    const steady = toy("steady", { wakes: [0], answers: (_, now) => ({ wakeAt: now + 1e6 }) });
    const error = spend(startEngine(network([steady]), undefined, small), 3600e9);
    expect(error.message).toContain("more than 20000 events in one run (steady)");
  });

  test("what stays within it is not disturbed: each instant and each second begin anew", () => {
    const busy = toy("busy", { wakes: [0], answers: (_, now) => ({ wakeAt: now + 500_000 }) });
    const engine = startEngine(network([busy]), undefined, { ...small, perRun: 100_000 });
    // 2,000 events a second for ten seconds.
    expect(engine.finish(ns(10e9 - 1))).toHaveLength(20_000);
  });

  test("an honest rig keeps far below the budget it is given", () => {
    const rig = buildRig(eventfulPlan);
    const { perSecond } = defaultBudget(rig.machines.length);
    const { eventCount } = play(eventfulPlan);
    expect(eventCount).toBeGreaterThan(200);
    expect(eventCount).toBeLessThan(perSecond / 10);
  });

  test("starting at nothing costs nothing", () => {
    const engine = startEngine(network([]));
    expect(engine.finish(ZERO)).toEqual([]);
    expect(engine.eventCount).toBe(0);
  });
});
