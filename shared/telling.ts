/** A run in words, made by `sim/tell.ts` and printed by the command and the page alike. Plain text, no markup. */
export interface Telling {
  readonly title: string;
  /** Three, for the top of the page: the clock, what is heard, what to do. */
  readonly sentences: readonly string[];
  /** In order of time; one line per stretch, never one per slip. */
  readonly timeline: readonly TimelineLine[];
  /** One line per feed, those nearest the audience first. */
  readonly heard: readonly { readonly who: string; readonly text: string }[];
  /** What to mute before something comes back that hurts, by whom and where: a heading, one line each, what holds for all. */
  readonly beforeReturn: readonly string[];
  /** One line per break of this show's that the rig may ride out: how short it must be, and what a longer one brings. */
  readonly ridesOut: readonly string[];
  /** One line per cable that a sample-rate converter heard: what it hides, and what it costs. */
  readonly converters: readonly string[];
  /** One line per device that was left alone: how long it can go on so, foretold, and what the run did. */
  readonly holdovers: readonly HoldoverLine[];
  /** What the longest row of loops makes of the first clock; null where that is not worth a word. */
  readonly chain: string | null;
  /** Whether the expectations were met, and each that was not. */
  readonly verdict: readonly string[];
  /** The one thing to change, with what a rehearsal of that change found; null where nothing is to be changed. */
  readonly fixFirst: string | null;
  /** Always the same sentence, with the number of assumed numbers. */
  readonly last: string;
}

export interface TimelineLine {
  /** Show time, "hh:mm:ss". */
  readonly at: string;
  readonly text: string;
  /** What the line is about: a thing that happens, who follows whom, or what a listener hears. */
  readonly weight: "event" | "clock" | "heard";
}

export interface HoldoverLine {
  /** Show time of the loss, "hh:mm:ss". */
  readonly at: string;
  readonly text: string;
}
