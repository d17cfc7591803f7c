/**
 * The one table of states: how each state of a device, a link, a link's end and a feed is drawn and named, everywhere.
 *
 * Colour never speaks alone: each row has a colour, a pattern, a sign, a short word and a long word, so that a page on
 * a cheap black-and-white printer still tells every state from its neighbours. Four families keep the eye calm:
 *
 * - quiet blue: carries, follows, as intended; near the colour of the page, because most of a show is this;
 * - warm: a clock of one's own, or clocks that disagree; slips are to be expected;
 * - grey or hollow: not there (booting, off);
 * - purple: nothing to hear.
 *
 * Dashes mean coasting and nothing else; the triangle is for trouble only; one sign, the diamond, for the one leader.
 * Nothing here is round and lit: a lamp that shines is what misleads people on site.
 *
 * Colours began as the Okabe and Ito set (Color Universal Design, 2002), then were pulled apart in lightness for a dark
 * and a light page. The limits they keep (WCAG 2.2, criteria 1.4.3 and 1.4.11) are computed in the test.
 */
import type { DeviceState, LinkClock, LinkState, PortRole } from "./record.ts";
import type { Silence } from "./summary.ts";

/** Colours of one state on one ground. */
export interface Paint {
  /** Null: hollow, the page shows through. */
  readonly fill: string | null;
  /** Text, sign and pattern on the fill. */
  readonly ink: string;
  readonly outline: string;
}

export const PATTERNS = [
  "plain",
  "double-edge",
  "top-line",
  "zigzag",
  "dashed-edge",
  "diagonal",
  "back-diagonal",
  "cross-hatch",
  "uprights",
  "rules",
  "baseline",
  "one-line",
  "two-lines",
  "crosses",
  "comb",
] as const;
export type Pattern = (typeof PATTERNS)[number];

/** Drawn in a box of 12 by 12: lines to stroke, shapes to fill; SVG path data. */
export interface Sign {
  readonly stroke: string;
  readonly solid: string;
}

export interface StateLook {
  readonly word: string;
  /** For narrow places; no two states share one. */
  readonly short: string;
  /** What a scenario file calls it, where that is another word; see {@link longWord}. */
  readonly inFile?: string;
  readonly sign: Sign;
  readonly pattern: Pattern;
  /** 0: as intended; the larger, the more it matters to those who listen. What is narrow is drawn by the largest. */
  readonly concern: 0 | 1 | 2 | 3;
  readonly dark: Paint;
  readonly light: Paint;
}

/** The page itself: the ground on which outlines and hollow states must show. */
export const GROUND = {
  dark: { paper: "#12171d", ink: "#e9e6df", quiet: "#a7afb8", rule: "#343e49", panel: "#1a2129", accent: "#f2c879" },
  light: { paper: "#faf9f5", ink: "#171c22", quiet: "#535b64", rule: "#cfcdc5", panel: "#f0eee7", accent: "#7a4b00" },
} as const;

/**
 * A device that follows shows which of its sources; one that runs free, whether the rig was meant to follow it; a switch
 * that only passes packets on, that it works.
 */
export type DeviceLookKey = DeviceState | "locked-later" | "leading" | "works";

const BLUE_LINE = {
  dark: { fill: null, ink: "#6fb1e0", outline: "#6fb1e0" },
  light: { fill: null, ink: "#0b6aa3", outline: "#0b6aa3" },
} as const;
const VERMILLION = {
  dark: { fill: "#e06a1c", ink: "#140a04", outline: "#ffa66b" },
  light: { fill: "#e0722a", ink: "#140a04", outline: "#a34700" },
} as const;
const ORANGE = {
  dark: { fill: "#d99a1c", ink: "#140e02", outline: "#f5c661" },
  light: { fill: "#eeb74a", ink: "#140e02", outline: "#8d6000" },
} as const;
const PURPLE = {
  dark: { fill: "#c97ba8", ink: "#14080f", outline: "#eab3d1" },
  light: { fill: "#dd9cc0", ink: "#1b0a13", outline: "#99467a" },
} as const;
const HOLLOW = {
  dark: { fill: null, ink: "#a7afb8", outline: "#8b949e" },
  light: { fill: null, ink: "#535b64", outline: "#6b7278" },
} as const;
const HOLLOW_PURPLE = {
  dark: { fill: null, ink: "#eab3d1", outline: "#eab3d1" },
  light: { fill: null, ink: "#8a3a6b", outline: "#99467a" },
} as const;

export const DEVICE_LOOKS: Readonly<Record<DeviceLookKey, StateLook>> = {
  leading: {
    word: "Leading",
    short: "LEAD",
    inFile: "free-run, as planned",
    sign: { stroke: "", solid: "M6 .6 11.4 6 6 11.4 .6 6Z" },
    pattern: "double-edge",
    concern: 0,
    dark: { fill: "#d3d8dc", ink: "#0f1419", outline: "#f3f5f6" },
    light: { fill: "#252c35", ink: "#ffffff", outline: "#10151a" },
  },
  locked: {
    word: "Locked",
    short: "LOCK",
    sign: { stroke: "M1.2 4H10.8M1.2 8H10.8", solid: "" },
    pattern: "plain",
    concern: 0,
    dark: { fill: "#1d4a69", ink: "#eaf4fb", outline: "#5f9fc9" },
    light: { fill: "#c6dff0", ink: "#0b2a40", outline: "#3a7ba6" },
  },
  "locked-later": {
    word: "Locked, later source",
    short: "2ND",
    inFile: "locked",
    sign: { stroke: "M4.2 4H11.4M4.2 8H11.4M1.4 1.6V10.4", solid: "" },
    pattern: "top-line",
    concern: 1,
    dark: { fill: "#3f86b0", ink: "#06121a", outline: "#9fcdea" },
    light: { fill: "#5fa5cf", ink: "#05131d", outline: "#25638b" },
  },
  acquiring: {
    word: "Pulling in",
    short: "PULL",
    inFile: "acquiring",
    sign: { stroke: "M.8 2.8 4 6 .8 9.2M11.2 2.8 8 6 11.2 9.2M6 1.4V10.6", solid: "" },
    pattern: "zigzag",
    concern: 1,
    dark: { fill: "#56b4e9", ink: "#071119", outline: "#a5dbfa" },
    light: { fill: "#9adcff", ink: "#071119", outline: "#1f7bb0" },
  },
  holdover: {
    word: "Coasting",
    short: "COAST",
    inFile: "holdover",
    sign: { stroke: "M.6 6H3.2M4.7 6H7.3M8.8 6H11.4", solid: "" },
    pattern: "dashed-edge",
    concern: 2,
    dark: { fill: "#dccb3c", ink: "#15130a", outline: "#f4e97a" },
    light: { fill: "#f3e65a", ink: "#15130a", outline: "#857900" },
  },
  "free-run": {
    word: "On its own clock",
    short: "OWN",
    inFile: "free-run",
    sign: { stroke: "M6 1.2 11.2 10.8H.8ZM6 4.6V8.4", solid: "" },
    pattern: "diagonal",
    concern: 3,
    ...VERMILLION,
  },
  works: {
    word: "Works",
    short: "WORKS",
    inFile: "free-run",
    sign: { stroke: "M1.4 3.2H7.4M4.6 8.8H10.6M5.2 1 7.4 3.2 5.2 5.4M6.8 6.6 4.6 8.8 6.8 11", solid: "" },
    pattern: "one-line",
    concern: 0,
    ...BLUE_LINE,
  },
  starting: {
    word: "Booting",
    short: "BOOT",
    inFile: "starting",
    sign: { stroke: "M1.8 1.4H10.2M1.8 10.6H10.2M3 1.4 9 10.6M9 1.4 3 10.6", solid: "" },
    pattern: "uprights",
    concern: 3,
    dark: { fill: "#666d75", ink: "#ffffff", outline: "#a8b0b8" },
    light: { fill: "#d4d6d8", ink: "#15191d", outline: "#6b7278" },
  },
  off: {
    word: "Off",
    short: "OFF",
    sign: { stroke: "M1.8 1.8H10.2V10.2H1.8Z", solid: "" },
    pattern: "baseline",
    concern: 3,
    ...HOLLOW,
  },
};

/** What may hold beside a device's state: its clock goes on, people have lost something. */
export const DEVICE_TROUBLE_LOOKS: Readonly<Record<"surface-down" | "hung", StateLook>> = {
  "surface-down": {
    word: "Surface down: nobody can mute from it",
    short: "HANDS OFF",
    sign: { stroke: "M1 8.6H11M2.6 8.6V5.4M6 8.6V5.4M9.4 8.6V5.4M1 2 11 4", solid: "" },
    pattern: "uprights",
    concern: 2,
    ...ORANGE,
  },
  hung: {
    word: "Hung: gives clock, passes no audio",
    short: "HUNG",
    sign: { stroke: "M6 1.2 11.2 10.8H.8ZM4 7H8", solid: "" },
    pattern: "cross-hatch",
    concern: 3,
    ...PURPLE,
  },
};

/** `up` is drawn by its clock: {@link LINK_CLOCK_LOOKS}. */
export const LINK_LOOKS: Readonly<Record<LinkState, StateLook>> = {
  up: {
    word: "Up",
    short: "UP",
    sign: { stroke: "M.8 6H11.2", solid: "" },
    pattern: "one-line",
    concern: 0,
    ...BLUE_LINE,
  },
  down: {
    word: "Down",
    short: "DOWN",
    sign: { stroke: "M2 2 10 10M10 2 2 10", solid: "" },
    pattern: "crosses",
    concern: 3,
    ...HOLLOW_PURPLE,
  },
  "coming-up": {
    word: "Coming up",
    short: "RISE",
    sign: { stroke: "M.8 10.6H4V7.4H7.4V4.2H10.8V1", solid: "" },
    pattern: "uprights",
    concern: 2,
    ...HOLLOW_PURPLE,
  },
};

export const LINK_CLOCK_LOOKS: Readonly<Record<LinkClock, StateLook>> = {
  given: {
    word: "Carries, clock along",
    short: "GIVEN",
    inFile: "given",
    sign: { stroke: "M.8 6H10.6M7.2 2.6 10.6 6 7.2 9.4", solid: "" },
    pattern: "one-line",
    concern: 0,
    ...BLUE_LINE,
  },
  "each-way": {
    word: "Carries, clock each way",
    short: "EACH WAY",
    inFile: "each-way",
    sign: { stroke: "M.8 3.6H10.8M8.4 1.2 10.8 3.6M11.2 8.4H1.2M3.6 10.8 1.2 8.4", solid: "" },
    pattern: "two-lines",
    concern: 0,
    ...BLUE_LINE,
  },
  disputed: {
    word: "Disputed: both ends give",
    short: "BOTH GIVE",
    sign: { stroke: "M.4 6H5M2.6 3.4 5 6 2.6 8.6M11.6 6H7M9.4 3.4 7 6 9.4 8.6", solid: "" },
    pattern: "cross-hatch",
    concern: 2,
    ...ORANGE,
  },
  unclaimed: {
    word: "Unclaimed: both ends take",
    short: "BOTH TAKE",
    sign: { stroke: "M5 6H.8M3 3.4 .6 6 3 8.6M7 6H11.2M9 3.4 11.4 6 9 8.6", solid: "" },
    pattern: "rules",
    concern: 2,
    ...ORANGE,
  },
};

/** What one end of a link makes of what arrives; beside the link's own state. */
export const LINK_END_LOOKS: Readonly<Record<"not-decoded" | "out-of-step" | "converted", StateLook>> = {
  "not-decoded": {
    word: "Arrives, cannot be decoded",
    short: "NO DECODE",
    sign: { stroke: "M1.6 2V10M10.4 2V10M4 4 8 8M8 4 4 8", solid: "" },
    pattern: "cross-hatch",
    concern: 3,
    ...PURPLE,
  },
  "out-of-step": {
    word: "Decodes, out of step",
    short: "SLIDING",
    sign: { stroke: "M.8 3.6H7M5 8.4H11.2M9 1.4 3 10.6", solid: "" },
    pattern: "diagonal",
    concern: 2,
    ...VERMILLION,
  },
  converted: {
    word: "Converted to the receiver's clock",
    short: "CONVERTED",
    sign: { stroke: "M1.2 1.6V10.4M10.8 1.6V10.4M3 6H9M6.8 3.8 9 6 6.8 8.2", solid: "" },
    pattern: "uprights",
    concern: 0,
    ...BLUE_LINE,
  },
};

/**
 * An ethernet cable that is up and carries nothing, so that packets do not go round; and a cable of any kind that nobody
 * has pulled on site, whose sign is a tag hung on it.
 */
export const CABLE_LOOKS: Readonly<Record<"held-back" | "untested", StateLook>> = {
  "held-back": {
    word: "Held back as a spare way",
    short: "HELD",
    sign: { stroke: "M.6 6H4.2M7.8 6H11.4M4.2 2.2V9.8M7.8 2.2V9.8", solid: "" },
    pattern: "baseline",
    concern: 0,
    ...HOLLOW,
  },
  untested: {
    word: "Untested",
    short: "UNTESTED",
    sign: { stroke: "M6 .8 10 4.8V11.2H2V4.8Z", solid: "" },
    pattern: "one-line",
    concern: 0,
    dark: { fill: null, ink: "#c3cf72", outline: "#c3cf72" },
    light: { fill: null, ink: "#566000", outline: "#566000" },
  },
};

/** Who leads a network, over time. */
export type NetworkLookKey = "led" | "led-by-other" | "split" | "leaderless" | "storm";

export const NETWORK_LOOKS: Readonly<Record<NetworkLookKey, StateLook>> = {
  led: {
    word: "One leader",
    short: "LED",
    sign: { stroke: "M6 .8V6M1.4 11.2V6H10.6V11.2M6 6V11.2", solid: "" },
    pattern: "plain",
    concern: 0,
    dark: { fill: "#1d4a69", ink: "#eaf4fb", outline: "#5f9fc9" },
    light: { fill: "#c6dff0", ink: "#0b2a40", outline: "#3a7ba6" },
  },
  "led-by-other": {
    word: "Another leader than at the start",
    short: "OTHER",
    sign: { stroke: "M3 .8V6M9 .8V3.4M1.4 11.2V6H10.6V11.2M6 6V11.2", solid: "" },
    pattern: "top-line",
    concern: 1,
    dark: { fill: "#3f86b0", ink: "#06121a", outline: "#9fcdea" },
    light: { fill: "#5fa5cf", ink: "#05131d", outline: "#25638b" },
  },
  split: {
    word: "Several leaders",
    short: "SEVERAL",
    sign: { stroke: "M2.6 .8V6M9.4 .8V6M.8 11.2V6H4.4V11.2M7.6 11.2V6H11.2V11.2", solid: "" },
    pattern: "diagonal",
    concern: 3,
    ...VERMILLION,
  },
  leaderless: {
    word: "Nobody leads",
    short: "NO LEADER",
    sign: { stroke: "M1.4 11.2V6H10.6V11.2M6 6V11.2M4 1 8 4.4M8 1 4 4.4", solid: "" },
    pattern: "rules",
    concern: 3,
    ...HOLLOW_PURPLE,
  },
  storm: {
    word: "Packets go round without end",
    short: "STORM",
    sign: { stroke: "M10.4 6A4.4 4.4 0 1 1 8.4 2.3M8.6 .4V2.6H6.2", solid: "" },
    pattern: "cross-hatch",
    concern: 3,
    ...PURPLE,
  },
};

/** What a device is in the election of a network: a line below its state. */
export const PORT_ROLE_LOOKS: Readonly<Record<PortRole, StateLook>> = {
  leads: {
    word: "Leads its network",
    short: "LEADS",
    inFile: "leads",
    sign: { stroke: "M6 .8 11.2 6 6 11.2 .8 6Z", solid: "" },
    pattern: "plain",
    concern: 0,
    dark: { fill: "#3a434c", ink: "#f3f5f6", outline: "#d3d8dc" },
    light: { fill: "#dfe2e4", ink: "#10151a", outline: "#4a535c" },
  },
  follows: {
    word: "Follows on its network",
    short: "FOLLOWS",
    inFile: "follows",
    sign: { stroke: "M11.4 6H4M7 2.6 3.6 6 7 9.4M1 1.6V10.4", solid: "" },
    pattern: "one-line",
    concern: 0,
    ...BLUE_LINE,
  },
  passive: {
    word: "Stands aside on its network",
    short: "ASIDE",
    inFile: "passive",
    sign: { stroke: "M2 2V10M5 4.4V7.6M8 4.4V7.6M11 2V10", solid: "" },
    pattern: "two-lines",
    concern: 1,
    ...HOLLOW,
  },
  listening: {
    word: "Listens for a leader",
    short: "LISTENS",
    inFile: "listening",
    sign: { stroke: "M10 1.4C2.6 1.4 2.6 10.6 10 10.6M6.6 6H11", solid: "" },
    pattern: "baseline",
    concern: 1,
    ...HOLLOW,
  },
  "about-to-lead": {
    word: "Waits before it passes time on",
    short: "WAITS",
    inFile: "about-to-lead",
    sign: { stroke: "M6 .8 .8 6 6 11.2ZM8.6 2.6V9.4", solid: "" },
    pattern: "uprights",
    concern: 1,
    ...HOLLOW,
  },
  down: {
    word: "Not on its network",
    short: "NOT ON IT",
    inFile: "down",
    sign: { stroke: "M.8 10.8H11.2M3 2.2 9 8.2M9 2.2 3 8.2", solid: "" },
    pattern: "crosses",
    concern: 2,
    ...HOLLOW_PURPLE,
  },
};

export type FeedLookKey = "clean" | "slipping" | "not-carried" | Silence;

export const FEED_LOOKS: Readonly<Record<FeedLookKey, StateLook>> = {
  clean: {
    word: "Clean",
    short: "CLEAN",
    sign: { stroke: "M.8 6C2.4 .6 4.4 .6 6 6S9.6 11.4 11.2 6", solid: "" },
    pattern: "one-line",
    concern: 0,
    ...BLUE_LINE,
  },
  slipping: {
    word: "Clicks",
    short: "CLICKS",
    sign: { stroke: "M.8 10.4H11.2M3 10.4V2M6 10.4V5M9 10.4V2", solid: "" },
    pattern: "comb",
    concern: 2,
    ...VERMILLION,
  },
  "device-down": {
    word: "Silent: a device on the way is down",
    short: "NO DEVICE",
    sign: { stroke: "M1.8 1.8H10.2V10.2H1.8ZM1.8 10.2 10.2 1.8", solid: "" },
    pattern: "back-diagonal",
    concern: 3,
    ...PURPLE,
  },
  "link-down": {
    word: "Silent: a cable on the way is down",
    short: "NO LINK",
    sign: { stroke: "M.4 6H2.6M9.4 6H11.6M3.8 3.8 8.2 8.2M8.2 3.8 3.8 8.2", solid: "" },
    pattern: "crosses",
    concern: 3,
    ...PURPLE,
  },
  muted: {
    word: "Silent: muted",
    short: "MUTED",
    // The rest that musicians write for silence.
    sign: { stroke: "M.8 7.6H11.2", solid: "M3.2 3.8H8.8V7.6H3.2Z" },
    pattern: "rules",
    concern: 3,
    ...PURPLE,
  },
  "finding-rate": {
    word: "Silent: a converter finds its rate",
    short: "FINDS RATE",
    sign: { stroke: "M.8 2.6H3.8L7 6M.8 9.4H3.8L7 6M7 6H11.2", solid: "" },
    pattern: "zigzag",
    concern: 3,
    ...PURPLE,
  },
  "out-of-step": {
    word: "Silent: muted while out of step",
    short: "OUT OF STEP",
    sign: { stroke: "M1.2 4H10.8M1.2 8H10.8M8.8 1 3.2 11", solid: "" },
    pattern: "diagonal",
    concern: 3,
    ...PURPLE,
  },
  "not-carried": {
    word: "Not carried: wrong rate or too many channels",
    short: "NOT CARRIED",
    sign: { stroke: "M.6 6H7M4.6 3.6 7 6 4.6 8.4M9.6 1.2V10.8", solid: "" },
    pattern: "cross-hatch",
    concern: 3,
    ...HOLLOW_PURPLE,
  },
};

/** A device jumped to its source: one dropout on every feed through it. An instant, not a stretch. */
export const REALIGNED_LOOK: StateLook = {
  word: "Re-aligned: one dropout",
  short: "JUMP",
  sign: { stroke: "M.8 9.6H6V2.4H11.2", solid: "" },
  pattern: "plain",
  concern: 2,
  ...VERMILLION,
};

/** "On its own clock (free-run)": the word with the file's word in brackets, where the two differ. */
export function longWord({ word, inFile }: StateLook): string {
  return inFile === undefined ? word : `${word} (${inFile})`;
}

/** Every row under a name of its own, for legends, style sheets and tests. */
export const ALL_LOOKS: readonly { readonly key: string; readonly group: string; readonly look: StateLook }[] = [
  ...rowsOf("device", "Devices", DEVICE_LOOKS),
  ...rowsOf("beside", "Devices", DEVICE_TROUBLE_LOOKS),
  ...rowsOf("link", "Links", LINK_LOOKS),
  ...rowsOf("clock", "Links", LINK_CLOCK_LOOKS),
  ...rowsOf("end", "Links", LINK_END_LOOKS),
  ...rowsOf("cable", "Links", CABLE_LOOKS),
  ...rowsOf("network", "Networks", NETWORK_LOOKS),
  ...rowsOf("role", "Networks", PORT_ROLE_LOOKS),
  ...rowsOf("feed", "Feeds", FEED_LOOKS),
  { key: "mark-realigned", group: "Feeds", look: REALIGNED_LOOK },
];

function rowsOf(prefix: string, group: string, looks: Readonly<Record<string, StateLook>>) {
  return Object.entries(looks).map(([state, look]) => ({ key: `${prefix}-${state}`, group, look }));
}
