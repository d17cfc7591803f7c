/** What keys and buttons do to the look at the show, one function each. */

import { changesOf } from "../../sim/lanes/lane.ts";
import { isTold } from "../../sim/tell/event-words.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import { type Look, panned, showing, zoomed } from "../store.ts";
import { betweenWords } from "./between.ts";
import { changesOfAll, nearestChange } from "./changes.ts";

/** Where the cursor is, as fine as the window asks for. */
export function cursorTime({ cursorSeconds, fromSeconds, toSeconds }: Look): string {
  return fineTime(cursorSeconds, decimalsFor(toSeconds - fromSeconds));
}

/** "From 00:10:00.000 to 00:30:00.000". */
export function windowWords({ fromSeconds, toSeconds }: Look): string {
  const decimals = decimalsFor(toSeconds - fromSeconds);
  return `From ${fineTime(fromSeconds, decimals)} to ${fineTime(toSeconds, decimals)}`;
}

export type Actions = ReturnType<typeof actions>;

/** @param chosenWords what the chosen lane is at the cursor; empty: none is chosen. */
export function actions({ run, lanes, store, announce }: PageContext, chosenWords: () => string) {
  const { lengthSeconds } = store;
  const view = (patch: Partial<Look>) => store.set(patch);
  const atCursor = (look: Look) => {
    const inside = look.cursorSeconds >= look.fromSeconds && look.cursorSeconds <= look.toSeconds;
    return inside ? look.cursorSeconds : (look.fromSeconds + look.toSeconds) / 2;
  };
  const zoom = (factor: number) => () => {
    const look = store.look();
    view(zoomed(look, factor, atCursor(look)));
    sayWindow();
  };
  const decimals = () => decimalsFor(store.look().toSeconds - store.look().fromSeconds);
  const sayWindow = () => announce(windowWords(store.look()));
  const pan = (share: number) => () => {
    view(panned(store.look(), share));
    sayWindow();
  };
  const cursorTo = (cursorSeconds: number, event: number | null = null) => {
    view({ cursorSeconds, event, ...showing(store.look(), cursorSeconds) });
    sayCursor();
  };
  const sayCursor = () => {
    const { cursorSeconds: a, cursorBSeconds: b } = store.look();
    const away = b === null ? "" : `From cursor B: ${betweenWords(a, b, run.plan.sampleRateHz)}.`;
    announce(`${cursorTime(store.look())}. ${away} ${chosenWords()}`);
  };
  const setCursorB = (seconds: number | null) => {
    view({ cursorBSeconds: seconds });
    announce(seconds === null ? "Cursor B is taken away" : `Cursor B at ${fineTime(seconds, decimals())}`);
  };
  const nudge = (share: number) => () => {
    const { cursorSeconds, fromSeconds, toSeconds } = store.look();
    cursorTo(Math.min(Math.max(cursorSeconds + (toSeconds - fromSeconds) * share, 0), lengthSeconds));
  };

  let allChanges: readonly number[] | null = null;
  const changesOfAny = () => {
    allChanges ??= changesOfAll(lanes.all);
    return allChanges;
  };
  const changesOfChosen = () => {
    const { lane } = store.look();
    const chosen = lanes.all.find(({ key }) => key === lane);
    return chosen === undefined ? changesOfAny() : changesOf(chosen);
  };
  const change = (changes: () => readonly number[], later: boolean) => () => {
    const next = nearestChange(changes(), store.look().cursorSeconds, later);
    if (next === undefined) announce(later ? "No change after the cursor" : "No change before the cursor");
    else cursorTo(next);
  };
  const event = (later: boolean) => () => {
    const { cursorSeconds } = store.look();
    const events = run.summary.events.map(({ atSeconds }, index) => ({ atSeconds, index }));
    const told = events.filter(({ index }) => isTold(run.plan.events[index]!));
    const found = later
      ? told.find(({ atSeconds }) => atSeconds > cursorSeconds)
      : told.findLast(({ atSeconds }) => atSeconds < cursorSeconds);
    if (found !== undefined) cursorTo(found.atSeconds, found.index);
  };
  const lane = (step: number) => () => {
    const visible = lanes.all;
    const index = visible.findIndex(({ key }) => key === store.look().lane);
    const next = visible[Math.min(Math.max(index + step, 0), visible.length - 1)];
    if (next === undefined) return;
    view({ lane: next.key });
    announce(chosenWords());
  };
  return {
    zoomIn: zoom(0.5),
    zoomOut: zoom(2),
    fit: () => {
      view({ fromSeconds: 0, toSeconds: lengthSeconds });
      sayWindow();
    },
    earlier: pan(-0.25),
    later: pan(0.25),
    toBegin: () => {
      const { fromSeconds, toSeconds } = store.look();
      view({ fromSeconds: 0, toSeconds: toSeconds - fromSeconds });
      sayWindow();
    },
    toEnd: () => {
      const { fromSeconds, toSeconds } = store.look();
      view({ fromSeconds: lengthSeconds - (toSeconds - fromSeconds), toSeconds: lengthSeconds });
      sayWindow();
    },
    cursorEarlier: nudge(-0.01),
    cursorLater: nudge(0.01),
    previousChange: change(changesOfChosen, false),
    nextChange: change(changesOfChosen, true),
    previousChangeOfAny: change(changesOfAny, false),
    nextChangeOfAny: change(changesOfAny, true),
    previousEvent: event(false),
    nextEvent: event(true),
    pageEarlier: pan(-1),
    pageLater: pan(1),
    /** The window, as wide as it is, around an instant. */
    windowAround: (seconds: number) => {
      const { fromSeconds, toSeconds } = store.look();
      const half = (toSeconds - fromSeconds) / 2;
      view({ fromSeconds: seconds - half, toSeconds: seconds + half });
      sayWindow();
    },
    /** To where somebody pointed. */
    placeCursor: (patch: Partial<Look>) => {
      view(patch);
      sayCursor();
    },
    setCursorB,
    setCursorBHere: () => setCursorB(store.look().cursorSeconds),
    swapCursors: () => {
      const { cursorSeconds, cursorBSeconds } = store.look();
      if (cursorBSeconds === null) return;
      view({ cursorBSeconds: cursorSeconds });
      cursorTo(cursorBSeconds);
    },
    zoomBetween: () => {
      const { cursorSeconds, cursorBSeconds } = store.look();
      if (cursorBSeconds === null || cursorBSeconds === cursorSeconds) return;
      const [from, to] = [Math.min(cursorSeconds, cursorBSeconds), Math.max(cursorSeconds, cursorBSeconds)];
      const margin = (to - from) / 8;
      view({ fromSeconds: from - margin, toSeconds: to + margin });
      sayWindow();
    },
    laneAbove: lane(-1),
    laneBelow: lane(1),
    zoomToStretch: () => {
      const { lane, cursorSeconds } = store.look();
      const stretches = lanes.all.find(({ key }) => key === lane)?.stretches ?? [];
      const stretch = stretches.findLast(({ fromSeconds }) => fromSeconds <= cursorSeconds);
      if (stretch === undefined) return;
      const margin = (stretch.toSeconds - stretch.fromSeconds) / 8;
      view({ fromSeconds: stretch.fromSeconds - margin, toSeconds: stretch.toSeconds + margin });
      sayWindow();
    },
    leave: () => {
      view({ fromSeconds: 0, toSeconds: lengthSeconds, lane: null, event: null });
      sayWindow();
    },
  };
}
