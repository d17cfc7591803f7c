/** Where packets get to, and what lies behind them then, with cables and bridges as they stand at one moment. */
import type { EthernetPlan, LinkPlan } from "../../shared/plan.ts";
import type { NetworkPath } from "../mail.ts";
import { afterBridge, afterCable, NO_PATH } from "./path.ts";
import type { EthernetCable, Site, Sites } from "./sites.ts";

export interface Standing {
  readonly sites: Sites;
  /** Of each cable that carries, by the port it is in ("foh.1"): what is at its other end. */
  readonly across: ReadonlyMap<string, Across>;
  /** Whether a bridge passes packets between this port and its others; asked for bridges that work only. */
  forwards(site: Site, port: number): boolean;
}

interface Across {
  readonly device: string;
  readonly port: number;
  /** In this direction, and back. */
  readonly forthSeconds: number;
  readonly backSeconds: number;
}

/** A place where packets end: an attachment of a site, by its index. */
export interface Landing {
  readonly site: Site;
  readonly attachment: number;
  readonly path: NetworkPath;
}

/** Cables by the ports they are in as the show begins, those that carry. */
export function acrossOf(cables: readonly EthernetCable[]): Map<string, Across> {
  const across = new Map<string, Across>();
  for (const cable of cables) {
    const { a, b } = cable.link;
    const { thereSeconds, backSeconds } = packetWays(cable.link, cable.ethernet);
    across.set(`${a.device}.${a.port}`, { ...b, forthSeconds: thereSeconds, backSeconds });
    across.set(`${b.device}.${b.port}`, { ...a, forthSeconds: backSeconds, backSeconds: thereSeconds });
  }
  return across;
}

/** The two ways take twice the delay together, and differ by the asymmetry. */
export function packetWays(link: LinkPlan, ethernet: EthernetPlan): { thereSeconds: number; backSeconds: number } {
  const half = ethernet.asymmetrySeconds / 2;
  return { thereSeconds: Math.max(0, link.delaySeconds + half), backSeconds: Math.max(0, link.delaySeconds - half) };
}

/** Waiting behind other packets is spread evenly from 0: its variance is a twelfth of the square of its width. */
export function waitingVariance(site: Site): number {
  const width = site.device.bridge?.delayVariationSeconds ?? 0;
  return (width * width) / 12;
}

/**
 * Where packets get to that leave a site by one of its attachments: those that carry time, or those of streams.
 *
 * @param to the one site that is asked about; where there are many devices, leaving the others out saves most of the work
 */
export function flood(
  standing: Standing,
  from: Site,
  attachment: number,
  what: "clock" | "stream",
  to: Site | null = null,
): Landing[] {
  const landings: Landing[] = [];
  const seen = new Set<string>();
  const queue: { readonly site: Site; readonly port: number; readonly path: NetworkPath }[] = [];
  /** What is held back between bridges is so for a boundary's own packets too. */
  const isOpen = (site: Site, port: number): boolean => !site.isBridge || standing.forwards(site, port);
  const isWhole = (site: Site): boolean => site.isBridge && (what === "stream" || !site.isBoundary);
  const leave = (site: Site, except: number | null, path: NetworkPath): void => {
    for (const port of to === null ? site.ports : portsTowards(standing, site, to))
      if (port !== except && standing.forwards(site, port)) queue.push({ site, port, path });
  };
  if (isWhole(from)) leave(from, null, throughBridge(from, NO_PATH));
  else {
    const port = from.attachments[attachment] as number;
    if (isOpen(from, port)) queue.push({ site: from, port, path: NO_PATH });
  }
  for (let head = 0; head < queue.length; head++) {
    const { site, port, path } = queue[head] as (typeof queue)[number];
    const across = standing.across.get(`${site.device.id}.${port}`);
    const other = across === undefined ? undefined : standing.sites.siteOf(across.device, across.port);
    if (across === undefined || other === undefined || other.network.id !== site.network.id) continue;
    if (other === from || !isOpen(other, across.port)) continue;
    const key = `${across.device}.${isWhole(other) ? "" : across.port}`;
    if (seen.has(key)) continue;
    seen.add(key);
    const here = afterCable(path, across.forthSeconds, across.backSeconds);
    if (!isWhole(other)) {
      landings.push({ site: other, attachment: other.attachments.indexOf(across.port), path: here });
      continue;
    }
    const beyond = throughBridge(other, here);
    landings.push({ site: other, attachment: 0, path: beyond });
    leave(other, across.port, beyond);
  }
  return landings;
}

/** By cables that carry: ports of each bridge to other bridges, ascending. */
const trunks = new WeakMap<Standing["across"], Map<Site, readonly number[]>>();

/** Ports of a bridge behind which a site can be: those to other bridges, and to the site itself. */
export function portsTowards({ across, sites }: Standing, bridge: Site, to: Site): readonly number[] {
  const found = trunks.get(across) ?? new Map<Site, readonly number[]>();
  trunks.set(across, found);
  let ports = found.get(bridge);
  if (ports === undefined) {
    ports = bridge.ports.filter((port) => {
      const there = across.get(`${bridge.device.id}.${port}`);
      return there !== undefined && sites.siteOf(there.device, there.port)?.isBridge === true;
    });
    found.set(bridge, ports);
  }
  if (to.isBridge) return ports;
  const own = to.ports.flatMap((port) => {
    const there = across.get(`${to.device.id}.${port}`);
    return there?.device === bridge.device.id ? [there.port] : [];
  });
  return own.length === 0 ? ports : [...ports, ...own].sort((one, other) => one - other);
}

/** A frame that carries time, on the far side of a bridge. */
export function throughBridge(site: Site, path: NetworkPath): NetworkPath {
  const bridge = site.device.bridge;
  if (bridge === undefined || bridge.timing !== "plain") return afterBridge(path, 0, 0);
  return afterBridge(path, bridge.residenceSeconds, waitingVariance(site));
}
