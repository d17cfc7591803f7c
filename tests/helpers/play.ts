/** Plays a plan on its network, or on one that has been changed on the way: broken, frozen, shuffled. */
import type { Flow } from "../../shared/flow.ts";
import type { Plan } from "../../shared/plan.ts";
import type { Fact, Row } from "../../shared/record.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { startEngine } from "../../sim/engine.ts";
import type { Effect, Machine, Step } from "../../sim/machine.ts";
import type { Mail, Order } from "../../sim/mail.ts";
import type { Rig } from "../../sim/rig.ts";
import { buildRig } from "../../sim/rig.ts";

export interface Played {
  readonly rows: readonly Row[];
  readonly timebases: readonly Timebase[];
}

export type AnyMachine = Machine<unknown, Order, Mail>;
export type Alteration = (rig: Rig) => Rig;

export function play(plan: Plan, alter: Alteration = (rig) => rig, quantumSamples?: number): Played {
  const rig = alter(buildRig(plan, quantumSamples));
  return { rows: startEngine(rig).finish(plan.lengthNs), timebases: rig.timebases };
}

/** The same rig, each machine wrapped. */
export function wrapMachines(rig: Rig, wrap: (machine: AnyMachine) => AnyMachine): Rig {
  return { ...rig, machines: rig.machines.map(wrap) };
}

/** The same machine with its effects changed on the way out. */
export function withEffects(machine: AnyMachine, change: (effect: Effect<Mail>) => Effect<Mail>): AnyMachine {
  const changed = (step: Step<unknown, Mail>): Step<unknown, Mail> => ({ ...step, effects: step.effects.map(change) });
  const { finish } = machine;
  return {
    ...machine,
    start: (now) => changed(machine.start(now)),
    handle: (state, event, now) => changed(machine.handle(state, event, now)),
    ...(finish === undefined ? {} : { finish: (state, now) => finish(state, now).map(change) }),
  };
}

/** As {@link withEffects}, for what is recorded. */
export function withFacts(machine: AnyMachine, change: (fact: Fact) => Fact): AnyMachine {
  return withEffects(machine, (effect) => (effect.do === "record" ? { ...effect, fact: change(effect.fact) } : effect));
}

/** As {@link withEffects}, for the clock that is told, to the record and to the rig. */
export function withFlows(machine: AnyMachine, change: (flow: Flow) => Flow): AnyMachine {
  return withEffects(machine, (effect) => {
    if (effect.do === "record") {
      const { fact } = effect;
      return fact.kind === "flow" && fact.flow !== null
        ? { ...effect, fact: { kind: "flow", flow: change(fact.flow) } }
        : effect;
    }
    const { mail } = effect;
    return mail.kind === "flow" && mail.signal !== null
      ? { ...effect, mail: { kind: "flow", signal: { ...mail.signal, flow: change(mail.signal.flow) } } }
      : effect;
  });
}
