/** What is said at the answer, beside the words of the lesson. */
import type { Lesson } from "../../shared/lesson.ts";
import { h } from "../dom.ts";
import { figureValue, isBorneOut, type Played, type Predicted, wordsOf } from "./figures.ts";

/** What the learner said beside what the run found. */
export function saidWords(lesson: Lesson, predicted: Predicted | null, run: Played): string {
  const { prediction } = lesson;
  const value = figureValue(run, prediction.of);
  const said =
    predicted === null
      ? ""
      : "choice" in predicted
        ? ("choices" in prediction && prediction.choices[predicted.choice]?.text) || ""
        : wordsOf(run, prediction.of, predicted.number);
  if (predicted === null || !isBorneOut(lesson, predicted, value)) return `You said: ${said}. The run says otherwise.`;
  return `You said: ${said}. ${"choices" in prediction ? "So says the run." : "The run is near that."}`;
}

/** What the file leaves open about the feed that was asked about. */
export function doubt({ prediction }: Lesson, { summary }: Played): HTMLElement | string {
  const { of } = prediction;
  const feed = "feed" in of ? summary.feeds.find(({ id }) => id === of.feed) : undefined;
  if (feed?.mayBeSilent !== true) return "";
  return h(
    "p",
    { class: "meta" },
    "Whether a device on the way mutes while it is out of step is not in the file. There may be silence then: test it.",
  );
}
