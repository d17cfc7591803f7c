/** Whose clock is on each side of a sample-rate converter, by the settings, and whether one clock is meant for both. */
import type { Plan, PortRef } from "../../shared/plan.ts";
import { deviceById } from "../by-id.ts";
import { clockGraph, rigParts, rootOf } from "../clock-graph.ts";
import type { ConvertedWay } from "../converted.ts";
import { convertedWays, converterAt, waysOf } from "../converted.ts";

export interface ConvertedEnds {
  readonly at: ConvertedWay;
  /** On whose own clock each side ends; null: out of a ring. */
  readonly fromRoot: string | null;
  readonly toRoot: string | null;
  readonly isOneClock: boolean;
  /** On one clock, or joined somewhere else without a converter. */
  readonly isOneDomain: boolean;
}

export function convertedEnds(plan: Plan): readonly ConvertedEnds[] {
  const ways = convertedWays(plan);
  if (ways.length === 0) return [];
  const graph = clockGraph(plan);
  const parts = rigParts(plan);
  return ways.map((at) => {
    const [fromRoot, toRoot] = [rootOf(graph, at.from.device), rootOf(graph, at.to.device)];
    const isOneClock = fromRoot !== null && fromRoot === toRoot;
    const isJoined = parts.some((part) => part.includes(at.from.device) && part.includes(at.to.device));
    return { at, fromRoot, toRoot, isOneClock, isOneDomain: isOneClock || isJoined };
  });
}

/** Inputs without a converter at which the clock of this device, and of those who follow it, meets another. */
export function inputsToConvert(plan: Plan, id: string): readonly PortRef[] {
  const graph = clockGraph(plan);
  const isOn = (device: string) => rootOf(graph, device) === id;
  return plan.links.flatMap((link) =>
    link.channels === 0
      ? []
      : waysOf(link).flatMap(({ from, to }) => {
          const receiver = deviceById(plan, to.device);
          return isOn(from.device) !== isOn(to.device) && converterAt(receiver, to.port) === null ? [to] : [];
        }),
  );
}
