/**
 * The chosen event, at its flag: another time for it, typed or step by step, a copy of it, or away with it. All of it
 * changes the scenario that is worked on, as the list of events does.
 */

import { nsFromSeconds } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { clockOf, showTimeIn } from "../room/typed.ts";
import type { FlagMoves } from "./flag-moves.ts";
import { hide } from "./hide.ts";
import { stepWords } from "./move-step.ts";

export interface FlagBar {
  readonly element: HTMLElement;
  /** After the file has changed. */
  update(): void;
}

export function flagBar({ run, store }: PageContext, moves: FlagMoves): FlagBar {
  const problem = h("span", { class: "form-problem", role: "alert" });
  const time = h("input", { class: "time-field", size: 12, autocomplete: "off", spellcheck: false });
  const button = (text: string, act: (index: number) => void) => {
    const made = h("button", { type: "button" }, text);
    made.addEventListener("click", () => {
      const { event } = store.look();
      if (event !== null) act(event);
    });
    return made;
  };
  const earlier = button("", (index) => void moves.nudge(index, false));
  const later = button("", (index) => void moves.nudge(index, true));
  const copy = button("Copy", moves.copy);
  const remove = button("Remove", (index) => void moves.remove(index));
  const which = h("span", { class: "flag-which" });
  const label = h("label", {}, "Show time ", time);
  const element = h(
    "div",
    { class: "flag-bar", role: "group", "aria-label": "The chosen event" },
    which,
    label,
    h("span", { class: "flag-steps" }, earlier, later),
    copy,
    remove,
    problem,
  );

  const board = () => element.closest<HTMLElement>(".board");
  const update = () => {
    const { event } = store.look();
    const part = moves.partOf(event);
    hide(element, part === null, board);
    if (event === null || part === null) return;
    const isEnd = part.ends !== null;
    which.textContent = moves.words(event);
    element.setAttribute("aria-label", `The chosen event: ${moves.words(event)}`);
    const step = stepWords(moves.step());
    for (const [each, sign, way] of [
      [earlier, "−", "earlier"],
      [later, "+", "later"],
    ] as const) {
      each.textContent = `${sign}${step}`;
      each.setAttribute("aria-label", `${sign}${step}: move it ${way}`);
      each.title = `Move it ${step} ${way}`;
    }
    hide(copy, isEnd, () => time);
    copy.title = "The same event once more, a little later";
    remove.textContent = isEnd ? "Remove the end" : "Remove";
    remove.title = isEnd ? "What began stays as it is, to the end of the show" : "";
    if (moves.isMoving(event) || document.activeElement !== time)
      time.value = formatShowTime(nsFromSeconds(moves.secondsOf(event)));
  };

  time.addEventListener("change", () => {
    const { event } = store.look();
    const read = showTimeIn(time.value, clockOf(run.plan));
    problem.textContent =
      "problem" in read ? read.problem : event === null ? "" : (moves.write(event, read.at, false) ?? read.note);
  });
  store.subscribe((before) => {
    if (before.event !== store.look().event) problem.textContent = "";
    update();
  });
  update();
  return { element, update };
}
