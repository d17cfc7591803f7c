/**
 * Slips of each feed: how many by any instant, in closed form, and each single instant where few enough lie in the
 * window. A run of days may hold millions; nothing here grows with them.
 */
import { type Ns, nsFromSeconds, secondsFromNs } from "../shared/time.ts";
import { type Heard, slipsHeard } from "../sim/hear.ts";
import { countBy, slipInstants } from "../sim/slips.ts";
import type { Run } from "./run.ts";

export interface FeedSlips {
  readonly total: number;
  /** Slips up to and with this instant. */
  countBy(seconds: number): number;
  /** Each instant in the window, sorted; null where there are more than `atMost`. */
  instants(fromSeconds: number, toSeconds: number, atMost: number): readonly number[] | null;
}

export function slipsOf({ plan, record }: Run): ReadonlyMap<string, FeedSlips> {
  return new Map([...slipsHeard(plan, record)].map(([feed, heard]) => [feed, feedSlips(heard)]));
}

function feedSlips(heard: readonly Heard[]): FeedSlips {
  const countUpTo = (at: Ns) => heard.reduce((sum, part) => sum + countInPart(part, at), 0);
  return {
    total: heard.reduce((sum, { count }) => sum + count, 0),
    countBy: (seconds) => countUpTo(nsFromSeconds(seconds)),
    instants(fromSeconds, toSeconds, atMost) {
      const [fromNs, toNs] = [nsFromSeconds(fromSeconds), nsFromSeconds(toSeconds)];
      if (countUpTo(toNs) - countUpTo((fromNs - 1) as Ns) > atMost) return null;
      const found = heard.flatMap((part) => {
        const [from, to] = [Math.max(fromNs, part.fromNs) as Ns, Math.min(toNs, part.toNs) as Ns];
        return from > to ? [] : slipInstants(part.train, from, to).map(secondsFromNs);
      });
      return found.sort((one, other) => one - other);
    },
  };
}

/** A part begins and ends with a slip; before it the train may have slipped on a link that did not carry the feed. */
function countInPart({ train, fromNs, toNs, count }: Heard, at: Ns): number {
  if (at < fromNs) return 0;
  if (at >= toNs) return count;
  return Math.min(countBy(train, at) - countBy(train, (fromNs - 1) as Ns), count);
}

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** More single slips in the window than this are drawn as one value per pixel border. */
const SINGLE_STEPS = 1500;

/**
 * The curve in the window: a step at each slip, or, where there are too many, its value at every pixel border. It only
 * rises, so the two values of a pixel column are its least and its greatest: nothing that shows is left out.
 */
export function curvePoints(
  slips: FeedSlips,
  fromSeconds: number,
  toSeconds: number,
  widthPixels: number,
): { readonly points: Point[]; readonly isStepped: boolean } {
  const instants = slips.instants(fromSeconds, toSeconds, Math.max(SINGLE_STEPS, widthPixels));
  const end = { x: toSeconds, y: slips.countBy(toSeconds) };
  if (instants !== null) {
    const before = end.y - instants.length;
    const steps = instants.map((x, index) => ({ x, y: before + index + 1 }));
    return { points: [{ x: fromSeconds, y: before }, ...steps, end], isStepped: true };
  }
  const columns = Math.max(2, Math.ceil(widthPixels));
  const points = Array.from({ length: columns + 1 }, (_, column) => {
    const x = fromSeconds + ((toSeconds - fromSeconds) * column) / columns;
    return { x, y: slips.countBy(x) };
  });
  return { points, isStepped: false };
}
