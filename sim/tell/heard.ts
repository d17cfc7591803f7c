/** What each listener heard over the whole run: one line per feed, with what to do about it. */
import type { FeedPlan } from "../../shared/plan.ts";
import { deviceById } from "../by-id.ts";
import { clicksIn } from "../hearing/clicks.ts";
import { failedBy, MUTE_ORDER, mutePlace } from "../muting.ts";
import { offWords } from "./listeners.ts";
import { luckOf } from "./luck.ts";
import { placeWords } from "./muting.ts";
import type { Told } from "./picture.ts";
import {
  clicksNoun,
  dropoutExtent,
  feedsInOrder,
  gapsWords,
  hasGaps,
  type Piece,
  piecesOf,
  summaryOf,
} from "./pieces.ts";
import { agree, capital, counted, duration, grouped, listed, listener, showTime, theDevice, times } from "./words.ts";

export function heardLines(told: Told): { who: string; text: string }[] {
  return feedsInOrder(told).map((feed) => ({ who: listener(feed, told.plan.feeds).head, text: heardText(told, feed) }));
}

function heardText(told: Told, feed: FeedPlan): string {
  const sentences = troubleSentences(told, feed);
  const isClean = sentences.length === 0;
  const luck = luckOf(told, feed);
  const tail = luck === null ? "." : `; ${luck.hadIt} may cost one dropout.`;
  if (isClean) sentences.push(`clean from beginning to end${luck === null ? "" : " in this run"}${tail}`);
  else if (luck !== null) sentences.push(`The return at ${showTime(luck.at)} is clean here${tail}`);
  if (summaryOf(told, feed)?.mayBeSilent === true) sentences.push("Either silent or clicking: test it.");
  const advice = adviceFor(told, feed);
  if (advice !== null) sentences.push(advice);
  const latency = latencyWords(told, feed);
  if (latency !== null) sentences.push(latency);
  return sentences.map((sentence, index) => (index === 0 ? sentence : capital(sentence))).join(" ");
}

/** The gravest first; empty where the feed is clean throughout. */
function troubleSentences(told: Told, feed: FeedPlan): string[] {
  const pieces = piecesOf(told, feed);
  const of = (kind: Piece["kind"]) => pieces.filter((piece) => piece.kind === kind);
  return [
    silenceWords(told, of("silent"), summaryOf(told, feed)?.returnsAtFullLevel === true),
    notCarriedWords(of("not-carried")),
    clickWords(told, of("clicks")),
    dropoutWords(told, of("dropout")),
  ].flatMap((words) => (words === null ? [] : [`${words}.`]));
}

function silenceWords(told: Told, silences: readonly Piece[], returnsAtFullLevel: boolean): string | null {
  if (silences.length === 0) return null;
  const isBack = silences.some(({ isOpen }) => !isOpen);
  const isFirst = silences.every(({ from, isOpen }) => from === 0 || isOpen);
  const level = returnsAtFullLevel && isBack ? `, then ${isFirst ? "in" : "back"} at full level with no fade` : "";
  if (silences.length <= 2 && silences.some(({ from, isOpen }) => from === 0 || isOpen)) {
    const off = silences.length === 1 ? offWords(told, silences[0]!) : null;
    if (off !== null) return `silent from beginning to end: ${off}`;
    return `silent ${listed(silences.map(whenWords))}${silences.length === 1 ? level : ""}`;
  }
  const longest = silences.reduce((most, { from, to }) => Math.max(most, to - from), 0);
  if (silences.length === 1) return `silent for ${duration(longest)}${level}`;
  const extent = `silent ${times(silences.length)}, ${duration(longest)} at the longest`;
  if (!silences.some(({ isOpen }) => isOpen)) return `${extent}${level}`;
  return `${extent} and still at the end${level === "" ? "" : "; it comes back at full level with no fade"}`;
}

function whenWords({ from, to, isOpen }: Piece): string {
  if (from === 0) return isOpen ? "from beginning to end" : `until ${showTime(to)}`;
  return isOpen ? `from ${showTime(from)} to the end` : `from ${showTime(from)} for ${duration(to - from)}`;
}

function notCarriedWords(pieces: readonly Piece[]): string | null {
  if (pieces.length === 0) return null;
  if (pieces.length > 2) return `not carried ${times(pieces.length)}`;
  return `not carried ${listed(pieces.map(whenWords))}`;
}

function clickWords(told: Told, clicks: readonly Piece[]): string | null {
  const [first] = clicks;
  if (first === undefined) return null;
  if (clicks.length === 1) return clicksNoun(told, first);
  const total = clicks.reduce((sum, { slips }) => sum + slips, 0);
  const last = clicks[clicks.length - 1]!;
  const stretches = clicks.filter(({ before }) => before === undefined).length;
  if (stretches === 1 && clicks.length <= 3) return pacesWords(told, clicks, total);
  const when = last.isOpen
    ? `from ${showTime(first.from)} to the end`
    : `between ${showTime(first.from)} and ${showTime(last.to)}`;
  return `clicks in ${counted(stretches, "stretch", "stretches")} ${when}, ${grouped(total)} in all`;
}

/**
 * "a click every 2.1 s until 00:30:00, then every 0.5 s to the end, 4,319 in all"; three paces without their instants, for
 * so many figures nobody takes in: "a click every 42 s, then every 19 s, then every 12 s. Until 01:14:58, 228 in all".
 */
function pacesWords(told: Told, clicks: readonly Piece[], total: number): string {
  const parts = clicks.map((piece, index) => {
    const part = clicksNoun(told, piece).replace(/, [\d,]+ in all$/, "");
    return index === 0 ? part : `then ${part.replace(/^(a click|clicks) /, "")}`;
  });
  const inAll = `${grouped(total)} in all`;
  if (parts.length < 3) return `${parts.join(", ")}, ${inAll}`;
  const extent = / (until \S+|to the end)$/;
  const end = extent.exec(parts.at(-1) ?? "")?.[1];
  const paces = parts.map((part) => part.replace(extent, "")).join(", ");
  return `${paces}. ${capital(end === undefined ? inAll : `${end}, ${inAll}`)}`;
}

function dropoutWords(told: Told, dropouts: readonly Piece[]): string | null {
  if (dropouts.length === 0) return null;
  const back = dropouts.filter(({ from }) => told.isOnReturn(from)).length;
  const [only] = dropouts;
  if (dropouts.length === 1) {
    const when = back === 1 ? ", on the return" : "";
    if (hasGaps(only!))
      return `${gapsWords(dropouts)} within ${duration(only!.to - only!.from)}, which count as one dropout${when}`;
    const extent = dropoutExtent(only!);
    return extent === "once" ? `one dropout${when}` : `one dropout of ${extent.replace("for ", "")}${when}`;
  }
  const many = counted(dropouts.length, "dropout", "dropouts");
  const when =
    back === 0
      ? ""
      : back === dropouts.length
        ? ", all on a return"
        : `, ${counted(back, "", "").trim()} of them on a return`;
  if (dropouts.some(hasGaps)) {
    const isPart = back > 0 && back < dropouts.length;
    return `${gapsWords(dropouts)}${isPart ? ". They" : ", which"} count as ${many}${when}`;
  }
  const longest = dropouts.reduce((most, { from, to }) => Math.max(most, to - from), 0);
  const length = longest < 0.02 ? "" : ` of up to ${duration(longest)}`;
  return `${many}${length}${when}`;
}

/** Loud returns hurt: who can be turned down where, before the cause is back. */
function adviceFor(told: Told, feed: FeedPlan): string | null {
  const silences = piecesOf(told, feed).filter(({ kind, isOpen }) => kind === "silent" && !isOpen);
  if (summaryOf(told, feed)?.returnsAtFullLevel !== true || silences.length === 0) return null;
  const down = silences.filter(({ silence }) => silence === "device-down").map(({ because }) => because ?? "");
  const device = down.map((id) => deviceById(told.plan, id)).find((found) => found !== undefined);
  const isFirst = silences.every(({ from }) => from === 0);
  const it = device === undefined || isFirst ? "it" : device.kind === "desk" ? "the desk" : theDevice(device);
  const before = `before ${it} ${isFirst ? "comes in" : "is back"}`;
  const failed = new Set([...failedBy(told.plan, told.plan.events), ...down]);
  const advice: string[] = [];
  const speakers = MUTE_ORDER.find((ears) => (ears === "pa" || ears === "wedges") && feed.heardBy.includes(ears));
  if (speakers !== undefined)
    advice.push(`Turn it down at ${placeWords(told.plan, mutePlace(told.plan, failed, feed, speakers))} ${before}.`);
  if (feed.heardBy.some((ears) => ears === "in-ears" || ears === "comms" || ears === "assisted-hearing")) {
    advice.push(`In-ears out of ears ${before}.`);
  }
  return advice.length === 0 ? null : advice.join(" ");
}

/** "it takes 98 samples (2 ms) through; by the spare 102, a jump."; null for a feed without a spare, whose delay nothing changes. */
function latencyWords(told: Told, feed: FeedPlan): string | null {
  const latency = summaryOf(told, feed)?.latency;
  if (latency === undefined || latency.spareSamples === null) return null;
  const [main, spare] = [latency.mainSamples, latency.spareSamples].map(samples) as [string, string];
  const through = `it takes ${main} ${main === "1" ? "sample" : "samples"} (${milliseconds(latency.mainSeconds)}) through`;
  const isJump = Math.abs(latency.spareSamples - latency.mainSamples) >= 1;
  return `${through}; by the spare ${spare === main ? "the same" : spare}${isJump ? ", a jump as it takes over" : ""}.`;
}

/** "5.2" below ten, else whole. */
export function samples(value: number): string {
  return value < 9.95 ? String(Number(value.toFixed(1))) : grouped(Math.round(value));
}

/** In two figures: "0.65 ms". */
export function milliseconds(seconds: number): string {
  return `${Number((seconds * 1000).toPrecision(2))} ms`;
}

/** More clicks than this are not "less" to anybody. */
const HANDFUL = 5;

/** The worst of all listeners, in one or two sentences for the top of the page; null where everyone stays clean. */
export function worstHeard(told: Told): string | null {
  const { feeds } = told.plan;
  const troubled = feedsInOrder(told)
    .map((feed) => {
      const summary = summaryOf(told, feed);
      return {
        feed,
        silentSeconds: summary?.silentSeconds ?? 0,
        clicks: summary === undefined ? 0 : clicksIn(summary),
        sentences: troubleSentences(told, feed),
      };
    })
    .filter(({ sentences }) => sentences.length > 0);
  const worst = [...troubled].sort((one, two) => two.silentSeconds - one.silentSeconds || two.clicks - one.clicks)[0];
  if (worst === undefined) return null;
  const first = `${listener(worst.feed, feeds).head}: ${worst.sentences[0]}`;
  const clicking = troubled.filter(({ feed, clicks }) => feed !== worst.feed && clicks > HANDFUL);
  const clicks = clicking.slice(0, 2).map(({ feed, clicks: count }) => {
    const { mid, plural } = listener(feed, feeds);
    return `${mid} ${agree(plural, "clicks", "click")} ${times(count)}`;
  });
  const said = clicks.length === 0 ? first : `${first} ${capital(listed(clicks))}.`;
  const others = troubled
    .filter((one) => one.feed !== worst.feed && !clicking.slice(0, 2).includes(one))
    .map(({ feed }) => listener(feed, feeds));
  if (others.length === 0) return said;
  const names = [...new Set(others.map(({ mid }) => mid))];
  const isMany = names.length > 1 || others[0]!.plural;
  const who = names.length > 3 ? `${grouped(names.length)} other feeds` : listed(names);
  return `${said} ${capital(who)} ${agree(isMany, "suffers", "suffer")} less.`;
}
