/** The cables of a rig as lines of a picture: which they are, what they are called, and where on the side of a device each ends. */
import { cableOf, isWholeCable } from "../../../shared/lines.ts";
import type { LinkPlan, Plan } from "../../../shared/plan.ts";
import { clockGraph } from "../../../sim/clock-graph.ts";
import { type Layout, type Place, pairKey } from "../../../sim/map/layout.ts";
import { WORD_HEIGHT, WORDS_APART } from "./words-at-lines.ts";

/** Between lines at one side of a device. */
const APART = 13;
/** Between lines that join the same two devices: each may have its word on it, clear of the next. */
const IN_BUNDLE = Math.ceil(WORD_HEIGHT + WORDS_APART);
/** Of the side of a device, above and below its lines together. */
const ROUND_LINES = 12;
/** Of the side of a device with several at one side, between those to one device and those to others together. */
const BETWEEN_BUNDLES = 24;
export interface Wire {
  readonly link: LinkPlan;
  readonly isSpare: boolean;
  /** The end at which the clock comes in; null: nobody takes it from this cable. */
  readonly into: "a" | "b" | null;
  /** Empty: it has none. */
  readonly word: string;
}

export function wiresOf(plan: Plan): readonly Wire[] {
  const graph = clockGraph(plan);
  const takes = new Set(
    plan.devices.flatMap(({ id }) => {
      const heard = graph.used(id)?.heard;
      return heard?.kind === "device" ? [`${heard.link} ${id}`] : [];
    }),
  );
  return plan.links
    .filter(({ stream, a, b }) => stream === undefined && a.device !== b.device)
    .map((link): Wire => {
      const isSpare = plan.spares.some(({ links }) => links.indexOf(link.id) > 0);
      const into = takes.has(`${link.id} ${link.b.device}`)
        ? "b"
        : takes.has(`${link.id} ${link.a.device}`)
          ? "a"
          : null;
      // A line with taps is one cable: its last tap has the name.
      const hasWord = link.line === undefined || isWholeCable(link);
      return { link, isSpare, into, word: hasWord ? `${cableOf(link)}${isSpare ? " (spare)" : ""}` : "" };
    });
}

/** What the side of a device needs for its lines, so that each of those that run beside each other can have its word. */
export function sideNeeded(wires: readonly Wire[]): (id: string) => number {
  const bundled = bundledOf(wires);
  return (id) => {
    const count = bundled.get(id) ?? 0;
    return count === 0 ? 0 : count * IN_BUNDLE + ROUND_LINES + BETWEEN_BUNDLES;
  };
}

/** By device: how many of its cables run beside another one to the same device. */
function bundledOf(wires: readonly Wire[]): ReadonlyMap<string, number> {
  const joined = new Set<string>();
  const counts = new Map<string, number>();
  for (const { link } of wires) {
    const ends = [link.a.device, link.b.device] as const;
    const pair = pairKey(...ends);
    if (joined.has(pair)) for (const id of ends) counts.set(id, (counts.get(id) ?? 0) + 1);
    joined.add(pair);
  }
  return counts;
}

/** By "link end": how far from the middle of its side a line leaves, in the order of what it leads to. */
export function slotsOf({ places }: Layout, wires: readonly Wire[]): ReadonlyMap<string, number> {
  const sides = new Map<string, { readonly key: string; readonly to: string; readonly towards: number }[]>();
  for (const [nth, { link }] of wires.entries()) {
    for (const end of ["a", "b"] as const) {
      const to = link[end === "a" ? "b" : "a"].device;
      const [own, other] = [places.get(link[end].device) as Place, places.get(to) as Place];
      const side = `${link[end].device} ${sideOf(own, other)}`;
      const list = sides.get(side) ?? [];
      list.push({ key: `${link.id} ${end}`, to, towards: other.y + nth * 1e-3 });
      sides.set(side, list);
    }
  }
  const slots = new Map<string, number>();
  for (const [side, list] of sides) {
    const sorted = list.toSorted((one, other) => one.towards - other.towards);
    const isBundled = sorted.map(({ to }, index) => index > 0 && sorted[index - 1]?.to === to);
    const room = (places.get(side.split(" ")[0] as string)?.height ?? 0) - ROUND_LINES;
    const bundled = isBundled.filter((each) => each).length;
    const apart = sorted.length - 1 - bundled;
    // What leads to one device stays parallel, and has words; what leads to several comes apart by itself.
    const inBundle =
      bundled === 0 ? 0 : Math.min(IN_BUNDLE, (room - (apart === 0 ? 0 : BETWEEN_BUNDLES / 2)) / bundled);
    const step = apart === 0 ? 0 : Math.min(APART, Math.max(room - bundled * inBundle, 0) / apart);
    let at = -(bundled * inBundle + apart * step) / 2;
    for (const [index, { key }] of sorted.entries()) {
      if (index > 0) at += isBundled[index] === true ? inBundle : step;
      slots.set(key, at);
    }
  }
  return slots;
}

/** Two in one column are joined round their right side. */
export function sideOf(own: Place, other: Place): 1 | -1 {
  return other.x < own.x - 1 ? -1 : 1;
}

/** How many lines end at each device. */
export function endCounts(wires: readonly Wire[]): ReadonlyMap<string, number> {
  const counts = new Map<string, number>();
  for (const { link } of wires)
    for (const { device } of [link.a, link.b]) counts.set(device, (counts.get(device) ?? 0) + 1);
  return counts;
}
