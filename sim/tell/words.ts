/**
 * Numbers, names and lists as words. Everything here is plain text for a tired person: few digits, units spelled out,
 * the same rounding everywhere. No locale is asked, so the same run gives the same bytes on every machine.
 */
import type { DevicePlan, FeedPlan, LinkPlan, Plan } from "../../shared/plan.ts";

/** 1607 → "1,607". */
export function grouped(whole: number): string {
  const digits = String(Math.trunc(Math.abs(whole)));
  let text = "";
  for (let index = 0; index < digits.length; index += 1) {
    if (index > 0 && (digits.length - index) % 3 === 0) text += ",";
    text += digits[index];
  }
  return whole < 0 ? `-${text}` : text;
}

/** "hh:mm:ss" of the second that has begun; hours may exceed 99. */
export function showTime(seconds: number): string {
  // A nanosecond short of a whole second is that second to a reader.
  const whole = Math.floor(seconds + 1e-6);
  const two = (n: number) => (n < 10 ? `0${n}` : String(n));
  return `${two(Math.floor(whole / 3600))}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

/** At most two units, as a stopwatch would be read out: "40 ms", "0.3 s", "12 s", "1 min 17 s", "2 h 5 min", "70 days". */
export function duration(seconds: number): string {
  if (seconds < 0.001) return "less than 1 ms";
  if (seconds < 0.0995) return `${Math.round(seconds * 1000)} ms`;
  if (seconds < 9.95) return `${trimmed(seconds, 1)} s`;
  if (seconds < 59.5) return `${Math.round(seconds)} s`;
  if (seconds < 3599.5) return pair(Math.round(seconds), 60, "min", "s");
  if (seconds < 48 * 3600) return pair(Math.round(seconds / 60), 60, "h", "min");
  return `${trimmed(seconds / 86_400, 1)} days`;
}

/** Below a second in milliseconds: for bounds and given lengths a tenth of a second is too coarse. */
export function short(seconds: number): string {
  return seconds < 1 && seconds >= 0.001 ? `${Math.round(seconds * 1000)} ms` : duration(seconds);
}

/** Between two clicks; finer than {@link duration}, because a rate is read out of it. */
export function interval(seconds: number): string {
  if (seconds >= 9.95) return duration(seconds);
  if (seconds >= 0.0995) return `${trimmed(seconds, 1)} s`;
  return seconds >= 0.00095 ? `${Math.round(seconds * 1000)} ms` : "less than 1 ms";
}

/** How often something falls: "every 3.4 s"; what is faster than two a second is a rate: "4.6 times a second". */
export function rhythm(gapSeconds: number): string {
  if (gapSeconds >= 0.5) return `every ${interval(gapSeconds)}`;
  const perSecond = 1 / gapSeconds;
  return `${perSecond < 99.5 ? trimmed(perSecond, 1) : grouped(Math.round(perSecond))} times a second`;
}

/** 44100 → "44.1 kHz". */
export function kilohertz(rateHz: number): string {
  return `${rateHz / 1000} kHz`;
}

/** Parts per million without sign: "6.2 ppm", "0.04 ppm", "103 ppm". */
export function ppm(value: number): string {
  const size = Math.abs(value);
  if (size >= 99.5) return `${Math.round(size)} ppm`;
  if (size >= 0.095) return `${trimmed(size, 1)} ppm`;
  return size >= 0.0005 ? `${trimmed(size, 3)} ppm` : "less than 0.001 ppm";
}

/** Which way and how far: "4.24 ppm fast"; where that is next to nothing the plain fraction, "7.1e-16 slow". */
export function rateWords(frequency: number): string {
  if (frequency === 0) return "neither fast nor slow";
  const size = Math.abs(frequency);
  const amount = size < 5e-10 ? size.toExponential(1) : `${Number((size * 1e6).toPrecision(3))} ppm`;
  return `${amount} ${frequency > 0 ? "fast" : "slow"}`;
}

function pair(count: number, base: number, large: string, small: string): string {
  const rest = count % base;
  return rest === 0 ? `${Math.floor(count / base)} ${large}` : `${Math.floor(count / base)} ${large} ${rest} ${small}`;
}

function trimmed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

export function capital(text: string): string {
  return text === "" ? text : text[0]!.toUpperCase() + text.slice(1);
}

/** "a", "a and b", "a, b and c". */
export function listed(items: readonly string[], last = "and"): string {
  if (items.length < 2) return items[0] ?? "";
  return `${items.slice(0, -1).join(", ")} ${last} ${items[items.length - 1]}`;
}

/** A name whose letters may run either way, set apart in a text: first strong isolate … pop directional isolate (Unicode 6.3, UAX 9). */
export function isolated(text: string): string {
  return `\u2068${text}\u2069`;
}

const SMALL_NUMBERS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];

/** "once", "twice", "7 times". */
export function times(count: number): string {
  if (count === 1) return "once";
  return count === 2 ? "twice" : `${grouped(count)} times`;
}

/** "one device", "three devices", "14 devices". */
export function counted(count: number, one: string, many: string): string {
  return `${SMALL_NUMBERS[count] ?? grouped(count)} ${count === 1 ? one : many}`;
}

// Words that a rig is commonly named with: these take a small letter inside a sentence; a name of one's own keeps its capital.
const COMMON_FIRST_WORDS = new Set(
  (
    "monitor stage guest broadcast house tour touring word desk box recorder multitrack spare main split drum guitar vocal left " +
    "right front rear upper lower in-ear wireless radio playback matrix delay amplifier amp processor converter switch " +
    "recording system talkback comms band orchestra pit wedge clock second third backup support headline festival video " +
    "near far truck centre center middle inner outer upstage downstage north south east west singers choir strings brass keys drums"
  ).split(" "),
);

/** The name as it stands inside a sentence, with its article: "the monitor desk", "the FOH desk", "stage box 2". */
export function theDevice(device: DevicePlan): string {
  if (device.name === device.id) return `device ${device.id}`;
  const name = inSentence(device.name);
  if (/\d$/.test(name) || / [A-Z]$/.test(device.name)) return name;
  const isCommon =
    /^[a-z]/.test(name) ||
    /\b(desk|box|processors?|recorders?|transmitters?|truck|clock|converter|switch|rack)\b/i.test(name);
  return isCommon ? `the ${name}` : name;
}

/** The name at the head of a sentence: "Monitor desk". */
export function deviceHead(device: DevicePlan): string {
  return device.name === device.id ? `Device ${device.id}` : capital(device.name);
}

export function inSentence(name: string): string {
  const first = name.split(" ")[0] ?? "";
  return COMMON_FIRST_WORDS.has(first.toLowerCase()) ? name[0]!.toLowerCase() + name.slice(1) : name;
}

/** Names such as "In-ear transmitters" take the plural. */
export function isPlural(name: string): boolean {
  return /[a-z]s$/i.test(name) && !/(ss|us|is)$/i.test(name);
}

/** A listener as a subject: its head form, its form inside a sentence, and its number. */
export interface Listener {
  readonly head: string;
  readonly mid: string;
  readonly plural: boolean;
}

const LISTENERS: Readonly<Record<string, readonly [head: string, mid: string, plural: boolean]>> = {
  pa: ["PA", "the PA", false],
  wedges: ["Wedges", "the wedges", true],
  "in-ears": ["In-ears", "in-ears", true],
  comms: ["Comms", "comms", true],
  record: ["Recording", "the recording", false],
  broadcast: ["Broadcast", "the broadcast", false],
  stream: ["Stream", "the stream", false],
  "assisted-hearing": ["Assisted hearing", "assisted hearing", false],
};

/** Who hears this feed; told apart by the feed's name where several feeds reach the same ears. */
export function listener(feed: FeedPlan, all: readonly FeedPlan[]): Listener {
  if (feed.heardBy.length === 0) {
    const name = inSentence(feed.name);
    return { head: capital(feed.name), mid: `the ${name}`, plural: isPlural(feed.name) };
  }
  const sharesEars = all.some((other) => other.id !== feed.id && String(other.heardBy) === String(feed.heardBy));
  const heads = feed.heardBy.map((id, index) => {
    const [head, mid] = LISTENERS[id] ?? [capital(id), `the ${id}`];
    return index === 0 ? head : mid.replace(/^the /, "");
  });
  const mids = feed.heardBy.map((id) => LISTENERS[id]?.[1] ?? `the ${id}`);
  const tail = sharesEars ? ` (${inSentence(feed.name)})` : "";
  const plural = feed.heardBy.length > 1 || (LISTENERS[feed.heardBy[0]!]?.[2] ?? false);
  return { head: listed(heads) + tail, mid: listed(mids) + tail, plural };
}

/** The verb for one or several subjects: agree(true, "clicks", "click") → "click". */
export function agree(plural: boolean, one: string, many: string): string {
  return plural ? many : one;
}

/** A cable in a sentence, named as the file names it: "main cable", "cable to-pa"; a tap by its line. */
export function cable(link: string): string {
  const [id = ""] = link.split(":");
  return /^(main|spare|first|second|third|backup|guest|truck)$/.test(id) ? `${id} cable` : `cable ${id}`;
}

/** The same with its article where it takes one: "the main cable", "cable to-pa". */
export function theCable(id: string): string {
  const name = cable(id);
  return name.endsWith(" cable") ? `the ${name}` : name;
}

/**
 * The same for one of a plan, where it may be a line with several receivers, "word-clock line", or no cable at all:
 * "stream from the stage box to the FOH desk".
 */
export function cableIn(plan: NamesOfLinks, id: string): string {
  const { links } = plan;
  const link = links.find((each) => each.id === id);
  if (link?.stream !== undefined) return streamWords(plan, link);
  const line = link?.line;
  if (line === undefined) return cable(id);
  const isOnly = links.every((link) => link.line === undefined || link.line.id === line.id);
  return isOnly ? "word-clock line" : `word-clock line ${line.id}`;
}

/** By its ends; by its network too where another one has the same ends; by its id where that is not enough. */
function streamWords(plan: NamesOfLinks, { id, a, b, stream }: LinkPlan): string {
  const name = (end: string) => {
    const device = plan.devices.find((each) => each.id === end);
    return device === undefined ? end : theDevice(device);
  };
  const likes = plan.links.filter(
    (other) => other.stream !== undefined && other.a.device === a.device && other.b.device === b.device,
  );
  const here = likes.filter((other) => other.stream?.network === stream?.network);
  const on = likes.length > here.length && stream !== undefined ? ` on ${theNetwork(plan, stream.network)}` : "";
  return `stream from ${name(a.device)} to ${name(b.device)}${on}${here.length > 1 ? ` (${id})` : ""}`;
}

/** What names of links are made of. */
export type NamesOfLinks = Pick<Plan, "links" | "devices" | "networks">;

/** A network in a sentence: "the Red network", "network red". */
export function theNetwork({ networks }: Pick<Plan, "networks">, id: string): string {
  const name = networks?.find((network) => network.id === id)?.name ?? id;
  if (name === id) return `network ${id}`;
  return /network/i.test(name) ? `the ${name}` : `network ${name}`;
}

/** With its article: "the main cable", "cable to-pa", "the word-clock line", "the stream from the truck to the PA desk". */
export function theCableIn(plan: NamesOfLinks, id: string): string {
  const name = cableIn(plan, id);
  return name === cable(id) ? theCable(id) : `the ${name}`;
}

/** "main cable and spare cable", "cables to-pa, to-truck and 14 others". */
export function cables(
  ids: readonly string[],
  { most = 4, name = cable }: { readonly most?: number; readonly name?: (id: string) => string } = {},
): string {
  const names = ids.map(name);
  const isPlain = names.every((name) => name.startsWith("cable "));
  const items = isPlain ? [...ids] : names;
  const text =
    items.length <= most
      ? listed(items)
      : `${items.slice(0, most - 1).join(", ")} and ${grouped(items.length - most + 1)} others`;
  return isPlain ? `${items.length === 1 ? "cable" : "cables"} ${text}` : text;
}

const PREPOSITIONS = /^(above|across|along|around|behind|below|beside|in|inside|on|over|round|through|under) /i;

/** A path as its name allows: "the stage-left wall", "under the stalls". */
export function path(name: string): string {
  return PREPOSITIONS.test(name) || /^(the|a) /i.test(name) ? name : `the ${name}`;
}

/** Where a cable is laid, as the path is named: "along the stage-left wall", "under the stalls". */
export function along(name: string): string {
  return PREPOSITIONS.test(name) ? name : `along ${path(name)}`;
}

/** A clock source as people say it: "port 1", "its own clock". */
export function source(entry: string): string {
  return entry === "internal" ? "its own clock" : `port ${entry}`;
}

/** Long words of the trade, each with its short one at first use. */
const GLOSSES: readonly (readonly [RegExp, string])[] = [
  [/\bcoast(?:ing|s)?\b/, "holdover"],
  [/\bpull(?:ing|s)? in\b/, "acquiring"],
  [/\bgo(?:es)? back by (?:itself|themselves)\b/, "revertive"],
  [/\bwaits [^.]*? before it believes the loss\b/, "hold-off"],
  [/\bwaits [^.]*? before it trusts the return\b/, "wait-to-restore"],
];

/** Adds "(holdover)" and its like where each phrase stands first in the texts, taken in reading order. */
export function glossed(texts: readonly string[]): string[] {
  const open = new Set(GLOSSES);
  return texts.map((text) => {
    let told = text;
    for (const gloss of [...open]) {
      const [phrase, word] = gloss;
      const match = phrase.exec(told);
      if (match === null) continue;
      open.delete(gloss);
      const end = match.index + match[0].length;
      if (told.slice(end).startsWith(` (${word})`)) continue;
      told = `${told.slice(0, end)} (${word})${told.slice(end)}`;
    }
    return told;
  });
}
