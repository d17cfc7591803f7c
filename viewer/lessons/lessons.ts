/**
 * The lessons: a list, then one at a time. A learner reads how a rig stands, predicts what a run will find, and only then
 * sees it; what is true is computed from that run. Where a run comes from and where it is shown is for the page to say.
 */
import "./lessons.css";
import type { Lesson, LessonStep } from "../../shared/lesson.ts";
import { counted } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import type { Run } from "../run.ts";
import { doubt, saidWords } from "./answer-words.ts";
import { filled, type Predicted } from "./figures.ts";
import { predictionForm } from "./prediction-form.ts";
import { progressKeeper } from "./progress.ts";
import { type SoundPanel, soundPanel } from "./sound-panel.ts";

export interface LessonsApi {
  readonly lessons: readonly Lesson[];
  /** Plays a scenario, named from the folder of scenarios, aside: nothing of it is shown. Rejects with why not. */
  rehearse(scenario: string): Promise<Run>;
  /** Opens it on the page and is there once its run is drawn. Rejects with why not. */
  open(scenario: string): Promise<PageContext>;
  /** Hides and shows again what the page has besides the lessons. */
  show(isShown: boolean): void;
  storage(): Storage;
}

export interface LessonsPart {
  readonly element: HTMLElement;
  /** To be called with each run that the page draws. */
  drawn(context: PageContext): void;
}

const NOT_ON_PAGE = "What stands on the page is another run: this answer is worked out from one that was played aside.";

/** One lesson that is being taken. */
interface Taken {
  readonly lesson: Lesson;
  /** Played aside. */
  readonly played: Run;
  step: number;
  predicted: Predicted | null;
  /** The run in which the prediction was put to the proof; null: not yet. */
  proof: { readonly run: Run; readonly isOnPage: boolean } | null;
}

export function lessonsPart(api: LessonsApi): LessonsPart {
  const { lessons } = api;
  const progress = progressKeeper(api.storage);
  const matter = h("div", { class: "lesson-place" });
  const list = h("ol", { class: "lesson-list" });
  const fold = h(
    "details",
    { class: "lessons-fold" },
    h("summary", {}, `${capitalCount(lessons.length)}, each with a prediction to make before its run is shown`),
    h("p", { class: "meta" }, "A lesson opens its own scenario in the place of what is on this page."),
    list,
  );
  const element = h(
    "section",
    { id: "lessons", class: "part", "aria-labelledby": "lessons-heading" },
    h("h2", { id: "lessons-heading" }, "Lessons"),
    h("div", { class: "matter" }, fold, matter),
  );
  let context: PageContext | null = null;
  let sound: SoundPanel | null = null;
  /** Counts what is begun, so that what comes late is not shown. */
  let begun = 0;

  const say = (text: string) => context?.announce(text);

  function drawList(): void {
    list.replaceChildren(
      ...lessons.map((lesson) => {
        const kept = progress.of(lesson.id);
        const state = kept === null ? "" : kept.isDone ? "Done" : "Begun";
        const button = h("button", { type: "button" }, lesson.title);
        // The list is made while a run is drawn, and outlives it: what listens in a drawing goes with that.
        button.onclick = () => void begin(lesson);
        return h(
          "li",
          {},
          button,
          h("span", { class: "lesson-state" }, state),
          // What one learns would give the answer away.
          kept?.isDone === true ? h("span", { class: "lesson-learns" }, lesson.learns) : null,
        );
      }),
    );
  }

  function leave(lesson: Lesson | null): void {
    begun += 1;
    sound?.stop();
    sound = null;
    matter.replaceChildren();
    fold.hidden = false;
    api.show(true);
    drawList();
    fold.open = true;
    const at = lesson === null ? 0 : lessons.indexOf(lesson);
    list.querySelectorAll("button")[at]?.focus();
  }

  async function begin(lesson: Lesson): Promise<void> {
    begun += 1;
    const mine = begun;
    fold.hidden = true;
    api.show(false);
    reading(lesson, "Reading the rig.");
    try {
      const played = await api.rehearse(lesson.scenario);
      if (mine !== begun) return;
      const kept = progress.of(lesson.id);
      // Further than the prediction only with a run to look at.
      const step = kept === null || kept.isDone ? 0 : Math.min(kept.step, lesson.before.length);
      draw({ lesson, played, step, predicted: null, proof: null });
    } catch (error) {
      if (mine === begun)
        failed(
          lesson,
          error,
          way("Try again", () => void begin(lesson)),
        );
    }
  }

  function reading(lesson: Lesson, what: string): void {
    matter.replaceChildren(heading(lesson), words(what), buttons(way("All lessons", () => leave(lesson))));
    focusHeading();
  }

  function failed(lesson: Lesson, error: unknown, ...ways: readonly HTMLElement[]): void {
    const why = (error instanceof Error ? error.message : String(error)).replace(/\.$/, "");
    const says = `The scenario ${lesson.scenario} could not be played: ${why}.`;
    matter.replaceChildren(
      heading(lesson),
      h("p", { class: "lesson-text" }, says),
      buttons(
        way("All lessons", () => leave(lesson)),
        ...ways,
      ),
    );
    focusHeading();
    say(says);
  }

  function draw(taken: Taken): void {
    const { lesson } = taken;
    const asks = lesson.before.length;
    const last = asks + 1 + lesson.after.length;
    const { step } = taken;
    sound?.stop();
    sound = null;
    progress.keep(lesson.id, { step, isDone: step === last || progress.of(lesson.id)?.isDone === true });
    const go = (to: number) => () => {
      taken.step = to;
      draw(taken);
    };
    const place = h("p", { class: "lesson-place-in" }, `Step ${step + 1} of ${last + 1}`);
    const back = step === 0 ? null : way("Back", go(step - 1));
    const next = step === last ? null : way("Next", go(step + 1), true);
    const all = way("All lessons", () => leave(lesson));

    if (step < asks) {
      const { text } = lesson.before[step] as LessonStep;
      matter.replaceChildren(
        heading(lesson),
        place,
        words(filled(taken.played, lesson, text)),
        buttons(back, all, next),
      );
    } else if (step === asks) {
      const form = predictionForm(lesson, filled(taken.played, lesson, lesson.prediction.question), {
        predicted: taken.predicted,
        isMade: taken.proof !== null,
        make: (predicted) => void prove(taken, predicted),
      });
      matter.replaceChildren(heading(lesson), place, form, buttons(back, all, taken.proof === null ? null : next));
    } else if (taken.proof !== null) {
      const { run, isOnPage } = taken.proof;
      const isAnswer = step === asks + 1;
      const shown = lesson.after[step - asks - 2];
      const text = isAnswer ? lesson.prediction.told : (shown?.text ?? "");
      const listening = isOnPage ? soundPanel(lesson.sound.feed, say) : null;
      sound = listening;
      matter.replaceChildren(
        heading(lesson),
        place,
        ...(isAnswer ? [h("p", { class: "lesson-said" }, saidWords(lesson, taken.predicted, run))] : []),
        words(filled(run, lesson, text)),
        isAnswer ? doubt(lesson, run) : "",
        isOnPage ? "" : h("p", { class: "meta" }, NOT_ON_PAGE),
        ...(step === last
          ? [h("p", { class: "lesson-learnt" }, lesson.learns), h("p", { class: "meta" }, run.telling.last)]
          : []),
        buttons(back, all, next, step === last ? nextLesson(lesson) : null),
        listening === null
          ? ""
          : h("details", { class: "lesson-sound" }, h("summary", {}, "Listen around the cursor"), listening.element),
      );
      const look = isAnswer ? lesson.answerLook : (shown?.look ?? null);
      if (look !== null && isOnPage) context?.store.set({ ...look, event: null });
      if (context !== null) listening?.drawn(context);
      // A chosen lane comes into sight, and would take the text out of it.
      element.scrollIntoView({ block: "start" });
    }
    focusHeading();
    say(matter.querySelector(".lesson-said, .lesson-text")?.textContent ?? "");
  }

  async function prove(taken: Taken, predicted: Predicted): Promise<void> {
    begun += 1;
    const mine = begun;
    taken.predicted = predicted;
    say("Playing.");
    const button = matter.querySelector(".lesson-form > button");
    if (button !== null) button.replaceWith(h("p", {}, "Playing."));
    else reading(taken.lesson, "Playing.");
    try {
      const shown = await api.open(taken.lesson.scenario);
      if (mine !== begun) return;
      context = shown;
      answer(taken, { run: shown.run, isOnPage: true });
    } catch (error) {
      if (mine !== begun) return;
      // What was played aside has the answer all the same.
      const goOn = way("Go on without the lanes", () => answer(taken, { run: taken.played, isOnPage: false }), true);
      failed(
        taken.lesson,
        error,
        way("Try again", () => void prove(taken, predicted)),
        goOn,
      );
    }
  }

  function answer(taken: Taken, proof: Taken["proof"]): void {
    taken.proof = proof;
    taken.step = taken.lesson.before.length + 1;
    api.show(true);
    draw(taken);
  }

  function nextLesson(lesson: Lesson): HTMLElement | null {
    const following = lessons[lessons.indexOf(lesson) + 1];
    return following === undefined ? null : way(`Next lesson: ${following.title}`, () => void begin(following), true);
  }

  function focusHeading(): void {
    matter.querySelector("h3")?.focus({ preventScroll: true });
  }

  drawList();
  return {
    element,
    drawn(next) {
      context = next;
      sound?.drawn(next);
    },
  };
}

function capitalCount(count: number): string {
  const words = counted(count, "short lesson", "short lessons");
  return (words[0] ?? "").toUpperCase() + words.slice(1);
}

function heading({ title }: Lesson): HTMLElement {
  return h("h3", { class: "lesson-head", tabindex: -1 }, title);
}

function words(text: string): HTMLElement {
  return h("p", { class: "lesson-text" }, text);
}

function way(text: string, go: () => void, isMain = false): HTMLElement {
  const button = h("button", { type: "button", class: isMain ? "main-button" : null }, text);
  button.addEventListener("click", go);
  return button;
}

function buttons(...all: readonly (HTMLElement | null)[]): HTMLElement {
  return h("div", { class: "lesson-buttons" }, ...all);
}
