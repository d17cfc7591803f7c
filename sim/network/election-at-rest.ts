/** The election on the networks of a plan, as it stands when nothing has changed for long. */
import { addTo } from "../../shared/lists.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import type { RestNode, RestResult } from "../election/at-rest.ts";
import { electAtRest } from "../election/at-rest.ts";
import type { Announced } from "../election/own-data.ts";
import { inNameOf } from "../election/own-data.ts";
import type { NetworkPath } from "../mail.ts";
import type { Landing, Standing } from "./flood.ts";
import { flood } from "./flood.ts";
import type { Site } from "./sites.ts";

/** Announcements of one port, as they arrive at an attachment of another site. */
export interface AnnouncedHere {
  readonly attachment: number;
  readonly from: Site;
  readonly fromPort: number;
  readonly announced: Announced;
  readonly path: NetworkPath;
}

export interface StandingElection {
  /** Of sites in the election whose device works. */
  resultOf(site: Site): RestResult | undefined;
  heardBy(site: Site): readonly AnnouncedHere[];
}

/** @param takes whether the device of a site lists the network among its clock sources */
export function electionAtRest(
  standing: Standing,
  isAlive: (device: string) => boolean,
  takes: (site: Site) => boolean,
): StandingElection {
  const taking = standing.sites.sites.filter((site) => site.isInElection && isAlive(site.device.id));
  const isTaking = new Set(taking);
  const landings = (from: Site, attachment: number): Landing[] =>
    flood(standing, from, attachment, "clock").filter(({ site }) => isTaking.has(site));
  const segments = segmentsOf(taking, landings);
  const results = new Map<Site, RestResult>();
  const byNetwork = new Map<string, Site[]>();
  for (const site of taking) addTo(byNetwork, site.network.id, site);
  for (const members of byNetwork.values()) {
    const { profile } = (members[0] as Site).network;
    const nodes = members.map((site) => restNode(site, standing, segments, takes(site)));
    for (const [index, result] of electAtRest(nodes, ptpProfile(profile).tracesPath).entries())
      results.set(members[index] as Site, result);
  }
  const heard = new Map<Site, AnnouncedHere[]>();
  for (const from of taking) {
    for (const [index, { announces }] of (results.get(from) as RestResult).ports.entries()) {
      if (announces === null) continue;
      const out = from.isBoundary ? [index] : from.attachments.keys();
      for (const attachment of out) {
        const fromPort = from.attachments[attachment] as number;
        for (const landing of landings(from, attachment)) {
          const list = heard.get(landing.site) ?? [];
          const announced = inNameOf(announces, fromPort);
          list.push({ attachment: landing.attachment, from, fromPort, announced, path: landing.path });
          heard.set(landing.site, list);
        }
      }
    }
  }
  return { resultOf: (site) => results.get(site), heardBy: (site) => heard.get(site) ?? [] };
}

function placeKey(site: Site, attachment: number): string {
  return `${site.device.id} ${site.network.id} ${attachment}`;
}

/** Ports that hear each other's announcements, numbered: with tables that have settled, hearing goes both ways. */
function segmentsOf(
  taking: readonly Site[],
  landings: (from: Site, attachment: number) => readonly Landing[],
): ReadonlyMap<string, number> {
  const segments = new Map<string, number>();
  let count = 0;
  for (const site of taking) {
    for (const attachment of site.attachments.keys()) {
      const key = placeKey(site, attachment);
      if (segments.has(key)) continue;
      segments.set(key, count);
      for (const landing of landings(site, attachment)) segments.set(placeKey(landing.site, landing.attachment), count);
      count += 1;
    }
  }
  return segments;
}

function restNode(site: Site, standing: Standing, segments: ReadonlyMap<string, number>, takes: boolean): RestNode {
  const { device, attachments, isBoundary } = site;
  const { ptp } = device;
  if (ptp === undefined) throw new Error(`${device.id} has no part in elections`);
  return {
    device: device.id,
    ptp,
    clockClass: ptp.clockClass,
    takes,
    isBoundary,
    attachments: attachments.map((port, attachment) => ({
      port,
      segment: carriesAt(standing, site, attachment) ? (segments.get(placeKey(site, attachment)) ?? null) : null,
    })),
  };
}

/** Packets pass at this attachment: its cable carries; inside a bridge they always do. */
export function carriesAt({ across }: Standing, site: Site, attachment: number): boolean {
  return (site.isBridge && !site.isBoundary) || across.has(`${site.device.id}.${site.attachments[attachment]}`);
}
