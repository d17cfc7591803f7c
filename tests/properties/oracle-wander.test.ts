/**
 * Law 8 with wander: an engine that carries chance from knot to knot in closed form, and an oracle that only adds it to
 * the phase of each oscillator and steps on, tell one story. Clocks are within the bound that the run prints; and since
 * that takes every draw for the largest there is, states and slips are held to what the two clocks were really apart.
 *
 * A device judges by its steady frequency what is in its capture range, and by its course whether its control is at a
 * stop; the oracle by what there is at the moment. So nobody here is out of capture, or needs just what it can steer.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { DevicePlan, Plan, WanderPlan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { LoopWander } from "../../shared/wander.ts";
import { learntAt } from "../../shared/wander.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { disagreements, largestApart, STEPPED } from "../helpers/against-oracle.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { AnyMachine, Played } from "../helpers/play.ts";
import { play, withFlows, wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { EVERY_EVENT, plans } from "../helpers/random-rig.ts";
import type { Mistake, RigOptions } from "../oracle/rig.ts";
import type { OracleRun } from "../oracle/step-rig.ts";
import { stepRig } from "../oracle/step-rig.ts";

interface Kind {
  readonly wish: Wish;
  /** Narrow, so that controls come to their stops, or so wide that chance takes nobody there. */
  readonly steeringPpm: number;
  readonly stepSeconds: number;
  readonly quantumSamples: number;
}

/** Far louder than any oscillator, so that a minute is enough. */
const LOUD: readonly WanderPlan[] = [
  { sigma1: 1e-7, sigma2: 0, sigma3: 0, hMinus1: 0 },
  { sigma1: 0, sigma2: 2e-8, sigma3: 0, hMinus1: 0 },
  { sigma1: 1e-6, sigma2: 1e-7, sigma3: 0, hMinus1: 0 },
  { sigma1: 0, sigma2: 1e-8, sigma3: 0, hMinus1: 1e-14 },
];
const LOUDEST: readonly WanderPlan[] = [
  { sigma1: 3e-6, sigma2: 0, sigma3: 0, hMinus1: 0 },
  { sigma1: 1e-6, sigma2: 3e-7, sigma3: 0, hMinus1: 0 },
  { sigma1: 1e-6, sigma2: 0, sigma3: 0, hMinus1: 1e-13 },
];

const anyRig: Wish = { ...STEPPED, averaging: true };
const asReal: Kind = {
  wish: { ...anyRig, wandering: true, bending: true, heatTables: true },
  steeringPpm: 45,
  stepSeconds: 0.002,
  quantumSamples: 1e-4,
};
const loud: Kind = {
  wish: { ...anyRig, wandering: LOUD, wanderGridSeconds: 0.1 },
  steeringPpm: 45,
  stepSeconds: 0.002,
  quantumSamples: 1e-5,
};
/** No oscillator is off by anything, nothing steps or warms: all that moves moves by chance. */
const chanceAlone: Kind = {
  wish: {
    ...anyRig,
    seconds: [40, 70],
    eventCount: [1, 6],
    events: EVERY_EVENT.filter((kind) => kind !== "step-frequency" && kind !== "temperature"),
    loopHz: [0.02, 0.2],
    gridMs: 10,
    apartMs: 1000,
    offsetPpmMax: 0,
    wandering: LOUDEST,
    wanderGridSeconds: 0.2,
  },
  steeringPpm: 1000,
  stepSeconds: 0.01,
  quantumSamples: 1e-5,
};

/** Nobody listens to anybody: two phases go where chance takes them, and back. */
const onTheirOwn: Kind = {
  wish: {
    ...chanceAlone.wish,
    devices: [2, 4],
    wandering: [
      { sigma1: 2e-5, sigma2: 0, sigma3: 0, hMinus1: 0 },
      { sigma1: 0, sigma2: 0, sigma3: 0, hMinus1: 1e-10 },
    ],
  },
  steeringPpm: 1000,
  stepSeconds: 0.01,
  quantumSamples: 1e-5,
};

function rigs(kind: Kind): fc.Arbitrary<Plan> {
  const { wish, steeringPpm } = kind;
  return plans(wish)
    .filter((plan) => !isNearStop(plan, steeringPpm))
    .map((plan) =>
      withDevices(plan, (device) => ({
        ...device,
        capturePpm: 1000,
        steeringPpm,
        clockSources: kind === onTheirOwn ? ["internal"] : device.clockSources,
      })),
    );
}

/** A follower that needs nearly all of its steering: whether it is at its stop is judged by its course, wander apart. */
function isNearStop({ devices }: Plan, steeringPpm: number): boolean {
  const offsets = devices.map(({ oscillator }) => oscillator.offsetPpm as number);
  return offsets.some((one) => offsets.some((other) => Math.abs(Math.abs(one - other) - steeringPpm) < 2));
}

function withDevices(plan: Plan, change: (device: DevicePlan, index: number) => DevicePlan): Plan {
  return { ...plan, devices: plan.devices.map(change) };
}

function withWander(device: DevicePlan, wander: WanderPlan | null): DevicePlan {
  return { ...device, oscillator: { ...device.oscillator, wander } };
}

/** Tells a holdover without the frequency that the loop had learnt for the sake of wander. */
function withForgottenLearning(machine: AnyMachine): AnyMachine {
  let last: LoopWander | null = null;
  return withFlows(machine, (flow) => {
    if (flow.wander?.kind === "loop") last = flow.wander;
    const isKept = flow.wander?.kind === "own" && flow.rate !== 0 && last !== null;
    return isKept ? { ...flow, rate: flow.rate - learntAt(last as LoopWander, flow.atNs) } : flow;
  });
}

/** Instants that no grid and no timer falls on. */
function looksOf(plan: Plan): number[] {
  return Array.from({ length: 47 }, (_, n) => ((n + 0.5137) * plan.lengthNs) / 47e9);
}

function oracleOf(plan: Plan, { stepSeconds }: Kind, options: RigOptions = {}): OracleRun {
  return stepRig(plan, { stepSeconds, phasesAt: looksOf(plan), ...options });
}

/** What chance did in a rig, as the oracle saw it and the rows say. */
function chanceIn(plan: Plan, rows: readonly Row[], oracle: OracleRun) {
  const wanders = (id: string) => plan.devices.find((device) => device.id === id)?.oscillator.wander !== null;
  const firstEventSeconds = (plan.events[0]?.atNs ?? plan.lengthNs) / 1e9;
  const noisy = oracle.devices.filter(({ id }) => wanders(id));
  const states = noisy.flatMap((device) => device.states);
  const count = (found: readonly boolean[]): number => found.filter(Boolean).length;
  return {
    slips: oracle.receivers.reduce((sum, { slips }) => sum + slips.length, 0),
    reversed: count(
      oracle.receivers.flatMap(({ slips }) => slips.slice(1).map(({ sign }, n) => sign !== slips[n]?.sign)),
    ),
    unlocks: count(
      oracle.devices.flatMap((device) =>
        device.states.map(
          ({ state, source, fromSeconds }, n) =>
            state === "acquiring" &&
            device.states[n - 1]?.state === "locked" &&
            device.states[n - 1]?.source === source &&
            fromSeconds < firstEventSeconds,
        ),
      ),
    ),
    relocks: count(
      oracle.devices.flatMap((device) =>
        device.states.map(
          ({ state, fromSeconds }) => state === "locked" && fromSeconds > 0 && fromSeconds < firstEventSeconds,
        ),
      ),
    ),
    holdovers: count(
      states.map(
        ({ state, fromSeconds, toSeconds }) =>
          state === "holdover" && toSeconds - fromSeconds > 0.5 && fromSeconds >= firstEventSeconds,
      ),
    ),
    stopped: count(noisy.map(({ stoppedSeconds }) => stoppedSeconds > 0.2)),
    switches: count(
      noisy.flatMap((device) =>
        device.states.map(({ state, source }, n) => {
          const before = device.states.slice(0, n).findLast((each) => each.state === "locked");
          return state === "acquiring" && before !== undefined && before.source !== source;
        }),
      ),
    ),
    renodes: count(
      rows.map(
        ({ fact }) => fact.kind === "flow" && fact.flow?.wander?.kind === "loop" && fact.flow.wander.before !== null,
      ),
    ),
  };
}

describe("with wander, a run agrees with the slow oracle", () => {
  const none = { slips: 0, reversed: 0, unlocks: 0, relocks: 0, holdovers: 0, stopped: 0, switches: 0, renodes: 0 };
  test.each([
    {
      name: "of oscillators as they are and somewhat louder, which also age, warm up and feel heat",
      kind: asReal,
      count: 15,
      least: { ...none, slips: 200, holdovers: 1, stopped: 1, switches: 1, renodes: 20 },
    },
    {
      name: "of loud oscillators",
      kind: loud,
      count: 15,
      least: { ...none, slips: 200, holdovers: 1, stopped: 1, switches: 1, renodes: 20 },
    },
    {
      name: "where chance alone decides",
      kind: chanceAlone,
      count: 15,
      least: { ...none, slips: 20, unlocks: 5, relocks: 1, holdovers: 1, switches: 1 },
    },
    {
      name: "of clocks that nobody follows: drops and repeats on one receiver",
      kind: onTheirOwn,
      count: 10,
      least: { ...none, slips: 200, reversed: 20 },
    },
  ])("$name", { timeout: PATIENCE_MS }, ({ kind, count, least }) => {
    const seen = { ...none, rigs: 0, near: 0 };
    fc.assert(
      fc.property(rigs(kind), (plan) => {
        const { record } = rehearse(plan, { quantumSamples: kind.quantumSamples });
        const { timebases } = buildRig(plan, kind.quantumSamples);
        const played = { rows: record.rows, timebases };
        expect(record.worstErrorSamples).not.toBeNull();
        const bound = record.worstErrorSamples as number;
        const oracle = oracleOf(plan, kind);
        const apart = largestApart(plan, played, oracle, kind.stepSeconds);
        const closeSamples = 3 * apart + kind.quantumSamples;
        const { stepSeconds } = kind;
        expect(disagreements(plan, played, oracle, { boundSamples: bound, closeSamples, stepSeconds })).toEqual([]);
        for (const [what, times] of Object.entries(chanceIn(plan, record.rows, oracle)))
          seen[what as keyof typeof none] += times;
        if (apart <= bound / 8 + 1e-9) seen.near += 1;
        seen.rigs += 1;
      }),
      { ...tries<[Plan]>(count), endOnFailure: true },
    );
    for (const [what, times] of Object.entries(least))
      expect(seen[what as keyof typeof none], what).toBeGreaterThanOrEqual(times);
    // The bound takes every draw for the largest and every sign for the worst; most runs are far inside.
    expect(seen.near / seen.rigs).toBeGreaterThan(0.7);
  });
});

describe("the oracle catches", () => {
  const canaries: { name: string; run: (plan: Plan) => Played; mistake?: Mistake }[] = [
    {
      name: "wander left out of one loop",
      run: (plan) => {
        const first = plan.devices.find(
          ({ clockSources, oscillator }) => clockSources[0] !== "internal" && oscillator.wander !== null,
        );
        return play(withDevices(plan, (device) => (device === first ? withWander(device, null) : device)));
      },
    },
    {
      name: "the wander of followers taken with the wrong sign",
      run: play,
      mistake: "wander-sign-of-followers",
    },
    {
      name: "what a loop had learnt of wander forgotten as it opens",
      run: (plan) => play(plan, (rig) => wrapMachines(rig, (machine) => withForgottenLearning(machine))),
    },
    {
      name: "wander passed on by a closed loop while the control is at its stop",
      run: (plan) =>
        play(plan, (rig) =>
          wrapMachines(rig, (machine) =>
            withFlows(machine, (flow) =>
              flow.wander?.kind === "loop" && flow.wander.control !== "closed"
                ? { ...flow, wander: { ...flow.wander, control: "closed" } }
                : flow,
            ),
          ),
        ),
    },
    {
      name: "holdover with the integrator where an average was stated",
      run: (plan) => play(withDevices(plan, (device) => ({ ...device, holdoverAverageSeconds: 0 }))),
    },
    {
      name: "holdover without its own error",
      run: (plan) => play(withDevices(plan, (device) => ({ ...device, holdoverErrorPpb: 0 }))),
    },
    {
      name: "a show that begins at 25 °C whatever it says",
      run: (plan) =>
        play(withDevices(plan, (device) => ({ ...device, oscillator: { ...device.oscillator, startCelsius: 25 } }))),
    },
  ];

  test.each(canaries)("$name", { timeout: PATIENCE_MS }, ({ run, mistake }) => {
    const kind = loud;
    const law = fc.property(rigs({ ...kind, wish: { ...kind.wish, heatTables: true } }), (plan) => {
      const bound = rehearse(plan).record.worstErrorSamples as number;
      // As near as nearly all runs are.
      const played = run(plan);
      const oracle = oracleOf(plan, kind, { mistake });
      expect(
        disagreements(plan, played, oracle, {
          boundSamples: bound / 8,
          closeSamples: bound / 8,
          stepSeconds: kind.stepSeconds,
        }),
      ).toEqual([]);
    });
    expect(isCaught(fc.check, law, 40)).toBe(true);
  });
});
