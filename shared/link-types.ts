/**
 * The types of link and their numbers. Networks are not among them yet. Every number has its origin; the bodies of
 * AES3, AES10 and AES50 are sold and could not be read, so nothing here is cited from them directly.
 */
import type { Origin } from "./defaults.ts";

export interface Sourced {
  readonly value: number;
  readonly origin: Origin;
  readonly source: string;
}

export const MEDIA = ["pair", "category", "coax", "fibre"] as const;
export type MediumName = (typeof MEDIA)[number];

export const LINK_TYPES = ["aes3", "madi", "aes50", "word-clock"] as const;
export type LinkTypeName = (typeof LINK_TYPES)[number];

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
  /** Channels per direction at base (31 to 54 kHz), double (62 to 108) and quadruple rate (124 to 216). */
  readonly channels: { readonly base: Sourced; readonly double: Sourced; readonly quadruple: Sourced };
  /** The first is the default. */
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
};

export function linkType(type: LinkTypeName): LinkType {
  return TABLE[type];
}

/** Channels per direction at a sample rate; AES5-2018 has the rate families. */
export function channelsAt(type: LinkTypeName, sampleRateHz: number): number {
  const { base, double, quadruple } = TABLE[type].channels;
  if (sampleRateHz <= 54_000) return base.value;
  return sampleRateHz <= 108_000 ? double.value : quadruple.value;
}

/** Null where the type does not have the medium. */
export function lengthMetresMax(type: LinkTypeName, medium: MediumName): number | null {
  return TABLE[type].media.find(({ name }) => name === medium)?.lengthMetresMax.value ?? null;
}
