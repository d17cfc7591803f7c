/**
 * Law 11: a machine never asks to be woken in the past, never changes what it is given, and answers the same question
 * the same way. Everything that goes in is frozen to the bottom, and every answer is asked for twice.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { isCaught, must, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Alteration, AnyMachine } from "../helpers/play.ts";
import { play, wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";

const wish: Wish = { seconds: [60, 180], secondSources: true, spares: true, loners: true, bending: true };

function deepFreeze(value: unknown): void {
  if (typeof value !== "object" || value === null || Object.isFrozen(value)) return;
  Object.freeze(value);
  for (const part of Object.values(value)) deepFreeze(part);
}

interface Seen {
  handled: number;
  kinds: Set<string>;
}

function watched(machine: AnyMachine, seen: Seen): AnyMachine {
  return {
    ...machine,
    handle: (state, event, now) => {
      deepFreeze(state);
      deepFreeze(event);
      must(machine.due(state).atNs >= now, `${machine.id} was due before it was woken`);
      const step = machine.handle(state, event, now);
      // Asked again it says the same: it drew nothing, counted nothing, remembered nothing.
      const again = machine.handle(state, event, now);
      must(JSON.stringify(again) === JSON.stringify(step), `${machine.id} answers otherwise when asked again`);
      deepFreeze(step);
      const due = machine.due(step.state);
      must(due.atNs >= now, `${machine.id} asks to be woken in the past`);
      must(Number.isSafeInteger(due.atNs), `${machine.id} asks for no whole nanosecond`);
      must(JSON.stringify(machine.due(step.state)) === JSON.stringify(due), `${machine.id} asks for two instants`);
      seen.handled += 1;
      seen.kinds.add(`${machine.id.split(" ")[0]} ${event.kind}`);
      return step;
    },
  };
}

const watching =
  (seen: Seen, before: Alteration = (rig) => rig): Alteration =>
  (rig) =>
    wrapMachines(before(rig), (machine) => watched(machine, seen));

test("machines are pure", { timeout: PATIENCE_MS }, () => {
  const seen: Seen = { handled: 0, kinds: new Set() };
  fc.assert(
    fc.property(
      fc.oneof(plans(wish), plans({ ...wish, cold: true }), plans({ ...wish, seconds: [20, 30], ring: true })),
      (plan) => {
        const bare = play(plan);
        deepFreeze(plan);
        expect(JSON.stringify(play(plan, watching(seen)).rows)).toBe(JSON.stringify(bare.rows));
      },
    ),
    tries(15),
  );
  expect(seen.handled).toBeGreaterThan(5000);
  expect([...seen.kinds].sort()).toEqual([
    "device due",
    "device mail",
    "device world",
    "link due",
    "link mail",
    "link world",
    "port due",
    "port mail",
  ]);
});

const impure: { name: string; machine: (machine: AnyMachine) => AnyMachine }[] = [
  {
    name: "a machine that writes on its state",
    machine: (machine) => ({
      ...machine,
      handle: (state, event, now) => {
        (state as { due: unknown }).due = machine.due(state);
        return machine.handle(state, event, now);
      },
    }),
  },
  {
    name: "a machine that wants to be woken a nanosecond ago",
    machine: (machine) => ({
      ...machine,
      due: (state) => {
        const due = machine.due(state);
        return { ...due, atNs: (due.atNs - 1) as typeof due.atNs };
      },
    }),
  },
  {
    name: "a machine that counts how often it was asked",
    machine: (machine) => {
      let asked = 0;
      return {
        ...machine,
        handle: (state, event, now) => {
          asked += 1;
          const step = machine.handle(state, event, now);
          return {
            ...step,
            effects: step.effects.map((effect) => (effect.do === "record" ? { ...effect, cause: asked } : effect)),
          };
        },
      };
    },
  },
];

test.each(impure)("which catches $name", { timeout: PATIENCE_MS }, ({ machine }) => {
  const law = fc.property(plans(wish), (plan: Plan) => {
    play(
      plan,
      watching({ handled: 0, kinds: new Set() }, (rig) => wrapMachines(rig, machine)),
    );
  });
  expect(isCaught(fc.check, law, 10)).toBe(true);
});
