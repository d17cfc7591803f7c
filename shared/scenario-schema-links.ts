/** What joins devices in a scenario file: cables and streams, networks, spares, feeds. */
import * as z from "zod/mini";
import type { LinkTypeName, StreamTypeName } from "./link-types.ts";
import { LINK_TYPES, linkType } from "./link-types.ts";
import { PTP_PROFILES, RECOVERIES, SPARE_MODES } from "./plan.ts";
import {
  id,
  label,
  listOf,
  marked,
  matching,
  numberFrom,
  oneOf,
  oneOfNumbers,
  only,
  orDefault,
  portRef,
  told,
  wholeFrom,
  yesOrNo,
} from "./scenario-values.ts";
import { streamType } from "./stream-types.ts";
import { TESTED_EXPECTED, TESTED_PATTERN } from "./units.ts";

export const HEARD_BY = [
  "pa",
  "wedges",
  "in-ears",
  "comms",
  "record",
  "broadcast",
  "stream",
  "assisted-hearing",
] as const;

const channelCount = wholeFrom(1, 4096, "channels");
const twoEnds = told(z.tuple([portRef, portRef], { error: "two ends" }), "The two ends.");

const buffer = only(
  {
    slipSamples: orDefault("link", "buffer.slipSamples", wholeFrom(1, 100_000, "samples")),
    depthSamples: orDefault("link", "buffer.depthSamples", wholeFrom(2, 1_000_000, "samples")),
    startSamples: orDefault("link", "buffer.startSamples", numberFrom(1, 1_000_000, "samples")),
  },
  "a buffer: an object",
);

/** What every link has. */
function anyLinkFields<const T extends LinkTypeName>(type: T) {
  return {
    id: told(id, "How the rest of the file names the link."),
    type: z.literal(type, { error: `one of ${LINK_TYPES.join(", ")}` }),
    noticeSeconds: orDefault("link", "noticeSeconds", numberFrom(0, 3600, "s")),
    comingUpSeconds: orDefault("link", "comingUpSeconds", numberFrom(0, 3600, "s")),
    atStart: orDefault("link", "atStart", oneOf(["plugged", "unplugged"])),
  };
}

function cableFields<const T extends LinkTypeName>(type: T) {
  const media = linkType(type).media.map(({ name }) => name);
  return {
    ...anyLinkFields(type),
    medium: orDefault("link", "medium", oneOf(media as [string, ...string[]])),
    lengthMetres: orDefault("link", "lengthMetres", numberFrom(0, 100_000, "m")),
    laidAlong: z.optional(
      told(listOf(label, "what the cable is laid along"), "What the cable is laid along; one cut takes all."),
    ),
    tested: z.optional(
      told(
        matching(TESTED_PATTERN, TESTED_EXPECTED),
        "The day on which it was last pulled on site and what was expected came about; behind it the stamp of the cable, its " +
          "spares and the devices at their ends that day, where it is known: once they differ, it is untested again. " +
          "Changes no run. Default: untested.",
      ),
    ),
  };
}

function oneWay<const T extends LinkTypeName>(type: T) {
  return only(
    {
      ...cableFields(type),
      buffer: z.optional(buffer),
      from: told(portRef, "The sender and its port."),
      to: told(portRef, "The receiver and its port."),
      return: z.optional(told(yesOrNo(), "A second cable, the other way, between the same ports on the same path.")),
    },
    "a link: an object",
  );
}

function twoWay<const T extends LinkTypeName>(type: T) {
  return only(
    {
      ...cableFields(type),
      buffer: z.optional(buffer),
      ends: twoEnds,
    },
    "a link: an object",
  );
}

const wordClock = only(
  {
    ...oneWay("word-clock").shape,
    to: told(
      z.union(
        [
          portRef,
          z
            .array(portRef, { error: "a list of receivers and their ports" })
            .check(z.minLength(2, { error: "a list of at least two receivers, in the order of the cable" })),
        ],
        { error: 'a receiver and its port, such as "stage.1", or a list of them' },
      ),
      "The receiver and its port; of a line with T-pieces all of them, in the order of the cable.",
    ),
    terminatedAt: z.optional(
      told(
        listOf(portRef, "receivers and their ports"),
        "Of a line with T-pieces: the receivers at which it is terminated.",
      ),
    ),
  },
  "a link: an object",
);

const networkName = told(id, "The network it belongs to; needed where the rig has several.");

const ethernet = only(
  {
    ...cableFields("ethernet"),
    ends: twoEnds,
    network: z.optional(networkName),
    asymmetryNanoseconds: orDefault("link", "asymmetryNanoseconds", numberFrom(-1_000_000, 1_000_000, "ns")),
    megabitsPerSecond: orDefault("link", "megabitsPerSecond", oneOfNumbers([100, 1000, 10_000])),
  },
  "a link: an object",
);

function streamOf<const T extends StreamTypeName>(type: T) {
  return only(
    {
      ...anyLinkFields(type),
      from: told(portRef, "The sender, and the ethernet port that it sends at."),
      to: told(portRef, "The receiver, and the ethernet port that it listens at."),
      channels: orDefault("link", "channels", channelCount),
      packetMicroseconds: orDefault("link", "packetMicroseconds", oneOfNumbers(streamType(type).packetMicroseconds)),
      buffer: z.optional(buffer),
    },
    "a link: an object",
  );
}

export const linkSchema = marked(
  z.discriminatedUnion(
    "type",
    [
      oneWay("aes3"),
      oneWay("madi"),
      wordClock,
      twoWay("aes50"),
      ethernet,
      streamOf("aes67"),
      streamOf("st2110-30"),
      streamOf("avb"),
    ],
    { error: `one of ${LINK_TYPES.join(", ")}` },
  ),
  { id: "link" },
);

export const networkSchema = marked(
  only(
    {
      id: told(id, "How the rest of the file names the network."),
      name: z.optional(told(label, "How people name it. Default: the id.")),
      profile: orDefault("network", "profile", oneOf(PTP_PROFILES)),
      domain: orDefault("network", "domain", wholeFrom(0, 127, "")),
      recovery: orDefault("network", "recovery", oneOf(RECOVERIES)),
    },
    "a network: an object",
  ),
  { id: "network" },
);

export const spareSchema = marked(
  only(
    {
      id,
      links: told(
        z
          .array(id, { error: "a list of links, main first" })
          .check(z.minLength(2, { error: "a list of at least two links, main first" })),
        "Main first.",
      ),
      mode: orDefault("spare", "mode", oneOf(SPARE_MODES)),
      windowMilliseconds: orDefault("spare", "windowMilliseconds", numberFrom(0, 10_000, "ms")),
      switchSeconds: orDefault("spare", "switchSeconds", numberFrom(0, 3600, "s")),
      revertive: orDefault("spare", "revertive", yesOrNo()),
      waitToRestoreSeconds: orDefault("spare", "waitToRestoreSeconds", numberFrom(0, 86_400, "s")),
    },
    "a spare group: an object",
  ),
  { id: "spare" },
);

export const feedSchema = marked(
  only(
    {
      id,
      name: z.optional(told(label, "How people name it. Default: the id.")),
      through: told(
        z.array(id, { error: "a list of devices" }).check(z.minLength(2, { error: "a list of at least two devices" })),
        "Devices from the source through the mix to the outputs.",
      ),
      channels: told(
        z.union([channelCount, z.array(channelCount)], { error: "a number of channels, or a list with one per hop" }),
        "One number, or one per hop.",
      ),
      over: z.optional(told(listOf(id, "links"), "Which link, where several could carry a hop.")),
      heardBy: z.optional(told(listOf(oneOf(HEARD_BY), "listeners"), "Who hears it.")),
    },
    "a feed: an object",
  ),
  { id: "feed" },
);
