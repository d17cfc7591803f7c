/** What each listener heard: first in words, then in numbers. */
import type { FeedSummary } from "../../shared/summary.ts";
import { duration, grouped, showTime } from "../../sim/tell/words.ts";
import { foldedIfLong, h, name, part, table } from "../dom.ts";
import type { Run } from "../run.ts";

export function heardPart({ summary, telling }: Run): HTMLElement {
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
    ...telling.converters.map((text) => h("p", {}, text)),
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
          { head: "To know" },
        ],
        summary.feeds.map(row),
      ),
    ),
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
    [feed.returnsAtFullLevel ? "comes back at full level" : "", feed.mayBeSilent ? "silent or clicking: test it" : ""]
      .filter((text) => text !== "")
      .join("; ") || "–",
  ];
}

function length(seconds: number): string {
  return seconds === 0 ? "0" : duration(seconds);
}

function instant(seconds: number | null, otherwise: string): string {
  return seconds === null ? otherwise : showTime(seconds);
}
