/** Where lanes change: the next instant from here, and what is told of changes as a cursor passes them. */
import { stretchAt } from "../follow.ts";
import { changesOf, type Lane } from "../lane.ts";
import { fineTime } from "../show-time.ts";

/** Of sorted instants the nearest later or earlier one; undefined: there is none. */
export function nearestChange(instants: readonly number[], seconds: number, later: boolean): number | undefined {
  return later ? instants.find((at) => at > seconds) : instants.findLast((at) => at < seconds);
}

/** Every instant at which any of them changes, sorted, once each. */
export function changesOfAll(lanes: readonly Lane[]): readonly number[] {
  return [...new Set(lanes.flatMap(changesOf))].sort((one, other) => one - other);
}

export interface Change {
  readonly atSeconds: number;
  readonly lane: Lane;
  readonly says: string;
  readonly concern: number;
}

/** Every change of every lane in words, sorted by instant. How the show begins is none. */
export function toldChanges(lanes: readonly Lane[]): readonly Change[] {
  const changes = lanes.flatMap((lane): Change[] => [
    ...[lane.stretches, ...lane.lines].flatMap((line) =>
      line.map(({ fromSeconds, says, look }) => told(lane, fromSeconds, says, look.concern)),
    ),
    ...lane.strips.flatMap(({ fromSeconds, toSeconds, says, look }) => [
      told(lane, fromSeconds, says, look.concern),
      // It ends in what the lane is by then.
      told(lane, toSeconds, stretchAt(lane.stretches, toSeconds)?.says ?? "", 0),
    ]),
    ...lane.marks.map(({ atSeconds, says, look }) => told(lane, atSeconds, says, look.concern)),
  ]);
  return changes
    .filter(({ atSeconds, says }) => atSeconds > 0 && says !== "")
    .sort((one, other) => one.atSeconds - other.atSeconds);
}

function told(lane: Lane, atSeconds: number, says: string, concern: number): Change {
  return { atSeconds, lane, says, concern };
}

/** Later than the first instant, up to and with the second. */
export function changesWithin(changes: readonly Change[], fromSeconds: number, toSeconds: number): readonly Change[] {
  const first = firstLater(changes, fromSeconds);
  return changes.slice(first, firstLater(changes, toSeconds));
}

function firstLater(changes: readonly Change[], seconds: number): number {
  let [low, high] = [0, changes.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (changes[middle]!.atSeconds <= seconds) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** More than this nobody takes in while the show runs on. */
const TOLD_MAX = 3;

/** What matters most of them, in their order, and how many more there were. */
export function passedWords(changes: readonly Change[]): string {
  const most = changes.toSorted((one, other) => other.concern - one.concern).slice(0, TOLD_MAX);
  const told = changes
    .filter((change) => most.includes(change))
    .map(({ atSeconds, lane, says }) => `${fineTime(atSeconds, 3)} ${lane.name}: ${says}.`);
  const more = changes.length - told.length;
  return [...told, ...(more === 0 ? [] : [`And ${more} more.`])].join(" ");
}
