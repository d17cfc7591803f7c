/**
 * The networks of a plan as it means them: every device on and every cable plugged in, `atStart` and events left aside.
 * Where a network has no recovery and a loop, nothing could be said of the rest, so it is read as if the loop were open.
 */
import type { LinkPlan, NetworkPlan, Plan, Way } from "../../shared/plan.ts";
import type { RestResult } from "../election/at-rest.ts";
import type { NetworkPath } from "../mail.ts";
import { bridgesOf } from "./bridges.ts";
import type { StandingElection } from "./election-at-rest.ts";
import { electionAtRest } from "./election-at-rest.ts";
import type { Standing } from "./flood.ts";
import { acrossOf } from "./flood.ts";
import type { Site, Sites } from "./sites.ts";
import { sitesOf } from "./sites.ts";

/** One cable of a network, as it is come over. */
export interface CableWay {
  readonly link: LinkPlan;
  readonly way: Exclude<Way, "both">;
}

/** What comes to a device over a network; "leads-itself": others have its time, so it has none from there. */
export type NetworkClock =
  | (CableWay & { readonly device: string; readonly network: string; readonly port: number })
  | "leads-itself"
  | "nobody-leads";

export interface ElectionMeant {
  /** Those that have a clock to announce or to set, by device id, then network id. */
  readonly sites: readonly Site[];
  resultOf(site: Site): RestResult | undefined;
  /** Whose time a site has, or would if it took it: its own if it leads; null: nobody's. */
  leaderOf(site: Site): string | null;
  /** From the port whose time it takes; null: it takes none. */
  pathTo(site: Site): NetworkPath | null;
  /** At an ethernet port; null where there is none, or its device has no part in the election. */
  clockAt(device: string, port: number): NetworkClock | null;
}

const asMeant = new WeakMap<Plan, Sites>();
const elections = new WeakMap<Plan, Map<string, ElectionMeant>>();

/** Sites of which none is on a network without recovery: see above. */
export function sitesMeant(plan: Plan): Sites {
  const known = asMeant.get(plan);
  if (known !== undefined) return known;
  const opened = (network: NetworkPlan): NetworkPlan =>
    network.recovery === "none" ? { ...network, recovery: "rapid-spanning-tree" } : network;
  const made = sitesOf({ ...plan, networks: (plan.networks ?? []).map(opened) });
  asMeant.set(plan, made);
  return made;
}

/** What is not there: one device, or one cable. */
export interface Gone {
  readonly device?: string | null;
  readonly cable?: string | null;
}

export function standingMeant(plan: Plan, { device: gone = null, cable = null }: Gone = {}): Standing {
  const sites = sitesMeant(plan);
  const isAlive = (device: string): boolean => device !== gone;
  const carries = ({ id, a, b }: LinkPlan): boolean => id !== cable && isAlive(a.device) && isAlive(b.device);
  const { forwards } = bridgesOf(sites, [], isAlive, carries);
  return { sites, across: acrossOf(sites.cables.filter(({ link }) => carries(link))), forwards };
}

/**
 * @param without a device that is not there, to see who would then lead
 * @param listener a device that listens to its networks whatever its clock sources say, to see what it would hear
 */
export function electionMeant(
  plan: Plan,
  without: string | null = null,
  listener: string | null = null,
): ElectionMeant {
  const known = elections.get(plan) ?? new Map<string, ElectionMeant>();
  elections.set(plan, known);
  const key = JSON.stringify([without, listener]);
  const there = known.get(key);
  if (there !== undefined) return there;
  const made = makeElection(plan, without, listener);
  known.set(key, made);
  return made;
}

/** A device that lists none of its ports on a network never takes that network's time. */
export function listsNetwork({ device, ports }: Site): boolean {
  return ports.some((port) => device.clockSources.includes(String(port)));
}

function makeElection(plan: Plan, without: string | null, listener: string | null): ElectionMeant {
  const standing = standingMeant(plan, { device: without });
  const { sites, cables, siteOf } = standing.sites;
  const isAlive = (device: string): boolean => device !== without;
  const takes = (site: Site): boolean => site.device.id === listener || listsNetwork(site);
  const election = electionAtRest(standing, isAlive, takes);
  const inElection = sites.filter((site) => site.isInElection && isAlive(site.device.id));
  const followed = new Set(
    inElection.flatMap((site) => {
      const leader = leaderIn(election, site);
      return leader === null || leader === site.device.id ? [] : [`${leader} ${site.network.id}`];
    }),
  );
  const cableAt = new Map<string, CableWay>();
  for (const { link } of cables) {
    cableAt.set(`${link.a.device}.${link.a.port}`, { link, way: "back" });
    cableAt.set(`${link.b.device}.${link.b.port}`, { link, way: "there" });
  }

  function clockAt(device: string, port: number): NetworkClock | null {
    const site = siteOf(device, port);
    if (site?.isInElection !== true) return null;
    const { id } = site.network;
    const follows = election.resultOf(site)?.follows ?? null;
    if (follows === null) {
      const leads = leaderIn(election, site) === device;
      return leads && (followed.has(`${device} ${id}`) || plan.leaders.includes(device))
        ? "leads-itself"
        : "nobody-leads";
    }
    const cable = cableAt.get(`${device}.${port}`);
    return cable === undefined ? "nobody-leads" : { ...cable, device: follows.device, network: id, port };
  }

  return {
    sites: inElection,
    resultOf: (site) => election.resultOf(site),
    leaderOf: (site) => leaderIn(election, site),
    pathTo: (site) => pathIn(election, site),
    clockAt,
  };
}

function leaderIn(election: StandingElection, site: Site): string | null {
  const ports = election.resultOf(site)?.ports ?? [];
  for (const wanted of ["follows", "passive", "leads"] as const) {
    const port = ports.find(({ role, leader }) => role === wanted && leader !== null);
    if (port !== undefined) return port.leader;
  }
  return null;
}

function pathIn(election: StandingElection, site: Site): NetworkPath | null {
  const follows = election.resultOf(site)?.follows ?? null;
  if (follows === null) return null;
  const heard = election
    .heardBy(site)
    .find(
      ({ attachment, from, fromPort }) =>
        attachment === follows.attachment && from.device.id === follows.device && fromPort === follows.port,
    );
  return heard?.path ?? null;
}

/**
 * The port by which a device has, or would have, the time of the others on a network: one that it lists; of a boundary
 * device the one that it comes in by; else its lowest.
 */
export function portFor(site: Site, result: RestResult | undefined): number {
  const listed = site.device.clockSources.find((source) => site.ports.includes(Number(source)));
  if (listed !== undefined) return Number(listed);
  const follows = result?.follows ?? null;
  const incoming = site.isBoundary && follows !== null ? site.attachments[follows.attachment] : undefined;
  return incoming ?? (site.ports[0] as number);
}
