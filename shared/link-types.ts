/**
 * The types of link and their numbers: cables from device to device, cables of a network, and the streams that a network
 * carries. Every number has its origin; the bodies of AES3, AES10 and AES50 are sold and could not be read, so nothing
 * here is cited from them directly.
 */
import type { Origin } from "./defaults.ts";
import { rateFamily, streamType } from "./stream-types.ts";

export interface Sourced {
  readonly value: number;
  readonly origin: Origin;
  readonly source: string;
}

export const MEDIA = ["pair", "category", "coax", "fibre"] as const;
export type MediumName = (typeof MEDIA)[number];

/** A cable of its own from one device to another, with nothing between. */
export const POINT_TO_POINT = ["aes3", "madi", "aes50", "word-clock"] as const;

/** Audio in packets, one way, over whatever ethernet cables lead there. */
export const STREAM_TYPES = ["aes67", "st2110-30", "avb"] as const;
export type StreamTypeName = (typeof STREAM_TYPES)[number];

export const LINK_TYPES = [...POINT_TO_POINT, "ethernet", ...STREAM_TYPES] as const;
export type LinkTypeName = (typeof LINK_TYPES)[number];

export function isStreamType(type: string): type is StreamTypeName {
  return STREAM_TYPES.some((one) => one === type);
}

interface Medium {
  readonly name: MediumName;
  /** Largest length that `check` accepts without a word. */
  readonly lengthMetresMax: Sourced;
}

export interface LinkType {
  readonly type: LinkTypeName;
  /** In words. */
  readonly name: string;
  /** One cable for both directions and `ends`; else one cable per direction, `from` and `to`. */
  readonly twoWay: boolean;
  /** True: the two ends must agree who gives, so `disputed` and `unclaimed` are possible. False: the sender always gives. */
  readonly clockIsAgreed: boolean;
  readonly carriesClock: string;
  /**
   * Channels per direction at base (31 to 54 kHz), double (62 to 108) and quadruple rate (124 to 216). Of a stream those
   * it has unless the file says otherwise.
   */
  readonly channels: { readonly base: Sourced; readonly double: Sourced; readonly quadruple: Sourced };
  /** The first is the default; none for a stream, which has no cable of its own. */
  readonly media: readonly Medium[];
  /** Delay of the sound, not of the clock: so many samples and so many seconds. */
  readonly latencySamples: Sourced;
  readonly latencySeconds: Sourced;
  readonly noticeSeconds: Sourced;
  readonly comingUpSeconds: Sourced;
}

function sourced(value: number, origin: Origin, source = ""): Sourced {
  return { value, origin, source };
}

const ENCYCLOPAEDIA_AES10 = "AES10 as summarised in an online encyclopaedia";
const AES_BLOG = "AES standards blog on AES50-2011";

/** Seconds per metre of cable, times 1e9. */
export const NS_PER_METRE: Readonly<Record<MediumName, Sourced>> = {
  pair: sourced(5.38, "assumed", "as category cable: a shielded 110-ohm pair has much the same insulation"),
  category: sourced(5.38, "handbook", "a LAN-wiring text, Table 12.7: 537.6 ns per 100 m at 100 MHz"),
  coax: sourced(5.05, "from memory", "solid polyethylene, 0.66 of the speed of light"),
  fibre: sourced(4.9, "from memory", "glass of group index 1.468"),
};

/** What streams have in common: no cable, no clock, and the delay of packets and buffer as they are by default. */
function stream(type: StreamTypeName, name: string, comingUpSeconds: Sourced): LinkType {
  const [packetMicroseconds] = streamType(type).packetMicroseconds;
  const fixed = streamType(type).presentationSeconds(packetMicroseconds);
  const channels = sourced(8, "assumed", "what a receiver of AES67 takes in one stream");
  return {
    type,
    name,
    twoWay: false,
    clockIsAgreed: false,
    carriesClock: "nothing: devices of the network elect a leader and listen to it",
    channels: { base: channels, double: channels, quadruple: channels },
    media: [],
    latencySamples:
      fixed === null
        ? sourced(144, "assumed", "one packet of 1 ms, and half of a buffer of four")
        : sourced(0, "none needed", "the class gives the latency in seconds"),
    latencySeconds:
      fixed === null
        ? sourced(0, "none needed", "counted in samples")
        : sourced(fixed, "standard", "IEEE 802.1 class A as summarised in public: 2 ms over 7 hops"),
    noticeSeconds: sourced(0.01, "assumed", "some ten packets missing: the buffer is empty by then"),
    comingUpSeconds,
  };
}

const TABLE: Readonly<Record<LinkTypeName, LinkType>> = {
  aes3: {
    type: "aes3",
    name: "AES3",
    twoWay: false,
    clockIsAgreed: false,
    carriesClock: "the signal itself: one frame per sample, from the sender",
    channels: {
      base: sourced(2, "from memory", "AES3: two subframes a frame"),
      double: sourced(2, "from memory", "the same, the frame twice as fast"),
      quadruple: sourced(2, "from memory", "the same, the frame four times as fast"),
    },
    media: [
      { name: "pair", lengthMetresMax: sourced(100, "from memory", "AES3 without equalization") },
      { name: "category", lengthMetresMax: sourced(100, "assumed", "no more than on a 110-ohm pair") },
      { name: "coax", lengthMetresMax: sourced(300, "from memory", "75-ohm practice of AES-3id, with margin") },
    ],
    latencySamples: sourced(1, "assumed", "a frame must have arrived before it can be used"),
    latencySeconds: sourced(0, "assumed"),
    noticeSeconds: sourced(0.01, "assumed", "some hundred frames without an edge"),
    comingUpSeconds: sourced(0.1, "assumed", "a receiver that finds its preambles again"),
  },
  madi: {
    type: "madi",
    name: "MADI (AES10)",
    twoWay: false,
    clockIsAgreed: false,
    carriesClock: "the frame rate of the channels, from the sender; the line rate of 125 Mbaud is not the clock",
    channels: {
      base: sourced(64, "standard", `${ENCYCLOPAEDIA_AES10}: 64 without varispeed, 56 with`),
      double: sourced(32, "handbook", "a magazine's glossary on AES10: 28 or 32 at double rate"),
      quadruple: sourced(16, "from memory", "half as many again"),
    },
    media: [
      {
        name: "coax",
        lengthMetresMax: sourced(100, "standard", `${ENCYCLOPAEDIA_AES10}; tens of metres on thin cable`),
      },
      { name: "fibre", lengthMetresMax: sourced(2000, "standard", ENCYCLOPAEDIA_AES10) },
    ],
    latencySamples: sourced(2, "assumed", "a frame in the sender, a frame in the receiver"),
    latencySeconds: sourced(0, "assumed"),
    noticeSeconds: sourced(0.01, "assumed", "some hundred frames without a sync symbol"),
    comingUpSeconds: sourced(0.1, "assumed", "a receiver that finds its frames again"),
  },
  aes50: {
    type: "aes50",
    name: "AES50",
    twoWay: true,
    clockIsAgreed: true,
    carriesClock: "a pair of wires each way for the clock, beside the data; one end must take",
    channels: {
      base: sourced(48, "standard", AES_BLOG),
      double: sourced(24, "from memory", "the same payload of 55.296 Mbit/s"),
      quadruple: sourced(12, "from memory", "the same payload of 55.296 Mbit/s"),
    },
    media: [{ name: "category", lengthMetresMax: sourced(100, "standard", `${AES_BLOG}: up to 100 m`) }],
    latencySamples: sourced(0, "standard", "an online encyclopaedia gives the latency in seconds"),
    latencySeconds: sourced(
      62.5e-6,
      "standard",
      `an online encyclopaedia: 62.5 us, 3 samples at 48 kHz; ${AES_BLOG}: below 100 us`,
    ),
    noticeSeconds: sourced(0.05, "assumed", "a 100BASE-TX receiver without signal for some tens of milliseconds"),
    comingUpSeconds: sourced(
      2.5,
      "handbook",
      "a note on Ethernet transceivers: 100BASE-TX takes 2 to 3 s after plugging in",
    ),
  },
  "word-clock": {
    type: "word-clock",
    name: "word clock",
    twoWay: false,
    clockIsAgreed: false,
    carriesClock: "nothing but the clock, from the sender",
    channels: {
      base: sourced(0, "none needed", "carries no audio"),
      double: sourced(0, "none needed", "carries no audio"),
      quadruple: sourced(0, "none needed", "carries no audio"),
    },
    media: [
      { name: "coax", lengthMetresMax: sourced(100, "assumed", "75-ohm cable, terminated once; shorter is better") },
    ],
    latencySamples: sourced(0, "none needed", "carries no audio"),
    latencySeconds: sourced(0, "none needed", "carries no audio"),
    noticeSeconds: sourced(0.01, "assumed", "some hundred edges missing"),
    comingUpSeconds: sourced(0.1, "assumed", "some thousand edges seen"),
  },
  ethernet: {
    type: "ethernet",
    name: "Ethernet",
    twoWay: true,
    clockIsAgreed: false,
    carriesClock: "packets that tell the time, from the leader that the devices of the network elect",
    channels: {
      base: sourced(0, "none needed", "streams carry the audio"),
      double: sourced(0, "none needed", "streams carry the audio"),
      quadruple: sourced(0, "none needed", "streams carry the audio"),
    },
    media: [
      { name: "category", lengthMetresMax: sourced(100, "from memory", "IEEE 802.3, 1000BASE-T") },
      {
        name: "fibre",
        lengthMetresMax: sourced(
          5000,
          "from memory",
          "IEEE 802.3, 1000BASE-LX on single-mode fibre; 550 m on multimode",
        ),
      },
    ],
    latencySamples: sourced(0, "none needed", "streams carry the audio"),
    latencySeconds: sourced(0, "none needed", "streams carry the audio"),
    noticeSeconds: sourced(0.05, "assumed", "a receiver without signal for some tens of milliseconds"),
    comingUpSeconds: sourced(
      2.5,
      "handbook",
      "a note on Ethernet transceivers: 100BASE-TX takes 2 to 3 s after plugging in",
    ),
  },
  aes67: stream("aes67", "AES67", sourced(0.2, "assumed", "a receiver that joins a group and fills its buffer")),
  "st2110-30": stream(
    "st2110-30",
    "ST 2110-30",
    sourced(0.2, "assumed", "a receiver that joins a group and fills its buffer"),
  ),
  avb: stream(
    "avb",
    "AVB",
    sourced(1, "assumed", "a reservation that goes from switch to switch, and a buffer that fills"),
  ),
};

export function linkType(type: LinkTypeName): LinkType {
  return TABLE[type];
}

/** Channels per direction at a sample rate. */
export function channelsAt(type: LinkTypeName, sampleRateHz: number): number {
  const { base, double, quadruple } = TABLE[type].channels;
  return { 1: base, 2: double, 4: quadruple }[rateFamily(sampleRateHz)].value;
}

/** Null where the type does not have the medium. */
export function lengthMetresMax(type: LinkTypeName, medium: MediumName): number | null {
  return TABLE[type].media.find(({ name }) => name === medium)?.lengthMetresMax.value ?? null;
}
