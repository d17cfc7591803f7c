/** What each listener heard: first in words, then in numbers. */
import type { FeedSummary, LatencySummary } from "../../shared/summary.ts";
import { milliseconds, samples } from "../../sim/tell/heard.ts";
import { duration, grouped, showTime } from "../../sim/tell/words.ts";
import { foldedIfLong, h, name, part, table } from "../dom.ts";
import type { Run } from "../run.ts";
import { latencyFold } from "./latency.ts";
import { ridesOutFold } from "./rides-out.ts";

export function heardPart(run: Run): HTMLElement {
  const { summary, telling } = run;
  if (summary.feeds.length === 0)
    return part(
      "heard",
      "What was heard",
      h("p", { class: "none" }, "This rig has no feeds, so the run cannot say what anybody hears."),
    );
  return part(
    "heard",
    "What was heard",
    h(
      "dl",
      { class: "heard" },
      ...telling.heard.map(({ who, text }) => h("div", {}, h("dt", {}, name(who)), h("dd", {}, text))),
    ),
    beforeReturn(telling.beforeReturn),
    ...telling.converters.map((text) => h("p", {}, text)),
    ridesOutFold(run),
    foldedIfLong(
      summary.feeds.length,
      "feeds",
      table(
        "Outcome per feed",
        [
          { head: "Feed" },
          { head: "Slips", kind: "number" },
          { head: "Dropped, repeated", kind: "number" },
          { head: "Silent", kind: "number" },
          { head: "of it, device down", kind: "number" },
          { head: "of it, clock", kind: "number" },
          { head: "Longest silence", kind: "number" },
          { head: "Dropouts in the fault, on return", kind: "number" },
          { head: "First heard", kind: "number" },
          { head: "Clean again", kind: "number" },
          { head: "Delay through, by the spare", kind: "number" },
          { head: "To know" },
        ],
        summary.feeds.map(row),
      ),
    ),
    latencyFold(run),
  );
}

function row(feed: FeedSummary): readonly (Node | string)[] {
  return [
    name(feed.name),
    grouped(feed.slips),
    `${grouped(feed.drops)}, ${grouped(feed.repeats)}`,
    length(feed.silentSeconds),
    length(feed.silentForDeviceDownSeconds),
    length(feed.silentForClockSeconds),
    length(feed.longestSilenceSeconds),
    `${grouped(feed.dropouts.whileFaulty)}, ${grouped(feed.dropouts.onReturn)}`,
    instant(feed.firstAudibleAtSeconds, "never"),
    instant(feed.cleanAgainAtSeconds, feed.slips + feed.silentSeconds === 0 ? "–" : "not by the end"),
    delay(feed.latency),
    [feed.returnsAtFullLevel ? "comes back at full level" : "", feed.mayBeSilent ? "silent or clicking: test it" : ""]
      .filter((text) => text !== "")
      .join("; ") || "–",
  ];
}

/** What to mute before something comes back; null where no return hurts. */
function beforeReturn(lines: readonly string[]): HTMLElement | null {
  const [head, ...rest] = lines;
  if (head === undefined) return null;
  const isStep = (line: string) => /^\d/.test(line);
  return h(
    "div",
    {},
    h("p", {}, h("strong", {}, head)),
    h("ol", {}, ...rest.filter(isStep).map((line) => h("li", {}, line))),
    ...rest.filter((line) => !isStep(line)).map((line) => h("p", {}, line)),
  );
}

/** "31 samples, 0.65 ms; 33". */
function delay({ mainSamples, mainSeconds, spareSamples }: LatencySummary): string {
  const main = `${samples(mainSamples)} samples, ${milliseconds(mainSeconds)}`;
  return spareSamples === null ? main : `${main}; ${samples(spareSamples)}`;
}

function length(seconds: number): string {
  return seconds === 0 ? "0" : duration(seconds);
}

function instant(seconds: number | null, otherwise: string): string {
  return seconds === null ? otherwise : showTime(seconds);
}
