/**
 * Audio goes over to a spare by itself; a clock source is a setting of its own. Devices that take their clock from the
 * main of a group, from nowhere else, and do not list the port where its spare arrives, are left to their own clock by
 * a spare that carries.
 */
import type { Plan, SparePlan } from "../shared/plan.ts";
import { clockGraph, portsThatHear, runsOnOwnClock, sourcesHeard } from "./clock-graph.ts";

export interface LeftBySpare {
  readonly device: string;
  readonly spare: SparePlan;
  readonly main: string;
  /** The first cable of the group that would bring the device the clock, and where. */
  readonly other: string;
  readonly port: number;
}

/** In the order of devices. Where somebody moves the plug the clock moves with it: groups by hand have none. */
export function leftBySpares(plan: Plan): readonly LeftBySpare[] {
  const groups = plan.spares.filter(({ mode }) => mode !== "manual");
  if (groups.length === 0) return [];
  const graph = clockGraph(plan);
  return plan.devices.flatMap((device): LeftBySpare[] => {
    if (runsOnOwnClock(device)) return [];
    const heard = sourcesHeard(graph, device.id);
    const main = heard[0]?.link;
    const spare = groups.find(({ links }) => links[0] === main);
    if (main === undefined || spare === undefined || heard.some(({ link }) => link !== main)) return [];
    const others = portsThatHear(plan, device.id);
    const next = spare.links.slice(1).flatMap((id) => others.filter(({ link }) => link === id))[0];
    return next === undefined ? [] : [{ device: device.id, spare, main, other: next.link, port: next.port }];
  });
}
