/** Where lanes change: the next instant from here, and what is told of changes as a cursor passes them. */
import { firstLater, stretchAt } from "../../sim/lanes/follow.ts";
import { changesOf, type Lane } from "../../sim/lanes/lane.ts";
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

/**
 * Changes of these lanes later than the first instant, up to and with the second, in words and in no order. How the show
 * begins is none. Looked up lane by lane, so what lies elsewhere costs nothing: a large rig changes a hundred thousand
 * times.
 */
export function changesWithin(lanes: readonly Lane[], fromSeconds: number, toSeconds: number): readonly Change[] {
  const found: Change[] = [];
  const put = (lane: Lane, atSeconds: number, says: string, concern: number) => {
    if (atSeconds > fromSeconds && atSeconds <= toSeconds && atSeconds > 0 && says !== "")
      found.push({ atSeconds, lane, says, concern });
  };
  for (const lane of lanes) {
    for (const line of [lane.stretches, ...lane.lines])
      for (let place = firstLater(line, fromSeconds); place < line.length; place++) {
        const { fromSeconds: at, says, look } = line[place]!;
        if (at > toSeconds) break;
        put(lane, at, says, look.concern);
      }
    for (const strip of lane.strips) {
      put(lane, strip.fromSeconds, strip.says, strip.look.concern);
      // It ends in what the lane is by then.
      if (strip.toSeconds > fromSeconds && strip.toSeconds <= toSeconds)
        put(lane, strip.toSeconds, stretchAt(lane.stretches, strip.toSeconds)?.says ?? "", 0);
    }
    for (const { atSeconds, says, look } of lane.marks) put(lane, atSeconds, says, look.concern);
  }
  return found;
}

/** More than this nobody takes in while the show runs on. */
const TOLD_MAX = 3;

/** What matters most of them, by instant, and how many more there were. */
export function passedWords(changes: readonly Change[]): string {
  const most: Change[] = [];
  for (const change of changes) {
    const place = most.findIndex((other) => mattersMore(change, other));
    if (place >= 0) most.splice(place, 0, change);
    else most.push(change);
    if (most.length > TOLD_MAX) most.pop();
  }
  const told = most
    .sort((one, other) => one.atSeconds - other.atSeconds)
    .map(({ atSeconds, lane, says }) => `${fineTime(atSeconds, 3)} ${lane.name}: ${says}.`);
  const more = changes.length - told.length;
  return [...told, ...(more === 0 ? [] : [`And ${more} more.`])].join(" ");
}

/** Of equals the earlier. */
function mattersMore(one: Change, other: Change): boolean {
  return one.concern > other.concern || (one.concern === other.concern && one.atSeconds < other.atSeconds);
}
