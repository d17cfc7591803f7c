/** What a plan has under an id. */
import type { DevicePlan, FeedPlan, LinkPlan, Plan, SparePlan } from "../shared/plan.ts";

/** By the list: plans that differ in their events alone share their lists, and a sweep has thousands of those. */
const indexes = new WeakMap<readonly unknown[], ReadonlyMap<string, unknown>>();

function byId<T extends { readonly id: string }>(all: readonly T[]): ReadonlyMap<string, T> {
  const known = indexes.get(all) as ReadonlyMap<string, T> | undefined;
  if (known !== undefined) return known;
  const index = new Map(all.map((each) => [each.id, each]));
  indexes.set(all, index);
  return index;
}

export function deviceById(plan: Plan, id: string | undefined): DevicePlan | undefined {
  return id === undefined ? undefined : byId(plan.devices).get(id);
}

export function linkById(plan: Plan, id: string | null): LinkPlan | undefined {
  return id === null ? undefined : byId(plan.links).get(id);
}

export function feedById(plan: Plan, id: string): FeedPlan | undefined {
  return byId(plan.feeds).get(id);
}

export function spareById(plan: Plan, id: string | null): SparePlan | undefined {
  return id === null ? undefined : byId(plan.spares).get(id);
}

/** @throws if a plan names a device that it does not have, which no reading of a scenario lets through */
export function deviceOf(plan: Plan, id: string): DevicePlan {
  return named(deviceById(plan, id), "device", id);
}

/** @throws if a plan names a link that it does not have */
export function linkOf(plan: Plan, id: string): LinkPlan {
  return named(linkById(plan, id), "link", id);
}

/** @throws if a plan names a feed that it does not have */
export function feedOf(plan: Plan, id: string): FeedPlan {
  return named(feedById(plan, id), "feed", id);
}

function named<T>(found: T | undefined, kind: string, id: string): T {
  if (found === undefined) throw new Error(`a plan names ${kind} "${id}", which it does not have`);
  return found;
}
