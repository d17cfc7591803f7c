/**
 * What became of a plan's networks, read from a finished record: who led, what bridges did, how well followers follow.
 *
 * Packet-delay variation: a packet that carries time waits in each plain bridge for a time spread evenly from 0 to the
 * bridge's `delayVariationSeconds`, one packet's wait independent of the next (both assumed), and a follower's delay
 * measurement averages what answers wait. So what arrives is white, one value held for each sync interval Ts: of its
 * variance a loop lets through 2·Ts·∫|H|²·(sin πfTs / πfTs)² df. That is at most 2·BL·Ts, by the loop's noise bandwidth
 * BL = (ωn/2)(ζ + 1/(4ζ)) (R. E. Best, "Phase-Locked Loops", pp. 99-100), which it comes close to where the loop is slow
 * against sync; and at most the square of the highest |H|. What the loop of a boundary device has let through is slow
 * against that of the next, and taken to pass it as it is.
 */
import { PI } from "../../shared/maths.ts";
import type { DevicePlan, NetworkPlan, Plan } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import type { RunRecord } from "../../shared/record.ts";
import type {
  BridgingStretch,
  FollowSummary,
  LeaderStretch,
  NetworkSummary,
  NodeSummary,
  RoleStretch,
} from "../../shared/summary.ts";
import type { Ns } from "../../shared/time.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { gainSquared, peakingAt } from "../loop.ts";
import type { Looks, NodeLook } from "../timeline.ts";
import { looksOf, stretches, valueAt } from "../timeline.ts";
import { sitesOf } from "./sites.ts";

/** A switch that only passes packets on: it has no clock that anybody could be on. */
export function isPlainSwitch(plan: Plan, { id, kind }: DevicePlan): boolean {
  if (kind !== "switch") return false;
  if (plan.links.some(({ a, b, ethernet }) => ethernet === undefined && (a.device === id || b.device === id)))
    return false;
  return !sitesOf(plan).sites.some(({ device, isInElection }) => device.id === id && isInElection);
}

export function networksIn(plan: Plan, record: RunRecord): NetworkSummary[] {
  const looks = looksOf(record);
  const byId = new Map(plan.devices.map((device) => [device.id, device]));
  return (plan.networks ?? []).map((network) => {
    const nodes = sitesOf(plan).sites.filter((site) => site.network.id === network.id && site.isInElection);
    const devices = nodes.map(({ device }): NodeSummary => {
      const roles = rolesOf(looks, device.id, network.id);
      return { device: device.id, roles, follows: followsAtEnd(plan, network, looks, device, byId) };
    });
    const leaders = devices.flatMap(({ device, roles }): LeaderStretch[] =>
      roles
        .filter(({ role }) => role === "leads")
        .map(({ fromSeconds, toSeconds }) => ({ leader: device, fromSeconds, toSeconds })),
    );
    return {
      id: network.id,
      name: network.name,
      profile: network.profile,
      leaders: leaders.sort((one, other) => one.fromSeconds - other.fromSeconds),
      changes: leaders.filter(({ fromSeconds }) => fromSeconds > 0).length,
      bridging: bridgingOf(looks, network.id),
      devices,
    };
  });
}

function timesOf({ fromNs, toNs }: { readonly fromNs: Ns; readonly toNs: Ns }) {
  return { fromSeconds: secondsFromNs(fromNs), toSeconds: secondsFromNs(toNs) };
}

function rolesOf({ nodes, endNs }: Looks, device: string, network: string): RoleStretch[] {
  const line = nodes.get(`${device} ${network}`) ?? { changes: [] };
  const isSame = (a: NodeLook, b: NodeLook) => a.role === b.role && a.leader === b.leader && a.parent === b.parent;
  return stretches(line, endNs, isSame).map((stretch) => {
    const { role, leader, parent } = stretch.value;
    return { role, leader, parent, ...timesOf(stretch) };
  });
}

function bridgingOf({ bridging, endNs }: Looks, network: string): BridgingStretch[] {
  const parts = [...bridging].filter(([key]) => networkOfBridging(key) === network);
  return parts.flatMap(([, line], index) =>
    stretches(line, endNs).map((stretch) => {
      const { forwards, blocked, storm } = stretch.value;
      // In a storm nothing passes because nothing is held back.
      return { part: index + 1, forwards, blocked: storm ? [] : blocked, storm, ...timesOf(stretch) };
    }),
  );
}

/** "red 2" → "red": ids have no spaces. */
export function networkOfBridging(key: string): string {
  return key.split(" ")[0] as string;
}

function followsAtEnd(
  plan: Plan,
  network: NetworkPlan,
  looks: Looks,
  device: DevicePlan,
  byId: ReadonlyMap<string, DevicePlan>,
): FollowSummary | null {
  const look = followingAtEnd(looks, device.id, network.id);
  if (look === null) return null;
  let [forth, back, bridges, steps] = [0, 0, 0, 0];
  const way: DevicePlan[] = [];
  for (let at: DevicePlan | undefined = device; at !== undefined && !way.includes(at); ) {
    const follows = followingAtEnd(looks, at.id, network.id);
    if (follows === null) break;
    way.push(at);
    forth += follows.path.forthSeconds;
    back += follows.path.backSeconds;
    bridges += follows.path.bridges;
    const { parent } = follows;
    if (parent !== look.leader) steps += 1;
    at = byId.get(parent);
  }
  const source = valueAt(looks.devices.get(device.id) ?? { changes: [] }, looks.endNs)?.source ?? null;
  const site = source === null ? undefined : sitesOf(plan).siteOf(device.id, Number(source));
  return {
    leader: look.leader,
    parent: look.parent,
    inUse: site?.network.id === network.id,
    steps,
    bridges,
    pathMicroseconds: forth * 1e6,
    shiftNanoseconds: ((back - forth) / 2) * 1e9,
    jitterNanoseconds: jitterOver(network, looks, way),
  };
}

type Following = NodeLook & {
  readonly leader: string;
  readonly parent: string;
  readonly path: NonNullable<NodeLook["path"]>;
};

function followingAtEnd({ nodes, endNs }: Looks, device: string, network: string): Following | null {
  const look = valueAt(nodes.get(`${device} ${network}`) ?? { changes: [] }, endNs);
  return look?.role === "follows" && look.path !== null ? (look as Following) : null;
}

/** Of the first on a way towards the leader, which is not on it. */
function jitterOver(
  network: NetworkPlan,
  looks: Looks,
  way: readonly DevicePlan[],
): FollowSummary["jitterNanoseconds"] {
  const syncSeconds = ptpProfile(network.profile).syncSeconds.value;
  let before = 0;
  let arrives = 0;
  for (const device of [...way].reverse()) {
    const own = followingAtEnd(looks, device.id, network.id)?.path.varianceSeconds2 ?? 0;
    arrives = own + before;
    before = keptShare(device.loop, syncSeconds) * own + before;
  }
  return { arrives: Math.sqrt(arrives) * 1e9, kept: Math.sqrt(before) * 1e9 };
}

/** Of the variance of waits, what a loop lets through at most. */
export function keptShare({ naturalFrequencyHz, damping }: DevicePlan["loop"], syncSeconds: number): number {
  const bandwidthHz = PI * naturalFrequencyHz * (damping + 1 / (4 * damping));
  return Math.min(2 * bandwidthHz * syncSeconds, gainSquared(damping, peakingAt(damping)));
}
