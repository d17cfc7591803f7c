/**
 * Numbers that nobody has entered, each at the ends of what it may well be: what a verdict hangs on is what to measure
 * first.
 */
import type { AssumptionPlan, DevicePlan, LinkPlan, Plan, SparePlan } from "../../shared/plan.ts";

/** One number of one thing, and what else it may be. */
export interface Assumption {
  readonly on: AssumptionPlan["on"];
  readonly name: string;
  readonly ids: readonly string[];
  /** As it is played now. */
  readonly value: number | boolean | string;
  readonly others: readonly (number | boolean | string)[];
}

type Value = Assumption["value"];

/**
 * What a number may well be besides: where a source has a range it is that, else half and twice, all *assumed*. Hold-off
 * and wait-to-restore: ITU-T G.781's ranges, as quoted in equipment manuals. A damping of 0.7071 is the textbook's.
 */
const OTHERS: Readonly<Record<string, readonly Value[]>> = {
  holdoverSeconds: [0, 600],
  holdoverAverageSeconds: [0, 60],
  holdoverErrorPpb: [-100, 100],
  waitToRestoreSeconds: [0, 300],
  holdOffSeconds: [0.3, 1.8],
  "loop.damping": [Math.sqrt(0.5), 2],
  revertive: [true, false],
  givesWhenUnlocked: [true, false],
  whileBooting: ["nothing", "own-clock", "wrong-rate"],
  muteOutOfStep: [true, false],
  unmuteSeconds: [0, 5],
  unmuteRampSeconds: [0, 2],
};

/** Each thing for itself: "measure the boot time of the FOH desk first". Numbers that hang together (buffers) are left out. */
export function assumptionsIn(plan: Plan): Assumption[] {
  return (plan.assumptions ?? []).flatMap(({ on, name, ids }) =>
    ids.flatMap((id) => {
      const found = assumptionOf(plan, { on, name, ids: [id] });
      return found === null ? [] : [found];
    }),
  );
}

/** All things that have the number in one. */
export function assumptionsByName(plan: Plan): Assumption[] {
  return (plan.assumptions ?? []).flatMap((each) => assumptionOf(plan, each) ?? []);
}

function assumptionOf(plan: Plan, { on, name, ids }: AssumptionPlan): Assumption | null {
  const value = valueAt(thingOf(plan, on, ids[0] as string), name);
  if (value === undefined || name.startsWith("buffer.") || name === "clockSources") return null;
  const listed = OTHERS[name];
  if (listed === undefined && (typeof value !== "number" || value === 0)) return null;
  const others = (listed ?? [(value as number) / 2, (value as number) * 2]).filter((other) => other !== value);
  return { on, name, ids, value, others };
}

/** The plan with the number at another value for all whom it is about. */
export function withAssumed(plan: Plan, { on, name, ids }: Assumption, value: Value): Plan {
  const changed = <T extends { readonly id: string }>(all: readonly T[]) =>
    all.map((each) => (ids.includes(each.id) ? (put(each, name.split("."), value) as T) : each));
  switch (on) {
    case "device":
      return { ...plan, devices: changed(plan.devices) };
    case "link":
      return { ...plan, links: changed(plan.links) };
    case "spare":
      return { ...plan, spares: changed(plan.spares) };
  }
}

function thingOf(plan: Plan, on: AssumptionPlan["on"], id: string): DevicePlan | LinkPlan | SparePlan | undefined {
  const all = { device: plan.devices, link: plan.links, spare: plan.spares }[on];
  return (all as readonly (DevicePlan | LinkPlan | SparePlan)[]).find((each) => each.id === id);
}

function valueAt(thing: unknown, name: string): Value | undefined {
  let value: unknown = thing;
  for (const step of name.split(".")) value = (value as Record<string, unknown> | undefined)?.[step];
  return typeof value === "number" || typeof value === "boolean" || typeof value === "string" ? value : undefined;
}

function put(thing: unknown, [step = "", ...rest]: readonly string[], value: Value): unknown {
  const fields = thing as Record<string, unknown>;
  return { ...fields, [step]: rest.length === 0 ? value : put(fields[step], rest, value) };
}
