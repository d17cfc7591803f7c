/** How the networks of a plan stand as the show begins: bridges, the election, and which streams arrive. */
import type { Signal } from "../../shared/flow.ts";
import { addTo } from "../../shared/lists.ts";
import type { Plan } from "../../shared/plan.ts";
import type { Timebase } from "../../shared/timebase.ts";
import type { Arrival, Frame, Status } from "../mail.ts";
import type { Hearing } from "../settle.ts";
import type { Bridges } from "./bridges.ts";
import { bridgesOf, siteId } from "./bridges.ts";
import type { StandingElection } from "./election-at-rest.ts";
import { carriesAt, electionAtRest } from "./election-at-rest.ts";
import type { Standing } from "./flood.ts";
import { acrossOf, flood } from "./flood.ts";
import type { NodeBegin, NodeSpec } from "./node.ts";
import { firstArrival, firstTrain } from "./node-begin.ts";
import { clockKey } from "./node-send.ts";
import type { Site, Sites } from "./sites.ts";
import { sitesOf } from "./sites.ts";

export interface NetworksAtStart {
  readonly sites: Sites;
  readonly bridges: Bridges;
  /** Streams whose packets arrive. */
  readonly reached: ReadonlySet<string>;
  /** Who takes the time of whom. */
  readonly hearings: readonly Hearing[];
  /** @param said what each device puts out, as far as that is known */
  nodeSpec(site: Site, timebases: readonly Timebase[], said: Said, status: Status): NodeSpec;
  /** What comes to an ethernet port that a device lists as a clock source; null where it is none. */
  arrivalAt(device: string, port: number, timebases: readonly Timebase[], said: Said): Arrival | null;
}

type Said = ReadonlyMap<string, Signal | null>;

/**
 * @param isAlive devices that work as the show begins
 * @param listens whether a device ever listens to a port
 */
export function networksAtStart(
  plan: Plan,
  isAlive: (device: string) => boolean,
  listens: (device: string, port: number) => boolean,
): NetworksAtStart {
  const sites = sitesOf(plan);
  const streams = plan.links.filter(({ stream }) => stream !== undefined);
  const bridges = bridgesOf(sites, streams, isAlive, ({ atStart }) => atStart === "plugged");
  const carrying = sites.cables.filter(
    ({ link: { atStart, a, b } }) => atStart === "plugged" && isAlive(a.device) && isAlive(b.device),
  );
  const standing: Standing = { sites, across: acrossOf(carrying), forwards: bridges.forwards };
  const takes = (site: Site): boolean => site.ports.some((port) => listens(site.device.id, port));
  const election = electionAtRest(standing, isAlive, takes);

  /** By stream: the attachment at which it arrives. */
  const reachedOn = new Map<string, number>();
  const streamsFrom = new Map<Site, string[]>();
  const streamsTo = new Map<Site, string[]>();
  for (const { id, a, b } of streams) {
    const from = sites.siteOf(a.device, a.port);
    const to = sites.siteOf(b.device, b.port);
    if (from === undefined || to === undefined) continue;
    addTo(streamsFrom, from, id);
    addTo(streamsTo, to, id);
    if (!isAlive(a.device) || !isAlive(b.device)) continue;
    const landing = flood(standing, from, 0, "stream", to).find(({ site }) => site === to);
    if (landing !== undefined) reachedOn.set(id, landing.attachment);
  }

  const nodeSpec = (site: Site, timebases: readonly Timebase[], said: Said, status: Status): NodeSpec => {
    const { device, network, attachments, isBoundary } = site;
    if (device.ptp === undefined) throw new Error(`${device.id} has no part in elections`);
    const streamsIn = streamsTo.get(site) ?? [];
    return {
      id: `node ${siteId(site)}`,
      device: device.id,
      network,
      ptp: device.ptp,
      ports: attachments,
      isBoundary,
      takes: takes(site),
      sampleRateHz: device.sampleRateHz,
      streamsOut: streamsFrom.get(site) ?? [],
      streamsIn,
      timebases,
      seed: plan.seed,
      status,
      signal: said.get(device.id) ?? null,
      carries: attachments.map((_, attachment) => isAlive(device.id) && carriesAt(standing, site, attachment)),
      begin: isAlive(device.id)
        ? beginOf(
            plan,
            site,
            election,
            said,
            streamsIn.map((id) => reachedOn.get(id) ?? null),
          )
        : null,
    };
  };
  return {
    sites,
    bridges,
    reached: new Set(reachedOn.keys()),
    hearings: hearingsIn(sites, election, isAlive),
    nodeSpec,
    arrivalAt(device, port, timebases, said) {
      const site = sites.siteOf(device, port);
      if (site?.isInElection !== true) return null;
      const status: Status = { alive: isAlive(device), takes: [], clockClass: null };
      return firstArrival(nodeSpec(site, timebases, said, status));
    },
  };
}

function beginOf(
  plan: Plan,
  site: Site,
  election: StandingElection,
  said: Said,
  reachedOn: NodeBegin["reachedOn"],
): NodeBegin | null {
  const result = election.resultOf(site);
  if (result === undefined) return null;
  const { network } = site;
  const train = (of: Site, announced: Parameters<typeof firstTrain>[1]) =>
    firstTrain({ seed: plan.seed, device: of.device.id, network }, announced);
  return {
    ports: result.ports.map(({ role, leader, parent, steps, announces }) => ({
      role,
      leader,
      parent,
      steps,
      train: announces === null ? null : train(site, announces),
    })),
    heard: election.heardBy(site).map(({ attachment, from, fromPort, announced, path }) => {
      const frame: Frame = {
        key: clockKey(from.device.id, fromPort),
        body: { kind: "clock", train: train(from, announced), signal: said.get(from.device.id) ?? null },
        path,
      };
      return { attachment, frame };
    }),
    reachedOn,
  };
}

function hearingsIn(
  { sites, cables }: Sites,
  election: StandingElection,
  isAlive: (device: string) => boolean,
): Hearing[] {
  const cableAt = new Map<string, Pick<Hearing, "link" | "way">>();
  for (const { link } of cables) {
    cableAt.set(`${link.a.device}.${link.a.port}`, { link, way: "back" });
    cableAt.set(`${link.b.device}.${link.b.port}`, { link, way: "there" });
  }
  return sites.flatMap((site): Hearing[] => {
    const follows = isAlive(site.device.id) ? (election.resultOf(site)?.follows ?? null) : null;
    if (follows === null) return [];
    return site.ports.flatMap((port) => {
      const cable = cableAt.get(`${site.device.id}.${port}`);
      if (cable === undefined) return [];
      return [{ device: site.device.id, port, from: follows.device, fromPort: follows.port, ...cable }];
    });
  });
}
