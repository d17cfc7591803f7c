/** What every view is made from. */
import type { Lanes } from "./lane.ts";
import type { Run } from "./run.ts";
import type { FeedSlips } from "./slips.ts";
import type { Store } from "./store.ts";

export interface PageContext {
  readonly run: Run;
  readonly lanes: Lanes;
  readonly slips: ReadonlyMap<string, FeedSlips>;
  readonly store: Store;
  /** Reads a sentence to those who cannot see the change. */
  announce(text: string): void;
}
