/** The one documented shape of `pulltest rehearse --json`, and what the page's tables show. Instants: seconds of show time. */
import type { Finding } from "./finding.ts";
import type { Way } from "./plan.ts";
import type { DeviceState, LinkClock, LinkState } from "./record.ts";

export interface Summary {
  readonly schemaVersion: 1;
  readonly scenario: { readonly title: string; readonly sha256: string };
  readonly seed: string;
  readonly runSeconds: number;
  readonly verdict: "met" | "failed" | "none";
  readonly devices: readonly DeviceSummary[];
  readonly links: readonly LinkSummary[];
  readonly feeds: readonly FeedSummary[];
  readonly events: readonly EventSummary[];
  readonly expect: readonly ExpectSummary[];
  readonly findings: readonly Finding[];
  readonly assumed: readonly string[];
  /** Null where no bound exists: a ring. */
  readonly worstErrorSamples: number | null;
}

export interface DeviceStretch {
  readonly state: DeviceState;
  readonly source: string | null;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface DeviceSummary {
  readonly id: string;
  readonly name: string;
  readonly states: readonly DeviceStretch[];
  /** Against nominal, at the end; null when off. */
  readonly offsetPpm: number | null;
}

export interface LinkStretch {
  readonly state: LinkState;
  readonly clock: LinkClock;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface LinkSummary {
  readonly id: string;
  readonly way: Way;
  readonly states: readonly LinkStretch[];
}

export const SILENCES = ["device-down", "link-down", "muted", "out-of-step"] as const;
export type Silence = (typeof SILENCES)[number];

/** What a feed is over one stretch. `because`: the device or link, in the first hop that holds. */
export interface FeedStretch {
  readonly state: "clean" | "slipping" | "silent" | "not-carried";
  readonly silence: Silence | null;
  readonly because: string | null;
  /** Slips inside a slipping stretch. */
  readonly slips: number;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface FeedSummary {
  readonly id: string;
  readonly name: string;
  readonly heardBy: readonly string[];
  readonly slips: number;
  readonly drops: number;
  readonly repeats: number;
  readonly silentSeconds: number;
  readonly silentForDeviceDownSeconds: number;
  readonly silentForClockSeconds: number;
  readonly longestSilenceSeconds: number;
  readonly dropouts: { readonly whileFaulty: number; readonly onReturn: number };
  readonly firstAudibleAtSeconds: number | null;
  readonly cleanAgainAtSeconds: number | null;
  readonly returnsAtFullLevel: boolean;
  readonly mayBeSilent: boolean;
  readonly states: readonly FeedStretch[];
  /** Instants at which a device on the way re-aligned: a dropout each. */
  readonly realignedAtSeconds: readonly number[];
}

export interface EventSummary {
  readonly atSeconds: number;
  readonly do: string;
  /** What it happens to, in words of the file: "foh", "main", "stage-left wall". */
  readonly on: string;
  /** True for the second half of a `forSeconds`. */
  readonly undoes: boolean;
}

export interface ExpectSummary {
  /** The expectation in words. */
  readonly expected: string;
  readonly met: boolean;
  /** What the run found, in words. */
  readonly found: string;
}
