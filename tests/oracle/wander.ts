/**
 * The oracle's wander: what an oscillator adds to its phase by chance. The draws at the knots are the product's own, so
 * that both play the same chance; the straight lines between them are drawn here, and nothing is known of loops: those
 * see wander as any other part of what arrives and of their own oscillator.
 */
import type { OscillatorPlan, Plan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { wanderAt } from "../../shared/wander.ts";

export interface WanderCourse {
  /** Seconds that it has put the clock ahead since the start of the show. */
  phaseAt(atSeconds: number): number;
  /** Fractional frequency from this instant on, until the next knot. */
  slopeAt(atSeconds: number): number;
}

const STEADY: WanderCourse = { phaseAt: () => 0, slopeAt: () => 0 };

/** Of one device's oscillator in a plan. */
export function wanderCourse(
  plan: Pick<Plan, "seed" | "wanderGridSeconds">,
  device: string,
  { wander }: OscillatorPlan,
  sign: 1 | -1 = 1,
): WanderCourse {
  if (wander === null) return STEADY;
  const gridNs = Math.round(plan.wanderGridSeconds * 1e9);
  const drawn = { kind: "own", seed: plan.seed, device, gridNs: gridNs as Ns, ...wander } as const;
  const knots: number[] = [];
  const knotAt = (knot: number): number => {
    for (let next = knots.length; next <= knot; next += 1) knots.push(sign * wanderAt(drawn, (next * gridNs) as Ns));
    return knots[knot] as number;
  };
  const lineAt = (atSeconds: number): { from: number; rise: number; share: number } => {
    const atNs = Math.round(atSeconds * 1e9);
    const knot = Math.floor(atNs / gridNs);
    const from = knotAt(knot);
    return { from, rise: knotAt(knot + 1) - from, share: (atSeconds * 1e9 - knot * gridNs) / gridNs };
  };
  return {
    phaseAt(atSeconds) {
      const { from, rise, share } = lineAt(atSeconds);
      return from + rise * share;
    },
    slopeAt: (atSeconds) => (lineAt(atSeconds).rise * 1e9) / gridNs,
  };
}
