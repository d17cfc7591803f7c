/** What every view is made from. */

import type { Lanes } from "../sim/lanes/lane.ts";
import type { ScenarioTexts } from "../sim/run-data.ts";
import type { Engine } from "./engine/client.ts";
import type { Changed } from "./room/changed.ts";
import type { Workspace } from "./room/workspace.ts";
import type { Run } from "./run.ts";
import type { FeedSlips } from "./slips.ts";
import type { Store } from "./store.ts";
import type { Curve } from "./views/curve.ts";

export interface PageContext {
  readonly run: Run;
  readonly lanes: Lanes;
  readonly slips: ReadonlyMap<string, FeedSlips>;
  readonly store: Store;
  readonly room: Room;
  /** Reads a sentence to those who cannot see the change. */
  announce(text: string): void;
  /**
   * Calls back once the rest of the page is there, at once where it is; never where another run is drawn by then. What
   * it listens with goes with this drawing.
   */
  whenWhole(act: (whole: Whole) => void): void;
}

/** Of the rest of the page: what that which is there before it takes from it. */
export interface Whole {
  curveView(context: PageContext): Curve;
  /** Ends the charts that are drawn in it. */
  letGo(element: Element): void;
}

/**
 * A part of the page, drawn anew for every run; null: this run has nothing for it. One that gives the same element
 * again stays where it is, with all that people have typed into it.
 */
export type PagePart = (context: PageContext) => HTMLElement | null;

/** Where people change what is rehearsed. It outlives the runs. */
export interface Room {
  /** The texts that are worked on. Whatever changes them is rehearsed and drawn. */
  readonly workspace: Workspace;
  /**
   * Opens other files in their place, as if people had picked them. Null once their run is on the page; else why it is
   * not.
   */
  open(files: ScenarioTexts): Promise<string | null>;
  /** Changes the scenario's text and says so: `what` goes on from "Undo: ". A text that cannot be changed is told. */
  edit(what: string, change: (text: string) => string): void;
  /** Changes any of the texts as one step. Returns why it could not, for whoever asked to tell; null: it is done. */
  editFiles(what: string, change: (files: ScenarioTexts) => ScenarioTexts): string | null;
  /** What differs from the plan that was opened, or from another one. */
  readonly changed: Changed;
  /** An engine beside the one that plays what is worked on: to compare, to try. Close it. */
  newEngine(): Engine;
}

/** Of the window: it is something else that the plan is compared with. */
export const BASE_CHANGED = "pulltest-base-changed";
