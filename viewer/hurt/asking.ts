/** Asking for faults to be tried: at which moments, in how many draws; then how far it is, and the way to end it. */
import { formatIssues } from "../../shared/issues.ts";
import { parseShowTime } from "../../shared/units.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { type TrialResult, trialCount } from "../../sim/trials/trial.ts";
import { progressWords } from "../../sim/trials/words.ts";
import { h } from "../dom.ts";
import type { Trying } from "../engine/client.ts";
import type { Swept } from "../engine/protocol.ts";
import type { PageContext, Room } from "../page.ts";
import { timeAtCursor } from "../room/event-list.ts";

/** Of each plan, what was to be tried and what was, in order. */
export interface Tried {
  readonly swept: readonly Swept[];
  readonly results: readonly (readonly TrialResult[])[];
  readonly missing: number;
}

export interface Asking {
  readonly element: HTMLElement;
  /** The run that the cursor is in. */
  setContext(context: PageContext): void;
  stop(): void;
}

interface AskingRequest {
  readonly room: Room;
  /** On the button. */
  readonly words: string;
  /** What is tried; null: there is nothing to try. */
  layouts(): readonly ScenarioTexts[] | null;
  /** @param tried what is done, if anything; `missing` where somebody ended it early */
  ended(tried: Tried): void;
}

/** What listens here does so for good: it is made before any run is drawn. */
export function asking({ room, words, layouts, ended }: AskingRequest): Asking {
  const atCursor = h("option", { value: "cursor" }, "at the cursor");
  const moment = h("select", {}, atCursor, h("option", { value: "every" }, "at every moment of the show"));
  const draws = h("select", {}, ...["3", "10"].map((count) => h("option", { value: count }, `${count} draws`)));
  const start = h("button", { type: "button", class: "main-button" }, words);
  const cancel = h("button", { type: "button" }, "Cancel");
  const meter = h("progress", { max: 100, value: 0, "aria-label": "Trying faults" });
  const far = h("span", { class: "time" });
  const problem = h("p", { class: "compare-problem", role: "alert", hidden: true });
  const form = h(
    "div",
    { class: "compare-tools", role: "group", "aria-label": words },
    h("label", { class: "choice" }, "Moments", moment),
    h("label", { class: "choice" }, "Chance", draws),
    start,
  );
  const going = h("div", { class: "compare-tools", hidden: true }, meter, far, cancel);
  let context: PageContext | null = null;
  let trying: Trying | null = null;
  let unfollow: () => void = () => {};

  const follow = () => {
    if (context !== null) atCursor.textContent = `at the cursor, ${timeAtCursor(context)}`;
  };
  const show = (isGoing: boolean) => {
    const hadFocus = [form, going].some((each) => each.contains(document.activeElement));
    [form.hidden, going.hidden] = [isGoing, !isGoing];
    if (hadFocus) (isGoing ? cancel : start).focus({ preventScroll: true });
  };
  const say = (text: string) => {
    problem.textContent = text;
    problem.hidden = text === "";
  };
  start.addEventListener("click", () => {
    const files = layouts();
    if (files === null || context === null) return;
    const engine = room.newEngine();
    const isAtCursor = moment.value === "cursor";
    const atNs = isAtCursor ? parseShowTime(timeAtCursor(context)) : null;
    const mine = engine.tryFaults(files, { atNs, everyMoment: !isAtCursor, draws: Number(draws.value) });
    trying = mine;
    let swept: readonly Swept[] = [];
    const results: TrialResult[][] = files.map(() => []);
    let [done, all, beganMs] = [0, 0, performance.now()];
    mine.onSweeps((sweeps) => {
      swept = sweeps;
      all = sweeps.reduce((sum, { sweep }) => sum + trialCount(sweep), 0);
      beganMs = performance.now();
    });
    mine.onResults((layout, found) => {
      for (const result of found) results[layout]?.push(result);
      done += found.length;
      meter.value = (done / all) * 100;
      if (done < all) far.textContent = progressWords(done, all, (performance.now() - beganMs) / 1000);
    });
    meter.value = 0;
    far.textContent = "Being set up";
    say(engine.note() ?? "");
    show(true);
    void mine.promise.then((outcome) => {
      engine.close();
      if (trying !== mine) return;
      trying = null;
      show(false);
      if (outcome.is === "issues") say(`Nothing was tried: ${formatIssues(outcome.issues)[0] ?? "no file is open"}`);
      else if (outcome.is === "failed") say(`It ended early: ${outcome.problem}.`);
      else say("");
      if (done > 0) ended({ swept, results, missing: all - done });
      else if (outcome.is === "cancelled") context?.announce("Cancelled before anything was tried.");
    });
  });
  cancel.addEventListener("click", () => trying?.cancel());

  return {
    element: h("div", { class: "asking" }, form, going, problem),
    setContext(next) {
      unfollow();
      context = next;
      unfollow = next.store.subscribe(follow);
      follow();
    },
    stop() {
      const was = trying;
      trying = null;
      was?.cancel();
      show(false);
      say("");
    },
  };
}
