/** Spare groups that have streams in them, and what takes all of their links at once. */
import type { HopPlan, LinkPlan, Plan, SparePlan } from "../../shared/plan.ts";
import { deviceOf, linkOf } from "../by-id.ts";
import { minimalCuts } from "../cut-sets.ts";
import { hopNet, riskOf } from "./risks.ts";

export interface StreamSpare {
  readonly spare: SparePlan;
  readonly links: readonly LinkPlan[];
  /** Of its streams, each once. */
  readonly networks: readonly string[];
  /** Risks that take all of them by themselves; the devices at the ends are not among them, nor what takes one of them. */
  readonly things: readonly string[];
}

export function streamSpares(plan: Plan): readonly StreamSpare[] {
  return plan.spares.flatMap((spare): StreamSpare[] => {
    const links = spare.links.map((id) => linkOf(plan, id));
    const first = links.find(({ stream }) => stream !== undefined);
    if (first === undefined || links.length < 2) return [];
    const networks = [...new Set(links.flatMap(({ stream }) => stream?.network ?? []))];
    const [from, to] = [first.a.device, first.b.device];
    const over = links.map(({ id, a }) => ({ link: id, way: a.device === from ? "there" : "back" }) as const);
    const hop: HopPlan = { from, to, channels: 0, over, spare: spare.id };
    const things = minimalCuts(hopNet(plan, hop, [from, to]), 1)
      .flat()
      .filter((risk, _, all) => !isOfOneThing(plan, risk, all, [from, to]));
    return [{ spare, links, networks, things }];
  });
}

/** A supply that takes an end, or a device that is named already, says nothing more. */
function isOfOneThing(plan: Plan, risk: string, all: readonly string[], ends: readonly string[]): boolean {
  const { kind, name } = riskOf(risk);
  if (kind !== "supply") return false;
  const taken = plan.devices.filter(({ power }) => power.every((supply) => supply === name)).map(({ id }) => id);
  return (
    ends.some((id) => deviceOf(plan, id).power.every((supply) => supply === name)) ||
    taken.some((id) => all.includes(`device ${id}`))
  );
}
