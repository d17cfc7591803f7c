/**
 * Plans in a few words, without the scenario reader: devices and links with the model's numbers, cables with the delay
 * that their medium has. `device` is the oracle's, so that both speak of the same rig.
 */
import type { LinkTypeName, MediumName, StreamTypeName } from "../../shared/link-types.ts";
import { channelsAt, isStreamType, linkType, NS_PER_METRE } from "../../shared/link-types.ts";
import type { DevicePlan, EventPlan, FeedPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { samplesPerPacket, streamType } from "../../shared/stream-types.ts";
import { nsFromSeconds } from "../../shared/time.ts";

export { at, device, plug, unplug } from "../oracle/hand-rig.ts";

export type LinkWords = Partial<Omit<LinkPlan, "type" | "medium">> & {
  readonly type?: LinkTypeName;
  readonly medium?: MediumName;
};

const end = (written: string): LinkPlan["a"] => {
  const [device, port] = written.split(".") as [string, string];
  return { device, port: Number(port) };
};

/** A link, sender (or first end) first: `link("foh.1", "stage.1", { type: "aes50", lengthMetres: 80 })`. */
export function link(from: string, to: string, words: LinkWords = {}): LinkPlan {
  const { type = "madi", lengthMetres = 0, ...rest } = words;
  const row = linkType(type);
  const medium = words.medium ?? row.media[0]?.name;
  const channels = channelsAt(type, 48_000);
  return {
    id: `${from} ${to}`,
    twoWay: row.twoWay,
    hasReturn: false,
    a: end(from),
    b: end(to),
    delaySeconds: medium === undefined ? 1e-9 : lengthMetres * NS_PER_METRE[medium].value * 1e-9,
    laidAlong: [],
    noticeSeconds: row.noticeSeconds.value,
    comingUpSeconds: row.comingUpSeconds.value,
    clockIsAgreed: row.clockIsAgreed,
    channels,
    latencySeconds: row.latencySamples.value / 48_000 + row.latencySeconds.value,
    buffer: { slipSamples: 1, depthSamples: 2, startSamples: 1 },
    atStart: "plugged",
    ...(type === "ethernet" ? { ethernet: { network: "network", asymmetrySeconds: 0, bitsPerSecond: 1e9 } } : {}),
    ...(isStreamType(type) ? packets(type, channels) : {}),
    ...rest,
    type,
    medium: medium ?? "network",
    lengthMetres,
  };
}

/** Of a stream at 48 kHz: packets as its type has them by default, a buffer of four. */
function packets(type: StreamTypeName, channels: number): Pick<LinkPlan, "stream" | "buffer"> {
  const samples = samplesPerPacket(streamType(type).packetMicroseconds[0], 48_000);
  return {
    stream: {
      network: "network",
      packetSeconds: samples / 48_000,
      samplesPerPacket: samples,
      channelsPerPacket: channels,
    },
    buffer: { slipSamples: samples, depthSamples: 4 * samples, startSamples: 2 * samples },
  };
}

/** One feed through devices in order, over the links between neighbours. */
export function feed(id: string, through: readonly string[], links: readonly LinkPlan[]): FeedPlan {
  const hops = through.slice(1).map((to, index) => {
    const from = through[index] as string;
    const over = links.flatMap(({ id: link, a, b, twoWay, hasReturn }) => [
      ...(a.device === from && b.device === to ? [{ link, way: "there" as const }] : []),
      ...(b.device === from && a.device === to && (twoWay || hasReturn) ? [{ link, way: "back" as const }] : []),
    ]);
    return { from, to, channels: 2, over: over.slice(0, 1), spare: null };
  });
  return { id, name: id, through, hops, heardBy: ["pa"] };
}

export interface PlanWords {
  readonly seconds: number;
  readonly devices: readonly DevicePlan[];
  readonly links?: readonly LinkPlan[];
  readonly events?: readonly EventPlan[];
  readonly feeds?: readonly FeedPlan[];
  readonly begin?: Plan["begin"];
  readonly sampleRateHz?: number;
}

/** Everything in the order that a plan must have. */
export function planOf({
  seconds,
  devices,
  links = [],
  events = [],
  feeds = [],
  begin = "settled",
  sampleRateHz = 48_000,
}: PlanWords): Plan {
  const byId = (a: { readonly id: string }, b: { readonly id: string }) => (a.id < b.id ? -1 : 1);
  return {
    title: "by hand",
    story: "",
    lengthNs: nsFromSeconds(seconds),
    seed: "quay-1",
    begin,
    wanderGridSeconds: 1,
    sampleRateHz,
    leaders: [],
    devices: [...devices].sort(byId),
    links: [...links].sort(byId),
    spares: [],
    feeds: [...feeds].sort(byId),
    events: [...events].sort((a, b) => a.atNs - b.atNs),
    expect: [],
    assumed: [],
  };
}
