/** Streams: the ethernet ports they run between, what is in their packets, and what that makes of buffer and latency. */
import { defaultOf, defaultRow } from "./defaults.ts";
import { quote } from "./issues.ts";
import type { StreamTypeName } from "./link-types.ts";
import { isStreamType, linkType } from "./link-types.ts";
import type { LinkPlan, PortRef } from "./plan.ts";
import type { NoteOfLink } from "./scenario-cables.ts";
import { DELAY_SECONDS_MIN, plannedBuffer, portKey, secondsByType } from "./scenario-cables.ts";
import type { Place, Report } from "./scenario-draft.ts";
import type { EthernetPorts } from "./scenario-networks.ts";
import type { LinkFile } from "./scenario-schema.ts";
import { channelsPerPacketMax, PAYLOAD_BYTES_MAX, samplesPerPacket, streamType } from "./stream-types.ts";

export type StreamFile = Extract<LinkFile, { type: StreamTypeName }>;

export function isStream(file: LinkFile): file is StreamFile {
  return isStreamType(file.type);
}

/** A stream has no cable of its own. */
const MEDIUM = "network";

/** Packets in a receive buffer, where the file gives no depth. */
const PACKETS_DEEP = 4;

interface Written {
  readonly item: Place;
  readonly file: StreamFile;
  readonly ends: readonly [PortRef, PortRef];
  /** How long it takes to come up, by what the devices at its ends say; undefined: neither does. */
  readonly byDevices: number | undefined;
  /** The sender's. */
  readonly sampleRateHz: number;
  readonly ports: EthernetPorts;
  /** False where an ethernet cable may be missing because its entry is broken. */
  readonly cablesAreWhole: boolean;
  /** The cable in a port, for words. */
  cableAt(port: string): LinkPlan | undefined;
  readonly report: Report;
  readonly note: NoteOfLink;
}

/** Null where the stream has no network, or no packet that it fits in; that is reported. */
export function plannedStream(written: Written): LinkPlan | null {
  const { file, ends, sampleRateHz, note } = written;
  const packetMicroseconds = file.packetMicroseconds ?? streamType(file.type).packetMicroseconds[0];
  const network = networkOf(written);
  const channelsMax = channelsPerPacketMax(file.type, packetMicroseconds, sampleRateHz);
  const samples = samplesPerPacket(packetMicroseconds, sampleRateHz);
  if (channelsMax === 0)
    written.report(written.item, ["packetMicroseconds"], {
      expected: `packets short enough for one channel at ${sampleRateHz} Hz in ${PAYLOAD_BYTES_MAX} bytes`,
      received: `${packetMicroseconds} µs, which is ${samples} samples of 3 bytes`,
      remedy: "choose shorter packets",
    });
  if (network === null || channelsMax === 0) return null;
  const channels = file.channels ?? defaultOf("link", "channels");
  if (file.channels === undefined) note("channels", channels, defaultRow("link", "channels").unit);
  const packetSeconds = samples / sampleRateHz;
  const buffer = plannedBuffer(file.buffer, { slipSamples: samples, slipsDeep: PACKETS_DEEP }, note);
  return {
    id: file.id,
    type: file.type,
    twoWay: false,
    hasReturn: false,
    a: ends[0],
    b: ends[1],
    medium: MEDIUM,
    lengthMetres: 0,
    delaySeconds: DELAY_SECONDS_MIN,
    laidAlong: [],
    noticeSeconds: secondsByType(file, "noticeSeconds", note),
    comingUpSeconds: written.byDevices ?? secondsByType(file, "comingUpSeconds", note),
    clockIsAgreed: linkType(file.type).clockIsAgreed,
    channels,
    latencySeconds:
      streamType(file.type).presentationSeconds(packetMicroseconds) ??
      packetSeconds + buffer.startSamples / sampleRateHz,
    buffer,
    atStart: file.atStart ?? defaultOf("link", "atStart"),
    stream: {
      network,
      packetSeconds,
      samplesPerPacket: samples,
      channelsPerPacket: Math.min(channels, channelsMax),
    },
  };
}

/** The one that both ports are on. */
function networkOf(written: Written): string | null {
  const { item, ends, ports, report } = written;
  const steps = ["from", "to"] as const;
  const [from, to] = ends.map((ref, index) => {
    const key = portKey(ref.device, ref.port);
    const networks = ports.networksAt.get(key);
    if (networks === undefined && written.cablesAreWhole) reportNoEthernet(written, ref, [steps[index] as string]);
    return networks;
  });
  if (from === undefined || to === undefined) return null;
  const both = [...from].find((network) => to.has(network));
  if (both !== undefined) return both;
  const named = (networks: ReadonlySet<string>, or: string) => [...networks].slice(0, 12).map(quote).join(or);
  const on = (ref: PortRef, networks: ReadonlySet<string>) =>
    `${portKey(ref.device, ref.port)} on ${named(networks, " and ")}`;
  report(item, ["to"], {
    expected: "two ports on one network",
    received: `${on(ends[0], from)}, ${on(ends[1], to)}`,
    remedy: `choose a port on ${named(from, " or ")}, or another sender's port`,
  });
  return null;
}

function reportNoEthernet({ item, ports, cableAt, report }: Written, ref: PortRef, steps: readonly string[]): void {
  const key = portKey(ref.device, ref.port);
  const cable = cableAt(key);
  const usable = ports.portsOf.get(ref.device) ?? [];
  const choice = usable.slice(0, 12).map((port) => quote(portKey(ref.device, port)));
  report(item, steps, {
    expected: `an ethernet port of ${quote(ref.device)}`,
    received:
      cable === undefined
        ? `${quote(key)}, where no ethernet link ends`
        : `${quote(key)}, where ${quote(cable.id)} ends, which is ${cable.type}`,
    remedy:
      usable.length === 0 ? "add the ethernet link" : `choose from ${choice.join(", ")}, or add the ethernet link`,
  });
}
