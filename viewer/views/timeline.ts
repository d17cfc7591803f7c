/** What happened, in order: one line per stretch, each a way to put the cursor there. */
import { h, part } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { byTheClock } from "../show-time.ts";
import { showing } from "../store.ts";

export function timelinePart({ run, store }: PageContext): HTMLElement {
  const lines = run.telling.timeline.map(({ at, text, weight }) => {
    const time = h(
      "button",
      { type: "button", class: "time", title: "Put the cursor here" },
      at + byTheClock(run.plan, secondsOf(at)),
    );
    time.addEventListener("click", () => {
      const cursorSeconds = secondsOf(at);
      store.set({ cursorSeconds, event: null, ...showing(store.look(), cursorSeconds) });
      document.querySelector("#show")?.scrollIntoView({ block: "start" });
    });
    return h("li", { class: `told told-${weight}` }, time, h("span", {}, text));
  });
  return part(
    "timeline",
    "What happened, in order",
    lines.length === 0
      ? h("p", { class: "none" }, "Nothing changes in this run.")
      : h("ol", { class: "timeline" }, ...lines),
  );
}

/** "01:20:05" → 4805. */
function secondsOf(at: string): number {
  return at.split(":").reduce((seconds, part) => seconds * 60 + Number(part), 0);
}
