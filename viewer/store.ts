/**
 * What the person at the page looks at: one window on the show, two cursors, one chosen lane and event. Every view
 * reads it from here and none keeps its own, so lanes, rail and curve cannot come apart.
 */

export interface Look {
  /** The window, in seconds of show time. */
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly cursorSeconds: number;
  /** Cursor B, from which the way to the cursor is measured; null: it is not set. */
  readonly cursorBSeconds: number | null;
  /** Key of the chosen lane. */
  readonly lane: string | null;
  /** Index of the chosen event in `Plan.events`. */
  readonly event: number | null;
  /** Index in `Summary.findings` of the finding whose things are shown; null once anything else is chosen. */
  readonly finding: number | null;
}

export type LookListener = (before: Look, isMoving: boolean) => void;

export interface Store {
  readonly lengthSeconds: number;
  look(): Look;
  /** @param isMoving one of many steps that follow at once, as of a hand that drags or of a show that is played */
  set(patch: Partial<Look>, isMoving?: boolean): void;
  /** Called after each change, with the look before it. Returns the way to stop. */
  subscribe(listener: LookListener): () => void;
}

/** Some 50 sample periods at 48 kHz: closer than that, every slip stands alone. */
const SHORTEST_WINDOW_SECONDS = 0.001;

export function createStore(lengthSeconds: number, cursorSeconds: number): Store {
  const listeners = new Set<LookListener>();
  const inShow = (seconds: number) => Math.min(Math.max(seconds, 0), lengthSeconds);
  let look: Look = {
    ...{ fromSeconds: 0, toSeconds: lengthSeconds, cursorSeconds, cursorBSeconds: null },
    ...{ lane: null, event: null, finding: null },
  };
  return {
    lengthSeconds,
    look: () => look,
    set(patch, isMoving = false) {
      const before = look;
      const isElsewhere = patch.lane !== undefined && patch.lane !== look.lane;
      const next = { ...look, ...(isElsewhere && { finding: null }), ...patch };
      look = {
        ...next,
        ...within(lengthSeconds, next.fromSeconds, next.toSeconds),
        cursorSeconds: inShow(next.cursorSeconds),
        cursorBSeconds: next.cursorBSeconds === null ? null : inShow(next.cursorBSeconds),
      };
      const keys = Object.keys(look) as (keyof Look)[];
      if (keys.some((key) => look[key] !== before[key])) for (const listener of listeners) listener(before, isMoving);
    },
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

type Window = Pick<Look, "fromSeconds" | "toSeconds">;

/** The same width where it fits, moved inside the show. */
function within(lengthSeconds: number, fromSeconds: number, toSeconds: number): Window {
  const width = Math.min(
    Math.max(toSeconds - fromSeconds, Math.min(SHORTEST_WINDOW_SECONDS, lengthSeconds)),
    lengthSeconds,
  );
  const from = Math.min(Math.max(fromSeconds, 0), lengthSeconds - width);
  return { fromSeconds: from, toSeconds: width === lengthSeconds ? lengthSeconds : from + width };
}

/** A window `factor` times as wide; what is at `aroundSeconds` stays where it is on the screen. */
export function zoomed({ fromSeconds, toSeconds }: Window, factor: number, aroundSeconds: number): Window {
  return {
    fromSeconds: aroundSeconds - (aroundSeconds - fromSeconds) * factor,
    toSeconds: aroundSeconds + (toSeconds - aroundSeconds) * factor,
  };
}

/** Moved later by this share of its width; earlier where the share is negative. */
export function panned({ fromSeconds, toSeconds }: Window, share: number): Window {
  const by = (toSeconds - fromSeconds) * share;
  return { fromSeconds: fromSeconds + by, toSeconds: toSeconds + by };
}

/** Moved by no more than is needed for the instant to be inside, a tenth of the width from the edge. */
export function showing({ fromSeconds, toSeconds }: Window, seconds: number): Window {
  if (seconds >= fromSeconds && seconds <= toSeconds) return { fromSeconds, toSeconds };
  const width = toSeconds - fromSeconds;
  const from = seconds < fromSeconds ? seconds - width / 10 : seconds - width * 0.9;
  return { fromSeconds: from, toSeconds: from + width };
}
