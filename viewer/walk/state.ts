/** A pull test that is being walked: its answers, where one is, and a stopwatch that runs on over a reload. */
import type { PullResult, PullResults } from "../../shared/scenario-pull-results.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import type { Walk, WalkStep } from "../../sim/walk/steps.ts";

export interface WalkState {
  readonly results: PullResults;
  /** What stands on the screens, by pull; null for a result that came as a file, until somebody goes on with it. */
  readonly steps: readonly WalkStep[] | null;
  /** What no pull of these brings about. */
  readonly undone: readonly string[];
  /** -1: the words of caution before the first pull; as many as there are pulls: the end. */
  readonly at: number;
  readonly isOpen: boolean;
  /** Of the pull where one is: somebody has said that speakers are down and ears are out. */
  readonly isMuted: boolean;
  /** When the stopwatch was started, ms since 1970, since the page may be loaded anew meanwhile; null: it stands. */
  readonly startedMs: number | null;
  readonly isSaved: boolean;
}

export function begun(walk: Walk, files: ScenarioTexts): WalkState {
  const { main, texts } = files;
  return {
    results: {
      format: 1,
      what: "pull test",
      title: walk.title,
      plan: walk.stamp,
      pulls: walk.steps.map(unanswered),
      files: { main, texts: { ...texts } },
    },
    steps: walk.steps,
    undone: walk.undone,
    ...{ at: -1, isOpen: true, isMuted: false, startedMs: null, isSaved: true },
  };
}

function unanswered({ id, does, links, device, supply, soundBack, outSeconds, switches }: WalkStep): PullResult {
  return {
    ...{ id, does, links: [...links], sound: soundBack.is, outSeconds, switches: [...switches] },
    ...(device === null ? {} : { device }),
    ...(supply === undefined ? {} : { supply }),
    ...("seconds" in soundBack ? { expectedSeconds: Math.round(soundBack.seconds * 1000) / 1000 } : {}),
  };
}

/** Another screen: speakers may have come up meanwhile, and a stopwatch of before means nothing there. */
export function wentTo(state: WalkState, at: number): WalkState {
  const inside = Math.min(Math.max(at, -1), state.results.pulls.length);
  return { ...state, at: inside, isMuted: false, startedMs: null };
}

/** Of the pull where one is. */
export function answered(state: WalkState, change: Partial<PullResult>): WalkState {
  const pulls = state.results.pulls.map((pull, place) => {
    if (place !== state.at) return pull;
    const next = { ...pull, ...change };
    // What is taken back is left out of the file.
    for (const key of Object.keys(change) as (keyof PullResult)[]) if (next[key] === undefined) delete next[key];
    return next;
  });
  return { ...state, results: { ...state.results, pulls }, isSaved: false };
}

/** In the order of answers: "3 of 7 pulls gone through". */
export function doneCount({ pulls }: PullResults): number {
  return pulls.filter(({ answer }) => answer !== undefined).length;
}

/** Where somebody goes on: the first pull without an answer, else the first. */
export function firstOpen({ pulls }: PullResults): number {
  return Math.max(
    0,
    pulls.findIndex(({ answer }) => answer === undefined),
  );
}

/** Of the day where the walker is. */
export function dayOf(date: Date): string {
  const two = (number: number) => String(number).padStart(2, "0");
  return `${String(date.getFullYear()).padStart(4, "0")}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
}
