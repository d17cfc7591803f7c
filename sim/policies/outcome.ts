/** What one policy comes to: folded over several runs that differ only in the instant of the return. */
import { clicksIn } from "../hearing/clicks.ts";
import type { Run, RunHeard } from "../rehearse.ts";
import { pictureAt, ringsIn, toldOf } from "../tell/picture.ts";
import { feedsInOrder } from "../tell/pieces.ts";

/** Over the runs of one policy: where they agree, both are the same. */
export interface Spread {
  readonly least: number;
  readonly most: number;
}

export interface FeedOutcome {
  readonly id: string;
  readonly heardBy: readonly string[];
  readonly dropouts: { readonly whileFaulty: Spread; readonly onReturn: Spread };
  /** Those that are heard. */
  readonly slips: Spread;
  /** A device on the way is off or starting: no clock plan can help. Of the return as it stands in the plan. */
  readonly silentForDeviceDownSeconds: number;
  readonly silentForClockSeconds: Spread;
  /** For a cable, a converter, a wrong rate; of the return as it stands in the plan. */
  readonly silentOtherwiseSeconds: number;
  /** In how many of the runs. */
  readonly returnsAtFullLevel: number;
  /** Where it clicks it may be silent instead: a device on the way is not known to mute or not. */
  readonly mayBeSilent: boolean;
}

/** One clock at the end, with all who are on it; `leader` null: a ring of sources. */
export interface ClockAtEnd {
  readonly leader: string | null;
  readonly followers: readonly string[];
}

export interface Outcome {
  readonly runs: number;
  /** Gravest listeners first. */
  readonly feeds: readonly FeedOutcome[];
  /** Of the return as it stands in the plan: the plan's leaders first, then by id. */
  readonly clocksAtEnd: readonly ClockAtEnd[];
}

/** @param runs the first is that of the plan as it stands */
export function outcomeOf(runs: readonly [Run, ...Run[]]): Outcome {
  const [first] = runs;
  return { runs: runs.length, feeds: feedOutcomes(runs), clocksAtEnd: clocksAtEnd(first) };
}

/** Gravest listeners first. */
export function feedOutcomes(runs: readonly [RunHeard, ...RunHeard[]]): readonly FeedOutcome[] {
  return feedsInOrder(runs[0]).map(({ id, heardBy }): FeedOutcome => {
    const heard = runs.map(({ summary }) => summary.feeds.find((feed) => feed.id === id)!);
    const own = heard[0]!;
    return {
      id,
      heardBy,
      dropouts: {
        whileFaulty: spreadOf(heard.map(({ dropouts }) => dropouts.whileFaulty)),
        onReturn: spreadOf(heard.map(({ dropouts }) => dropouts.onReturn)),
      },
      slips: spreadOf(heard.map(clicksIn)),
      silentForDeviceDownSeconds: own.silentForDeviceDownSeconds,
      silentForClockSeconds: spreadOf(heard.map(({ silentForClockSeconds }) => silentForClockSeconds)),
      silentOtherwiseSeconds:
        own.silentSeconds -
        own.silentForDeviceDownSeconds -
        own.silentForClockSeconds +
        own.states
          .filter(({ state }) => state === "not-carried")
          .reduce((sum, { fromSeconds, toSeconds }) => sum + toSeconds - fromSeconds, 0),
      returnsAtFullLevel: heard.filter(({ returnsAtFullLevel }) => returnsAtFullLevel).length,
      mayBeSilent: heard.some(({ mayBeSilent }) => mayBeSilent),
    };
  });
}

function spreadOf(values: readonly number[]): Spread {
  return { least: Math.min(...values), most: Math.max(...values) };
}

function clocksAtEnd(run: Run): readonly ClockAtEnd[] {
  const picture = pictureAt(toldOf(run), run.summary.runSeconds);
  const standings = [...picture.standings.values()].filter(({ state }) => state !== "off" && state !== "starting");
  const roots = standings.filter(({ upstream }) => upstream === null).map(({ device }) => device.id);
  const rank = (id: string) => {
    const place = run.plan.leaders.indexOf(id);
    return place < 0 ? run.plan.leaders.length : place;
  };
  const led = roots
    .sort((one, two) => rank(one) - rank(two) || (one < two ? -1 : 1))
    .map((leader) => ({
      leader,
      followers: standings
        .filter(({ device, root }) => root?.id === leader && device.id !== leader)
        .map(({ device }) => device.id),
    }));
  const rings = ringsIn(picture).map((ring) => ({ leader: null, followers: ring.map(({ id }) => id) }));
  return [...led, ...rings];
}
