/** Why the chosen lane is as it is at the cursor: the chain of causes, each step a way to put the cursor there. */
import { type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { type WhyTold, whyTold } from "../../sim/tell/why.ts";
import { subjectsNamed, whyOf } from "../../sim/why.ts";
import { h, part } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { namesApart } from "../run.ts";
import { showing } from "../store.ts";

/** A cursor that is being dragged is not asked about. */
const STILL_MS = 120;

export function whyPart({ run, store }: PageContext): HTMLElement {
  const { plan, record, summary } = run;
  const apart = namesApart(run);
  const place = h("div", { class: "why" });

  const told = (lane: string, seconds: number): readonly WhyTold[] => {
    const atNs = nsFromSeconds(seconds);
    return subjectsNamed(plan, lane).flatMap((subject) =>
      whyTold(plan, record, whyOf(plan, record, subject, atNs, summary.feeds)),
    );
  };
  const line = ({ at, text, steps }: WhyTold["lines"][number]): HTMLElement => {
    const time = h("button", { type: "button", class: "time", title: "Put the cursor here" }, at);
    const cursorSeconds = secondsFromNs(steps[0]?.atNs ?? (0 as Ns));
    time.addEventListener("click", () =>
      store.set({ cursorSeconds, event: null, ...showing(store.look(), cursorSeconds) }),
    );
    return h("li", { class: "told" }, time, h("span", {}, apart(text)));
  };
  const draw = () => {
    const { lane, cursorSeconds } = store.look();
    if (lane === null) {
      place.replaceChildren(
        h("p", { class: "none" }, "Choose a lane in the show: why it is so at the cursor stands here."),
      );
      return;
    }
    const answers = told(lane, cursorSeconds).flatMap(({ head, lines }) => [
      h("p", {}, h("strong", {}, apart(head))),
      lines.length === 0 ? null : h("ol", { class: "timeline" }, ...lines.map(line)),
    ]);
    place.replaceChildren(...answers.filter((answer) => answer !== null));
  };
  let waiting = 0;
  store.subscribe(({ lane, cursorSeconds }) => {
    const now = store.look();
    if (now.lane === lane && now.cursorSeconds === cursorSeconds) return;
    clearTimeout(waiting);
    waiting = window.setTimeout(draw, STILL_MS);
  });
  draw();
  return part("why", "Why?", place);
}
