/** What a plan has under an id. */
import type { DevicePlan, FeedPlan, LinkPlan, Plan, SparePlan } from "../shared/plan.ts";

interface ById {
  readonly devices: ReadonlyMap<string, DevicePlan>;
  readonly links: ReadonlyMap<string, LinkPlan>;
  readonly feeds: ReadonlyMap<string, FeedPlan>;
  readonly spares: ReadonlyMap<string, SparePlan>;
}

/** A plan never changes, and all ask: made once for each. */
const indexes = new WeakMap<Plan, ById>();

function indexOf(plan: Plan): ById {
  const known = indexes.get(plan);
  if (known !== undefined) return known;
  const index = {
    devices: byId(plan.devices),
    links: byId(plan.links),
    feeds: byId(plan.feeds),
    spares: byId(plan.spares),
  };
  indexes.set(plan, index);
  return index;
}

function byId<T extends { readonly id: string }>(all: readonly T[]): ReadonlyMap<string, T> {
  return new Map(all.map((each) => [each.id, each]));
}

export function deviceById(plan: Plan, id: string | undefined): DevicePlan | undefined {
  return id === undefined ? undefined : indexOf(plan).devices.get(id);
}

export function linkById(plan: Plan, id: string | null): LinkPlan | undefined {
  return id === null ? undefined : indexOf(plan).links.get(id);
}

export function feedById(plan: Plan, id: string): FeedPlan | undefined {
  return indexOf(plan).feeds.get(id);
}

export function spareById(plan: Plan, id: string | null): SparePlan | undefined {
  return id === null ? undefined : indexOf(plan).spares.get(id);
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
