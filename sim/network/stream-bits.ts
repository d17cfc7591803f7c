/** What a stream needs of a cable: its audio, and what each packet of it is wrapped in. */
import type { LinkPlan, StreamPlan } from "../../shared/plan.ts";

/** Three bytes a sample: 24 bit. */
const BYTES_PER_SAMPLE = 3;
/** RFC 3550, RFC 768, RFC 791 without options: from memory. */
const RTP_UDP_IP_BYTES = 12 + 8 + 20;
/** IEEE 1722 AVTP, and the tag of IEEE 802.1Q that its priority travels in: from memory. */
const AVTP_BYTES = 24;
const TAG_BYTES = 4;
/** IEEE 802.3, from memory: header and check sequence; preamble and the gap to the next one; the least in between. */
const ETHERNET_BYTES = 14 + 4;
const BETWEEN_BYTES = 8 + 12;
const PAYLOAD_BYTES_LEAST = 46;

/** Part of a cable that streams with reserved bandwidth may take: IEEE 802.1Q, from memory. */
export const AVB_SHARE = 0.75;

export function isReserved({ type }: LinkPlan): boolean {
  return type === "avb";
}

/** On the wire, all of its packets; more channels than one holds are several side by side. */
export function streamBitsPerSecond(link: LinkPlan & { readonly stream: StreamPlan }): number {
  const { samplesPerPacket, channelsPerPacket, packetSeconds } = link.stream;
  const full = Math.floor(link.channels / channelsPerPacket);
  const rest = link.channels - full * channelsPerPacket;
  const wrap = isReserved(link) ? AVTP_BYTES : RTP_UDP_IP_BYTES;
  const outside = ETHERNET_BYTES + BETWEEN_BYTES + (isReserved(link) ? TAG_BYTES : 0);
  const bytes = (channels: number) =>
    Math.max(PAYLOAD_BYTES_LEAST, wrap + channels * samplesPerPacket * BYTES_PER_SAMPLE) + outside;
  return (8 * (full * bytes(channelsPerPacket) + (rest === 0 ? 0 : bytes(rest)))) / packetSeconds;
}
