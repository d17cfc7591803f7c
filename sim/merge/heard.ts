/** What the listeners of two plans hear, alone and joined in each way, as planned and when a former leader reboots. */
import type { Plan } from "../../shared/plan.ts";
import type { ExpectSummary } from "../../shared/summary.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { type FeedOutcome, feedOutcomes } from "../policies/outcome.ts";
import { type RunHeard, rehearse, rehearseToHear } from "../rehearse.ts";
import { heardUnder } from "../tell/policies.ts";
import { grouped, showTime } from "../tell/words.ts";
import { fileOf } from "./file.ts";
import type { Draft } from "./union.ts";

/** A fault that is tried beside the events of both plans; `device` null: none. */
export interface Case {
  readonly id: string;
  /** In the joined file. */
  readonly device: string | null;
  readonly atSeconds: number | null;
}

/** One feed in one case. */
export interface Heard {
  readonly feed: string;
  readonly heardBy: readonly string[];
  readonly clicks: number;
  /** On failures and on returns: which is which hangs on all faults of a rig, and a joined rig has those of both. */
  readonly dropouts: number;
  readonly silentForDeviceDownSeconds: number;
  readonly silentForClockSeconds: number;
  readonly silentOtherwiseSeconds: number;
  readonly returnsAtFullLevel: boolean;
  readonly mayBeSilent: boolean;
  /** "26 clicks; 1 dropout", or "clean". */
  readonly words: string;
}

/** Shorter quiet than this is no time to try a reboot in. */
const QUIET_SECONDS_MIN = 3;

/**
 * As planned; then each former leader reboots, a third into the longest time in which nothing else happens: there is
 * the most room for what comes of it.
 */
export function casesFor(plan: Plan, leaders: readonly string[]): readonly Case[] {
  const planned: Case = { id: "as-planned", device: null, atSeconds: null };
  const instants = [0, ...plan.events.map(({ atNs }) => secondsFromNs(atNs)), secondsFromNs(plan.lengthNs)];
  let [from, longest] = [0, 0];
  instants.slice(1).forEach((to, index) => {
    const begin = instants[index] as number;
    if (to - begin > longest) [from, longest] = [begin, to - begin];
  });
  if (longest < QUIET_SECONDS_MIN) return [planned];
  const atSeconds = Math.ceil(from + longest / 3);
  return [planned, ...[...new Set(leaders)].map((device) => ({ id: `reboot-${device}`, device, atSeconds }))];
}

export interface Played {
  /** By case, then by feed, the gravest listeners first. */
  readonly heard: readonly (readonly Heard[])[];
  /** Expectations that are missed in the first case, in which nothing is added. */
  readonly missed: readonly ExpectSummary[];
}

/** @param plan what `draft` reads as; a device that is not in it reboots nowhere */
export function playedIn(draft: Draft, plan: Plan, cases: readonly Case[]): Played {
  const planned = rehearse(plan);
  const heard = cases.map(({ device, atSeconds }) => {
    const isHere = plan.devices.some(({ id }) => id === device);
    if (!isHere || atSeconds === null) return heardIn(planned);
    const rebooted = fileOf(draft, [{ at: showTime(atSeconds), do: "reboot", device }]).plan;
    if (rebooted === null) throw new Error(`a file reads, and with a reboot of ${device} it does not`);
    return heardIn(rehearseToHear(rebooted));
  });
  return { heard, missed: planned.summary.expect.filter(({ met }) => !met) };
}

function heardIn(run: RunHeard): readonly Heard[] {
  return feedOutcomes([run]).map((feed) => {
    const clicks = feed.slips.most;
    const dropouts = feed.dropouts.whileFaulty.most + feed.dropouts.onReturn.most;
    return {
      ...{ feed: feed.id, heardBy: feed.heardBy, clicks, dropouts },
      silentForDeviceDownSeconds: feed.silentForDeviceDownSeconds,
      silentForClockSeconds: feed.silentForClockSeconds.most,
      silentOtherwiseSeconds: feed.silentOtherwiseSeconds,
      returnsAtFullLevel: feed.returnsAtFullLevel > 0,
      mayBeSilent: feed.mayBeSilent,
      words: heardWords(feed, clicks, dropouts),
    };
  });
}

const NONE = { least: 0, most: 0 };

function heardWords(feed: FeedOutcome, clicks: number, dropouts: number): string {
  const silencesAndClicks = heardUnder(
    { ...feed, dropouts: { whileFaulty: NONE, onReturn: NONE }, returnsAtFullLevel: 0, mayBeSilent: false },
    1,
  ).flatMap(({ kind, text }) => (kind === "clean" ? [] : [text]));
  const all = [
    ...silencesAndClicks,
    ...(dropouts === 0 ? [] : [`${grouped(dropouts)} ${dropouts === 1 ? "dropout" : "dropouts"}`]),
    ...(feed.returnsAtFullLevel > 0 ? ["back at full level"] : []),
    ...(feed.mayBeSilent && clicks + dropouts > 0 ? ["either silent or clicking: test it"] : []),
  ];
  return all.length === 0 ? "clean" : all.join("; ");
}
