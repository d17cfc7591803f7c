/**
 * What tables of a rig may be called and hold: one row for each column, with the key of the scenario file that it stands
 * for and the headings that people write over it. Case, spaces and signs of a heading count for nothing, and every key is
 * a heading as well. Keys that begin with ~ are no keys of the file: `read.ts` says what becomes of them.
 */

import { LINK_TYPES } from "../../shared/link-types.ts";

/** How a cell is read: `values.ts`. */
export type As =
  | "text"
  | "story"
  | "number"
  | "numbers"
  | "metres"
  | "seconds"
  | "hertz"
  | "yes"
  | "time"
  | "value"
  | "word"
  | "words"
  | "list";

export interface Column {
  readonly key: string;
  readonly as: As;
  readonly headings: readonly string[];
  /** What people write for a word of the file. */
  readonly said?: Readonly<Record<string, string>>;
}

export type TableName =
  | "show"
  | "devices"
  | "types"
  | "cables"
  | "spares"
  | "networks"
  | "supplies"
  | "feeds"
  | "events"
  | "expect"
  | "accepted"
  | "patch"
  | "measurements";

export interface TableShape {
  readonly name: TableName;
  /** A table is of this kind if one key of each list is among its columns. */
  readonly needs: readonly (readonly string[])[];
  readonly columns: readonly Column[];
  /** Written even where no row has one. */
  readonly always: readonly string[];
}

function column(key: string, as: As, headings: readonly string[] = [], said?: Column["said"]): Column {
  return { key, as, headings, ...(said === undefined ? {} : { said }) };
}

const columns = (as: As, ...keys: string[]): Column[] => keys.map((key) => column(key, as));

const AT_START = column("atStart", "word", ["at the start", "starts"]);
const ARRIVES = column("~arrives", "time", ["arrives", "arrives at", "comes", "comes at", "later", "there from"]);

export const DEVICE_FIELDS: readonly Column[] = [
  column("like", "text", ["like type", "model type"]),
  column("kind", "word", ["type", "category", "kind of device"], {
    ...{ console: "desk", mixer: "desk", "mixing-desk": "desk", "mixing-console": "desk", stagebox: "stage-box" },
    ...{
      box: "stage-box",
      rack: "stage-box",
      "i-o-rack": "stage-box",
      "broadcast-truck": "truck",
      "ob-truck": "truck",
    },
    ...{ "network-switch": "switch", "pa-processor": "processor", "system-processor": "processor" },
    ...{ "multitrack-recorder": "recorder", multitrack: "recorder", "in-ear-transmitter": "transmitter" },
    ...{ "clock-generator": "house-clock", "word-clock-generator": "house-clock" },
  }),
  column("clockSources", "list", [
    ...["listens to", "clock source", "clock", "sync source", "sync", "clock from", "sync from", "takes clock from"],
    ...["first source", "second source", "first choice", "second choice", "follows"],
  ]),
  column("sampleRateHz", "hertz", ["sample rate", "rate", "fs"]),
  ...columns("value", "ports", "bridge"),
  ...columns("word", "bridge.timing"),
  ...columns("number", "bridge.residenceMicroseconds", "bridge.delayVariationMicroseconds", "bridge.priority"),
  ...columns("number", "ptp.priority1", "ptp.priority2", "ptp.clockClass"),
  ...columns("value", "ptp.clockAccuracy"),
  ...columns("number", "ptp.offsetScaledLogVariance"),
  ...columns("text", "ptp.identity"),
  ...columns("yes", "ptp.followerOnly"),
  column("oscillator.type", "word", ["oscillator"]),
  column("oscillator.offsetPpm", "number", ["offset", "clock offset"]),
  ...columns("number", "oscillator.tolerancePpm", "oscillator.ageingPpbPerDay", "oscillator.tempcoPpmPerCelsius"),
  ...columns("value", "oscillator.tempcoTable"),
  ...columns("number", "oscillator.warmUpPpm"),
  ...columns("seconds", "oscillator.warmUpSeconds", "oscillator.coolDownSeconds"),
  ...columns("value", "oscillator.wander"),
  ...columns("number", "startCelsius", "loop.naturalFrequencyHz", "loop.damping", "capturePpm", "steeringPpm"),
  ...columns("number", "lockWindowPercent", "unlockWindowPercent"),
  ...columns("seconds", "dwellSeconds", "reactionSeconds"),
  column("holdOffSeconds", "seconds", ["hold off"]),
  column("holdoverSeconds", "seconds", ["holdover", "coasts"]),
  ...columns("seconds", "holdoverAverageSeconds"),
  ...columns("number", "holdoverErrorPpb"),
  column("waitToRestoreSeconds", "seconds", ["wait to restore"]),
  column("revertive", "yes", ["goes back by itself"]),
  ...columns("yes", "givesWhenUnlocked"),
  ...columns("word", "whileBooting"),
  column("bootSeconds", "seconds", ["boot", "boots in", "boot time", "starts in"]),
  column("surfaceBootSeconds", "seconds", ["surface boot", "surface boots in", "surface boot time"]),
  column("engineBootSeconds", "seconds", ["engine boot", "engine boots in", "engine boot time"]),
  ...columns("list", "afterReboot.clockSources", "muteWhile"),
  ...columns("value", "muteOutOfStep"),
  ...columns("seconds", "unmuteSeconds", "unmuteRampSeconds"),
  ...columns("seconds", ...LINK_TYPES.map((type) => `comingUpSeconds.${type}`)),
  ...columns("value", "origins"),
];

const DEVICES: TableShape = {
  name: "devices",
  needs: [["id", "name"]],
  columns: [
    column("id", "text", ["device id", "short name", "short", "code", "abbreviation"]),
    column("name", "text", ["device", "device name", "unit", "equipment", "item"]),
    column("~leads", "text", ["lead", "leader", "leader order", "order of leaders", "succession"]),
    ...DEVICE_FIELDS,
    column("power", "list", ["supply", "supplies", "power supply", "mains", "fed from"]),
    AT_START,
    ARRIVES,
  ],
  always: ["id", "name", "kind", "~leads", "clockSources"],
};

const CABLES: TableShape = {
  name: "cables",
  needs: [["from"], ["to"]],
  columns: [
    column("id", "text", ["cable", "cable id", "cable name", "label", "link", "name", "number", "no", "cable no"]),
    column("type", "word", ["format", "signal", "protocol", "link type", "kind"], {
      ...{
        aes10: "madi",
        aes: "aes3",
        "aes-ebu": "aes3",
        "aes3-ebu": "aes3",
        wordclock: "word-clock",
        wc: "word-clock",
      },
      ...{ wclk: "word-clock", network: "ethernet", lan: "ethernet", "st-2110-30": "st2110-30" },
    }),
    column("from", "text", ["from device", "source", "sender", "end a", "a end", "a", "from end"]),
    column("~fromPort", "text", ["from port", "source port", "port a", "a port", "from socket"]),
    column("to", "text", ["to device", "destination", "dest", "receiver", "end b", "b end", "b", "to end"]),
    column("~toPort", "text", ["to port", "destination port", "port b", "b port", "to socket"]),
    column("return", "yes", ["two way", "both ways", "with return", "return cable"]),
    column("medium", "word", ["media", "cable type", "wire"], {
      ...{
        cat5: "category",
        cat5e: "category",
        cat6: "category",
        cat6a: "category",
        cat7: "category",
        cat: "category",
      },
      ...{ fiber: "fibre", optical: "fibre", coaxial: "coax", bnc: "coax", xlr: "pair", "twisted-pair": "pair" },
    }),
    column("lengthMetres", "metres", ["length", "cable length", "run length"]),
    column("laidAlong", "list", ["path", "way", "laid along", "along", "cable path"]),
    column("~spareOf", "text", ["spare of", "spare for", "backup of", "backup for"]),
    column("tested", "text", ["tested on", "last pulled", "pulled on"]),
    AT_START,
    ARRIVES,
    column("terminatedAt", "list", ["terminator", "terminated"]),
    column("network", "text", ["network id"]),
    ...columns("seconds", "noticeSeconds", "comingUpSeconds"),
    ...columns("number", "buffer.slipSamples", "buffer.depthSamples", "buffer.startSamples", "asymmetryNanoseconds"),
    ...columns("number", "megabitsPerSecond"),
    column("channels", "number", ["channel count"]),
    ...columns("number", "packetMicroseconds"),
  ],
  always: ["id", "type", "from", "to", "return", "lengthMetres", "laidAlong"],
};

const EVENTS: TableShape = {
  name: "events",
  needs: [["at"], ["do"]],
  columns: [
    column("at", "time", ["time", "show time", "when", "at time"]),
    column("do", "word", ["event", "what happens", "happening", "action", "fault"], {
      ...{ pull: "unplug", "pull-cable": "unplug", "plug-in": "plug", restart: "reboot", "power-off": "power-cut" },
      ...{ "power-on": "power-back", "bad-contact": "intermittent", freeze: "hang" },
    }),
    column("~target", "text", ["what", "who", "target", "to what", "device or cable"]),
    column("device", "text", ["device name"]),
    column("link", "text", ["cable"]),
    ...columns("text", "path", "supply", "end"),
    ...columns("word", "part", "way"),
    ...columns("number", "into", "port"),
    ...columns("list", "clockSources"),
    ...columns("text", "source"),
    ...columns("word", "clock"),
    ...columns("number", "offsetPpm", "toCelsius"),
    ...columns("seconds", "overSeconds", "everySeconds", "outSeconds"),
    ...columns("number", "count"),
    column("forSeconds", "seconds", ["for", "duration", "lasts", "back after"]),
  ],
  always: ["at", "do", "device", "link", "forSeconds"],
};

/** In the order in which they are told apart and written. */
export const TABLES: readonly TableShape[] = [
  {
    name: "show",
    needs: [["run.length", "title"]],
    columns: [
      column("title", "text", ["show", "production"]),
      column("run.length", "time", ["length", "show length"]),
      column("run.startsAt", "text", ["starts at", "show starts", "time of day", "doors"]),
      column("rig.sampleRateHz", "hertz", ["sample rate", "rate"]),
      ...columns("text", "run.seed"),
      ...columns("word", "run.begin"),
      ...columns("yes", "run.wander"),
      ...columns("number", "run.startCelsius"),
      ...columns("seconds", "run.wanderGridSeconds"),
      ...columns("story", "story"),
    ],
    always: ["title", "run.length", "rig.sampleRateHz"],
  },
  DEVICES,
  {
    name: "types",
    needs: [["~type"]],
    columns: [column("~type", "text", ["device type", "name of type"]), ...DEVICE_FIELDS],
    always: ["~type"],
  },
  CABLES,
  {
    name: "spares",
    needs: [["links"]],
    columns: [
      column("id", "text", ["spare", "spare group", "group"]),
      column("links", "list", ["cables", "main and spares", "main first"]),
      column("mode", "word", ["switch over"]),
      ...columns("number", "windowMilliseconds"),
      ...columns("seconds", "switchSeconds"),
      ...columns("yes", "revertive"),
      ...columns("seconds", "waitToRestoreSeconds"),
    ],
    always: ["id", "links"],
  },
  {
    name: "networks",
    needs: [["id"], ["profile"]],
    columns: [
      column("id", "text", ["network"]),
      ...columns("text", "name"),
      ...columns("word", "profile"),
      ...columns("number", "domain"),
      ...columns("word", "recovery"),
    ],
    always: ["id", "profile"],
  },
  {
    name: "supplies",
    needs: [["id"], ["batterySeconds"]],
    columns: [column("id", "text", ["supply"]), column("batterySeconds", "seconds", ["battery"])],
    always: ["id", "batterySeconds"],
  },
  {
    name: "feeds",
    needs: [["through"]],
    columns: [
      column("id", "text", ["feed id"]),
      column("name", "text", ["feed", "feed name", "mix"]),
      column("through", "list", ["goes through", "chain", "by way of"]),
      column("channels", "numbers", ["channel count", "chs"]),
      column("over", "list", ["over cables", "by cable"]),
      column("heardBy", "words", ["heard by", "listeners", "who hears it"], {
        ...{ iem: "in-ears", iems: "in-ears", "in-ear": "in-ears", wedge: "wedges", monitors: "wedges" },
        ...{ recording: "record", recorder: "record", streaming: "stream" },
      }),
    ],
    always: ["id", "name", "through", "channels", "heardBy"],
  },
  EVENTS,
  {
    name: "expect",
    needs: [
      ["feed", "device", "link"],
      [
        "is",
        "clock",
        "slips.max",
        "slips.min",
        "silentSeconds.max",
        "silentSeconds.min",
        "dropouts.max",
        "dropouts.min",
      ],
    ],
    columns: [
      ...columns("text", "feed", "device", "link"),
      ...columns("word", "is", "clock"),
      ...columns("time", "from", "to"),
      ...columns("number", "slips.min", "slips.max"),
      ...columns("seconds", "silentSeconds.min", "silentSeconds.max"),
      ...columns("number", "dropouts.min", "dropouts.max"),
    ],
    always: ["feed", "slips.max"],
  },
  {
    name: "accepted",
    needs: [["rule"], ["reason"]],
    columns: [...columns("word", "rule"), ...columns("list", "devices", "links"), ...columns("text", "reason")],
    always: ["rule", "reason"],
  },
  {
    name: "patch",
    needs: [["channel"], ["box"]],
    columns: [
      column("channel", "text", ["ch", "chan", "input", "channel no", "no", "input no"]),
      column("source", "text", ["instrument", "what", "name", "signal", "input name"]),
      column("box", "text", ["stage box", "stagebox", "rack"]),
      column("socket", "text", ["box socket", "port", "box input", "way"]),
      column("desk", "list", ["console", "mixer", "to desk", "desks"]),
    ],
    always: [],
  },
];

/** What somebody measured of device types: no table of a scenario, but of a library. */
export const MEASUREMENTS: TableShape = {
  name: "measurements",
  needs: [["type"], ["number"], ["value"]],
  columns: [
    column("type", "text", ["device type", "kind of device", "device"]),
    column("number", "text", ["what", "name of number", "what was measured", "quantity", "key"]),
    column("value", "text", ["measured value", "result", "reading", "is", "seconds"]),
    column("measured", "text", ["date", "day", "measured on", "date measured"]),
    column("from", "text", ["note", "notes", "who", "by", "how", "where from", "remark"]),
    column("times", "number", ["how often", "count", "repeats"]),
  ],
  always: [],
};

export function shapeOf(name: TableName): TableShape {
  return TABLES.find((shape) => shape.name === name) as TableShape;
}
