/**
 * What a plan says of the rig, in one form: the same for two files that differ in comments, in order, in what they leave
 * to defaults, or in which end of a cable they name first. What is made to happen is not the rig, nor are the words that
 * only tell of it (title, story, expectations, what somebody accepted), nor the day on which a cable was last pulled.
 */
import type { DevicePlan, FeedPlan, LinkPlan, NetworkPlan, Plan, PortRef, SparePlan } from "../shared/plan.ts";

/** Whatever JSON holds; a field that is undefined is not there. */
export type Said = string | number | boolean | null | readonly Said[] | { readonly [name: string]: Said | undefined };

/** Of one thing: its fields. */
export type Fields = { readonly [name: string]: Said | undefined };

/** By id; the rig as a whole has none. */
export interface Meaning {
  readonly rig: Fields;
  readonly networks: Readonly<Record<string, Fields>>;
  readonly devices: Readonly<Record<string, Fields>>;
  readonly links: Readonly<Record<string, Fields>>;
  readonly spares: Readonly<Record<string, Fields>>;
  readonly feeds: Readonly<Record<string, Fields>>;
}

export function meaningOf(plan: Plan): Meaning {
  return {
    rig: { sampleRateHz: plan.sampleRateHz, leaders: plan.leaders, batteries: plan.batteries },
    networks: byId(plan.networks ?? [], ofNetwork),
    devices: byId(plan.devices, ofDevice),
    links: byId(plan.links, ofLink),
    spares: byId(plan.spares, ofSpare),
    feeds: byId(plan.feeds, ofFeed),
  };
}

function byId<T extends { readonly id: string }>(all: readonly T[], of: (one: T) => Fields): Record<string, Fields> {
  return Object.fromEntries(all.map((one) => [one.id, of(one)]));
}

function ofNetwork({ id: _id, ...network }: NetworkPlan): Fields {
  return network;
}

/** Boot times of a part stand only where they differ from that of all of it. */
function ofDevice({ id: _id, power, muteWhile, surfaceBootSeconds, engineBootSeconds, ...device }: DevicePlan): Fields {
  const parts = {
    ...(surfaceBootSeconds === device.bootSeconds ? {} : { surfaceBootSeconds }),
    ...(engineBootSeconds === device.bootSeconds ? {} : { engineBootSeconds }),
  };
  return { ...device, ...parts, power: sorted(power), muteWhile: sorted(muteWhile) } as unknown as Fields;
}

/** What follows from the type, the length and the ends of a link is not said again. */
function ofLink(link: LinkPlan): Fields {
  const { type, medium, lengthMetres, noticeSeconds, comingUpSeconds, channels, buffer, atStart, line } = link;
  const [a, b] = [portText(link.a), portText(link.b)];
  // An end is as good as the other, but for packets that take longer one way.
  const isTurned = link.twoWay && b < a;
  const asymmetry = link.ethernet?.asymmetrySeconds ?? 0;
  return {
    ...{ type, medium, lengthMetres, noticeSeconds, comingUpSeconds, channels, buffer, atStart },
    ...(link.twoWay ? { ends: isTurned ? [b, a] : [a, b] } : { from: a, to: b, return: link.hasReturn }),
    laidAlong: sorted(link.laidAlong),
    network: link.ethernet?.network ?? link.stream?.network,
    // Never a negative nought, which is another text.
    ...(link.ethernet && { asymmetrySeconds: isTurned ? 0 - asymmetry : asymmetry }),
    ...(link.ethernet && { bitsPerSecond: link.ethernet.bitsPerSecond }),
    ...(link.stream && { packetSeconds: link.stream.packetSeconds }),
    ...(line && { line: { id: line.id, taps: line.taps, terminatedAt: sorted(line.terminatedAt) } }),
  };
}

function ofSpare({ id: _id, ...spare }: SparePlan): Fields {
  return spare;
}

function ofFeed({ name, through, hops, heardBy }: FeedPlan): Fields {
  return {
    ...{ name, through, heardBy: sorted(heardBy) },
    channels: hops.map((hop) => hop.channels),
    over: hops.map(({ over }) => over.map(({ link }) => link)),
  };
}

function portText({ device, port }: PortRef): string {
  return `${device}.${port}`;
}

function sorted<T extends string>(all: readonly T[]): readonly T[] {
  return [...all].sort();
}
