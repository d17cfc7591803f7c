/**
 * Who follows whom, at any instant and quickly, because the cursor asks at every move. `sim/tell/picture.ts` says what
 * stands behind a port; its answers are kept per plugging.
 *
 * One device leads: of those the plan names that run on their own clock, the one that most others follow, and among
 * equals the first in the plan. So a leader that comes back while everybody stays with its deputy does not lead. A plan
 * that names nobody lets any device lead that somebody follows. Where nobody follows anybody in the whole run, nobody
 * leads, unless there is only one device: that one leads itself.
 */
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import type { DeviceState } from "../../shared/record.ts";
import type { DeviceStretch, Summary } from "../../shared/summary.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { sourcesChanges } from "../lives.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import type { Run } from "../rehearse.ts";
import { deviceAcross, deviceBehind, networkBehind } from "../tell/picture.ts";

export interface Standing {
  readonly device: DevicePlan;
  readonly state: DeviceState;
  readonly source: string | null;
  /** Where it takes its clock from; null while on its own, or on none. */
  readonly upstream: DevicePlan | null;
  /** Clock sources as set by then. */
  readonly clockSources: readonly string[];
}

export interface Following {
  readonly standings: ReadonlyMap<string, Standing>;
  /** Id of the one that leads; null: nobody does. */
  readonly leader: string | null;
}

export interface Followers {
  at(seconds: number): Following;
  /** The device whose clock comes in at a port. */
  behind(device: string, source: string, seconds: number): DevicePlan | null;
  sourcesAt(device: DevicePlan, seconds: number): readonly string[];
}

export function createFollowers(run: Pick<Run, "plan" | "summary" | "record">): Followers {
  const { plan, summary } = run;
  const states = new Map(summary.devices.map((device) => [device.id, device.states]));
  const plugs = plan.events.filter((event) => event.do === "plug").map((event) => secondsFromNs(event.atNs));
  const settings = new Map(plan.devices.map((device) => [device.id, sourcesChanges(plan, device)]));
  const known = new Map<string, DevicePlan | null>();
  const named = namedLeaders(plan, summary);

  const behind: Followers["behind"] = (device, source, seconds) => {
    if (networkBehind(plan, device, source) !== null) return deviceBehind(run, device, source, seconds);
    const key = `${countUpTo(plugs, seconds)} ${device} ${source}`;
    const found = known.get(key);
    if (found !== undefined) return found;
    const fresh = deviceAcross(plan, device, source, seconds);
    known.set(key, fresh);
    return fresh;
  };

  const sourcesAt: Followers["sourcesAt"] = (device, seconds) => {
    let { clockSources } = device;
    for (const change of settings.get(device.id) ?? []) {
      if (secondsFromNs(change.atNs) > seconds) break;
      clockSources = change.clockSources;
    }
    return clockSources;
  };

  return {
    behind,
    sourcesAt,
    at(seconds) {
      const standings = new Map<string, Standing>();
      for (const device of plan.devices) {
        if (isPlainSwitch(plan, device)) continue;
        const stretch = stretchAt(states.get(device.id) ?? [], seconds);
        const state = stretch?.state ?? "off";
        const source = stretch?.source ?? null;
        const listens = source !== null && (state === "locked" || state === "acquiring");
        standings.set(device.id, {
          device,
          state,
          source,
          upstream: listens ? behind(device.id, source, seconds) : null,
          clockSources: sourcesAt(device, seconds),
        });
      }
      return { standings, leader: leaderOf(named, standings) };
    },
  };
}

/** Who may lead in this run, in the order of the plan. */
function namedLeaders(plan: Plan, summary: Summary): readonly string[] {
  const isFollowed = summary.devices.some(({ states }) =>
    states.some(({ state, source }) => (state === "locked" || state === "acquiring") && source !== "internal"),
  );
  if (!isFollowed && plan.devices.length > 1) return [];
  return plan.leaders.length > 0 ? plan.leaders : plan.devices.map(({ id }) => id);
}

function leaderOf(named: readonly string[], standings: ReadonlyMap<string, Standing>): string | null {
  const candidates = named.filter((id) => standings.get(id)?.state === "free-run");
  if (candidates.length < 2) return candidates[0] ?? null;
  const followed = new Map<string, number>(candidates.map((id) => [id, 0]));
  for (const id of standings.keys()) {
    const root = rootOf(standings, id);
    const count = root === null || root === id ? undefined : followed.get(root);
    if (root !== null && count !== undefined) followed.set(root, count + 1);
  }
  return candidates.reduce((best, id) => (followed.get(id)! > followed.get(best)! ? id : best));
}

/** Where following upstream ends; null in a ring. */
export function rootOf(standings: ReadonlyMap<string, Standing>, id: string): string | null {
  const seen = new Set<string>();
  for (let at = standings.get(id); at !== undefined; at = standings.get(at.upstream.id)) {
    if (seen.has(at.device.id)) return null;
    seen.add(at.device.id);
    if (at.upstream === null) return at.device.id;
  }
  return null;
}

/** The stretch that holds at an instant; at a border, the later one. Found by halving: there may be many. */
export function stretchAt<S extends { readonly fromSeconds: number }>(
  stretches: readonly S[],
  seconds: number,
): S | undefined {
  return stretches[firstLater(stretches, seconds) - 1];
}

/** Place of the first stretch that begins after an instant; their number where none does. */
export function firstLater(stretches: readonly { readonly fromSeconds: number }[], seconds: number): number {
  let [low, high] = [0, stretches.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (stretches[middle]!.fromSeconds <= seconds) low = middle + 1;
    else high = middle;
  }
  return low;
}

function countUpTo(sorted: readonly number[], seconds: number): number {
  let count = 0;
  while (count < sorted.length && sorted[count]! <= seconds) count += 1;
  return count;
}

/** Cuts the stretches in which a device runs free wherever it begins or ceases to lead. */
export function cutByLead(
  device: string,
  stretches: readonly DeviceStretch[],
  leads: readonly { readonly fromSeconds: number; readonly leader: string | null }[],
): readonly (DeviceStretch & { readonly leads: boolean })[] {
  return stretches.flatMap((stretch) => {
    if (stretch.state !== "free-run") return [{ ...stretch, leads: false }];
    const pieces: (DeviceStretch & { leads: boolean })[] = [];
    const begin = stretchAt(leads, stretch.fromSeconds);
    let open = { ...stretch, leads: begin?.leader === device };
    for (const { fromSeconds, leader } of leads) {
      if (fromSeconds <= stretch.fromSeconds || fromSeconds >= stretch.toSeconds) continue;
      if ((leader === device) === open.leads) continue;
      pieces.push({ ...open, toSeconds: fromSeconds });
      open = { ...open, fromSeconds, leads: leader === device };
    }
    return [...pieces, open];
  });
}

/** Who leads, from each instant at which that changes. */
export function leadsOver(plan: Plan, summary: Summary, followers: Followers) {
  const named = namedLeaders(plan, summary);
  const leaders = summary.devices.filter(({ id }) => named.includes(id));
  const runFree = (seconds: number) =>
    leaders.filter(({ states }) => stretchAt(states, seconds)?.state === "free-run").map(({ id }) => id);
  const borders = new Set<number>([0]);
  for (const { states } of summary.devices) for (const { fromSeconds } of states) borders.add(fromSeconds);
  const leads: { fromSeconds: number; leader: string | null }[] = [];
  for (const fromSeconds of [...borders].sort((one, other) => one - other)) {
    const free = runFree(fromSeconds);
    // Who follows whom has to be asked only where two could lead.
    const leader = free.length < 2 ? (free[0] ?? null) : followers.at(fromSeconds).leader;
    if (leads.at(-1)?.leader !== leader || leads.length === 0) leads.push({ fromSeconds, leader });
  }
  return leads;
}
