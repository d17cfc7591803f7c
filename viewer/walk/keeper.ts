/** The pull test that is being walked, kept in this browser where it lets us: a telephone may load the page anew any time. */
import { readPullResults } from "../../shared/scenario-pull-results.ts";
import type { WalkState } from "./state.ts";

const KEY = "pulltest walk";
const FORMAT = 1;

export interface WalkKeeper {
  read(): WalkState | null;
  /** Whether it is kept. */
  keep(state: WalkState | null): boolean;
}

/** @param storage may throw wherever it is touched */
export function walkKeeper(storage: () => Storage): WalkKeeper {
  return {
    read() {
      try {
        const kept = JSON.parse(storage().getItem(KEY) ?? "null") as ({ format?: unknown } & WalkState) | null;
        if (kept?.format !== FORMAT) return null;
        const { results } = readPullResults("kept", new TextEncoder().encode(JSON.stringify(kept.results)));
        // Speakers may have come up since, unless the stopwatch runs.
        return results === null ? null : { ...kept, results, isMuted: kept.startedMs !== null };
      } catch {
        return null;
      }
    },
    keep(state) {
      try {
        if (state === null) storage().removeItem(KEY);
        else storage().setItem(KEY, JSON.stringify({ format: FORMAT, ...state }));
        return true;
      } catch {
        return false;
      }
    },
  };
}
