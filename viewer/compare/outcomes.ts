/** What listeners have of two runs, side by side: who is better off in the second, who worse, and in what. */
import type { FeedSummary } from "../../shared/summary.ts";
import { feedById } from "../../sim/by-id.ts";
import { clicksIn } from "../../sim/hearing/clicks.ts";
import { capital, counted, duration, grouped, type Listener, listed, listener } from "../../sim/tell/words.ts";
import type { Run } from "../run.ts";
import { withNamesOf } from "./differences.ts";

export interface Heard {
  readonly clicks: number;
  /** Silent for whatever reason, and not carried at all: to a listener both are nothing. */
  readonly silentSeconds: number;
  readonly dropouts: { readonly whileFaulty: number; readonly onReturn: number };
  readonly returnsAtFullLevel: boolean;
  readonly mayBeSilent: boolean;
}

/** "mixed": better in one thing and worse in another. "alone": only one of the two runs has this feed. */
export type Turn = "better" | "worse" | "mixed" | "same" | "alone";

export interface FeedOutcomes {
  readonly id: string;
  readonly who: Listener;
  readonly first: Heard | null;
  readonly second: Heard | null;
  readonly turn: Turn;
  /** From the first to the second, in words; empty where nothing changed. */
  readonly changes: readonly string[];
}

/** A silence that is longer or shorter by less is one of the same length to those who hear it, and to the words of the page. */
const LEAST_SECONDS = 0.001;

/** Feeds of the first run in its order, then those that only the second one has. */
export function outcomesOf(first: Run, second: Run): readonly FeedOutcomes[] {
  const others = withNamesOf(first, second);
  const ids = [...new Set([...first.summary.feeds, ...others.summary.feeds].map(({ id }) => id))];
  return ids.map((id): FeedOutcomes => {
    const [one, other] = [first, others].map(({ summary }) => summary.feeds.find((feed) => feed.id === id));
    const { plan } = one === undefined ? others : first;
    const feed = feedById(plan, id);
    const name = one?.name ?? other?.name ?? id;
    const who = feed === undefined ? { head: name, mid: name, plural: false } : listener(feed, plan.feeds);
    const [before, after] = [heardOf(one), heardOf(other)];
    if (before === null || after === null) return { id, who, first: before, second: after, turn: "alone", changes: [] };
    const changes = changesOf(before, after);
    const [isBetter, isWorse] = [changes.some(({ by }) => by < 0), changes.some(({ by }) => by > 0)];
    const turn = isBetter && isWorse ? "mixed" : isBetter ? "better" : isWorse ? "worse" : "same";
    return { id, who, first: before, second: after, turn, changes: changes.map(({ says }) => says) };
  });
}

function heardOf(feed: FeedSummary | undefined): Heard | null {
  if (feed === undefined) return null;
  const { dropouts, returnsAtFullLevel, mayBeSilent, silentSeconds, states } = feed;
  const notCarried = states
    .filter(({ state }) => state === "not-carried")
    .reduce((sum, { fromSeconds, toSeconds }) => sum + toSeconds - fromSeconds, 0);
  return {
    clicks: clicksIn(feed),
    silentSeconds: silentSeconds + notCarried,
    dropouts,
    returnsAtFullLevel,
    mayBeSilent,
  };
}

/** `by` below 0: less harm than before; 0: another doubt, neither more nor less. */
interface Change {
  readonly by: number;
  readonly says: string;
}

function changesOf(first: Heard, second: Heard): readonly Change[] {
  const changes: Change[] = [];
  const add = (by: number, says: string) => {
    if (by !== 0) changes.push({ by, says });
  };
  const more = (by: number) => (by > 0 ? "more" : "fewer");
  const count = (by: number, one: string, many: string) => {
    const size = Math.abs(by);
    return `${counted(size, one, many)} ${more(by)}`;
  };
  const silent = second.silentSeconds - first.silentSeconds;
  if (Math.abs(silent) >= LEAST_SECONDS)
    add(silent, `silent ${duration(Math.abs(silent))} ${silent > 0 ? "longer" : "less"}`);
  add(second.clicks - first.clicks, count(second.clicks - first.clicks, "click", "clicks"));
  for (const [key, when] of [
    ["whileFaulty", "while faulty"],
    ["onReturn", "on the return"],
  ] as const) {
    const by = second.dropouts[key] - first.dropouts[key];
    add(by, `${count(by, "dropout", "dropouts")} ${when}`);
  }
  if (second.returnsAtFullLevel !== first.returnsAtFullLevel)
    add(
      second.returnsAtFullLevel ? 1 : -1,
      second.returnsAtFullLevel ? "comes back at full level with no fade" : "no return at full level any more",
    );
  if (second.mayBeSilent !== first.mayBeSilent)
    changes.push({ by: 0, says: second.mayBeSilent ? "either silent or clicking: test it" : "no longer in doubt" });
  return changes;
}

/** What a feed is in one run, for a cell: "silent 0.3 s, one dropout while faulty". */
export function heardPieces(heard: Heard): readonly string[] {
  const { clicks, silentSeconds, dropouts, returnsAtFullLevel, mayBeSilent } = heard;
  const pieces = [
    silentSeconds > 0 ? `silent ${duration(silentSeconds)}` : "",
    clicks > 0 ? `${grouped(clicks)} ${clicks === 1 ? "click" : "clicks"}` : "",
    dropouts.whileFaulty > 0 ? `${counted(dropouts.whileFaulty, "dropout", "dropouts")} while faulty` : "",
    dropouts.onReturn > 0 ? `${counted(dropouts.onReturn, "dropout", "dropouts")} on the return` : "",
    returnsAtFullLevel ? "back at full level with no fade" : "",
    mayBeSilent ? "either silent or clicking: test it" : "",
  ].filter((piece) => piece !== "");
  return pieces.length === 0 ? ["clean"] : pieces;
}

/** "Better for the PA; worse for in-ears; the same for the broadcast." Empty where there are no feeds. */
export function turnsSentence(outcomes: readonly FeedOutcomes[]): string {
  const of = (turn: Turn, words: string) => {
    const whom = [...new Set(outcomes.filter((each) => each.turn === turn).map(({ who }) => who.mid))];
    if (whom.length === 0) return [];
    return [`${words} ${whom.length > 4 ? `${grouped(whom.length)} feeds` : listed(whom)}`];
  };
  const parts = [
    ...of("worse", "worse for"),
    ...of("mixed", "better in one thing and worse in another for"),
    ...of("better", "better for"),
    ...of("same", "the same for"),
    ...of("alone", "in one of the two runs alone:"),
  ];
  return parts.length === 0 ? "" : `${capital(parts.join("; "))}.`;
}
