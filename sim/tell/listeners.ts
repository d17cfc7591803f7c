/** What the listeners hear, in sentences: silence with its reason, dropouts, clicks, the return, and who hears nothing. */
import type { DevicePlan, EventPlan } from "../../shared/plan.ts";
import { deviceById } from "../by-id.ts";
import { thisDevice } from "./events.ts";
import { mixOf, statesOf, type Told } from "./picture.ts";
import {
  clicksNoun,
  clicksPhrase,
  dropoutExtent,
  feedsInOrder,
  gapOf,
  gapsWords,
  hasGaps,
  ONE_DROPOUT_SECONDS,
  type Piece,
  summaryOf,
} from "./pieces.ts";
import { BEFORE_SECONDS } from "./scenes.ts";
import {
  agree,
  capital,
  counted,
  duration,
  isPlural,
  type Listener,
  listed,
  listener,
  theCableIn,
  theDevice,
  times,
} from "./words.ts";

/** Several listeners as one subject. */
export function together(pieces: readonly Piece[]): Listener {
  const names = [...new Set(pieces.map(({ who }) => who.mid))];
  const plural = names.length > 1 || (pieces[0]?.who.plural ?? false);
  return { head: capital(listed(names)), mid: listed(names), plural };
}

/** "The PA goes silent: its mix is made in this desk, so no clock plan can save it." */
export function silenceSentences(told: Told, pieces: readonly Piece[], events: readonly EventPlan[]): string[] {
  return groupedBy(pieces, (piece) => `${piece.kind} ${piece.from === 0} ${reasonOf(told, piece, events)("its")}`).map(
    (group) => {
      const [first] = group;
      const who = together(group);
      const reason = reasonOf(told, first!, events)(agree(who.plural, "its", "their"));
      const is = agree(who.plural, "is", "are");
      const goes = first!.from === 0 ? `${is} silent` : agree(who.plural, "goes silent", "go silent");
      return `${who.head} ${first!.kind === "not-carried" ? `${is} not carried` : goes}${reason === "" ? "" : `: ${reason}`}.`;
    },
  );
}

/** Devices on the feed's way that are off all through its silence from the start: no other is the reason. */
function offThroughout({ summary, plan }: Told, { feed, from, to }: Piece): readonly DevicePlan[] {
  if (from !== 0) return [];
  return feed.through.flatMap((id) => {
    const states = statesOf(summary, id).filter(({ fromSeconds }) => fromSeconds < to);
    const device = deviceById(plan, id);
    return device !== undefined && states.length > 0 && states.every(({ state }) => state === "off") ? [device] : [];
  });
}

/** "device b is off for the whole show"; null where none is, or the silence ends. */
export function offWords(told: Told, piece: Piece): string | null {
  const off = piece.isOpen ? offThroughout(told, piece) : [];
  if (off.length === 0) return null;
  const plural = off.length > 1 || isPlural(off[0]!.name);
  return `${listed(off.map(theDevice))} ${agree(plural, "is", "are")} off for the whole show`;
}

/** Why a feed is silent, as a clause that takes "its" or "their". */
function reasonOf(told: Told, piece: Piece, events: readonly EventPlan[]): (its: string) => string {
  const { plan } = told;
  const { feed, silence, because, kind, from } = piece;
  const off = kind === "silent" ? offWords(told, piece) : null;
  if (off !== null) return () => off;
  const device = because === null ? undefined : deviceById(plan, because);
  const isNamed = events.some((event) => "device" in event && event.device === because);
  const it = device === undefined ? "a device on its way" : isNamed ? thisDevice(device) : theDevice(device);
  const cableName = because === null || device !== undefined ? "its cable" : theCableIn(plan, because);
  if (kind === "not-carried") return () => `${device === undefined ? cableName : it} cannot carry it`;
  switch (silence) {
    case "device-down": {
      if (device === undefined) return () => `${it} is down`;
      if (from === 0) return () => `${it} is not up yet`;
      const isMix = mixOf(plan, feed) === device && device.kind === "desk";
      return (its) =>
        `${placeOnTheWay(feed.through, device, { its, it, isMix })}, so no clock plan can save ${its === "its" ? "it" : "them"}`;
    }
    case "link-down":
      return () => `nothing comes over ${cableName}`;
    case "muted":
      return () => `${it} mutes`;
    case "finding-rate":
      return () => `the converter in ${it} is finding the rate`;
    case "out-of-step":
      return () => `${it} mutes what is out of step`;
    case null:
      return () => "";
  }
}

function placeOnTheWay(
  through: readonly string[],
  device: DevicePlan,
  { its, it, isMix }: { readonly its: string; readonly it: string; readonly isMix: boolean },
): string {
  const isOne = its === "its";
  if (isMix) return `${isOne ? "its mix is" : "their mixes are"} made in ${it}`;
  const comes = isOne ? "it comes" : "they come";
  if (through[0] === device.id) return `${comes} from ${it}`;
  if (through[through.length - 1] === device.id) return `${comes} out of ${it}`;
  return `${isOne ? "it passes" : "they pass"} through ${it}`;
}

/** "In-ears drop out for 0.8 s.", "The PA has 12 gaps of 0.3 s within 1 min 50 s, …" One sentence for each extent. */
export function dropoutSentences(pieces: readonly Piece[]): string[] {
  const extentOf = (piece: Piece) =>
    hasGaps(piece) ? `${gapsWords([piece])} within ${duration(piece.to - piece.from)}` : dropoutExtent(piece);
  return groupedBy(pieces, extentOf).map((group) => {
    const who = together(group);
    if (hasGaps(group[0]!))
      return `${who.head} ${agree(who.plural, "has", "have")} ${extentOf(group[0]!)}, which count as one dropout.`;
    return `${who.head} ${agree(who.plural, "drops out", "drop out")} ${dropoutExtent(group[0]!)}.`;
  });
}

/** "The PA drops out 12 times." What each listener suffers again and again, counted. */
export function repeatedSentences(pieces: readonly Piece[]): string[] {
  return groupedBy(pieces, ({ feed, kind }) => `${feed.id} ${kind}`).map((group) => {
    const { who, kind } = group[0]!;
    const verbs = {
      dropout: ["drops out", "drop out"],
      silent: ["goes silent", "go silent"],
      "not-carried": ["is not carried", "are not carried"],
    } as const;
    if (kind === "clicks") {
      const slips = group.reduce((sum, piece) => sum + piece.slips, 0);
      return `${capital(who.mid)} ${agree(who.plural, "clicks", "click")} ${times(slips)}.`;
    }
    if (kind === "dropout" && group.some(hasGaps)) {
      const have = agree(who.plural, "has", "have");
      return `${capital(who.mid)} ${have} ${gapsWords(group)}, which count as ${counted(group.length, "dropout", "dropouts")}.`;
    }
    const [one, many] = verbs[kind];
    return `${capital(who.mid)} ${agree(who.plural, one, many)} ${times(group.length)}.`;
  });
}

/** "The PA clicks every 2.6 s until 00:40:00, 1,607 in all." One sentence for each course. */
export function clicksSentences(told: Told, pieces: readonly Piece[]): string[] {
  return groupedBy(pieces, (piece) => `${changeOfPace(piece)} ${clicksNoun(told, piece)}`).map((group) => {
    const who = together(group);
    const change = changeOfPace(group[0]!);
    if (change !== "") {
      const often = clicksNoun(told, group[0]!).replace(/^(a click|clicks) /, "");
      return `For ${who.mid} the clicks come ${change}, ${often}.`;
    }
    return `${who.head} ${clicksPhrase(told, { ...group[0]!, who })}.`;
  });
}

function changeOfPace(piece: Piece): "" | "faster" | "slower" {
  if (piece.before === undefined) return "";
  return gapOf(piece) < gapOf(piece.before) ? "faster" : "slower";
}

/** Clicks that go on this slowly have not stopped. */
const STILL_CLICKING_SECONDS = 300;

/** "For the PA the clicks stop." */
export function stopSentences(pieces: readonly Piece[]): string[] {
  return pieces.length === 0 ? [] : [`For ${together(pieces).mid} the clicks stop.`];
}

/** The last click falls before the scene, and no later than a few of its own gaps; no other follows, and no silence. */
export function stopsIn(scene: { readonly at: number; readonly until: number }, pieces: readonly Piece[]): Piece[] {
  return pieces.filter((piece) => {
    if (piece.kind !== "clicks" || piece.isOpen || piece.slips < 3 || piece.from >= scene.at) return false;
    const gap = gapOf(piece);
    if (piece.to < scene.at - 1.5 * gap - 0.001 || piece.to > scene.until + ONE_DROPOUT_SECONDS) return false;
    return !pieces.some(
      ({ feed, kind, from, to }) =>
        feed.id === piece.feed.id &&
        ((kind === "clicks" && from > piece.from && from - piece.to < Math.max(STILL_CLICKING_SECONDS, 2 * gap)) ||
          (kind !== "clicks" && from <= scene.until + 1 && to > scene.at)),
    );
  });
}

/** "The PA is back after 1 min 17 s, at full level with no fade." One sentence for each length. */
export function backSentences(told: Told, pieces: readonly Piece[]): string[] {
  const levelOf = ({ feed }: Piece) => summaryOf(told, feed)?.returnsAtFullLevel === true;
  const keyOf = (piece: Piece) => `${piece.from === 0} ${duration(piece.to - piece.from)} ${levelOf(piece)}`;
  return groupedBy(pieces, keyOf).map((group) => {
    const [first] = group;
    const who = together(group);
    const level = levelOf(first!) ? " at full level with no fade" : "";
    if (first!.from === 0) return `${who.head} ${agree(who.plural, "comes", "come")} in${level}.`;
    const after = duration(first!.to - first!.from);
    return `${who.head} ${agree(who.plural, "is", "are")} back after ${after}${level === "" ? "" : `,${level}`}.`;
  });
}

/** Who hears nothing new of a scene: "In-ears stay clean.", "No listener hears it."; null where nobody is left to name. */
export function cleanSentence(
  told: Told,
  scene: { readonly at: number; readonly until: number; readonly next: number; readonly nextPrompted: number },
  pieces: readonly Piece[],
  { isHeard, stopped }: { readonly isHeard: boolean; readonly stopped: readonly Piece[] },
): string | null {
  const feeds = feedsInOrder(told);
  if (feeds.length === 0) return null;
  const until = Math.max(scene.until, Math.min(scene.nextPrompted, scene.until + ONE_DROPOUT_SECONDS));
  const isTroubled = (id: string) =>
    stopped.some(({ feed }) => feed.id === id) ||
    pieces.some(
      ({ feed, from, to }) =>
        feed.id === id && ((from < until && to >= scene.at) || (from >= scene.at && from < scene.next)),
    );
  const clean = feeds.filter((feed) => !isTroubled(feed.id));
  if (clean.length === feeds.length) return "No listener hears it.";
  const isAboutToBe = pieces.some(({ from }) => from >= scene.next - BEFORE_SECONDS && from < until);
  if (!isHeard && !isAboutToBe) return "No listener hears a difference.";
  if (clean.length === 0) return null;
  const names = [...new Set(clean.map((feed) => listener(feed, feeds).mid))];
  if (names.length > 3) return "All other listeners stay clean.";
  const plural = names.length > 1 || listener(clean[0]!, feeds).plural;
  return `${capital(listed(names))} ${agree(plural, "stays", "stay")} clean.`;
}

export function groupedBy<T>(items: readonly T[], keyOf: (item: T) => string): T[][] {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [item]);
    else group.push(item);
  }
  return [...groups.values()];
}
