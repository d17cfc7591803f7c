/** Links of a rig as they are written: their ends, the ports that are in use, what they bring to each end. */
import type { LinkTypeName } from "../../shared/link-types.ts";
import { isStreamType, LINK_TYPES, linkType } from "../../shared/link-types.ts";
import { type Fields, itemsOf } from "../../shared/mentions.ts";
import { type RigFiles, textsIn } from "../../sim/rig-files.ts";

export interface Socket {
  readonly device: string;
  readonly port: number;
}

export interface WrittenLink {
  readonly id: string;
  readonly type: LinkTypeName;
  readonly entry: Fields;
  /** Place in the rig's `links`. */
  readonly index: number;
  readonly isStream: boolean;
  /** The first end is the sender's, where there is one; a line with T-pieces has more than two. */
  readonly ends: readonly Socket[];
  /** Whether something arrives at the first end; at the others it always does. */
  readonly comesBack: boolean;
}

/** Those that make sense; one that does not is for the reader of the file to refuse. */
export function linksOf({ rig }: Pick<RigFiles, "rig">): readonly WrittenLink[] {
  return itemsOf(rig.links).flatMap(([entry, index]): WrittenLink[] => {
    const type = LINK_TYPES.find((one) => one === entry.type);
    const ends = socketsOf(entry);
    if (typeof entry.id !== "string" || type === undefined || ends.length < 2) return [];
    const comesBack = linkType(type).twoWay || entry.return === true;
    return [{ id: entry.id, type, entry, index, isStream: isStreamType(type), ends, comesBack }];
  });
}

function socketsOf({ ends, from, to }: Fields): readonly Socket[] {
  const all = ends === undefined ? [from, ...(Array.isArray(to) ? to : [to])] : textsIn(ends);
  return all.flatMap((end) => {
    const [, device, port] = /^([^.]+)\.([0-9]+)$/.exec(typeof end === "string" ? end : "") ?? [];
    return device === undefined ? [] : [{ device, port: Number(port) }];
  });
}

export function socketText({ device, port }: Socket): string {
  return `${device}.${port}`;
}

export function carriesAudio({ type }: WrittenLink): boolean {
  return linkType(type).channels.base.value > 0;
}

/** The links that bring audio from one device to another. */
export function carriersOf(links: readonly WrittenLink[], from: string, to: string): readonly WrittenLink[] {
  return links.filter((link) => {
    const [a, b] = link.ends;
    if (!carriesAudio(link)) return false;
    return (a?.device === from && b?.device === to) || (link.comesBack && a?.device === to && b?.device === from);
  });
}

/** What ends at a port, now or when an event plugs it in there, and whether it arrives there. */
export interface AtPort {
  readonly link: WrittenLink;
  readonly arrives: boolean;
}

/** By port, "stage.1". */
export function endsByPort(links: readonly WrittenLink[], events: readonly Fields[]): ReadonlyMap<string, AtPort[]> {
  const ports = new Map<string, AtPort[]>();
  const add = (link: WrittenLink, place: number, port: number | undefined) => {
    const end = link.ends[place];
    if (end === undefined || port === undefined) return;
    const key = socketText({ device: end.device, port });
    ports.set(key, [...(ports.get(key) ?? []), { link, arrives: place > 0 || link.comesBack }]);
  };
  for (const link of links) for (const [place, { port }] of link.ends.entries()) add(link, place, port);
  for (const { do: deed, link: id, end, into } of events) {
    const link = links.find((one) => one.id === id);
    if (deed !== "plug" || typeof into !== "number" || link === undefined) continue;
    const place = link.ends.findIndex(
      ({ device }, at) => device === end || end === (at === 0 ? "from" : link.ends.length === 2 ? "to" : ""),
    );
    add(link, place, into);
  }
  return ports;
}
