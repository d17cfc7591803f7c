/**
 * Every default of the scenario file, in one table: the schema shows it, reading fills it in, the README prints it.
 * Link types and oscillator types have tables of their own. Defaults assume the worse: no holdover, outputs that come
 * back at full level, a device that goes back by itself. A default with origin *assumed* is listed in every run that
 * used it.
 */

/** Where a number comes from. *From memory*: a document that could not be read again; never a citation. */
export type Origin = "standard" | "handbook" | "common practice" | "from memory" | "assumed" | "none needed";

export type Holder = "run" | "rig" | "device" | "network" | "link" | "spare" | "feed";

interface DefaultRow {
  readonly on: Holder;
  readonly name: string;
  readonly value: number | string | boolean | readonly string[];
  /** True where `value` says how it follows from other numbers. */
  readonly derived?: true;
  readonly unit: string;
  /** What it is, one sentence without a full stop. */
  readonly what: string;
  readonly origin: Origin;
  readonly source: string;
  readonly why: string;
  /** To whom it matters, in the words of the README. */
  readonly appliesTo: string;
}

const NO_SOURCE = "no source";
export const FOLLOWERS = "devices that list a port in clockSources";
const ALL = "all devices";
export const HOLDING = "followers whose holdoverSeconds is not 0";
export const REBOOTED = "devices that start, or are rebooted or without power for a while";
export const SURFACE_REBOOTED = "devices whose surface alone is rebooted";
export const ENGINE_REBOOTED = "devices whose engine alone is rebooted";
export const FED = "devices on a feed";
export const FED_INTO = "devices that a feed goes into";
export const FOLLOWED = "followers that others are linked to";
export const CONVERTING = "ports with a converter";
export const ON_A_NETWORK = "devices with an ethernet port";
export const BRIDGING = "switches, and devices with one built in";
const ETHERNET = "ethernet links";
const STREAMS = "streams";
export const SEVERAL_SOURCES = "devices with more than one entry in clockSources";

// biome-ignore format: a table, a row in a few lines
export const DEFAULTS = [
  {
    on: "run", name: "begin", value: "settled", unit: "",
    what: "How the show begins: settled (on for ever, warm, loops at rest) or cold (power comes at 0)",
    origin: "none needed", source: "", why: "a rehearsal starts at doors, when the rig has been on for hours",
    appliesTo: "the run",
  },
  {
    on: "run", name: "seed", value: "1", unit: "",
    what: "Where everything drawn by chance comes from: same file and seed, same result",
    origin: "none needed", source: "", why: "any text will do", appliesTo: "the run",
  },
  {
    on: "run", name: "wander", value: false, unit: "",
    what: "Whether oscillators wander by chance, by the numbers of their type; a device may say otherwise",
    origin: "none needed", source: "", why: "what a plan does shows plainest with steady clocks; turn it on to see what chance adds",
    appliesTo: "the run",
  },
  {
    on: "run", name: "wanderGridSeconds", value: 1, unit: "s",
    what: "Distance of the knots at which oscillators wander, straight lines between",
    origin: "assumed", source: NO_SOURCE,
    why: "wander faster than half a turn per grid step is not represented: a loop above a tenth of a turn per step needs a finer grid",
    appliesTo: "the run",
  },
  {
    on: "run", name: "startCelsius", value: 25, unit: "°C", what: "Temperature around all devices as the show begins",
    origin: "assumed", source: "data sheets state offsets at 25 °C (common practice)", why: "where the offset holds", appliesTo: "the run",
  },
  {
    on: "device", name: "kind", value: "other", unit: "", what: "What the device is, for its sign and its words",
    origin: "none needed", source: "", why: "changes no number", appliesTo: ALL,
  },
  {
    on: "device", name: "sampleRateHz", value: "the rig's", derived: true, unit: "Hz", what: "Sample rate the device is set to",
    origin: "none needed", source: "", why: "one rate everywhere is the plan; a device that differs does not decode", appliesTo: ALL,
  },
  {
    on: "device", name: "clockSources", value: ["internal"], unit: "",
    what: "What the device takes its clock from, best first: port numbers and internal",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: a device that nobody set up runs on its own clock", appliesTo: ALL,
  },
  {
    on: "device", name: "loop.naturalFrequencyHz", value: 1, unit: "Hz", what: "Natural frequency of the loop that follows the clock source",
    origin: "assumed", source: NO_SOURCE, why: "between word-clock followers (tenths of a hertz) and plain receivers (tens)", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "loop.damping", value: 1, unit: "", what: "Damping of that loop",
    origin: "assumed", source: NO_SOURCE,
    why: "critical; less than 0.73 would break AES3's 2 dB limit of jitter gain (that limit from memory)", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "capturePpm", value: 50, unit: "ppm", what: "Largest distance from nominal at which a source can be chosen",
    origin: "assumed", source: "size borrowed from AES11-2009 5.2.2, grade 2 equipment, as quoted in a public requirements file",
    why: "what AES11 asks of grade 2 equipment; a device may do better", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "steeringPpm", value: "capturePpm + oscillator.tolerancePpm", derived: true, unit: "ppm",
    what: "How far the loop can pull the oscillator from its own centre",
    origin: "assumed", source: NO_SOURCE, why: "the least that reaches the whole capture range from anywhere in the tolerance", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "lockWindowPercent", value: 5, unit: "% of a sample", what: "Phase error within which the device counts as locked",
    origin: "assumed", source: "size borrowed from AES11-2009 5.3.1.1, output phase, as quoted in a public requirements file",
    why: "a device that says locked should meet the output allowance", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "unlockWindowPercent", value: 25, unit: "% of a sample", what: "Phase error beyond which it is not locked any more",
    origin: "assumed", source: "size borrowed from AES11-2009 5.3.1.2, input phase, as quoted in a public requirements file",
    why: "an input must accept this much", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "dwellSeconds", value: 1, unit: "s", what: "How long the error must stay inside the lock window before the device is locked",
    origin: "assumed", source: NO_SOURCE, why: "a few time constants of the loop", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "reactionSeconds", value: 0.01, unit: "s", what: "Time to change source, for whatever reason",
    origin: "assumed", source: NO_SOURCE, why: "a control loop that runs a hundred times a second", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "holdOffSeconds", value: 0.3, unit: "s", what: "How long a lost source is waited for before another is chosen",
    origin: "assumed", source: "lower end of ITU-T G.781's range of 300 to 1800 ms, as quoted in equipment manuals",
    why: "live gear reacts sooner than telecom gear", appliesTo: SEVERAL_SOURCES,
  },
  {
    on: "device", name: "holdoverSeconds", value: 0, unit: "s", what: "How long the device keeps the last frequency after its source has gone",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: straight back to its own oscillator", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "holdoverAverageSeconds", value: 0, unit: "s",
    what: "Over how long before the loss the kept frequency is averaged; 0 keeps what the loop had learnt at that moment",
    origin: "assumed", source: NO_SOURCE, why: "the simplest device: it freezes its loop", appliesTo: HOLDING,
  },
  {
    on: "device", name: "holdoverErrorPpb", value: 0, unit: "ppb", what: "How far off the kept frequency is on top, by the device's own measuring",
    origin: "assumed", source: NO_SOURCE, why: "what its oscillator drifts meanwhile is counted apart", appliesTo: HOLDING,
  },
  {
    on: "device", name: "waitToRestoreSeconds", value: 0, unit: "s", what: "How long a source must be back before it can be chosen",
    origin: "assumed", source: "ITU-T G.781 has 0 to 12 min, default 5 min (as quoted in equipment manuals)",
    why: "usual for live gear, and the worse case: it trusts the return at once", appliesTo: FOLLOWERS,
  },
  {
    on: "device", name: "revertive", value: true, unit: "", what: "Goes back to a better source by itself",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: the return hurts a second time", appliesTo: SEVERAL_SOURCES,
  },
  {
    on: "device", name: "givesWhenUnlocked", value: true, unit: "", what: "Goes on giving clock in holdover and free-run",
    origin: "assumed", source: NO_SOURCE, why: "point-to-point links carry no quality level, so those below cannot tell", appliesTo: FOLLOWED,
  },
  {
    on: "device", name: "whileBooting", value: "nothing", unit: "", what: "What leaves the device while it starts",
    origin: "assumed", source: NO_SOURCE, why: "the worse case for those who follow it by one cable", appliesTo: REBOOTED,
  },
  {
    on: "device", name: "bootSeconds", value: 60, unit: "s", what: "From power or reboot until audio and clock run",
    origin: "assumed", source: NO_SOURCE, why: "desks take about a minute; measure yours", appliesTo: REBOOTED,
  },
  {
    on: "device", name: "surfaceBootSeconds", value: "bootSeconds", derived: true, unit: "s",
    what: "From a reboot of the surface alone until somebody can work on it again; sound and clock go on meanwhile",
    origin: "assumed", source: NO_SOURCE, why: "as long as all of it takes; measure yours", appliesTo: SURFACE_REBOOTED,
  },
  {
    on: "device", name: "engineBootSeconds", value: "bootSeconds", derived: true, unit: "s",
    what: "From a reboot of the engine alone until audio and clock run",
    origin: "assumed", source: NO_SOURCE, why: "as long as all of it takes; measure yours", appliesTo: ENGINE_REBOOTED,
  },
  {
    on: "device", name: "muteWhile", value: ["starting"], unit: "", what: "Own states in which the device mutes its outputs",
    origin: "assumed", source: NO_SOURCE, why: "nothing can come out before the audio runs", appliesTo: FED,
  },
  {
    on: "device", name: "muteOutOfStep", value: "unknown", unit: "", what: "Whether the device mutes what arrives out of step with its own clock",
    origin: "assumed", source: NO_SOURCE, why: "either silent or clicking: only a test on site tells", appliesTo: FED_INTO,
  },
  {
    on: "device", name: "unmuteSeconds", value: 0, unit: "s", what: "From the end of the reason for muting until the outputs open",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: no time to turn anything down", appliesTo: FED,
  },
  {
    on: "device", name: "unmuteRampSeconds", value: 0, unit: "s", what: "Fade-in after muting",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: back at full level", appliesTo: FED,
  },
  {
    on: "device", name: "converter.delaySeconds", value: 0.001, unit: "s", what: "What a sample-rate converter at a port delays the sound by",
    origin: "assumed", source: NO_SOURCE, why: "filters some fifty samples long", appliesTo: CONVERTING,
  },
  {
    on: "device", name: "converter.lockSeconds", value: 0.1, unit: "s",
    what: "How long the converter needs to find the rate of what arrives, silent meanwhile: whenever a buffer would start anew",
    origin: "assumed", source: NO_SOURCE, why: "an average over some thousand samples; one that knows sooner is no worse", appliesTo: CONVERTING,
  },
  {
    on: "device", name: "converter.ratioMax", value: 8, unit: "", what: "Largest ratio of the two sample rates, either way, that the converter bridges",
    origin: "assumed", source: NO_SOURCE, why: "wide enough for any two of the usual rates, 32 to 192 kHz", appliesTo: CONVERTING,
  },
  {
    on: "device", name: "power", value: "its own id", derived: true, unit: "", what: "Supplies of the device; any one suffices",
    origin: "none needed", source: "", why: "a supply that nothing else shares", appliesTo: ALL,
  },
  {
    on: "device", name: "atStart", value: "on", unit: "", what: "Whether the device is on when the show begins",
    origin: "none needed", source: "", why: "off is for what arrives later", appliesTo: ALL,
  },
  {
    on: "device", name: "startCelsius", value: "the run's", derived: true, unit: "°C",
    what: "Temperature around the device as the show begins: a truck that stood in the cold",
    origin: "assumed", source: NO_SOURCE, why: "one temperature everywhere unless somebody says so", appliesTo: ALL,
  },
  {
    on: "device", name: "oscillator.type", value: "crystal", unit: "", what: "Row of the table of oscillators that the other numbers come from",
    origin: "assumed", source: NO_SOURCE, why: "the worse case, and the usual one", appliesTo: ALL,
  },
  {
    on: "device", name: "oscillator.offsetPpm", value: "drawn evenly within tolerancePpm from the seed", derived: true, unit: "ppm",
    what: "Frequency offset from nominal, warm, at 25 °C, at the start",
    origin: "assumed", source: NO_SOURCE, why: "nobody knows it before it has been measured", appliesTo: ALL,
  },
  {
    on: "device", name: "oscillator.wander", value: "the run's", derived: true, unit: "",
    what: "Noise of the oscillator: false (steady), true (by type), deviations, power-law coefficients, or points of Allan deviation",
    origin: "none needed", source: "", why: "one word turns it on everywhere", appliesTo: ALL,
  },
  {
    on: "device", name: "ptp.priority1", value: "the profile's", derived: true, unit: "",
    what: "First of what an election compares: the lowest leads",
    origin: "standard", source: "table of profiles", why: "what a device says that nobody set up", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "ptp.priority2", value: "the profile's", derived: true, unit: "",
    what: "Compared where all before it are equal: the lowest leads",
    origin: "standard", source: "table of profiles", why: "what a device says that nobody set up", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "ptp.clockClass", value: "the profile's", derived: true, unit: "",
    what: "What the clock says it is: 6 follows a primary reference, 13 its own choice of one, 248 nothing in particular",
    origin: "standard", source: "table of profiles", why: "a device without a reference", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "ptp.clockAccuracy", value: "the profile's", derived: true, unit: "",
    what: "How near to true time the clock says it is",
    origin: "standard", source: "table of profiles", why: "a device without a reference", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "ptp.offsetScaledLogVariance", value: "the profile's", derived: true, unit: "",
    what: "How steady the clock says it is; 65535 leaves it open",
    origin: "standard", source: "table of profiles", why: "a device without a reference", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "ptp.identity", value: "drawn from the id of the device", derived: true, unit: "",
    what: "The last tie-break of an election: sixteen hexadecimal digits, the lowest leads",
    origin: "none needed", source: "", why: "the maker's number, which decides as blindly", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "ptp.followerOnly", value: "true for a switch that is not boundary, else false", derived: true, unit: "",
    what: "Never leads, whatever it hears",
    origin: "common practice", source: NO_SOURCE, why: "an ordinary switch has no clock to offer, an audio device has", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "bridge", value: "true for a switch, else false", derived: true, unit: "",
    what: "Whether packets pass from one of its ethernet ports to the others, and how",
    origin: "common practice", source: NO_SOURCE, why: "that is what a switch is", appliesTo: ON_A_NETWORK,
  },
  {
    on: "device", name: "bridge.timing", value: "plain", unit: "",
    what: "What it does to packets that tell time: plain (they wait like all others), transparent (it tells how long they waited), boundary (it follows on one port and leads on the others)",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: a switch that knows nothing of time", appliesTo: BRIDGING,
  },
  {
    on: "device", name: "bridge.residenceMicroseconds", value: 5, unit: "µs", what: "Shortest time of a packet from one port to another",
    origin: "assumed", source: NO_SOURCE, why: "a small packet taken in whole at 1 Gbit/s, looked up and sent on", appliesTo: BRIDGING,
  },
  {
    on: "device", name: "bridge.delayVariationMicroseconds", value: "one frame of 1,538 bytes at its slowest cable", derived: true, unit: "µs",
    what: "How much longer a packet may wait behind others",
    origin: "assumed", source: "1,538 bytes: the longest frame with preamble and gap, IEEE 802.3 (from memory)",
    why: "a packet that has to wait for one that is being sent", appliesTo: BRIDGING,
  },
  {
    on: "device", name: "bridge.priority", value: 32768, unit: "", what: "Lowest is the root of a spanning tree, then the lowest id",
    origin: "from memory", source: "IEEE 802.1Q", why: "what a switch says that nobody set up", appliesTo: BRIDGING,
  },
  {
    on: "network", name: "profile", value: "aes67", unit: "",
    what: "Which numbers and rules elections have: default (IEEE 1588), aes67, st2059-2 or 802.1as",
    origin: "assumed", source: NO_SOURCE, why: "what audio devices of several makers share", appliesTo: "networks",
  },
  {
    on: "network", name: "domain", value: "the profile's", derived: true, unit: "", what: "IEEE 1588 domain: devices of another one are not heard",
    origin: "standard", source: "table of profiles", why: "what a device has that nobody set up", appliesTo: "networks",
  },
  {
    on: "network", name: "recovery", value: "none", unit: "", what: "How bridges find another way when one is lost",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: what is cut off stays cut off", appliesTo: "networks",
  },
  {
    on: "link", name: "lengthMetres", value: 10, unit: "m", what: "Length of the cable",
    origin: "assumed", source: NO_SOURCE, why: "a lead on stage; 10 m more or less is 0.3 % of a sample", appliesTo: "all links",
  },
  {
    on: "link", name: "medium", value: "the first of the type's", derived: true, unit: "", what: "What the cable is made of",
    origin: "common practice", source: NO_SOURCE, why: "what such links are usually laid with", appliesTo: "all links",
  },
  {
    on: "link", name: "noticeSeconds", value: "by type", derived: true, unit: "s", what: "From the break until the receiver knows",
    origin: "assumed", source: "table of link types", why: "differs by type", appliesTo: "all links",
  },
  {
    on: "link", name: "comingUpSeconds", value: "by type", derived: true, unit: "s", what: "From both ends being there until the link works",
    origin: "assumed", source: "table of link types", why: "differs by type", appliesTo: "all links",
  },
  {
    on: "link", name: "asymmetryNanoseconds", value: 0, unit: "ns", what: "How much longer packets take from the first end to the second than back",
    origin: "assumed", source: NO_SOURCE, why: "nobody knows it before it has been measured; half of it is the follower's error", appliesTo: ETHERNET,
  },
  {
    on: "link", name: "megabitsPerSecond", value: 1000, unit: "Mbit/s", what: "Speed of the cable",
    origin: "common practice", source: NO_SOURCE, why: "what switches have", appliesTo: ETHERNET,
  },
  {
    on: "link", name: "channels", value: 8, unit: "", what: "Channels of a stream; more than a packet holds are several streams side by side",
    origin: "assumed", source: "AES67-2018 as summarised in public: 1 to 8", why: "the most that any receiver takes in one stream", appliesTo: STREAMS,
  },
  {
    on: "link", name: "packetMicroseconds", value: "by type: 1000, 125 for avb", derived: true, unit: "µs", what: "What a packet lasts at 48 kHz",
    origin: "standard", source: "AES67-2018 and IEEE 802.1 class A as summarised in public", why: "the one that every device has", appliesTo: STREAMS,
  },
  {
    on: "link", name: "buffer.slipSamples", value: 1, unit: "samples", what: "What one slip drops or repeats",
    origin: "assumed", source: NO_SOURCE, why: "point-to-point receivers drop or repeat a single sample", appliesTo: "links that carry audio",
  },
  {
    on: "link", name: "buffer.depthSamples", value: "2 × slipSamples", derived: true, unit: "samples", what: "Fill at which the receiver drops",
    origin: "assumed", source: NO_SOURCE, why: "the smallest that has room for one slip either way", appliesTo: "links that carry audio",
  },
  {
    on: "link", name: "buffer.startSamples", value: "depthSamples / 2", derived: true, unit: "samples", what: "Fill at which the buffer starts",
    origin: "assumed", source: NO_SOURCE, why: "in the middle", appliesTo: "links that carry audio",
  },
  {
    on: "link", name: "atStart", value: "plugged", unit: "", what: "Whether the cable is in when the show begins",
    origin: "none needed", source: "", why: "unplugged is for what arrives later", appliesTo: "all links",
  },
  {
    on: "spare", name: "mode", value: "standby", unit: "",
    what: "How the spare stands by: standby (one carries, the other takes over by itself), duplicate (all carry, the receiver merges them), manual (somebody changes over by hand)",
    origin: "none needed", source: "", why: "what most gear with two ports does", appliesTo: "spare groups",
  },
  {
    on: "spare", name: "windowMilliseconds", value: 10, unit: "ms",
    what: "Duplicate: largest difference in delay between the links that the receiver bridges without a gap",
    origin: "assumed", source: "class A of ST 2022-7 as a comment in public code has it; its class C, 450 ms, likewise; B, 50 ms, and D, 0.15 ms, from memory",
    why: "two ways through one building differ by less", appliesTo: "spare groups with mode duplicate",
  },
  {
    on: "spare", name: "switchSeconds", value: 0.3, unit: "s", what: "Standby: from noticing until the other link carries, each way",
    origin: "assumed", source: NO_SOURCE, why: "the same as the hold-off of clock sources", appliesTo: "spare groups with mode standby",
  },
  {
    on: "spare", name: "manual.switchSeconds", value: 60, unit: "s",
    what: "Manual: from noticing until the other link carries, the walk and the plug included; both are plugged in from the start",
    origin: "assumed", source: NO_SOURCE, why: "somebody is near and knows which one", appliesTo: "spare groups with mode manual",
  },
  {
    on: "spare", name: "revertive", value: true, unit: "", what: "Standby: goes back to the main by itself",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: it switches twice", appliesTo: "spare groups with mode standby",
  },
  {
    on: "spare", name: "waitToRestoreSeconds", value: 0, unit: "s", what: "Standby: how long the main must be back before it carries again",
    origin: "assumed", source: NO_SOURCE, why: "the worse case: a cable that comes and goes switches every time", appliesTo: "spare groups that go back by themselves",
  },
] as const satisfies readonly DefaultRow[];

type Row = (typeof DEFAULTS)[number];
type Wide<V> = V extends boolean ? boolean : V extends number ? number : V;

const byName = new Map<string, Row>(DEFAULTS.map((row) => [`${row.on}.${row.name}`, row]));

/** The row of one default. */
export function defaultRow(on: Row["on"], name: Row["name"]): DefaultRow {
  return byName.get(`${on}.${name}`) as Row;
}

type ValueOf<O, N> = Wide<Extract<Row, { on: O; name: N }>["value"]>;

/** The value of one default; in words where it follows from others. */
export function defaultOf<O extends Row["on"], N extends Extract<Row, { on: O }>["name"]>(
  on: O,
  name: N,
): ValueOf<O, N> {
  return byName.get(`${on}.${name}`)?.value as unknown as ValueOf<O, N>;
}
