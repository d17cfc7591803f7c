/**
 * In which order somebody with a sheet in the hand comes by the devices: from the leader outward, place by place. A plan
 * names no places: devices that short cables join stand beside each other (common practice, no source).
 */
import type { DevicePlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { byText } from "../check/finding.ts";
import { hopsOf } from "../map/hops.ts";

export interface Stop {
  /** The nearest to the leader first. */
  readonly devices: readonly DevicePlan[];
  /** The cable from a stop before; null: the first, or no cable leads there. */
  readonly by: LinkPlan | null;
}

/** A cable within a rack or between two tables, *assumed*. */
const BESIDE_METRES = 10;

export function walkOf(plan: Plan): readonly Stop[] {
  const hops = hopsOf(plan);
  const far = (id: string) => hops.get(id) ?? 0;
  const cables = plan.links.filter(({ stream }) => stream === undefined);
  const place = new Map(plan.devices.map(({ id }) => [id, id]));
  const root = (id: string): string => (place.get(id) === id ? id : root(place.get(id) as string));
  for (const { a, b, lengthMetres, laidAlong } of cables)
    if (lengthMetres <= BESIDE_METRES && laidAlong.length === 0) place.set(root(a.device), root(b.device));
  const byNearness = (one: string, other: string) => far(one) - far(other) || byText(one, other);
  const stops = new Map<string, string[]>();
  for (const { id } of plan.devices) stops.set(root(id), [...(stops.get(root(id)) ?? []), id]);
  const left = [...stops.values()]
    .map((ids) => ids.toSorted(byNearness))
    .sort((one, other) => byNearness(one[0] as string, other[0] as string));
  const walked = new Set<string>();
  const found: Stop[] = [];
  while (left.length > 0) {
    const next = nextOf(left, cables, walked, far);
    const [ids = []] = left.splice(next.index, 1);
    for (const id of ids) walked.add(id);
    found.push({ devices: ids.map((id) => deviceOf(plan, id)), by: next.by });
  }
  return found;
}

/** Of all that a cable leads to from where one has been: the nearest to the leader, then the shortest way. */
function nextOf(
  left: readonly (readonly string[])[],
  cables: readonly LinkPlan[],
  walked: ReadonlySet<string>,
  far: (id: string) => number,
): { readonly index: number; readonly by: LinkPlan | null } {
  const ways = left.flatMap((ids, index) =>
    cables
      .filter(({ a, b }) => isBetween(ids, walked, a.device, b.device) || isBetween(ids, walked, b.device, a.device))
      .map((by) => ({ index, by, hops: far(ids[0] as string) })),
  );
  const [first] = ways.sort(
    (one, other) =>
      one.hops - other.hops ||
      one.by.lengthMetres - other.by.lengthMetres ||
      one.index - other.index ||
      byText(one.by.id, other.by.id),
  );
  return first ?? { index: 0, by: null };
}

function isBetween(ids: readonly string[], walked: ReadonlySet<string>, one: string, other: string): boolean {
  return walked.has(one) && ids.includes(other);
}

/** Devices one after another as the walk comes by. */
export function walkedDevices(plan: Plan): readonly DevicePlan[] {
  return walkOf(plan).flatMap(({ devices }) => devices);
}
