/** A device as a scenario file describes it, alone or as a type that others are like. */
import * as z from "zod/mini";
import { LINK_TYPES, type LinkTypeName } from "./link-types.ts";
import { CLOCK_ACCURACY_WORDS, CLOCK_CLASSES } from "./ptp-words.ts";
import { DEVICE_STATES } from "./record.ts";
import { originsOf } from "./scenario-schema-origins.ts";
import { oscillator } from "./scenario-schema-oscillator.ts";
import {
  celsius,
  clockSource,
  id,
  label,
  listOf,
  marked,
  matching,
  numberAbove,
  numberFrom,
  oneOf,
  oneOfNumbers,
  only,
  orDefault,
  seconds,
  told,
  wholeFrom,
  yesOrNo,
} from "./scenario-values.ts";

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

/** IEEE 802.1Q: four of sixteen bits, so steps of 4096. */
const BRIDGE_PRIORITIES = [
  0, 4096, 8192, 12_288, 16_384, 20_480, 24_576, 28_672, 32_768, 36_864, 40_960, 45_056, 49_152, 53_248, 57_344, 61_440,
] as const;

const loop = only(
  {
    naturalFrequencyHz: orDefault("device", "loop.naturalFrequencyHz", numberFrom(0.001, 1000, "Hz")),
    damping: orDefault("device", "loop.damping", numberFrom(0.1, 10, "")),
  },
  "a loop: an object",
);

export const clockSources = z
  .array(clockSource, { error: "a list of clock sources" })
  .check(
    z.minLength(1, { error: "a list of at least one clock source" }),
    z.maxLength(64, { error: "a list of at most 64 clock sources" }),
  );

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

const portUse = marked(
  only(
    {
      clock: z.optional(told(oneOf(["give", "take"]), "Whether the port gives or takes clock.")),
      converter: z.optional(
        told(
          converter,
          "A sample-rate converter at the input: what arrives is put on the device's own clock, whatever its rate.",
        ),
      ),
    },
    "what a port does: an object with clock, converter or both",
  ).check(
    z.refine((use) => Object.keys(use).length > 0, {
      error: "what a port does: an object with clock, converter or both",
    }),
  ),
  { minProperties: 1 },
);

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

/** By type of link: a receiver finds the frames of each in a time of its own. */
const comingUp = only(
  Object.fromEntries(LINK_TYPES.map((type) => [type, z.optional(numberFrom(0, 3600, "s"))])) as Record<
    LinkTypeName,
    z.ZodMiniOptional<z.ZodMiniNumber>
  >,
  "times by type of link: an object",
);

const ownFields = {
  like: z.optional(told(id, "The device type that the rest comes from.")),
  kind: orDefault("device", "kind", oneOf(DEVICE_KINDS)),
  sampleRateHz: orDefault("device", "sampleRateHz", numberFrom(31_000, 216_000, "Hz")),
  clockSources: orDefault("device", "clockSources", clockSources),
  ports: z.optional(
    told(ports, "Only ports that differ: a port in clockSources takes clock, any other gives; none has a converter."),
  ),
  ptp: z.optional(told(ptp, "What it says of itself in the elections of its networks (IEEE 1588).")),
  bridge: orDefault("device", "bridge", bridge),
  oscillator: z.optional(oscillator),
  startCelsius: orDefault("device", "startCelsius", celsius),
  loop: z.optional(loop),
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
  surfaceBootSeconds: orDefault("device", "surfaceBootSeconds", numberFrom(0, 86_400, "s")),
  engineBootSeconds: orDefault("device", "engineBootSeconds", numberFrom(0, 86_400, "s")),
  comingUpSeconds: z.optional(
    told(
      comingUp,
      "How long its inputs take, by type of link, from both ends being there until the link works. Where both ends say, " +
        "the longer; what a link says itself goes before. Default: by type of link.",
    ),
  ),
  afterReboot: z.optional(
    told(
      only({ clockSources }, "what it comes back with: an object with clockSources"),
      "A reboot, or power that comes back, leaves it with these settings, whatever it had before. Default: it keeps them.",
    ),
  ),
  muteWhile: orDefault("device", "muteWhile", listOf(oneOf(DEVICE_STATES), "states")),
  muteOutOfStep: orDefault(
    "device",
    "muteOutOfStep",
    z.union([z.boolean(), z.literal("unknown")], { error: 'true, false or "unknown"' }),
  ),
  unmuteSeconds: orDefault("device", "unmuteSeconds", numberFrom(0, 86_400, "s")),
  unmuteRampSeconds: orDefault("device", "unmuteRampSeconds", numberFrom(0, 86_400, "s")),
};

const { oscillator: _oscillator, loop: _loop, comingUpSeconds: _comingUp, ...whole } = ownFields;

/** Whatever somebody may say the origin of, by the names that origins have. */
const SAYABLE: Readonly<Record<string, z.ZodMiniType>> = {
  ...whole,
  ...under("oscillator", oscillator.shape),
  ...under("loop", loop.shape),
  ...under("comingUpSeconds", comingUp.shape),
};
export const ORIGIN_NAMES: readonly string[] = Object.keys(SAYABLE);

function under(key: string, fields: Readonly<Record<string, z.ZodMiniType>>): Record<string, z.ZodMiniType> {
  return Object.fromEntries(Object.entries(fields).map(([name, field]) => [`${key}.${name}`, field]));
}

const typeFields = {
  ...ownFields,
  origins: z.optional(
    told(
      originsOf(SAYABLE),
      "Where numbers of it come from, and when they were measured. The numbers themselves are what is played.",
    ),
  ),
};

export const deviceType = marked(only(typeFields, "a device type: an object"), { id: "deviceType" });

export const deviceSchema = marked(
  only(
    {
      id: told(id, "How the rest of the file names the device."),
      name: z.optional(told(label, "How people name it. Default: the id.")),
      ...typeFields,
      power: orDefault(
        "device",
        "power",
        z
          .array(label, { error: "a list of supplies" })
          .check(z.minLength(1, { error: "a list of at least one supply" })),
      ),
      atStart: orDefault("device", "atStart", oneOf(["on", "off"])),
    },
    "a device: an object",
  ),
  { id: "device" },
);

export const deviceTypes = told(
  z.record(id, deviceType, { error: "device types: an object with their names as keys" }),
  "Devices described once, to be named by like.",
);
