/** The lessons in the rehearsal room: their texts out of the page, their runs by its engine. */
import { formatIssues } from "../../shared/issues.ts";
import type { Lesson } from "../../shared/lesson.ts";
import { readLesson } from "../../shared/lesson.ts";
import type { PageContext, PagePart, Room } from "../page.ts";
import { shipped } from "../room/shipped.ts";
import { runOf } from "../run.ts";
import { type LessonsPart, lessonsPart } from "./lessons.ts";

const FILES = import.meta.glob<string>("../../scenarios/lessons/*.lesson.json", {
  query: "?raw",
  import: "default",
  eager: true,
});

/** In the order of their file names. Throws where one of ours is wrong. */
export function shippedLessons(): readonly Lesson[] {
  return Object.entries(FILES)
    .sort(([one], [other]) => (one < other ? -1 : 1))
    .map(([path, text]) => {
      const { lesson, issues } = readLesson(path, new TextEncoder().encode(text));
      if (lesson === null) throw new Error(formatIssues(issues).join("\n"));
      return lesson;
    });
}

/** On the root of the page while a learner predicts: the style sheet hides all but the lesson. */
const ASKS = "lesson-asks";

/** A part that stays the same through all runs. */
export function lessonsIn(room: Room, storage: () => Storage): PagePart {
  let drawn: PageContext | null = null;
  let made: LessonsPart | null = null;
  // Reading them all takes its time, and nobody waits for them.
  const make = () =>
    lessonsPart({
      lessons: shippedLessons(),
      storage,
      async rehearse(scenario) {
        const engine = room.newEngine();
        const outcome = await engine.rehearse(shipped(scenario)).promise;
        engine.close();
        if (outcome.is === "done") return runOf(outcome.data);
        if (outcome.is === "issues") throw new Error(formatIssues(outcome.issues)[0]);
        throw new Error(outcome.is === "failed" ? outcome.problem : "it was ended");
      },
      async open(scenario) {
        const problem = await room.open(shipped(scenario));
        if (problem !== null || drawn === null) throw new Error(problem ?? "nothing is drawn");
        return drawn;
      },
      show(isShown) {
        document.documentElement.classList.toggle(ASKS, !isShown);
        // Views that were hidden could not measure themselves.
        if (isShown) dispatchEvent(new Event("resize"));
      },
    });
  return (context) => {
    drawn = context;
    made ??= make();
    made.drawn(context);
    return made.element;
  };
}
