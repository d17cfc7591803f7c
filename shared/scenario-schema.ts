/**
 * The schema of a scenario file: the one source of its types, of what each value is expected to be, and of the
 * published JSON Schema. It accepts and refuses; it changes nothing. Defaults stand in `defaults.ts`, and are only
 * shown here; what one place asks of another (ids that must exist, ports used twice) stands in the other `scenario-*` files.
 *
 * The message of each rule is the expectation in words, as an {@link "./issues.ts".Issue} prints it. Of an object with
 * keys that it does not know, it is the list of those it knows.
 */
import * as z from "zod";
import { RULE_NAMES } from "./check-rules.ts";
import { defaultRow } from "./defaults.ts";
import type { LinkTypeName, StreamTypeName } from "./link-types.ts";
import { LINK_TYPES, linkType } from "./link-types.ts";
import { OSCILLATOR_TYPES } from "./oscillators.ts";
import { PTP_PROFILES, RECOVERIES, SPARE_MODES } from "./plan.ts";
import { CLOCK_ACCURACY_WORDS, CLOCK_CLASSES } from "./ptp-words.ts";
import { DEVICE_STATES, LINK_CLOCKS } from "./record.ts";
import { streamType } from "./stream-types.ts";
import { SHOW_TIME_EXPECTED, SHOW_TIME_PATTERN } from "./units.ts";

// Compiled checks need `new Function`, which a page with a strict content policy refuses; these schemas run once a file.
z.config({ jitless: true });

export const DEVICE_KINDS = [
  "desk",
  "stage-box",
  "processor",
  "recorder",
  "transmitter",
  "truck",
  "house-clock",
  "converter",
  "switch",
  "other",
] as const;

const HEARD_BY = ["pa", "wedges", "in-ears", "comms", "record", "broadcast", "stream", "assisted-hearing"] as const;

/** IEEE 802.1Q: four of sixteen bits, so steps of 4096. */
const BRIDGE_PRIORITIES = [
  0, 4096, 8192, 12_288, 16_384, 20_480, 24_576, 28_672, 32_768, 36_864, 40_960, 45_056, 49_152, 53_248, 57_344, 61_440,
] as const;

/** The largest duration: an instant after it would not be exact. */
const SECONDS_MAX = 8_985_600;

// ---- words and numbers

function matching(pattern: RegExp, expected: string) {
  return z.string({ error: expected }).regex(pattern, { error: expected });
}

function oneOf<const T extends readonly [string, ...string[]]>(values: T) {
  return z.enum(values, { error: `one of ${values.join(", ")}` });
}

function yesOrNo() {
  return z.boolean({ error: "true or false" });
}

function numberFrom(min: number, max: number, unit: string) {
  const expected = `a number from ${min} to ${max}${unit === "" ? "" : ` ${unit}`}`;
  return z.number({ error: expected }).min(min, { error: expected }).max(max, { error: expected });
}

function numberAbove(min: number, max: number, unit: string) {
  const expected = `a number above ${min}, up to ${max}${unit === "" ? "" : ` ${unit}`}`;
  return z.number({ error: expected }).gt(min, { error: expected }).max(max, { error: expected });
}

function wholeFrom(min: number, max: number, unit: string) {
  const expected = `a whole number from ${min} to ${max}${unit === "" ? "" : ` ${unit}`}`;
  return z.int({ error: expected }).min(min, { error: expected }).max(max, { error: expected });
}

function oneOfNumbers<const T extends readonly [number, ...number[]]>(values: T) {
  return z.literal(values, { error: `one of the numbers ${values.join(", ")}` });
}

function listOf<T extends z.ZodType>(item: T, what: string) {
  return z.array(item, { error: `a list of ${what}` });
}

/** An object that knows its keys and no others. */
function only<T extends z.core.$ZodLooseShape>(shape: T, what: string) {
  return z.strictObject(shape, {
    error: (issue) => (issue.code === "unrecognized_keys" ? Object.keys(shape).join(", ") : what),
  });
}

/** Optional, with the default that `defaults.ts` has for it shown in the JSON Schema. */
function orDefault<T extends z.ZodType>(
  on: Parameters<typeof defaultRow>[0],
  name: Parameters<typeof defaultRow>[1],
  type: T,
) {
  const { value, derived, unit, what } = defaultRow(on, name);
  const shown = `${Array.isArray(value) ? value.join(", ") : value}${unit === "" ? "" : ` ${unit}`}`;
  return type.meta({ description: `${what}. Default: ${shown}.`, ...(derived ? {} : { default: value }) }).optional();
}

const id = matching(
  /^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$/u,
  "an id: letters, digits, - and _, at most 64, beginning with a letter or a digit",
);
const label = matching(/^\P{Cc}{1,200}$/u, "a text of 1 to 200 characters in one line");
const port = wholeFrom(1, 999, "(a port)");
const portRef = matching(
  /^[A-Za-z0-9][A-Za-z0-9_-]{0,63}\.[1-9][0-9]{0,2}$/u,
  'a device and its port, such as "stage.1"',
);
const clockSource = matching(/^(?:[1-9][0-9]{0,2}|internal)$/u, 'a port number in quotes, such as "1", or "internal"');
const showTime = matching(SHOW_TIME_PATTERN, SHOW_TIME_EXPECTED);
const seconds = numberFrom(0, SECONDS_MAX, "s");
const offsetPpm = numberFrom(-1000, 1000, "ppm");
const celsius = numberFrom(-50, 100, "°C");
export const filePath = matching(/^\P{Cc}{1,400}$/u, 'a file beside the scenario, such as "./quay.rig.json"');
const schemaKey = z.string({ error: "the address of a JSON Schema, in quotes" }).optional();
const format = z.literal(1, { error: "1, the only format so far" });

// ---- devices

/** Beyond this nothing that is called a clock would be: a microsecond lost or won in a second. */
const DEVIATION_MAX = 1e-6;

const deviations = only(
  {
    sigma1: numberFrom(0, DEVIATION_MAX, "s^½").meta({ description: "White FM: its Allan deviation at 1 s." }),
    sigma2: numberFrom(0, DEVIATION_MAX, "s^−½").meta({
      description: "Random-walk FM: √3 times its Allan deviation at 1 s.",
    }),
    sigma3: numberFrom(0, DEVIATION_MAX, "s^−3/2").meta({ description: "Random-walk drift. Default: 0." }).optional(),
    hMinus1: numberFrom(0, 1e-12, "")
      .meta({ description: "Flicker FM as the power-law coefficient h−1, dimensionless. Default: 0." })
      .optional(),
  },
  "deviations: an object with sigma1 and sigma2",
);

const powerLaw = only(
  {
    h0: numberFrom(0, 1e-12, "s").meta({ description: "White FM, s." }),
    hMinus1: numberFrom(0, 1e-12, "").meta({ description: "Flicker FM, dimensionless. Default: 0." }).optional(),
    hMinus2: numberFrom(0, 1e-12, "per s").meta({ description: "Random-walk FM, per s." }),
  },
  "power-law coefficients: an object with h0 and hMinus2",
);

const allanPoints = only(
  {
    allan: z
      .array(
        only(
          {
            seconds: numberFrom(0.001, 10_000_000, "s").meta({ description: "τ" }),
            deviation: numberFrom(1e-18, DEVIATION_MAX, "as a fraction of the frequency (1e-9 is 1 ppb)").meta({
              description: "Allan deviation there, as a fraction of the frequency.",
            }),
          },
          'a point: an object such as { "seconds": 1, "deviation": 1e-9 }',
        ),
        { error: "a list of points" },
      )
      .min(1, { error: "a list of at least one point" })
      .max(50, { error: "a list of at most 50 points" })
      .meta({ description: "Points of Allan deviation from a data sheet, τ rising." }),
  },
  "points of Allan deviation: an object with allan",
);

const wander = z.union([z.boolean(), deviations, powerLaw, allanPoints], {
  error: "true, false, or an object with sigma1 and sigma2, with h0 and hMinus2, or with allan",
});

const tempcoTable = z
  .array(
    only({ celsius, ppm: numberFrom(-1000, 1000, "ppm") }, 'a point: an object such as { "celsius": -10, "ppm": -3 }'),
    { error: "a list of points" },
  )
  .min(2, { error: "a list of at least two points" })
  .max(100, { error: "a list of at most 100 points" });

const oscillator = only(
  {
    type: orDefault("device", "oscillator.type", oneOf(OSCILLATOR_TYPES)),
    offsetPpm: orDefault("device", "oscillator.offsetPpm", offsetPpm),
    tolerancePpm: numberFrom(0, 1000, "ppm")
      .meta({ description: "Largest offset from nominal. Default: by type." })
      .optional(),
    ageingPpbPerDay: numberFrom(-10_000, 10_000, "ppb a day")
      .meta({ description: "Steady change of frequency. Default: by type in a run of more than a day, else 0." })
      .optional(),
    tempcoPpmPerCelsius: numberFrom(-10, 10, "ppm per °C")
      .meta({ description: "Change with temperature, from 25 °C. Default: by type." })
      .optional(),
    tempcoTable: tempcoTable
      .meta({
        description:
          "In place of tempcoPpmPerCelsius: offsets at rising temperatures, straight lines between, level beyond. " +
          "What counts is the difference from 25 °C, where offsetPpm holds.",
      })
      .optional(),
    warmUpPpm: numberFrom(-1000, 1000, "ppm")
      .meta({ description: "Offset when stone cold, on top. Default: by type." })
      .optional(),
    warmUpSeconds: numberAbove(0, 86_400, "s")
      .meta({ description: "Time constant of warming. Default: by type." })
      .optional(),
    coolDownSeconds: numberAbove(0, 864_000, "s")
      .meta({ description: "Time constant of cooling without power. Default: by type." })
      .optional(),
    wander: orDefault("device", "oscillator.wander", wander),
  },
  "an oscillator: an object",
);

const loop = only(
  {
    naturalFrequencyHz: orDefault("device", "loop.naturalFrequencyHz", numberFrom(0.001, 1000, "Hz")),
    damping: orDefault("device", "loop.damping", numberFrom(0.1, 10, "")),
  },
  "a loop: an object",
);

const clockSources = z
  .array(clockSource, { error: "a list of clock sources" })
  .min(1, { error: "a list of at least one clock source" })
  .max(64, { error: "a list of at most 64 clock sources" });

const converter = z.union(
  [
    yesOrNo(),
    only(
      {
        delaySeconds: orDefault("device", "converter.delaySeconds", numberFrom(0, 1, "s")),
        lockSeconds: orDefault("device", "converter.lockSeconds", numberFrom(0, 3600, "s")),
        ratioMax: orDefault("device", "converter.ratioMax", numberFrom(1, 100, "")),
      },
      "a converter: an object",
    ),
  ],
  { error: "true, false, or an object with delaySeconds, lockSeconds or ratioMax" },
);

const portUse = only(
  {
    clock: oneOf(["give", "take"]).meta({ description: "Whether the port gives or takes clock." }).optional(),
    converter: converter
      .meta({
        description:
          "A sample-rate converter at the input: what arrives is put on the device's own clock, whatever its rate.",
      })
      .optional(),
  },
  "what a port does: an object with clock, converter or both",
)
  .refine((use) => Object.keys(use).length > 0, {
    error: "what a port does: an object with clock, converter or both",
  })
  .meta({ minProperties: 1 });

const ports = z.record(matching(/^[1-9][0-9]{0,2}$/u, 'a port number as the key, such as "1"'), portUse, {
  error: "ports: an object with port numbers as keys",
});

const ptp = only(
  {
    priority1: orDefault("device", "ptp.priority1", wholeFrom(0, 255, "")),
    priority2: orDefault("device", "ptp.priority2", wholeFrom(0, 255, "")),
    clockClass: orDefault("device", "ptp.clockClass", oneOfNumbers(CLOCK_CLASSES)),
    clockAccuracy: orDefault("device", "ptp.clockAccuracy", oneOf(CLOCK_ACCURACY_WORDS)),
    offsetScaledLogVariance: orDefault("device", "ptp.offsetScaledLogVariance", wholeFrom(0, 65_535, "")),
    identity: orDefault(
      "device",
      "ptp.identity",
      matching(/^[0-9A-Fa-f]{16}$/u, 'sixteen hexadecimal digits, such as "001b19fffe000001"'),
    ),
    followerOnly: orDefault("device", "ptp.followerOnly", yesOrNo()),
  },
  "what a device says of itself in elections: an object",
);

const bridge = z.union(
  [
    yesOrNo(),
    only(
      {
        timing: orDefault("device", "bridge.timing", oneOf(["plain", "transparent", "boundary"])),
        residenceMicroseconds: orDefault("device", "bridge.residenceMicroseconds", numberFrom(0, 1_000_000, "µs")),
        delayVariationMicroseconds: orDefault(
          "device",
          "bridge.delayVariationMicroseconds",
          numberFrom(0, 1_000_000, "µs"),
        ),
        priority: orDefault("device", "bridge.priority", oneOfNumbers(BRIDGE_PRIORITIES)),
      },
      "a bridge: an object",
    ),
  ],
  { error: "true, false, or an object with timing, residenceMicroseconds, delayVariationMicroseconds or priority" },
);

const typeFields = {
  like: id.meta({ description: "The device type that the rest comes from." }).optional(),
  kind: orDefault("device", "kind", oneOf(DEVICE_KINDS)),
  sampleRateHz: orDefault("device", "sampleRateHz", numberFrom(31_000, 216_000, "Hz")),
  clockSources: orDefault("device", "clockSources", clockSources),
  ports: ports
    .meta({
      description: "Only ports that differ: a port in clockSources takes clock, any other gives; none has a converter.",
    })
    .optional(),
  ptp: ptp.meta({ description: "What it says of itself in the elections of its networks (IEEE 1588)." }).optional(),
  bridge: orDefault("device", "bridge", bridge),
  oscillator: oscillator.optional(),
  startCelsius: orDefault("device", "startCelsius", celsius),
  loop: loop.optional(),
  capturePpm: orDefault("device", "capturePpm", numberFrom(0, 1000, "ppm")),
  steeringPpm: orDefault("device", "steeringPpm", numberAbove(0, 2000, "ppm")),
  lockWindowPercent: orDefault("device", "lockWindowPercent", numberFrom(0.01, 50, "% of a sample")),
  unlockWindowPercent: orDefault("device", "unlockWindowPercent", numberFrom(0.01, 100, "% of a sample")),
  dwellSeconds: orDefault("device", "dwellSeconds", numberFrom(0, 86_400, "s")),
  reactionSeconds: orDefault("device", "reactionSeconds", numberFrom(0.0001, 60, "s")),
  holdOffSeconds: orDefault("device", "holdOffSeconds", numberFrom(0, 86_400, "s")),
  holdoverSeconds: orDefault("device", "holdoverSeconds", seconds),
  holdoverAverageSeconds: orDefault("device", "holdoverAverageSeconds", numberFrom(0, 86_400, "s")),
  holdoverErrorPpb: orDefault("device", "holdoverErrorPpb", numberFrom(-10_000, 10_000, "ppb")),
  waitToRestoreSeconds: orDefault("device", "waitToRestoreSeconds", numberFrom(0, 86_400, "s")),
  revertive: orDefault("device", "revertive", yesOrNo()),
  givesWhenUnlocked: orDefault("device", "givesWhenUnlocked", yesOrNo()),
  whileBooting: orDefault("device", "whileBooting", oneOf(["nothing", "own-clock", "wrong-rate"])),
  bootSeconds: orDefault("device", "bootSeconds", numberFrom(0, 86_400, "s")),
  afterReboot: only({ clockSources }, "what it comes back with: an object with clockSources")
    .meta({
      description:
        "A reboot, or power that comes back, leaves it with these settings, whatever it had before. Default: it keeps them.",
    })
    .optional(),
  muteWhile: orDefault("device", "muteWhile", listOf(oneOf(DEVICE_STATES), "states")),
  muteOutOfStep: orDefault(
    "device",
    "muteOutOfStep",
    z.union([z.boolean(), z.literal("unknown")], { error: 'true, false or "unknown"' }),
  ),
  unmuteSeconds: orDefault("device", "unmuteSeconds", numberFrom(0, 86_400, "s")),
  unmuteRampSeconds: orDefault("device", "unmuteRampSeconds", numberFrom(0, 86_400, "s")),
};

export const deviceType = only(typeFields, "a device type: an object").meta({ id: "deviceType" });

export const deviceSchema = only(
  {
    id: id.meta({ description: "How the rest of the file names the device." }),
    name: label.meta({ description: "How people name it. Default: the id." }).optional(),
    ...typeFields,
    power: orDefault(
      "device",
      "power",
      z.array(label, { error: "a list of supplies" }).min(1, { error: "a list of at least one supply" }),
    ),
    atStart: orDefault("device", "atStart", oneOf(["on", "off"])),
  },
  "a device: an object",
).meta({ id: "device" });

const deviceTypes = z
  .record(id, deviceType, { error: "device types: an object with their names as keys" })
  .meta({ description: "Devices described once, to be named by like." });

// ---- links, networks, spares, feeds

const channelCount = wholeFrom(1, 4096, "channels");
const twoEnds = z.tuple([portRef, portRef], { error: "two ends" }).meta({ description: "The two ends." });

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
    id: id.meta({ description: "How the rest of the file names the link." }),
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
    laidAlong: listOf(label, "what the cable is laid along")
      .meta({ description: "What the cable is laid along; one cut takes all." })
      .optional(),
  };
}

function oneWay<const T extends LinkTypeName>(type: T) {
  return only(
    {
      ...cableFields(type),
      buffer: buffer.optional(),
      from: portRef.meta({ description: "The sender and its port." }),
      to: portRef.meta({ description: "The receiver and its port." }),
      return: yesOrNo()
        .meta({ description: "A second cable, the other way, between the same ports on the same path." })
        .optional(),
    },
    "a link: an object",
  );
}

function twoWay<const T extends LinkTypeName>(type: T) {
  return only(
    {
      ...cableFields(type),
      buffer: buffer.optional(),
      ends: twoEnds,
    },
    "a link: an object",
  );
}

const wordClock = only(
  {
    ...oneWay("word-clock").shape,
    to: z
      .union(
        [
          portRef,
          z
            .array(portRef, { error: "a list of receivers and their ports" })
            .min(2, { error: "a list of at least two receivers, in the order of the cable" }),
        ],
        { error: 'a receiver and its port, such as "stage.1", or a list of them' },
      )
      .meta({
        description: "The receiver and its port; of a line with T-pieces all of them, in the order of the cable.",
      }),
    terminatedAt: listOf(portRef, "receivers and their ports")
      .meta({ description: "Of a line with T-pieces: the receivers at which it is terminated." })
      .optional(),
  },
  "a link: an object",
);

const networkName = id.meta({ description: "The network it belongs to; needed where the rig has several." });

const ethernet = only(
  {
    ...cableFields("ethernet"),
    ends: twoEnds,
    network: networkName.optional(),
    asymmetryNanoseconds: orDefault("link", "asymmetryNanoseconds", numberFrom(-1_000_000, 1_000_000, "ns")),
    megabitsPerSecond: orDefault("link", "megabitsPerSecond", oneOfNumbers([100, 1000, 10_000])),
  },
  "a link: an object",
);

function streamOf<const T extends StreamTypeName>(type: T) {
  return only(
    {
      ...anyLinkFields(type),
      from: portRef.meta({ description: "The sender, and the ethernet port that it sends at." }),
      to: portRef.meta({ description: "The receiver, and the ethernet port that it listens at." }),
      channels: orDefault("link", "channels", channelCount),
      packetMicroseconds: orDefault("link", "packetMicroseconds", oneOfNumbers(streamType(type).packetMicroseconds)),
      buffer: buffer.optional(),
    },
    "a link: an object",
  );
}

export const linkSchema = z
  .discriminatedUnion(
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
  )
  .meta({ id: "link" });

export const networkSchema = only(
  {
    id: id.meta({ description: "How the rest of the file names the network." }),
    name: label.meta({ description: "How people name it. Default: the id." }).optional(),
    profile: orDefault("network", "profile", oneOf(PTP_PROFILES)),
    domain: orDefault("network", "domain", wholeFrom(0, 127, "")),
    recovery: orDefault("network", "recovery", oneOf(RECOVERIES)),
  },
  "a network: an object",
).meta({ id: "network" });

export const spareSchema = only(
  {
    id,
    links: z
      .array(id, { error: "a list of links, main first" })
      .min(2, { error: "a list of at least two links, main first" })
      .meta({ description: "Main first." }),
    mode: orDefault("spare", "mode", oneOf(SPARE_MODES)),
    windowMilliseconds: orDefault("spare", "windowMilliseconds", numberFrom(0, 10_000, "ms")),
    switchSeconds: orDefault("spare", "switchSeconds", numberFrom(0, 3600, "s")),
    revertive: orDefault("spare", "revertive", yesOrNo()),
    waitToRestoreSeconds: orDefault("spare", "waitToRestoreSeconds", numberFrom(0, 86_400, "s")),
  },
  "a spare group: an object",
).meta({ id: "spare" });

export const feedSchema = only(
  {
    id,
    name: label.meta({ description: "How people name it. Default: the id." }).optional(),
    through: z
      .array(id, { error: "a list of devices" })
      .min(2, { error: "a list of at least two devices" })
      .meta({ description: "Devices from the source through the mix to the outputs." }),
    channels: z
      .union([channelCount, z.array(channelCount)], { error: "a number of channels, or a list with one per hop" })
      .meta({ description: "One number, or one per hop." }),
    over: listOf(id, "links").meta({ description: "Which link, where several could carry a hop." }).optional(),
    heardBy: listOf(oneOf(HEARD_BY), "listeners").meta({ description: "Who hears it." }).optional(),
  },
  "a feed: an object",
).meta({ id: "feed" });

// ---- what is accepted

const RULES_THAT_FIND = RULE_NAMES.filter((name) => name !== "acceptance-unused");
const named = (what: string) =>
  z.array(id, { error: `a list of ${what}` }).min(1, { error: `a list of at least one of the ${what}` });

export const acceptedSchema = only(
  {
    rule: oneOf(RULES_THAT_FIND as [string, ...string[]]).meta({
      description: "The rule of the plan check whose finding is accepted.",
    }),
    devices: named("devices").meta({ description: "Only what is about no other device. Default: any." }).optional(),
    links: named("links").meta({ description: "Only what is about no other link. Default: any." }).optional(),
    reason: matching(/^(?=.*[^ ])\P{Cc}{1,500}$/u, "a reason: a text of 1 to 500 characters in one line").meta({
      description: "Why it is accepted, for whoever reads the plan next.",
    }),
  },
  "an accepted finding: an object with rule and reason",
).meta({ id: "accepted" });

const acceptedFindings = listOf(acceptedSchema, "accepted findings").meta({
  description:
    "Findings of the plan check that are accepted, each with its reason: in a scenario, in its rig, or both.",
});

export const supplySchema = only(
  {
    id: label.meta({ description: "As the power of devices names it." }),
    batterySeconds: numberAbove(0, 604_800, "s")
      .meta({
        description:
          "How long it goes on without mains; full again as soon as mains is back, the better case. Default: no battery.",
      })
      .optional(),
  },
  "a supply: an object",
).meta({ id: "supply" });

// ---- the rig

const rigFields = {
  sampleRateHz: numberFrom(31_000, 216_000, "Hz").meta({ description: "The rate the rig is planned to run at." }),
  leaders: listOf(id, "devices, who leads first")
    .meta({ description: "The plan: who leads, then who is next." })
    .optional(),
  library: filePath.meta({ description: "A file with more device types." }).optional(),
  deviceTypes: deviceTypes.optional(),
  devices: listOf(deviceSchema, "devices"),
  networks: listOf(networkSchema, "networks")
    .meta({ description: "What the ethernet links belong to. Left out: all to one network, with the defaults." })
    .optional(),
  links: listOf(linkSchema, "links").optional(),
  spares: listOf(spareSchema, "spare groups").optional(),
  feeds: listOf(feedSchema, "feeds").optional(),
  supplies: listOf(supplySchema, "supplies")
    .meta({ description: "Supplies that have more to them than a name: a battery." })
    .optional(),
  accepted: acceptedFindings.optional(),
};

const rig = only(rigFields, "a rig: an object").meta({ id: "rig" });

/** A rig in a file of its own. */
export const rigFileSchema = only({ $schema: schemaKey, format: format.optional(), ...rigFields }, "a rig: an object");

/** Device types in a file of their own. */
export const libraryFileSchema = only(
  { $schema: schemaKey, format: format.optional(), title: label.optional(), deviceTypes },
  "a library: an object with deviceTypes",
);

// ---- events

const at = showTime.meta({ description: 'Show time "hh:mm:ss" or "hh:mm:ss.mmm".' });
const forSeconds = numberAbove(0, SECONDS_MAX, "s").meta({ description: "And back after so long." }).optional();
const end = matching(/^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$/u, '"from", "to", or a device of ends or of a line').meta({
  description: 'One end: "from" or "to", or a device of ends or of a line. Default: both.',
});
const way = oneOf(["there", "back"]).meta({ description: "One cable of two. Default: both." });
const clock = oneOf(["give", "take"]);

const EVENTS = [
  "unplug",
  "plug",
  "intermittent",
  "cut",
  "reboot",
  "power-cut",
  "power-back",
  "hang",
  "stop-sync",
  "stick",
  "set-clock-sources",
  "choose-source",
  "set-port-clock",
  "step-frequency",
  "temperature",
] as const;

function happening<const N extends (typeof EVENTS)[number], S extends z.core.$ZodLooseShape>(name: N, shape: S) {
  return only({ at, do: z.literal(name), ...shape }, "an event: an object");
}

export const eventSchema = z
  .discriminatedUnion(
    "do",
    [
      happening("unplug", { link: id, end: end.optional(), way: way.optional(), forSeconds }),
      happening("plug", {
        link: id,
        end: end.optional(),
        way: way.optional(),
        into: port.meta({ description: "Another port of the device at that end." }).optional(),
      }),
      happening("intermittent", {
        link: id,
        end: end.optional(),
        way: way.optional(),
        everySeconds: numberAbove(0, SECONDS_MAX, "s").meta({ description: "From one loss of contact to the next." }),
        outSeconds: numberAbove(0, SECONDS_MAX, "s").meta({ description: "How long each lasts." }),
        count: wholeFrom(1, 1000, "times")
          .meta({ description: "How often. Default: until forSeconds are over, or the run." })
          .optional(),
        forSeconds: numberAbove(0, SECONDS_MAX, "s")
          .meta({ description: "In place of count: none begins later than this." })
          .optional(),
      }),
      happening("cut", {
        path: label.meta({ description: "What is cut along it: every link laid along it." }),
        forSeconds,
      }),
      happening("reboot", {
        device: id,
        part: oneOf(["surface", "engine", "all"]).meta({ description: "Default: all.", default: "all" }).optional(),
      }),
      happening("power-cut", { device: id.optional(), supply: label.optional(), forSeconds }),
      happening("power-back", { device: id.optional(), supply: label.optional() }),
      happening("hang", { device: id, forSeconds }),
      happening("stop-sync", {
        device: id.meta({ description: "It goes on announcing itself to its network, and sends no sync." }),
        forSeconds,
      }),
      happening("stick", {
        device: id.meta({ description: "It no longer changes its clock source by itself, nor when told." }),
        forSeconds,
      }),
      happening("set-clock-sources", { device: id, clockSources, forSeconds }),
      happening("choose-source", { device: id, source: clockSource }),
      happening("set-port-clock", { device: id, port, clock, forSeconds }),
      happening("step-frequency", {
        device: id,
        offsetPpm: offsetPpm.meta({ description: "The new offset, not a change." }),
        forSeconds,
      }),
      happening("temperature", {
        device: id.meta({ description: "One device. Default: all." }).optional(),
        toCelsius: celsius,
        overSeconds: seconds.meta({
          description: "A straight line from the present temperature; startCelsius at the start.",
        }),
      }),
    ],
    { error: `one of ${EVENTS.join(", ")}` },
  )
  .meta({ id: "event" });

// ---- expectations

function bounds(number: z.ZodNumber, what: string) {
  return only(
    { min: number.optional(), max: number.optional() },
    `${what}: an object with min, max or both`,
  ).optional();
}

const count = wholeFrom(0, 1e12, "");
const window = { from: at.optional(), to: at.optional() };

export const expectationSchema = z
  .union(
    [
      only(
        {
          feed: id,
          slips: bounds(count, "slips"),
          silentSeconds: bounds(seconds, "seconds of silence"),
          dropouts: bounds(count, "dropouts"),
        },
        "an expectation: an object",
      ),
      only({ device: id, is: oneOf(DEVICE_STATES), ...window }, "an expectation: an object"),
      only({ link: id, clock: oneOf(LINK_CLOCKS), ...window }, "an expectation: an object"),
    ],
    { error: "an expectation: an object with feed, device or link" },
  )
  .meta({ id: "expectation" });

// ---- the scenario

export const runSchema = only(
  {
    length: showTime.meta({ description: "Length of the show." }),
    seed: orDefault("run", "seed", label),
    begin: orDefault("run", "begin", oneOf(["settled", "cold"])),
    wander: orDefault("run", "wander", yesOrNo()),
    startCelsius: orDefault("run", "startCelsius", celsius),
    wanderGridSeconds: orDefault("run", "wanderGridSeconds", numberFrom(0.001, 3600, "s")),
  },
  "the run: an object with at least length",
);

export const scenarioSchema = only(
  {
    $schema: schemaKey,
    format,
    title: label.meta({ description: "One line." }),
    story: matching(/^(?:\P{Cc}|[\t\n\r]){0,10000}$/u, "a text of at most 10000 characters")
      .meta({ description: "One paragraph for people." })
      .optional(),
    run: runSchema,
    rig: z
      .union([filePath, rig], { error: 'a rig: an object, or a file such as "./quay.rig.json"' })
      .meta({ description: "The rig, or the file it stands in." }),
    library: filePath.meta({ description: "A file with more device types." }).optional(),
    deviceTypes: deviceTypes.optional(),
    events: listOf(eventSchema, "events").optional(),
    expect: listOf(expectationSchema, "expectations").optional(),
    accepted: acceptedFindings.optional(),
  },
  "a scenario: an object",
);

export type ScenarioFile = z.infer<typeof scenarioSchema>;
export type DeviceTypeFile = z.infer<typeof deviceType>;
export type DeviceFile = z.infer<typeof deviceSchema>;
export type NetworkFile = z.infer<typeof networkSchema>;
export type LinkFile = z.infer<typeof linkSchema>;
export type SpareFile = z.infer<typeof spareSchema>;
export type FeedFile = z.infer<typeof feedSchema>;
export type SupplyFile = z.infer<typeof supplySchema>;
export type EventFile = z.infer<typeof eventSchema>;
export type ExpectFile = z.infer<typeof expectationSchema>;
export type AcceptedFile = z.infer<typeof acceptedSchema>;

/** The published JSON Schemas, draft-07, by file name. They say all that a schema can: shapes, names and ranges. */
export function jsonSchemas(): Readonly<Record<string, object>> {
  const publish = (schema: z.ZodType, title: string) => {
    const { $schema, ...rest } = z.toJSONSchema(schema, { io: "input", target: "draft-7" });
    return { $schema, title, ...rest };
  };
  return {
    "scenario.schema.json": publish(scenarioSchema, "A scenario"),
    "rig.schema.json": publish(rigFileSchema, "A rig in a file of its own"),
    "library.schema.json": publish(libraryFileSchema, "Device types in a file of their own"),
  };
}
