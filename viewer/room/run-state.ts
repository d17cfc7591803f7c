/** How the run is getting on, at the foot of the window wherever people are on the page. */
import { h } from "../dom.ts";

export interface RunState {
  readonly element: HTMLElement;
  begun(): void;
  progress(share: number): void;
  /** @param says what people have to know of it; null: the run is on the page. */
  ended(says: string | null, hasProblems?: boolean): void;
}

/** A run that is over sooner needs no word. */
const QUIET_MS = 300;

export function runState(cancel: () => void, showWhy: () => void): RunState {
  const meter = h("progress", { max: 100, value: 0, "aria-label": "Rehearsing" });
  const percent = h("span", { class: "percent" }, "0 %");
  const stop = h("button", { type: "button" }, "Cancel");
  stop.addEventListener("click", cancel);
  const going = h(
    "div",
    { class: "going", hidden: true },
    "Rehearsing; the page shows the run before.",
    meter,
    percent,
    stop,
  );
  const why = h("button", { type: "button" }, "Show them");
  why.addEventListener("click", showWhy);
  const text = h("span", {});
  const word = h("div", { class: "word", "aria-live": "polite", hidden: true }, text);
  const element = h("div", { class: "run-state" }, going, word);
  let waiting = 0;
  return {
    element,
    begun() {
      clearTimeout(waiting);
      meter.value = 0;
      percent.textContent = "0 %";
      waiting = window.setTimeout(() => {
        word.hidden = true;
        going.hidden = false;
      }, QUIET_MS);
    },
    progress(share) {
      meter.value = share * 100;
      percent.textContent = `${Math.floor(share * 100)} %`;
    },
    ended(says, hasProblems = false) {
      clearTimeout(waiting);
      going.hidden = true;
      word.hidden = says === null;
      text.textContent = says ?? "";
      if (hasProblems) word.append(why);
      else why.remove();
    },
  };
}
