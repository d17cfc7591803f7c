/**
 * Streams of audio over a network: how long their packets may be, and what fits into one. The standards are sold and
 * could not be read; what is quoted from summaries says so.
 */
import type { StreamTypeName } from "./link-types.ts";

interface StreamType {
  /** What a packet may last at 48 kHz, in microseconds; the first is the default. */
  readonly packetMicroseconds: readonly [number, ...number[]];
  /** Channels in a packet at base rate, at most, by the standard; null: as many as fit. */
  readonly channelsMax: (packetMicroseconds: number) => number | null;
  /** From the sender's packet to the receiver's output, where the standard fixes it; null: by packet and buffer. */
  readonly presentationSeconds: (packetMicroseconds: number) => number | null;
}

const TABLE: Readonly<Record<StreamTypeName, StreamType>> = {
  // AES67-2018 as summarised in public: 1 ms required, 1 to 8 channels for receivers.
  aes67: {
    packetMicroseconds: [1000, 125, 250, 333, 4000],
    channelsMax: () => 8,
    presentationSeconds: () => null,
  },
  // From memory, ST 2110-30 levels A and C: 8 channels at 1 ms, 64 at 125 µs; half as many at 96 kHz.
  "st2110-30": {
    packetMicroseconds: [1000, 125],
    channelsMax: (microseconds) => (microseconds === 125 ? 64 : 8),
    presentationSeconds: () => null,
  },
  // IEEE 802.1 class A: every 125 µs, 2 ms over 7 hops; class B: every 250 µs, 50 ms.
  avb: {
    packetMicroseconds: [125, 250],
    channelsMax: () => null,
    presentationSeconds: (microseconds) => (microseconds === 125 ? 0.002 : 0.05),
  },
};

export function streamType(type: StreamTypeName): StreamType {
  return TABLE[type];
}

/** Bytes of audio in one packet, at most: AES67's limit, from memory. It keeps a packet in one Ethernet frame. */
export const PAYLOAD_BYTES_MAX = 1440;

/** Three bytes a sample: 24 bit, what all three types carry. */
const BYTES_PER_SAMPLE = 3;

/** Base (31 to 54 kHz), double (62 to 108) and quadruple rate (124 to 216): the rate families of AES5-2018. */
export function rateFamily(sampleRateHz: number): 1 | 2 | 4 {
  if (sampleRateHz <= 54_000) return 1;
  return sampleRateHz <= 108_000 ? 2 : 4;
}

/**
 * As many at 44.1 kHz as at 48 kHz, twice as many at 96 kHz: 1 ms is 48, 48 and 96 samples (AES67-2018 as summarised in
 * public). Whole by construction.
 */
export function samplesPerPacket(packetMicroseconds: number, sampleRateHz: number): number {
  return Math.round(packetMicroseconds * 0.048) * rateFamily(sampleRateHz);
}

/** Channels that one packet has room for; 0 where not even one fits. */
export function channelsPerPacketMax(type: StreamTypeName, packetMicroseconds: number, sampleRateHz: number): number {
  const fit = Math.floor(PAYLOAD_BYTES_MAX / (BYTES_PER_SAMPLE * samplesPerPacket(packetMicroseconds, sampleRateHz)));
  const most = TABLE[type].channelsMax(packetMicroseconds);
  if (most === null) return fit;
  return Math.min(fit, type === "st2110-30" ? most / rateFamily(sampleRateHz) : most);
}
